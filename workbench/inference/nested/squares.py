"""Mean squares of places in bores in blocks: of one family, or pooled over several.

Built on unweighted means, so that blocks read more often count no more than others, and mean
squares stay close to chi-square however uneven the reading was.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from workbench.errors import Refusal
from workbench.inference.nested.mean_squares import MeanSquare
from workbench.inference.nested.nested_study import NestedSquares
from workbench.inference.nested.parts import Decomposition, decomposed

FEWEST_BLOCKS = 3
OWN_FREEDOM = 6  # of a mean square within blocks that is not borrowed
ROUNDING = 1e-24  # of a mean squared: a sum of squares no larger is none


def nested_squares(
    data: pd.DataFrame,
    *,
    response: str = "value",
    block: str = "block",
    bore: str | None = "bore",
    place: str | None = "place",
) -> NestedSquares:
    """Answer how blocks, bores and places vary, with what is needed to predict the next block.

    Parameters
    ----------
    data : DataFrame
        One row a reading. Readings repeated at one place of one bore are averaged first.
    response, block, bore, place : str
        Columns; bore labels need only be unique within their block. Without `bore`, places lie
        directly in blocks; without `place`, rows are places without a pattern.

    Raises
    ------
    Refusal
        `no_column`, `too_few_blocks` (fewer than three), `zero_spread`.

    References
    ----------
    Burdick, R. K., Graybill, F. A. (1992). Confidence Intervals on Variance Components, chapter 5,
    unweighted sums of squares (from memory).
    """
    parts = decomposed(data, response=response, block=block, bore=bore, place=place)
    if len(parts.block_means) < FEWEST_BLOCKS:
        raise Refusal(
            "too_few_blocks",
            f"{len(parts.block_means)} blocks do not tell how blocks vary; at least "
            f"{FEWEST_BLOCKS} are needed.",
        )
    return _pooled({"": parts})[""]


def pooled_squares(
    data: pd.DataFrame,
    *,
    family: str = "family",
    response: str = "value",
    block: str = "block",
    bore: str | None = "bore",
    place: str | None = "place",
) -> dict[str, NestedSquares]:
    """Answer the same for several families that are taken to vary alike.

    Each family keeps its own mean and pattern; mean squares are pooled, so that a family of one
    block borrows the spread of the others.

    Parameters
    ----------
    data : DataFrame
        As for `nested_squares`, with a column `family`; block labels need only be unique within a
        family.

    Raises
    ------
    Refusal
        `no_column`, `too_few_blocks` (fewer than two more blocks than families), `zero_spread`.
    """
    return _pooled(_parts_of(data, family, response, block, bore, place))


def common_block_squares(
    data: pd.DataFrame,
    *,
    family: str = "family",
    response: str = "value",
    block: str = "block",
    bore: str | None = "bore",
    place: str | None = "place",
) -> dict[str, NestedSquares]:
    """Answer the same for families whose blocks are taken to vary alike, and no more than that.

    Few blocks tell little of how blocks vary, and more of how bores and places within them do: each
    family keeps its own mean squares of bores and of places that have `OWN_FREEDOM` degrees of
    freedom or more. Parameters and refusals are those of
    `pooled_squares`.
    """
    parts = _parts_of(data, family, response, block, bore, place)
    common = _pooled(parts)
    return {name: _own_inside(_Sums.of(part), common[name]) for name, part in parts.items()}


def _own_inside(sums: _Sums, common: NestedSquares) -> NestedSquares:
    """Put a family's own squares within blocks in place of the common ones, where they tell."""
    free = sums.bores - sums.blocks
    if free >= OWN_FREEDOM:
        common = replace(
            common, bore=_square(sums.bore, free), place_in_bore=sums.place_in_bore / free
        )
    if sums.place_freedom >= OWN_FREEDOM:
        common = replace(common, place=_square(sums.place, sums.place_freedom))
    return common


