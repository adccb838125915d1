"""How the places of a block vary in each family: the nested model on the grid they share."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from workbench.claims.choosing import choose
from workbench.claims.footing import ReadingError
from workbench.claims.grid import Grid
from workbench.inference.nested.nested_study import NestedSquares
from workbench.inference.nested.squares import FEWEST_BLOCKS, common_block_squares, nested_squares


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlaceSpreads:
    """The nested model of two families on one grid.

    Bores and places vary in each family as they do in its own blocks; so do blocks where `own`,
    else the two families lend each other how blocks differ.
    """

    candidate: NestedSquares
    reference: NestedSquares
    own: bool

    @property
    def words(self) -> str:
        """Whose spreads were taken."""
        return "own spreads" if self.own else "one spread between blocks for both families"


def place_spreads(grid: Grid, candidate: str, reference: str) -> PlaceSpreads:
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
    )


def errors_of_places(
    grid: Grid, families: tuple[str, str], error: ReadingError | None
) -> tuple[float, float]:
    """Give the variance the error of reading leaves in a place's value, of each of two families.

    It is averaged over the places of a family, which one may have repeated more often than the
    other; 0 where no repeats show it.
    """
    if error is None or not error.repeated:
        return 0.0, 0.0
    left = pd.Series(error.of_means(grid.places["n"].to_numpy(float)))
    of_family = left.groupby(grid.places["family"].to_numpy()).mean()
    return float(of_family[families[0]]), float(of_family[families[1]])
