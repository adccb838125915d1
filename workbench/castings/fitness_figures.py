"""What a block shows for each rule of a duty: a figure, its uncertainty, and where it was found."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from workbench.castings.bores.core_shift import CoreShifts
from workbench.castings.bores.wall_draws import BlockDraws, BoreDraws
from workbench.castings.bores.wall_limits import WallLimits
from workbench.castings.inspection import DECK, HARDNESS, Inspection
from workbench.castings.places import WALL, Places
from workbench.castings.stated_rules import Duty, station_angles
from workbench.errors import Refusal
from workbench.inference.measuring.conformity import Limits
from workbench.records.units import factor

Values = NDArray[np.float64]

ELSEWHERE = "elsewhere"


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A figure of a block: `value` with its standard uncertainty, in `unit`; `where` in words.

    `only_against` marks a figure that can speak against the block but not for it: a wall known at
    some places only. `reason` then says why.
    """

    value: float
    standard_uncertainty: float
    unit: str
    where: str
    degrees_of_freedom: float = math.inf
    only_against: bool = False
    reason: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """One rule of a duty: its name, its limits in `unit`, and how to find its figure.

    `figure` gives the figure in the unit of the limits, or refuses it. `quantity` is what an error
    of the gauge shifts it with, "" for a core shift, in which such an error cancels.
    """

    name: str
    quantity: str
    limits: Limits
    unit: str
    figure: Callable[[], Figure]


def wall_limits(duty: Duty, inspection: Inspection) -> WallLimits:
    """Give the least walls a duty asks for, everywhere and by station class.

    Raises
    ------
    Refusal
        `no_wall_limit` where it asks for none.
    """
    return WallLimits(
        unit=duty.unit or "mm",
        everywhere=-math.inf if duty.least_wall is None else duty.least_wall,
        stations=station_angles(inspection.settings),
        at={name: own.least_wall for own in duty.station_classes.values() for name in own.stations},
    )


def rules_of(
    duty: Duty, inspection: Inspection, block: str, draws: Callable[[], BlockDraws]
) -> Iterator[Rule]:
    """Give the rules of a duty for one block; `draws` gives its walls, or refuses them."""
    unit, scale = duty.unit or "mm", duty.hardness_unit
    walls = {ELSEWHERE: duty.least_wall} if duty.least_wall is not None else {}
    walls |= {label: own.least_wall for label, own in duty.station_classes.items()}
    for label, least in walls.items():
        yield Rule(
            name="least_wall" if label == ELSEWHERE else f"least_wall, {label}",
            quantity=WALL,
            limits=Limits(lower=least),
            unit=unit,
            figure=_wall_asked(inspection, duty, block, draws, label),
        )
    if duty.least_deck is not None:
        yield Rule(
            name="least_deck",
            quantity=DECK,
            limits=Limits(lower=duty.least_deck),
            unit=unit,
            figure=lambda: _in(unit, least_place(inspection.of(DECK), block)),
        )
    if duty.largest_shift is not None:
        yield Rule(
            name="largest_shift",
            quantity="",
            limits=Limits(upper=duty.largest_shift),
            unit=unit,
            figure=lambda: _in(unit, _shift_of_all(inspection, block)),
        )
    if duty.hardness_low is not None or duty.hardness_high is not None:
        yield Rule(
            name="hardness",
            quantity=HARDNESS,
            limits=Limits(
                lower=-math.inf if duty.hardness_low is None else duty.hardness_low,
                upper=math.inf if duty.hardness_high is None else duty.hardness_high,
            ),
            unit=scale,
            figure=lambda: _in(scale, mean_of_places(inspection.of(HARDNESS), block)),
        )


def least_place(places: Places, block: str) -> Figure:
    """Give the least place read, places hunted for included, with the error of its readings."""
    return _least_of(places.of_block(block), places)


def mean_of_places(places: Places, block: str) -> Figure:
    """Give the mean over the places of a block; its scatter is that between them.

    Raises
    ------
    Refusal
        `no_such_block`; `no_readings` where every place was hunted for; `censored_readings` where
        some were read only as not above a value, and the mean of the rest is too high;
        `hidden_places` where some may be missing as they were never kept.
    """
    own = places.of_block(block)
    if own.only_below:
        raise Refusal("censored_readings", own.only_below)
    if own.hidden:
        raise Refusal("hidden_places", own.may_be_hidden)
    mine = own.places
    means, count = mine["mean"].to_numpy(float), len(mine)
    if not count:
        raise Refusal("no_readings", f"Every {places.quantity} of {block} was hunted for.")
    df = math.inf
    variance = places.reading_variance / float(mine["n"].sum())
    if count > 1:
        variance, df = max(variance, float(means.var(ddof=1)) / count), count - 1
    shared = places.gauge_uncertainty**2
    if shared > 0 and math.isfinite(df):
        df = (variance + shared) ** 2 / (variance**2 / df)
    return Figure(
        value=float(means.mean()),
        standard_uncertainty=math.sqrt(variance + shared),
        unit=places.unit,
        where=f"mean of {count} place{'s' if count > 1 else ''}",
        degrees_of_freedom=df,
    )


def largest_shift(shifts: CoreShifts, block: str) -> Figure:
    """Give the largest core shift of the bores of a block."""
    mine = shifts.of_block(block)
    found, refused = {}, []
    for name in mine.bores["bore"]:
        try:
            found[str(name)] = mine.bore(block, name)
        except Refusal as refusal:
            refused.append(str(refusal))
    if not found:
        raise Refusal("no_shift", " ".join(refused) or f"No bore of {block} has a core shift.")
    bore = max(found, key=lambda name: found[name].size)
    vector = found[bore]
    return Figure(
        value=vector.size,
        standard_uncertainty=vector.size_standard_error,
        unit=shifts.unit,
        where=f"bore {bore}, towards {vector.direction:.0f} degrees",
        degrees_of_freedom=vector.degrees_of_freedom,
        only_against=bool(refused),
        reason=" ".join(refused),
    )


