"""Mean squares of places in bores in blocks, and what they leave open about the next block.

Built on unweighted means, so that blocks read more often count no more than others, and mean
squares stay close to chi-square however uneven the reading was.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from workbench.errors import Refusal
from workbench.inference.grouped_means import grouped_means
from workbench.inference.mean_squares import MeanSquare

Values = NDArray[np.float64]
Codes = NDArray[np.int64]

Part = TypeVar("Part", float, Values)

FEWEST_BLOCKS = 3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ParameterDraws:
    """Draws of what the readings leave open: one number a draw, in `pattern` one row.

    `components` are drawn variances by level, "block", "bore" and "place", and may lie below 0;
    `pattern` has a column a place.
    """

    mean: Values
    components: dict[str, Values]
    pattern: Values

    def variance(self, level: str, less: float = 0.0) -> Values:
        """Give a level's drawn variances, `less` what is not of the level, none below 0."""
        return np.maximum(self.components[level] - less, 0.0)

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

    @property
    def blocks(self) -> int:
        """The number of blocks."""
        return self.block.degrees_of_freedom + 1

    @property
    def variances(self) -> dict[str, float]:
        """Variance components by equating mean squares to what is expected; 0 where below 0."""
        parts = self._parts(*(0.0 if s is None else s.value for s in self._squares))
        return {name: max(0.0, float(part)) for name, part in parts.items()}

    def draws(self, count: int, generator: np.random.Generator) -> ParameterDraws:
        """Draw mean, variances and pattern as the readings leave them open.

        Each expected mean square is drawn as its sum of squares over a chi-square, and means about
        what was seen with the spread so drawn: generalised pivotal quantities. With blocks alone
        this is exact.

        References
        ----------
        Krishnamoorthy, K., Mathew, T. (2009). Statistical Tolerance Regions, sections 5.3 and 6.2
        (from memory).
        """
        block, bore, place = (
            np.zeros(count)
            if square is None
            else square.value
            * square.degrees_of_freedom
            / generator.chisquare(square.degrees_of_freedom, count)
            for square in self._squares
        )
        mean = self.mean + generator.standard_normal(count) * np.sqrt(block / self.blocks)
        pattern = np.tile(np.array(list(self.pattern.values())), (count, 1))
        if len(self.pattern) > 1:
            reach = np.array([1 / many for many in self.place_counts.values()])
            spread = np.sqrt(place)[:, None] * np.sqrt(reach)
            pattern = pattern + spread * generator.standard_normal(pattern.shape)
            pattern -= pattern.mean(axis=1, keepdims=True)
        return ParameterDraws(
            mean=mean, components=self._parts(block, bore, place), pattern=pattern
        )

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
    bores = np.bincount(parts.bore_block).astype(float)
    places = np.bincount(parts.place_bore).astype(float)
    about = parts.bore_means - parts.block_means[parts.bore_block]
    inverse = np.bincount(parts.bore_block, 1 / places)
    free = int((bores - 1).sum())
    one_bore = free == 0
    return NestedSquares(
        mean=float(parts.block_means.mean()),
        block=_square(float(parts.block_means.var() * len(bores)), len(bores) - 1),
        bore=None if one_bore else _square(float((about**2).sum()), free),
        place=None
        if parts.residual_df == 0
        else _square(float((parts.residuals**2).sum()), parts.residual_df),
        bore_in_block=0.0 if one_bore else float((1 / bores).mean()),
        place_in_block=float((inverse / bores**2).mean()) if parts.residual_df else 0.0,
        place_in_bore=0.0
        if one_bore or not parts.residual_df
        else float(((1 - 1 / bores) * inverse).sum() / free),
        pattern=parts.pattern,
        place_counts=parts.place_counts,
    )


def decomposed(
    data: pd.DataFrame, *, response: str, block: str, bore: str | None, place: str | None
) -> Decomposition:
    """Take readings apart; see `nested_squares`."""
    keys = [block, *([bore] if bore else [])]
    cells = _cells(data, response, keys, place)
    fit = grouped_means(cells, groups=keys, factors=["place"] if place else [])
    bore_block = np.asarray(fit.groups.groupby(block, sort=True).ngroup(), dtype=np.int64)
    place_bore = np.asarray(cells.groupby(keys, sort=True, observed=True).ngroup(), dtype=np.int64)
    above = cells["mean"].to_numpy() - fit.means[place_bore]
    pattern, counts = {"": 0.0}, {"": len(fit.means)}
    if place:
        codes, labels = pd.factorize(cells["place"], sort=True)
        number = np.bincount(codes)
        offsets = np.bincount(codes, above) / number
        above = above - offsets[codes]
        pattern = dict(zip(map(str, labels), (offsets - offsets.mean()).tolist(), strict=True))
        counts = dict(zip(map(str, labels), number.tolist(), strict=True))
    blocks = int(bore_block.max()) + 1
    if blocks < FEWEST_BLOCKS:
        raise Refusal(
            "too_few_blocks",
            f"{blocks} blocks do not tell how blocks vary; at least {FEWEST_BLOCKS} are needed.",
        )
    block_means = np.bincount(bore_block, fit.means) / np.bincount(bore_block)
    if np.ptp(block_means) <= 1e-12 * max(1.0, float(np.abs(block_means).max())):
        raise Refusal("zero_spread", f"The means of all {blocks} blocks are equal.")
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
    cells = table.groupby([*keys, "place"], sort=True, observed=True)["mean"].mean().reset_index()
    return cells.assign(n=1, ss=0.0)


def _square(total: float, degrees_of_freedom: int) -> MeanSquare:
    return MeanSquare(value=total / degrees_of_freedom, degrees_of_freedom=degrees_of_freedom)
