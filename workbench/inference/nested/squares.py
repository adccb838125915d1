"""Mean squares of places in bores in blocks, and what they leave open about the next block.

Built on unweighted means, so that blocks read more often count no more than others, and mean
squares stay close to chi-square however uneven the reading was.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.special import chdtri, ndtri

from workbench.errors import Refusal
from workbench.inference.nested.mean_squares import MeanSquare
from workbench.inference.nested.parts import Decomposition, decomposed

Values = NDArray[np.float64]

Part = TypeVar("Part", float, Values)

FEWEST_BLOCKS = 3
OWN_FREEDOM = 6  # of a mean square within blocks that is not borrowed
ROUNDING = 1e-24  # of a mean squared: a sum of squares no larger is none


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