def _shift_of_all(inspection: Inspection, block: str) -> Figure:
    """Give the largest shift; it speaks only against a block with a bore not wholly read."""
    found = largest_shift(inspection.core_shifts(), block)
    walls = inspection.of(WALL)
    unread, hidden = walls.unread_bores(block), walls.of_block(block).may_be_hidden
    if not unread and not hidden:
        return found
    reason = " ".join([found.reason, *unread.values(), hidden]).strip()
    return replace(found, only_against=True, reason=reason)


def _wall_asked(
    inspection: Inspection,
    duty: Duty,
    block: str,
    draws: Callable[[], BlockDraws],
    label: str,
) -> Callable[[], Figure]:
    """Ask for the least wall anywhere in a class; at the places read where that is all there is."""
    unit = duty.unit or "mm"

    def figure() -> Figure:
        try:
            walls = draws()
            if walls.all_round:
                return _in(unit, _least_drawn(walls, duty, inspection, label))
            why = " ".join(walls.not_answered.values())
            why = why or f"Some bores of {block} were not read all round."
        except Refusal as refusal:
            why = str(refusal)
        places = inspection.of(WALL)
        found = _least_of(_only_class(places.of_block(block), duty, label), places)
        reason = f"Known at the places read only. {found.reason or why}"
        return _in(unit, replace(found, only_against=True, reason=reason))

    return figure


def _least_drawn(walls: BlockDraws, duty: Duty, inspection: Inspection, label: str) -> Figure:
    """Take the least drawn wall of a class; places hunted for at no known angle are in all."""
    least = [_least_in(bore, duty, inspection, label) for bore in walls.bores.values()]
    each = np.array(least)
    together = each.min(axis=0)
    if not np.isfinite(together).all():
        raise Refusal("no_readings", f"No wall lies in the class “{label}”.")
    names = list(walls.bores)
    thinnest = names[int(np.bincount(each.argmin(axis=0), minlength=len(names)).argmax())]
    return Figure(
        value=float(together.mean()),
        standard_uncertainty=float(together.std()),
        unit=walls.unit,
        where=f"least wall anywhere, bore {thinnest}",
    )


def _least_in(bore: BoreDraws, duty: Duty, inspection: Inspection, label: str) -> Values:
    """Give the least wall of a class in each draw of one bore; infinite where it has none."""
    if not duty.station_classes:
        return bore.least
    inside = _in_class(bore.degrees, duty, inspection, label)
    hunted = _in_class(bore.searched_degrees, duty, inspection, label)
    hunted |= np.isnan(bore.searched_degrees)
    both = np.concatenate([bore.draws[:, inside], bore.searched[:, hunted]], axis=1)
    least: Values = both.min(axis=1, initial=math.inf)
    return least


def _classes(duty: Duty) -> dict[str, str]:
    """Give the class of each station that has one."""
    return {name: own for own, table in duty.station_classes.items() for name in table.stations}


def _in_class(degrees: Values, duty: Duty, inspection: Inspection, label: str) -> NDArray[np.bool_]:
    """Tell which angles belong to a class: those whose nearest station does."""
    stations = station_angles(inspection.settings)
    angles = np.array(list(stations.values()))
    classes = np.array([_classes(duty).get(name, ELSEWHERE) for name in stations])
    apart = np.abs((np.nan_to_num(degrees)[:, None] - angles + 180.0) % 360.0 - 180.0)
    found: NDArray[np.bool_] = classes[apart.argmin(axis=1)] == label
    return found & ~np.isnan(degrees)


def _only_class(places: Places, duty: Duty, label: str) -> Places:
    """Keep the places of a class; those without an angle are in every class."""
    if not duty.station_classes:
        return places

    def kept(frame: pd.DataFrame) -> pd.DataFrame:
        own = frame["station"].map(_classes(duty)).fillna(ELSEWHERE)
        return frame[(own == label) | frame["angle"].isna()].reset_index(drop=True)

    return replace(places, places=kept(places.places), searched=kept(places.searched))


def _least_of(mine: Places, study: Places) -> Figure:
    frames = [frame for frame in (mine.places, mine.searched) if len(frame)]
    if not frames:
        raise Refusal("no_readings", f"There is no {study.quantity.replace('_', ' ')} to go by.")
    frame = min(frames, key=lambda frame: float(frame["mean"].to_numpy().min()))
    at = int(frame["mean"].to_numpy().argmin())
    mean, n, bore, station, depth = (
        frame[name].array[at] for name in ("mean", "n", "bore", "station", "depth")
    )
    unknown = " ".join(filter(None, (mine.only_below, mine.may_be_hidden)))
    names = [f"bore {bore}" if bore else "", str(station), str(depth)]
    reading = math.sqrt(study.reading_variance / float(n))
    return Figure(
        value=float(mean),
        standard_uncertainty=math.hypot(reading, study.gauge_uncertainty),
        unit=study.unit,
        where=", ".join(part for part in ("least place read", *names) if part),
        only_against=bool(unknown),
        reason=unknown,
    )


def _in(unit: str, figure: Figure) -> Figure:
    """Turn a figure into the unit of its rule."""
    scale = factor(figure.unit, unit)
    return replace(
        figure,
        value=figure.value * scale,
        standard_uncertainty=figure.standard_uncertainty * scale,
        unit=unit,
    )