def _parts_of(
    data: pd.DataFrame,
    family: str,
    response: str,
    block: str,
    bore: str | None,
    place: str | None,
) -> dict[str, Decomposition]:
    if family not in data.columns:
        raise Refusal("no_column", f"The table has no column {family!r}.")
    parts = {
        str(name): decomposed(rows, response=response, block=block, bore=bore, place=place)
        for name, rows in data.groupby(family, observed=True)
    }
    blocks = sum(len(part.block_means) for part in parts.values())
    if blocks < len(parts) + FEWEST_BLOCKS - 1:
        raise Refusal(
            "too_few_blocks",
            f"{blocks} blocks of {len(parts)} families do not tell how blocks vary; at least "
            f"{len(parts) + FEWEST_BLOCKS - 1} are needed.",
        )
    return parts


def _pooled(parts: dict[str, Decomposition]) -> dict[str, NestedSquares]:
    """Add up sums of squares and their freedom, and average what they are expected to be."""
    tables = [_Sums.of(part) for part in parts.values()]
    total = _Sums(
        **{
            name: sum(getattr(table, name) for table in tables)
            for name in _Sums.__dataclass_fields__
        }
    )
    if total.block <= ROUNDING * max(float(p.block_means.max()) ** 2 for p in parts.values()):
        raise Refusal(
            "zero_spread",
            f"The means of all {total.blocks:.0f} blocks are equal: nothing tells how blocks vary; "
            "blocks that differ, or a gauge with a finer step, are needed.",
        )
    of_block, of_bore = total.blocks - len(parts), max(total.bores - total.blocks, 1)
    block = _square(total.block, of_block)
    if block is None:
        raise Refusal("too_few_blocks", "Every family has one block only: nothing to vary.")
    return {
        name: NestedSquares(
            mean=float(part.block_means.mean()),
            block=block,
            bore=_square(total.bore, total.bores - total.blocks),
            place=_square(total.place, total.place_freedom),
            bore_in_block=total.bore_in_block / of_block,
            place_in_block=total.place_in_block / of_block,
            place_in_bore=total.place_in_bore / of_bore,
            pattern=part.pattern,
            place_counts=part.place_counts,
            mean_of=len(part.block_means),
        )
        for name, part in parts.items()
    }


@dataclass(frozen=True, slots=True, kw_only=True)
class _Sums:
    """Sums of squares of one family, their freedom, and sums of what components add to each."""

    blocks: float
    bores: float
    block: float
    bore: float
    place: float
    place_freedom: float
    bore_in_block: float
    place_in_block: float
    place_in_bore: float

    @classmethod
    def of(cls, parts: Decomposition) -> _Sums:
        bores = np.bincount(parts.bore_block).astype(float)
        places = np.bincount(parts.place_bore).astype(float)
        about = parts.bore_means - parts.block_means[parts.bore_block]
        inverse = np.bincount(parts.bore_block, 1 / places)
        paired = bool((bores > 1).any())  # else bores are not told from blocks
        inside = parts.residual_df > 0  # else places are not told from bores
        free = len(bores) - 1
        return cls(
            blocks=len(bores),
            bores=bores.sum(),
            block=float(((parts.block_means - parts.block_means.mean()) ** 2).sum()),
            bore=float((about**2).sum()),
            place=float((parts.residuals**2).sum()),
            place_freedom=parts.residual_df,
            bore_in_block=free * float((1 / bores).mean()) if paired else 0.0,
            place_in_block=free * float((inverse / bores**2).mean()) if inside else 0.0,
            place_in_bore=float(((1 - 1 / bores) * inverse).sum()) if paired and inside else 0.0,
        )


def _square(total: float, degrees_of_freedom: float) -> MeanSquare | None:
    if degrees_of_freedom <= 0:
        return None
    freedom = round(degrees_of_freedom)
    return MeanSquare(value=total / freedom, degrees_of_freedom=freedom)
