"""Claims on the share below a limit: of places, of bores or of whole blocks.

A place, a bore's least place or a block's least place is below the limit or not; a family's share
is the mean of its blocks' shares, on the grid both families were read on. Families are judged by
counting, blocks and not places the evidence: no shape is assumed. Beside it stands what the nested
model says of the iron, and for whole blocks the exact test. The blocks measured alone are judged by
how far the error of reading can carry their places across the limit. The estimate and the margin
are differences of shares, between -1 and 1.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy.special import ndtr

from workbench.castings.measuring import SharedError, shared_error
from workbench.claims.claim import Claim
from workbench.claims.evidence import Evidence
from workbench.claims.figure_analysis import FamilyFigure, FigureAnalysis, Rival
from workbench.claims.footing import ReadingError, as_one_gauge, common_means, error_of_cells
from workbench.claims.grid import Grid, place_of, shared_grid
from workbench.claims.place_spreads import errors_of_places, place_spreads
from workbench.claims.thinnest_claims import draws_for
from workbench.errors import Refusal
from workbench.inference.results import Difference, Interval
from workbench.inference.samples import Values
from workbench.records.quantity_table import SHARE
from workbench.records.rounding import interval_text, quantity_text
from workbench.records.settings import Gauge

MODEL = "nested model of the iron"
EXACT = "exact unconditional test of two shares"
FINEST = 0.001
LEAST_ERROR = 1e-6
WIDTH = 1.06  # of the density of places (Silverman's rule for normal values)
FAR = 6.0  # standard deviations from the nearest place, beyond which a limit answers nothing


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Counted:
    """Each block's share below the limit, of one family."""

    family: str
    shares: Values
    units: float

    @property
    def share(self) -> float:
        """The mean of the blocks' shares."""
        return float(self.shares.mean())


def analyse_share(
    claim: Claim,
    evidence: Evidence,
    gauges: Mapping[str, Gauge],
    confidence: float,
    *,
    seed: Sequence[int],
) -> FigureAnalysis:
    """Answer how much more of the candidate lies below the limit than of the reference.

    Raises
    ------
    Refusal
        `incomplete_grid`, `too_few_blocks`, `limit_far_off`; for blocks as measured `no_repeats`
        and `not_like_with_like`.
    """
    assert claim.threshold is not None
    evidence = as_one_gauge(evidence)
    grid = shared_grid(evidence)
    _check_near(claim.threshold, grid.places["value"].to_numpy(float), evidence)
    units = units_of(grid, claim.of)
    errors, error = error_of_cells(evidence, common_means(evidence), gauges)
    counted = (
        _counted(units, claim.candidate, claim.threshold),
        _counted(units, claim.reference, claim.threshold),
    )
    shared = shared_error(
        evidence.cells,
        _crossing(evidence, units, claim.threshold),
        gauges,
        evidence.unit,
        evidence.calibrations,
        blocks_vary=claim.scope == "family",
    )
    if claim.scope == "block":
        return _of_blocks(claim, evidence, grid, counted, shared, errors, error)
    return _of_families(claim, evidence, grid, counted, shared, error, confidence, seed)


def _check_near(limit: float, places: Values, evidence: Evidence) -> None:
    """Refuse a limit far from every place of both families, as one in another unit would be."""
    least, most = float(places.min()), float(places.max())
    away = max(least - limit, limit - most) / max(float(places.std()), evidence.step)
    if away > FAR:
        read = interval_text(least, most, evidence.unit, uncertainty=0.0, step=evidence.step)
        raise Refusal(
            "limit_far_off",
            f"The limit of {quantity_text(limit, unit=evidence.unit)} lies {away:.0f} standard "
            f"deviations from the nearest place read ({read}): "
            f"{'all lie' if limit > most else 'none lies'} below it in either family, which tells "
            "nothing of how they differ. Is it in the unit of the claim?",
        )


