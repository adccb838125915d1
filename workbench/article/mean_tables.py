"""The mean of each family told by other intervals than Student's, and its next blocks together."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from workbench.article.family_tables import LEAST, block_means_of
from workbench.article.numbers import estimate_words, percent, why_not
from workbench.article.tables import Table
from workbench.article.text import clean
from workbench.errors import Refusal
from workbench.inference.means.intervals import mean_interval, next_values_interval
from workbench.inference.resampling.means import LEAST_BLOCKS, bootstrap_mean
from workbench.inference.results import Interval
from workbench.inference.simultaneous import simultaneous_intervals

if TYPE_CHECKING:
    from workbench.article.sample import Sample

NEXT = 5  # blocks told of together


class _Mean:
    """The mean of one family, asked for its interval at any confidence."""

    def __init__(self, means: np.ndarray) -> None:
        self.means = means

    def interval(self, confidence: float = 0.95) -> Interval:
        """Give Student's interval over blocks."""
        return mean_interval(self.means, confidence)


def mean_intervals_table(sample: Sample) -> Table:
    """Give each family's mean with intervals that hold together, by drawing, and what comes next.

    The intervals of a column “together” hold for all families at once (Bonferroni).
    """
    confidence = sample.confidence
    families = block_means_of(sample, LEAST)
    together = _together([_Mean(means) for means in families.values()], confidence)
    rows = []
    for (family, means), all_at_once in zip(families.items(), together, strict=True):
        middle = float(means.mean())
        rows.append(
            (
                clean(sample.labels.get(family, family), 60),
                _words(sample, middle, all_at_once),
                _told(sample, middle, partial(_drawn, means, confidence))
                if means.size >= LEAST_BLOCKS
                else "too few blocks",
                _told(sample, middle, partial(next_values_interval, means, NEXT, confidence)),
            )
        )
    alone = len(sample.families) - len(families)
    return Table(
        caption=f"{sample.label}: the means together, by drawing, and the next blocks "
        f"({percent(confidence)} intervals)",
        columns=(
            "Family",
            "Mean, all families together",
            "Mean, blocks drawn anew",
            f"The next {NEXT} blocks, every one",
        ),
        rows=tuple(rows),
        note="Together: Student's intervals made so wide that all of them hold at once. Drawn "
        "anew: by every way of drawing the blocks, no shape assumed (BCa), from five blocks up; "
        f"below about ten it is too short. The next {NEXT}: the limits within which all of them "
        "fall, block means taken as normal."
        + (f" Families of one block are left out: {alone}." if alone else ""),
    )


def _together(means: list[_Mean], confidence: float) -> tuple[Interval, ...]:
    return simultaneous_intervals(means, confidence).intervals if means else ()


def _drawn(means: np.ndarray, confidence: float) -> Interval:
    return bootstrap_mean(means).interval(confidence)


def _told(sample: Sample, middle: float, made: Callable[[], Interval]) -> str:
    try:
        return _words(sample, middle, made())
    except Refusal as refusal:
        return why_not(refusal)


def _words(sample: Sample, middle: float, ends: Interval) -> str:
    return estimate_words(middle, ends.low, ends.high, sample.unit, step=sample.step / 10)
