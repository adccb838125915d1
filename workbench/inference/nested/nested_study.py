"""What a nested study says in few numbers, and what it leaves open about the next block.

Mean squares of unweighted means stay close to chi-square however uneven the reading was, so each
true one is what was seen over a chi-square: draws of that, and of what hangs on it, are draws of
what the study leaves open.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray
from scipy.special import chdtri, ndtri

from workbench.inference.nested.mean_squares import MeanSquare

Values = NDArray[np.float64]

Part = TypeVar("Part", float, Values)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ParameterDraws:
    """Draws of what the readings leave open: one number a draw, in `pattern` one row.

    `components` are drawn variances by level, "block", "bore" and "place", and may lie below 0;
    `pattern` has a column a place.
    """

    mean: Values
    components: dict[str, Values]
    pattern: Values

    def total(self, levels: Sequence[str], less: float = 0.0) -> Values:
        """Give the sum over levels; only the sum, not each level, is kept from below 0."""
        total = np.sum([self.components[level] for level in levels], axis=0)
        return np.maximum(np.asarray(total, dtype=float) - less, 0.0)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NestedSquares:
    """What a nested study says, in few numbers: from a table, or as printed.

    Attributes
    ----------
    mean : float
        Of block means, each over its bores, at equal shares of the places.
    block : MeanSquare
        Of block means about their mean: expected block + `bore_in_block` bore + `place_in_block`
        place variance.
    bore : MeanSquare or None
        Of bore means about those of their blocks: expected bore + `place_in_bore` place variance.
        None where no block has two bores, or bores were not told apart.
    place : MeanSquare or None
        Of single places about their bore and the place's pattern; None where bores have one each.
    pattern : dict of str to float
        How much each place lies above or below the mean of all, adding up to 0.
    place_counts : dict of str to int
        How many bores were read at each place.
    mean_of : int
        How many blocks `mean` is of; one more than the freedom of `block`, unless its square was
        pooled over families.
    """

    mean: float
    block: MeanSquare
    bore: MeanSquare | None = None
    place: MeanSquare | None = None
    bore_in_block: float = 0.0
    place_in_block: float = 0.0
    place_in_bore: float = 0.0
    pattern: dict[str, float]
    place_counts: dict[str, int]
    mean_of: int

    @property
    def variances(self) -> dict[str, float]:
        """Variance components by equating mean squares to what is expected; 0 where below 0."""
        parts = self._parts(*(0.0 if s is None else s.value for s in self._squares))
        return {name: max(0.0, float(part)) for name, part in parts.items()}

    def draws(
        self, count: int, generator: np.random.Generator, even: Values | None = None
    ) -> ParameterDraws:
        """Draw mean, variances and pattern as the readings leave them open.

        Each expected mean square is drawn as its sum of squares over a chi-square, and means about
        what was seen with the spread so drawn: generalised pivotal quantities. With blocks alone
        this is exact.

        Parameters
        ----------
        count : int
        generator : numpy.random.Generator
        even : array, shape (count, 4), optional
            Numbers between 0 and 1 to take the draws of block, bore and place square and of the
            mean from, in place of the generator, which then draws the pattern alone. Families that
            share a square are given one column for it.

        References
        ----------
        Krishnamoorthy, K., Mathew, T. (2009). Statistical Tolerance Regions, sections 5.3 and 6.2
        (from memory).
        """
        block, bore, place = (
            np.zeros(count) if square is None else square.value / of_own
            for square, of_own in zip(
                self._squares, self._chances(count, generator, even), strict=True
            )
        )
        normal = generator.standard_normal(count) if even is None else ndtri(even[:, 3])
        mean = self.mean + normal * np.sqrt(block / self.mean_of)
        pattern = np.tile(np.array(list(self.pattern.values())), (count, 1))
        if len(self.pattern) > 1:
            reach = np.array([1 / many for many in self.place_counts.values()])
            spread = np.sqrt(place)[:, None] * np.sqrt(reach)
            pattern = pattern + spread * generator.standard_normal(pattern.shape)
            pattern -= pattern.mean(axis=1, keepdims=True)
        return ParameterDraws(
            mean=mean, components=self._parts(block, bore, place), pattern=pattern
        )

    def _chances(
        self, count: int, generator: np.random.Generator, even: Values | None
    ) -> Iterator[Values]:
        """Draw each mean square over what is expected of it; those that are not there as 1."""
        for place, square in enumerate(self._squares):
            freedom = 1 if square is None else square.degrees_of_freedom
            if even is not None:
                yield chdtri(freedom, even[:, place]) / freedom
            elif square is not None:
                yield generator.chisquare(freedom, count) / freedom
            else:
                yield np.ones(count)

    @property
    def _squares(self) -> tuple[MeanSquare, MeanSquare | None, MeanSquare | None]:
        return self.block, self.bore, self.place

    def _parts(self, block: Part, bore: Part, place: Part) -> dict[str, Part]:
        """Turn expected mean squares into components."""
        of_bore = bore - self.place_in_bore * place if self.bore is not None else 0.0 * bore
        return {
            "block": block - self.bore_in_block * of_bore - self.place_in_block * place,
            "bore": of_bore,
            "place": place,
        }
