"""Below what a tenth, a quarter, half of the blocks of each family lie, whatever its shape."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from workbench.article.family_tables import LEAST, block_means_of
from workbench.article.numbers import estimate_words, percent, why_not
from workbench.article.tables import Table
from workbench.article.text import clean
from workbench.errors import Refusal
from workbench.inference.ranks.quantiles import quantile_interval

if TYPE_CHECKING:
    from workbench.article.sample import Sample

SHARES = (0.1, 0.25, 0.5, 0.75, 0.9)


def quantiles_table(sample: Sample) -> Table:
    """Give the value below which a share of each family's blocks lies, with its interval.

    A row is a share of a family. Its interval ends at blocks, and so has a confidence of its own.
    """
    rows = tuple(
        (clean(sample.labels.get(family, family), 60), percent(share), *_told(sample, means, share))
        for family, means in block_means_of(sample, LEAST).items()
        for share in SHARES
    )
    return Table(
        caption=f"{sample.label}: below what a share of the blocks lies (intervals of at least "
        f"{percent(sample.confidence)})",
        columns=("Family", "Blocks below", "Value", "Confidence attained"),
        rows=rows,
        numeric=(1, 3),
        note="The ends are blocks of the family, counted from its least: no shape is assumed, and "
        "the confidence is what those blocks give. Where not even the least or the greatest block "
        "is sure enough there is no limit on that side, and the confidence is that of the other. "
        "Families of one block are left out.",
    )


def _told(sample: Sample, means: np.ndarray, share: float) -> tuple[str, str]:
    try:
        found = quantile_interval(means, share, sample.confidence)
    except Refusal as refusal:
        return why_not(refusal), ""
    words = estimate_words(
        found.estimate, found.low, found.high, sample.unit, step=sample.step / 10
    )
    limited = math.isfinite(found.low) or math.isfinite(found.high)
    return words, percent(round(found.attained, 3)) if limited else ""
