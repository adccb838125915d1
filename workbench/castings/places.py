"""What was read at each place of a block: all readings of a place together, with angle and depth.

Angles are degrees clockwise, seen from the deck, 0 at the front of the engine: those of
`[drawing.stations]`, or a station that is itself a number. How far below the deck a depth lies
comes from `[drawing.depths]`, or is the depth itself where that is a number, in the unit of the
drawing.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from workbench.castings.hidden_places import Hidden, hidden_places
from workbench.errors import Refusal
from workbench.inference.grouping import Codes, group_codes
from workbench.records.columns import BELOW
from workbench.records.rounding import quantity_text
from workbench.records.settings import Drawing, Gauge, Settings
from workbench.records.units import factor, kind_of

if TYPE_CHECKING:
    from workbench.castings.gauge_errors import GaugeError

Values = NDArray[np.float64]

WALL = "wall_thickness"
PLACE = ("family", "block", "bore", "depth", "station")
ROUNDING = 1 / 12  # variance of an error spread evenly over one step, in steps squared


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Places:
    """The readings of one quantity by place, in `unit`.

    Attributes
    ----------
    quantity
        Its name.
    places
        A row a place: `family, block, bore, depth, station`, its `angle` in degrees and its depth
        `down` from the deck face (NaN where not known), `n` readings, their `mean`, and `ss` about
        it, gauges and operators taken together.
    searched
        Places that can only lower the thinnest: `family, block, bore, depth, station, angle, n,
        mean`, in no mean. Where `below` they were read only as not above `mean`, else hunted for.
    step
        The finest step read, in `unit`.
    gauge_uncertainty
        Standard uncertainty shared by all readings: the largest stated for a gauge in use.
    unstated
        Gauges in use for which the study states none.
    doubtful
        Readings of doubtful contact, left out.
    errors
        What each gauge in use may be out by, and for which families, where that was asked for.
    bores
        How many the drawing has, where it says so.
    hidden
        By block and bore, which places may be missing because what they show was never kept.
    """

    quantity: str
    unit: str
    places: pd.DataFrame
    searched: pd.DataFrame
    step: float
    gauge_uncertainty: float
    unstated: tuple[str, ...]
    doubtful: int
    errors: tuple[GaugeError, ...] = ()
    bores: int | None = None
    hidden: Hidden = field(default_factory=dict)

    @property
    def repeats(self) -> int:
        """How many readings repeat an earlier one of their place."""
        return int(self.places["n"].sum()) - len(self.places)

    @property
    def reading_variance(self) -> float:
        """The variance of one reading about its place: from repeats, and not below rounding."""
        rounding = ROUNDING * self.step**2
        if not self.repeats:
            return rounding
        return max(rounding, float(self.places["ss"].sum()) / self.repeats)

    @property
    def round_bores(self) -> pd.DataFrame:
        """The places with a bore and an angle: what a shift or a map is made from."""
        known = self.places["angle"].notna() & (self.places["bore"] != "")
        return self.places[known].reset_index(drop=True)

    def unread_bores(self, block: str) -> dict[str, str]:
        """Say of each bore of the drawing that was read nowhere with an angle that it was not.

        Of a block whose bores are numbered from 1; none where the drawing does not say how many.
        """
        known = self.round_bores
        return self.bores_besides(block, set(known.loc[known["block"] == block, "bore"]))

    def bores_besides(self, block: str, read: Collection[str]) -> dict[str, str]:
        """Say it where it is known already which bores were `read` so."""
        if self.bores is None or not all(name.isdigit() for name in read):
            return {}
        drawn = (str(at + 1) for at in range(self.bores))
        why = "no wall of it was read at a place with an angle."
        return {name: f"Bore {name} of {block}: {why}" for name in drawn if name not in read}

    def of_family(self, family: str) -> Places:
        """Give the places of one family."""
        return self._only("family", family)

    def of_block(self, block: str) -> Places:
        """Give the places of one block; refused (`no_such_block`) where it has none."""
        found = self._only("block", block)
        if found.places.empty and found.searched.empty:
            said = self.quantity.replace("_", " ")
            raise Refusal("no_such_block", f"There is no {said} of a block “{block}”.")
        return found

    @property
    def only_below(self) -> str:
        """Say which places were read only as not above a value; "" where none were."""
        if not self.searched["below"].to_numpy().any():
            return ""
        mine = self.searched[self.searched["below"]]
        row = mine.iloc[int(mine["mean"].argmin())]
        names = [f"bore {row['bore']}" if row["bore"] else "", str(row["station"]), row["depth"]]
        at = ", ".join(filter(None, names))
        most = quantity_text(float(row["mean"]), float(row["mean"]) / 100, self.unit)
        return (
            f"{len(mine)} {'place was' if len(mine) == 1 else 'places were'} read only as not "
            f"above a value ({at}: {most}), so how much less is there is not known."
        )

    @property
    def may_be_hidden(self) -> str:
        """Say of which bores places may be missing, as they were never kept; "" where of none."""
        return " ".join(
            f"Bore {bore} of {block}: {why}" if bore else f"{block}: {why}"
            for (block, bore), why in self.hidden.items()
        )

    def _only(self, column: str, name: str) -> Places:
        # plain arrays: several times faster than a comparison and a choice of the table's own
        parts = [
            frame.take(np.flatnonzero(frame[column].to_numpy(object) == name)).reset_index(
                drop=True
            )
            for frame in (self.places, self.searched)
        ]
        hidden = self.hidden
        if hidden:
            there = {str(block) for frame in parts for block in frame["block"].unique()}
            hidden = {key: why for key, why in hidden.items() if key[0] in there}
        return replace(self, places=parts[0], searched=parts[1], hidden=hidden)


def places_of(
    shown: pd.DataFrame,
    settings: Settings,
    quantity: str = WALL,
    *,
    gauge_uncertainty: float | None = None,
    errors: tuple[GaugeError, ...] = (),
) -> Places:
    """Gather the readings of one quantity place by place; doubtful contact is left out.

    Parameters
    ----------
    shown
        Moments (`records.reduction.moments`, corrected or not) that hold the quantity in one unit;
        other quantities are passed over.
    settings
        The study's: its drawing and its gauges.
    gauge_uncertainty
        Standard uncertainty all readings share, in the unit of the moments; left out, the largest
        stated for a gauge in use. Calibrated readings should give that of their calibration.
    errors
        What each gauge may be out by, kept for who asks of families.

    Raises
    ------
    Refusal
        `no_readings` where there is no reading to use; `bad_uncertainty`.
    """
    mine = shown[shown["quantity"] == quantity]
    used = (mine["n"] > 0).to_numpy()
    contact, sampling = mine["contact"].to_numpy(object), mine["sampling"].to_numpy(object)
    good, below, grid = used & (contact == "good"), used & (contact == BELOW), sampling == "grid"
    if not good.any():
        said = quantity.replace("_", " ")
        raise Refusal("no_readings", f"There is no reading of {said} with good contact.")
    unit = str(mine["unit"].iloc[int(good.argmax())])
    angles = settings.drawing.stations if settings.drawing else {}
    place, _ = group_codes(mine, PLACE)
    places = _by_place(mine, place, np.flatnonzero(good & grid))
    apart = place + below * (int(place.max()) + 1)  # what is known only from above by itself
    lower = np.flatnonzero((good & ~grid) | below)
    searched = _by_place(mine, apart, lower)
    searched["below"] = np.unique(apart[lower]) > place.max()
    for found in (places, searched):
        found.insert(5, "angle", _looked_up(found["station"], angles) % 360.0)
    places.insert(6, "down", _down(places["depth"], settings.drawing, unit))
    gauges = mine.loc[good, "gauge"].unique().tolist()
    uncertainty, unstated = _gauges(gauges, settings, unit)
    if gauge_uncertainty is not None:
        uncertainty, unstated = gauge_uncertainty, ()
    if not (uncertainty >= 0 and np.isfinite(uncertainty)):
        raise Refusal("bad_uncertainty", f"A standard uncertainty is 0 or more, not {uncertainty}.")
    return Places(
        quantity=quantity,
        unit=unit,
        places=places,
        searched=searched.drop(columns="ss"),
        step=float(mine["step"].to_numpy(float)[good].min()),
        gauge_uncertainty=uncertainty,
        unstated=unstated,
        doubtful=int(mine["n"].to_numpy()[(contact != "good") & (contact != BELOW)].sum()),
        errors=errors,
        bores=settings.drawing.bores if settings.drawing else None,
        hidden=hidden_places(mine, settings.truncations, quantity),
    )


def _by_place(cells: pd.DataFrame, place: Codes, rows: Codes) -> pd.DataFrame:
    """Put the cells of a place together: count, mean, and squares about the common mean.

    Of the rows at the positions `rows`; `place` numbers the place of every row, in order.
    """
    _, first, own = np.unique(place[rows], return_index=True, return_inverse=True)
    n, mean, ss = (cells[name].to_numpy(float)[rows] for name in ("n", "mean", "ss"))
    if len(first) == len(rows):
        count, middle, squares = n[first], mean[first], ss[first]
    else:
        count = np.bincount(own, weights=n)
        middle = np.bincount(own, weights=n * mean) / count
        squares = np.bincount(own, weights=ss + n * (mean - middle[own]) ** 2)
    # plain objects: looking up one block among them is several times faster than in text columns
    named = {
        name: pd.Series(cells[name].to_numpy(object)[rows[first]], dtype=object) for name in PLACE
    }
    return pd.DataFrame({**named, "n": count.astype(np.int64), "mean": middle, "ss": squares})


def _down(depths: pd.Series[str], drawing: Drawing | None, unit: str) -> Values:
    """Give how far below the deck each depth lies; NaN where nothing says.

    In `unit`, or in the unit of the drawing where the quantity is no length.
    """
    if drawing is None:
        return _looked_up(depths, {})
    scale = factor(drawing.unit, unit) if kind_of(unit) == "length" else 1.0
    return _looked_up(depths, drawing.depths) * scale


def _looked_up(names: pd.Series[str], known: Mapping[str, float]) -> Values:
    """Give each name its number: the one known for it, or the name itself where it is one."""
    codes, distinct = pd.factorize(names)
    numbers = pd.to_numeric(pd.Series(distinct), errors="coerce").to_numpy(float, copy=True)
    for at, name in enumerate(distinct):
        numbers[at] = known.get(str(name), numbers[at])
    numbers[~np.isfinite(numbers)] = np.nan
    answer: Values = numbers[codes] if len(numbers) else np.zeros(0)
    return answer


def stated_uncertainty(gauge: Gauge | None, unit: str) -> float | None:
    """Give the standard uncertainty stated for a gauge, in `unit`; None where none fits it."""
    if gauge is None or gauge.uncertainty is None:
        return None
    try:
        return gauge.uncertainty * factor(gauge.unit or unit, unit)
    except Refusal:
        return None


def _gauges(used: list[str], settings: Settings, unit: str) -> tuple[float, tuple[str, ...]]:
    stated = {name: stated_uncertainty(settings.gauges.get(name), unit) for name in sorted(used)}
    unstated = tuple(name for name, uncertainty in stated.items() if uncertainty is None)
    return max((u for u in stated.values() if u is not None), default=0.0), unstated
