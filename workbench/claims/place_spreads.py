"""How the places of a block vary in each family: the nested model on the grid they share."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from workbench.claims.choosing import OWN_FROM
from workbench.claims.grid import Grid
from workbench.inference.nested.squares import NestedSquares, nested_squares, pooled_squares


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlaceSpreads:
    """The nested model of two families on one grid; `own` tells that each has its own spreads."""

    candidate: NestedSquares
    reference: NestedSquares
    own: bool
    error_variance: float

    @property
    def words(self) -> str:
        """Whose spreads were taken."""
        return "own spreads" if self.own else "one spread for both families"


def place_spreads(
    grid: Grid, candidate: str, reference: str, error_variance: float
) -> PlaceSpreads:
    """Fit the nested model: by family where both have blocks enough, else with common spreads.

    Raises
    ------
    Refusal
        `too_few_blocks` below four blocks in all; `zero_spread`.
    """
    data = grid.places
    bore = "bore" if grid.bores > 1 else None
    place = "place" if grid.points > 1 else None
    blocks = data.groupby("family")["block"].nunique()
    own = bool(blocks[[candidate, reference]].min() >= OWN_FROM)
    if own:
        found = {
            family: nested_squares(data[data["family"] == family], bore=bore, place=place)
            for family in (candidate, reference)
        }
    else:
        found = pooled_squares(data, bore=bore, place=place)
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
