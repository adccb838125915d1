"""How the places of a block vary in each family: the nested model on the grid they share."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from workbench.claims.choosing import choose
from workbench.claims.grid import Grid
from workbench.inference.nested.squares import (
    FEWEST_BLOCKS,
    NestedSquares,
    common_block_squares,
    nested_squares,
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlaceSpreads:
    """The nested model of two families on one grid.

    Bores and places vary in each family as they do in its own blocks; so do blocks where `own`,
    else the two families lend each other how blocks differ.
    """

    candidate: NestedSquares
    reference: NestedSquares
    own: bool
    error_variance: float

    @property
    def words(self) -> str:
        """Whose spreads were taken."""
        return "own spreads" if self.own else "one spread between blocks for both families"


def place_spreads(
    grid: Grid, candidate: str, reference: str, error_variance: float
) -> PlaceSpreads:
    """Fit the nested model to both families, between blocks with spreads as a mean would get them.

    Raises
    ------
    Refusal
        `too_few_blocks` below four blocks in all; `zero_spread`.
    """
    data = grid.places
    bore = "bore" if grid.bores > 1 else None
    place = "place" if grid.points > 1 else None
    means = data.groupby(["family", "block"])["value"].mean()
    ours, others = (means[family].to_numpy(float) for family in (candidate, reference))
    choice = choose("family", ours, others)
    own = choice.name == "own_spreads" and min(ours.size, others.size) >= FEWEST_BLOCKS
    if own:
        found = {
            family: nested_squares(data[data["family"] == family], bore=bore, place=place)
            for family in (candidate, reference)
        }
    else:
        found = common_block_squares(data, bore=bore, place=place)
    return PlaceSpreads(
        candidate=found[candidate],
        reference=found[reference],
        own=own,
        error_variance=error_variance,
    )


def error_of_places(grid: Grid, reading_variance: float, averages: bool) -> float:
    """Give the variance the error of reading leaves in a place's value, averaged over places."""
    n: pd.Series[float] = grid.places["n"].astype(float)
    return reading_variance * (float((1 / n).mean()) if averages else 1.0)
