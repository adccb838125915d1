"""The common footing of a comparison: what it holds alike, block means, the error of a reading.

All corrected readings count as made with one gauge; stations and depths, and gauges of uncorrected
readings where they can be told from the families, are held alike.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from workbench.castings.measuring import reading_errors, resolutions
from workbench.claims.evidence import Evidence
from workbench.errors import Refusal
from workbench.inference.grouping import distinct, group_codes
from workbench.inference.means.grouped_means import GroupedMeans, Weighing, grouped_means
from workbench.records.settings import Gauge

PLACES = ("station", "depth")
SPANNED = 1e-9
CORRECTED = "\x1fcorrected"
REPEATS_TRUSTED = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingError:
    """The variance of one reading of these blocks.

    `averages` tells that repeats lessen it; `repeated` that it was seen in repeats of one place, so
    that it holds nothing of the iron.
    """

    variance: float
    degrees_of_freedom: float
    averages: bool
    repeated: bool
    method: str

    def of_means(self, n: ArrayLike) -> NDArray[np.float64]:
        """Give the variance of means of so many readings."""
        many = np.asarray(n, dtype=float)
        return np.asarray(self.variance / (many if self.averages else np.ones_like(many)))


def as_one_gauge(evidence: Evidence) -> Evidence:
    """Take all corrected readings as made with one gauge: what is left of theirs is stated."""
    cells = evidence.cells
    gauge = cells["gauge"].where(cells["corrected_by"] == "", CORRECTED)
    return replace(evidence, cells=cells.assign(gauge=gauge))


def factors_of(cells: pd.DataFrame) -> tuple[tuple[str, ...], bool]:
    """Choose the fixed factors beside the family; tell whether the gauge had to be left out."""
    factors = tuple(name for name in PLACES if len(cells[name].unique()) > 1)
    if len(cells["gauge"].unique()) == 1:
        return factors, False
    with_gauge = (*factors, "gauge")
    if _tells_families(cells, with_gauge):
        return with_gauge, False
    return factors, True


def levels_of(cells: pd.DataFrame) -> tuple[str, ...]:
    """Give the levels of chance: blocks, and bores within them where bores are named."""
    return ("block", "bore") if (cells["bore"] != "").any() else ("block",)


def footing(evidence: Evidence, factors: Sequence[str]) -> tuple[GroupedMeans, Weighing]:
    """Bring bores (or blocks) to a common footing and weigh candidate against reference.

    Every block counts alike within its family, and every bore alike within its block.
    """
    groups = ["family", *levels_of(evidence.cells)]
    means = grouped_means(evidence.cells, groups=groups, factors=factors)
    block, first = group_codes(means.groups, ("family", "block"))
    family, _ = group_codes(means.groups.iloc[first], ("family",))
    bores, blocks = np.bincount(block)[block], np.bincount(family)[family[block]]
    sign = np.where(means.groups["family"] == evidence.candidate, 1.0, -1.0)
    return means, means.weigh(sign / (bores * blocks))


def block_means(means: GroupedMeans) -> pd.DataFrame:
    """Give one row a block: `family, block, mean`, every bore of a block counting alike."""
    codes, first = group_codes(means.groups, ("family", "block"))
    labels = {name: means.groups[name].array[first] for name in ("family", "block")}
    return pd.DataFrame({**labels, "mean": np.bincount(codes, means.means) / np.bincount(codes)})


def gauge_of_blocks(evidence: Evidence) -> tuple[list[str], list[str]] | None:
    """Give the gauge each block was read by, of candidate and reference, blocks by name.

    None where gauges make no difference to be held alike: one gauge, a block read by several, or
    none that read blocks of both families.
    """
    cells = evidence.cells
    read = distinct(cells, ("family", "block", "gauge"))
    if len(read) > len({block for _, block, _ in read}):
        return None
    ours, others = (
        [gauge for of, _, gauge in read if of == family]
        for family in (evidence.candidate, evidence.reference)
    )
    alone = len({*ours, *others}) == 1 or not set(ours) & set(others)
    return None if alone else (ours, others)


def reading_error(means: GroupedMeans, step: float) -> ReadingError:
    """Answer how readings of a place scatter, by what repeated ones differ.

    Where too few readings were repeated, by what is left within bores beside the factors, which
    holds the unevenness of the iron too. Never by less than the gauge's step can show (a uniform
    error of one step, JCGM 100, F.2.2.1); then a cell counts once, however often it was repeated.
    """
    variance, degrees = means.repeat_variance, means.repeat_df
    method, repeated = "error of repeated readings", True
    if degrees < REPEATS_TRUSTED and means.residual_df > degrees:
        repeated = False
        variance, degrees = means.residual_variance, means.residual_df
        method = "error of readings within a bore or block"
    least = step**2 / 12
    if variance < least:
        return ReadingError(
            variance=least,
            degrees_of_freedom=math.inf,
            averages=False,
            repeated=repeated,
            method="error of the gauge's step",
        )
    return ReadingError(
        variance=variance,
        degrees_of_freedom=float(degrees),
        averages=True,
        repeated=repeated,
        method=method,
    )


def common_means(evidence: Evidence) -> GroupedMeans:
    """Bring bores (or blocks) to a footing on which their blocks can be compared.

    Raises
    ------
    Refusal
        `not_like_with_like` where the blocks were read at places too different for that.
    """
    factors, _ = factors_of(evidence.cells)
    means, weighing = footing(evidence, factors)
    if not weighing.like_with_like:
        means, weighing = footing(evidence, tuple(name for name in factors if name in PLACES))
    if not weighing.like_with_like:
        raise Refusal(
            "not_like_with_like",
            "The blocks were read at different places, and no block was read at enough of them "
            "to correct for that.",
        )
    return means


def error_of_cells(
    evidence: Evidence, means: GroupedMeans, gauges: Mapping[str, Gauge]
) -> tuple[NDArray[np.float64], ReadingError | None]:
    """Give the variance of each cell's mean by the error of reading, and what it was seen by.

    None where nothing was repeated and what the study states of its gauges was taken; then cells
    of which nothing is stated have an error of 0.
    """
    cells = evidence.cells
    steps = resolutions(cells, gauges, evidence.unit)
    n = cells["n"].to_numpy(float)
    if max(means.repeat_df, means.residual_df) >= 1:
        error = reading_error(means, float(steps.max()))
        return error.of_means(n), error
    found = reading_errors(cells, gauges, evidence.unit, evidence.calibrations)
    if found is None:
        return np.zeros(len(cells)), None
    return np.maximum(found[0], steps / math.sqrt(12)) ** 2 / n, None


def _tells_families(cells: pd.DataFrame, factors: Sequence[str]) -> bool:
    """Tell whether the families differ within the factors, or only together with them."""
    rows = cells[["family", *factors]].drop_duplicates()
    columns = [np.ones((len(rows), 1))]
    columns += [pd.get_dummies(rows[name]).to_numpy(dtype=float) for name in factors]
    design = np.hstack(columns)
    family = (rows["family"] == rows["family"].iloc[0]).to_numpy(dtype=float)
    left = family - design @ np.linalg.lstsq(design, family, rcond=None)[0]
    return float(left @ left) > SPANNED * len(rows)