def units_of(grid: Grid, of: str) -> pd.DataFrame:
    """Give one row a place, bore or block of the grid: `family, block, value, n`, and its cell."""
    if of == "places":
        return grid.places
    whole = grid.whole(bores=of == "bores")
    keys = ["family", "block", "bore"] if of == "bores" else ["family", "block"]
    return whole.loc[whole.groupby(keys)["value"].idxmin()]


def _counted(units: pd.DataFrame, family: str, limit: float) -> Counted:
    mine = units[units["family"] == family]
    below = (mine["value"] < limit).astype(float).groupby(mine["block"])
    return Counted(
        family=family,
        shares=np.asarray(below.mean(), dtype=float),
        units=float(below.size().mean()),
    )


def _crossing(evidence: Evidence, units: pd.DataFrame, limit: float) -> Values:
    """Give each cell's weight in the difference of shares: how many places lie at the limit.

    A reading moved down by a little carries as many places below the limit as lie there, told by a
    smooth density of the places.
    """
    cells = evidence.cells
    values = units["value"].to_numpy(float)
    of_block = units.groupby("block")["value"].transform("size").to_numpy(float)
    blocks = units.groupby("family")["block"].transform("nunique").to_numpy(float)
    width = max(WIDTH * float(values.std()) * len(values) ** -0.2, evidence.step)
    density = np.exp(-(((values - limit) / width) ** 2) / 2) / (width * math.sqrt(2 * math.pi))
    sign = np.where(units["family"] == evidence.candidate, -1.0, 1.0)
    keys = ["block", "bore", "place"]
    weight = units[keys].assign(weight=sign * density / (of_block * blocks))
    placed = cells.assign(place=place_of(cells))[[*keys, "n"]].merge(weight, "left", on=keys)
    share = placed["n"] / placed.groupby(keys)["n"].transform("sum")
    return (share * placed["weight"].fillna(0.0)).to_numpy(float)


def _of_families(
    claim: Claim,
    evidence: Evidence,
    grid: Grid,
    counted: tuple[Counted, Counted],
    shared: SharedError,
    error: ReadingError | None,
    confidence: float,
    seed: Sequence[int],
) -> FigureAnalysis:
    from workbench.inference.shares.in_blocks import shares_in_blocks

    ours, others = counted
    alone = shares_in_blocks(ours.shares, others.shares, places=(ours.units, others.units))
    difference = alone.widened(shared.uncertainty)
    return FigureAnalysis(
        scope="family",
        difference=difference,
        method=alone.method,
        shared=shared,
        families=(_figure(ours, confidence), _figure(others, confidence)),
        variances=(
            alone.variance_of_block(alone.candidate),
            alone.variance_of_block(alone.reference),
        ),
        unit=SHARE,
        finest=FINEST,
        grid=grid,
        rivals=(
            _by_model(claim, grid, shared, error, confidence, seed),
            *((_exactly(ours, others),) if claim.of == "blocks" else ()),
        ),
    )


def _figure(counted: Counted, confidence: float) -> FamilyFigure:
    """Give the share of one family, with its own interval where three blocks or more give one."""
    from workbench.inference.extremes.counted import share_in_blocks

    try:
        found = share_in_blocks(counted.shares, counted.units, confidence)
    except Refusal:
        return FamilyFigure(family=counted.family, value=counted.share, interval=None)
    return FamilyFigure(
        family=counted.family,
        value=counted.share,
        interval=Interval(low=found.low, high=found.high, confidence=confidence),
    )


def _by_model(
    claim: Claim,
    grid: Grid,
    shared: SharedError,
    error: ReadingError | None,
    confidence: float,
    seed: Sequence[int],
) -> Rival:
    """Let the nested model say which share of the iron lies below the limit."""
    from workbench.inference.extremes.comparison import share_below_difference

    assert claim.threshold is not None
    try:
        spreads = place_spreads(grid, claim.candidate, claim.reference)
        found = share_below_difference(
            spreads.candidate,
            spreads.reference,
            claim.threshold,
            claim.of.removesuffix("s"),
            bores=grid.bores,
            seed=seed,
            error_variances=errors_of_places(grid, (claim.candidate, claim.reference), error),
            draws=draws_for(confidence),
        )
    except Refusal as refusal:
        return Rival(name=MODEL, note=f"not made: {refusal}")
    return Rival(
        name=MODEL,
        answer=found.widened(shared.uncertainty, seed=[*seed, 1]),
        note=f"{spreads.words}; places normal about their pattern",
    )


