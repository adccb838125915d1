"""Places in bores in blocks taken apart: block means, bores about them, places about those."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from workbench.errors import Refusal
from workbench.inference.grouping import Codes, group_codes
from workbench.inference.means.grouped_means import grouped_means

Values = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Decomposition:
    """Readings taken apart into block means, bore means about them, and places about those.

    `bore_block` numbers the block of each bore, `place_bore` the bore of each place.
    """

    block_means: Values
    bore_means: Values
    bore_block: Codes
    residuals: Values
    place_bore: Codes
    pattern: dict[str, float]
    place_counts: dict[str, int]
    residual_df: int


def decomposed(
    data: pd.DataFrame, *, response: str, block: str, bore: str | None, place: str | None
) -> Decomposition:
    """Take readings apart; parameters and refusals are those of `nested_squares`."""
    keys = [block, *([bore] if bore else [])]
    cells = _cells(data, response, keys, place)
    fit = grouped_means(cells, groups=keys, factors=["place"] if place else [])
    bore_block, _ = group_codes(fit.groups, [block])
    place_bore, _ = group_codes(cells, keys)
    above = cells["mean"].to_numpy() - fit.means[place_bore]
    pattern, counts = {"": 0.0}, {"": len(fit.means)}
    if place:
        codes, labels = pd.factorize(cells["place"], sort=True)
        number = np.bincount(codes)
        offsets = np.bincount(codes, above) / number
        above = above - offsets[codes]
        pattern = dict(zip(map(str, labels), (offsets - offsets.mean()).tolist(), strict=True))
        counts = dict(zip(map(str, labels), number.tolist(), strict=True))
    block_means = np.bincount(bore_block, fit.means) / np.bincount(bore_block)
    return Decomposition(
        block_means=block_means,
        bore_means=fit.means,
        bore_block=bore_block,
        residuals=above,
        place_bore=place_bore,
        pattern=pattern,
        place_counts=counts,
        residual_df=fit.residual_df,
    )


def _cells(data: pd.DataFrame, response: str, keys: list[str], place: str | None) -> pd.DataFrame:
    """Average repeats at one place; one row a place of a bore."""
    absent = [
        name for name in (response, *keys, *([place] if place else [])) if name not in data.columns
    ]
    if absent:
        raise Refusal("no_column", f"The table has no column {', '.join(map(repr, absent))}.")
    values = pd.to_numeric(data[response], errors="coerce")
    if not np.isfinite(values).all():
        raise Refusal("not_finite", f"Column {response!r} must hold finite numbers only.")
    if place is None:
        return data[keys].assign(mean=values.to_numpy(dtype=float), n=1, ss=0.0)
    table = data[keys].assign(place=data[place].astype(str), mean=values.to_numpy(dtype=float))
    codes, first = group_codes(table, [*keys, "place"])
    means = np.bincount(codes, table["mean"]) / np.bincount(codes)
    return table[[*keys, "place"]].iloc[first].assign(mean=means, n=1, ss=0.0)
