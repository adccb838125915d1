"""What the figures of one quantity draw: readings, block means and family means, in one unit."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import pandas as pd

from workbench.article.kept_words import LEFT
from workbench.article.numbers import estimate_words
from workbench.article.text import clean, counted
from workbench.inference.results import Interval

FINER = 10  # a mean of many readings may show one digit more than a reading


@dataclass(frozen=True, slots=True, kw_only=True)
class FamilyMean:
    """The mean of a family's block means; `interval` is None where one block stands alone."""

    blocks: int
    readings: int
    mean: float
    interval: Interval | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Remembered:
    """A range somebody remembers of a family; drawn, never deciding."""

    family: str
    low: float
    high: float
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Sample:
    """One quantity as it was read.

    `distinct` has the distinct values: family, value, count, counted (False for searched readings
    and doubtful contact, which enter no mean). `blocks` has one row a block: family, block,
    readings, mean, bores, bore_sd (standard deviation of its bore means, NaN where there is but
    one). Everything is in `unit`; `step` is the coarsest gauge step met. `without_mean` names the
    families none of whose readings may enter a mean, `other_scale` counts the readings on a
    hardness scale that cannot be turned into `unit`; neither is drawn. `corrected` tells that a
    calibration corrected readings; `never_kept` says what the study states never was in the
    records.
    """

    quantity: str
    label: str
    unit: str
    confidence: float
    step: float
    families: tuple[str, ...]
    labels: dict[str, str]
    distinct: pd.DataFrame
    blocks: pd.DataFrame
    means: dict[str, FamilyMean]
    remembered: tuple[Remembered, ...] = ()
    without_mean: tuple[str, ...] = ()
    other_scale: int = 0
    corrected: bool = False
    never_kept: tuple[str, ...] = ()

    def only(self, families: Iterable[str]) -> Sample:
        """Give the sample of some of its families, in the order of the sample."""
        kept = tuple(family for family in self.families if family in set(families))
        return replace(
            self,
            families=kept,
            distinct=self.distinct[self.distinct["family"].isin(kept)],
            blocks=self.blocks[self.blocks["family"].isin(kept)],
            means={family: self.means[family] for family in kept},
            remembered=tuple(said for said in self.remembered if said.family in kept),
        )

    def left_out(self, family: str) -> int:
        """Count the readings of `family` that enter no mean."""
        chosen = (self.distinct["family"] == family) & ~self.distinct["counted"]
        return int(self.distinct.loc[chosen, "count"].sum())

    def words(self, family: str) -> str:
        """Give the mean of `family` with its interval in brackets."""
        mean = self.means[family]
        low, high = (mean.interval.low, mean.interval.high) if mean.interval else (None, None)
        step = self.step / FINER
        return estimate_words(mean.mean, low, high, self.unit, step=step)

    def counts(self, family: str) -> str:
        """Say how many blocks and readings of `family` enter its mean."""
        mean = self.means[family]
        return f"{counted(mean.blocks, 'block')}, {counted(mean.readings, 'reading')}"


def mean_words(sample: Sample, family: str) -> str:
    """Name a family, its mean with its interval in brackets, and its counts."""
    name = clean(sample.labels.get(family, family), 80)
    return f"{name}: mean {sample.words(family)} ({sample.counts(family)})"


def left_out_words(sample: Sample) -> str:
    """Say what was corrected, what enters no mean and what is not drawn; empty where nothing."""
    words = ""
    if sample.corrected:
        words += " Readings with a usable calibration are corrected by it."
    left_out = sum(sample.left_out(family) for family in sample.families)
    if left_out:
        words += (
            f" {counted(left_out, 'reading')} (searched places, doubtful contact, or known only "
            "to be not above a value) enter no mean."
        )
    if sample.other_scale:
        words += (
            f" {counted(sample.other_scale, 'reading')} on another scale than {sample.unit} "
            "left out: scales have no common factor."
        )
    if sample.never_kept:
        words += (
            f" As the study states, {'; '.join(clean(said, 700) for said in sample.never_kept)}: "
            f"{LEFT}."
        )
    if sample.without_mean:
        names = ", ".join(clean(sample.labels.get(f, f), 60) for f in sample.without_mean)
        words += f" Not drawn, for none of its readings may enter a mean: {names}."
    return words


def plotted(sample: Sample) -> pd.DataFrame:
    """Give the numbers a figure of the readings draws: distinct values, blocks, family means."""
    values = sample.distinct.assign(kind="reading")
    blocks = sample.blocks.rename(columns={"mean": "value", "readings": "count"})
    means = pd.DataFrame(
        [
            {
                "family": family,
                "value": mean.mean,
                "count": mean.blocks,
                "low": mean.interval.low if mean.interval else None,
                "high": mean.interval.high if mean.interval else None,
            }
            for family, mean in sample.means.items()
        ]
    )
    table = pd.concat([values, blocks.assign(kind="block mean"), means.assign(kind="family mean")])
    columns = ["kind", "family", "block", "value", "count", "counted", "low", "high"]
    return table.reindex(columns=columns).assign(unit=sample.unit)