def _exactly(ours: Counted, others: Counted) -> Rival:
    from workbench.claims.share_tests import MOST_EXACT, ShareAnswer
    from workbench.inference.shares.count import Count

    counts = [
        Count(yes=round(float(family.shares.sum())), of=family.shares.size)
        for family in (ours, others)
    ]
    if sum(count.of for count in counts) > MOST_EXACT:
        return Rival(name=EXACT, note="not made: with so many blocks it changes nothing")
    return Rival(
        name=EXACT,
        answer=ShareAnswer(candidate=counts[0], reference=counts[1], test="exact_shares"),
        note="the shared error of measuring is not counted",
    )


def _of_blocks(
    claim: Claim,
    evidence: Evidence,
    grid: Grid,
    counted: tuple[Counted, Counted],
    shared: SharedError,
    errors: Values,
    error: ReadingError | None,
) -> FigureAnalysis:
    """Judge the shares of the blocks measured by the places that reading may have misplaced."""
    if not errors.any():
        raise Refusal(
            "no_repeats",
            "No reading was repeated and the study states no uncertainty of the gauge, so nothing "
            "shows the error of reading these blocks.",
        )
    assert claim.threshold is not None
    chances = _chances(evidence, grid, claim.of, claim.threshold, errors)
    parts = [
        float((chances[chances["family"] == family.family]["variance"]).sum()) for family in counted
    ]
    alone = Difference(
        estimate=counted[0].share - counted[1].share,
        standard_error=max(math.sqrt(sum(parts)), LEAST_ERROR),
        degrees_of_freedom=math.inf,
        method="shares of the blocks as measured, "
        + ("stated error of each reading" if error is None else error.method),
    )
    return FigureAnalysis(
        scope="block",
        difference=alone.widened(shared.uncertainty, shared.degrees_of_freedom),
        method=alone.method,
        shared=shared,
        families=(
            FamilyFigure(family=counted[0].family, value=counted[0].share, interval=None),
            FamilyFigure(family=counted[1].family, value=counted[1].share, interval=None),
        ),
        variances=(parts[0] * counted[0].shares.size, parts[1] * counted[1].shares.size),
        unit=SHARE,
        finest=FINEST,
        grid=grid,
    )


def _chances(evidence: Evidence, grid: Grid, of: str, limit: float, errors: Values) -> pd.DataFrame:
    """Give each block's variance of its share: places near the limit may lie on its other side."""
    keys = ["family", "block", "bore", "place"]
    cells = evidence.cells.assign(place=place_of(evidence.cells))
    parts = cells[keys].assign(v=cells["n"] ** 2 * errors, n=cells["n"])
    place = parts.groupby(keys, as_index=False)[["v", "n"]].sum()
    there = grid.places if of == "places" else grid.whole(bores=of == "bores")
    table = there[[*keys, "value"]].merge(place, "left", on=keys)
    deviation = np.sqrt(table["v"].to_numpy(float)) / table["n"].to_numpy(float)
    above = ndtr((table["value"].to_numpy(float) - limit) / np.maximum(deviation, 1e-12))
    of_unit = {"places": keys, "bores": keys[:3], "blocks": keys[:2]}[of]
    whole = table.assign(above=above).groupby(of_unit)["above"].prod()
    variance = (whole * (1 - whole)).groupby(level=["family", "block"]).agg(["sum", "size"])
    blocks = variance.groupby(level="family")["size"].transform("size")
    found = variance["sum"] / (variance["size"] * blocks) ** 2
    return found.rename("variance").reset_index()
