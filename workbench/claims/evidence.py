"""The readings that may speak for or against a claim, and a count of those that may not.

Like with like: a reading enters when it is of the claim's quantity and one of its two families,
made at a place chosen before looking, with good contact, at a place (station and depth) that was
read in both families.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from workbench.castings.calibration import Calibrations
from workbench.castings.correction import corrected_moments, reached
from workbench.errors import Refusal
from workbench.inference.grouping import distinct, group_codes
from workbench.records.columns import BELOW
from workbench.records.units import kind_of

PLACE = ["station", "depth"]
SEPARATOR = "\x1f"  # between family and block, where a block must be told apart from its namesake
UNCALIBRATED = Calibrations()


@dataclass(frozen=True, slots=True, kw_only=True)
class Count:
    """How much was measured of one family: blocks, bores (0 where none are named), readings."""

    blocks: int
    bores: int
    readings: int


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """Readings of one family left out for one reason.

    `doubtful`, `below` (they say only that the value is not above them), `search`, `other_scale`,
    or `unmatched`, which also names the places.
    """

    reason: str
    family: str
    readings: int
    places: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Evidence:
    """The cells that enter a comparison, corrected and in `unit`, and what stayed outside.

    `cells` holds one row a cell: `family, block, bore, station, depth, gauge, calibration,
    operator`, with `n`, `mean`, `ss` (sum of squares about the mean) and `step`. `corrected_by`
    names the one of `calibrations` that corrected it, "" where it stands as shown, `extrapolated`
    tells where it lies beyond that one's pieces. A block that bears the same name in both families
    is two blocks.
    """

    candidate: str
    reference: str
    unit: str
    cells: pd.DataFrame
    counts: dict[str, Count]
    left_out: tuple[LeftOut, ...]
    calibrations: Calibrations
    _of: dict[str, pd.DataFrame] = field(init=False, repr=False, default_factory=dict)

    def of(self, family: str) -> pd.DataFrame:
        """Give the cells of one family."""
        if family not in self._of:
            self._of[family] = self.cells[self.cells["family"] == family]
        return self._of[family]

    def names(self, family: str, column: str) -> list[str]:
        """Give the different labels of a column in one family, sorted; "" where one is missing."""
        return sorted(self.of(family)[column].unique())

    def count(self, family: str) -> Count:
        """Tell how many blocks, bores and readings of one family enter."""
        return self.counts[family]

    @property
    def step(self) -> float:
        """The finest step the readings were written with, in `unit`."""
        return float(self.cells["step"].min())

    @property
    def finest(self) -> float:
        """The finest digit a mean of these readings is printed to: one more than a reading has."""
        return self.step / 10


def gather(
    cells: pd.DataFrame,
    *,
    quantity: str,
    candidate: str,
    reference: str,
    unit: str,
    calibrations: Calibrations = UNCALIBRATED,
) -> Evidence:
    """Select the cells of a comparison of two families, correct them, count what is left out.

    Raises
    ------
    Refusal
        `no_readings` when a family has no usable reading of the quantity; `hardness_scale` when
        it has none on a scale that can be given in `unit`; `no_shared_station` when no place was
        read in both; `unit_mismatch` when units do not fit.
    """
    families = (candidate, reference)
    mine, left_out = _entering(cells, quantity, families, unit, calibrations)
    shared = _shared(mine, families)
    if not shared.all():
        left_out += _left_out(mine[~shared], "unmatched", families, places=True)
        mine = mine[shared]
    if mine.empty:
        raise Refusal(
            "no_shared_station",
            f"No place (station and depth) of {quantity} was read in both {candidate} and "
            f"{reference}, so like cannot be compared with like.",
        )
    return _evidence(mine, families, unit, calibrations, left_out)


def gather_one(
    cells: pd.DataFrame,
    *,
    quantity: str,
    family: str,
    unit: str,
    calibrations: Calibrations = UNCALIBRATED,
) -> Evidence:
    """Select the cells of one family, for a comparison with what is printed of another.

    The family stands as candidate and reference; no place is left out as unmatched, for a printed
    summary names none. Refusals are those of `gather`.
    """
    families = (family,)
    mine, left_out = _entering(cells, quantity, families, unit, calibrations)
    return _evidence(mine, families, unit, calibrations, left_out)


def _entering(
    cells: pd.DataFrame,
    quantity: str,
    families: tuple[str, ...],
    unit: str,
    calibrations: Calibrations,
) -> tuple[pd.DataFrame, list[LeftOut]]:
    """Select the cells that may enter a mean of any of the families, and list the others."""
    asked = (cells["quantity"] == quantity) & cells["family"].isin(families) & (cells["n"] > 0)
    mine = cells[asked]
    _require(mine, quantity, families, (), unit)
    left_out: list[LeftOut] = []
    for reason, outside in (
        ("doubtful", ~mine["contact"].isin(["good", BELOW])),
        ("below", mine["contact"] == BELOW),
        ("search", mine["sampling"] != "grid"),
        ("other_scale", ~_reached(mine, unit, calibrations)),
    ):
        out = outside.reindex(mine.index)
        if not out.any():
            continue
        left_out += _left_out(mine[out], reason, families)
        mine = mine[~out]
    _require(mine, quantity, families, left_out, unit)
    return mine, left_out


def _evidence(
    cells: pd.DataFrame,
    families: tuple[str, ...],
    unit: str,
    calibrations: Calibrations,
    left_out: Sequence[LeftOut],
) -> Evidence:
    converted = corrected_moments(cells, unit, calibrations)
    converted["block"] = converted["family"] + SEPARATOR + converted["block"]
    return Evidence(
        candidate=families[0],
        reference=families[-1],
        unit=unit,
        cells=converted,
        counts=_counts(converted, families),
        left_out=tuple(left_out),
        calibrations=calibrations,
    )


def places_text(places: tuple[str, ...], most: int = 6) -> str:
    """Give a list of places in words, shortened."""
    shown = ", ".join(places[:most])
    return shown if len(places) <= most else f"{shown} and {len(places) - most} more"


def _counts(cells: pd.DataFrame, families: Sequence[str]) -> dict[str, Count]:
    bores = distinct(cells, ("family", "block", "bore"))
    return {
        family: Count(
            blocks=len({block for of, block, _ in bores if of == family}),
            bores=sum(of == family and bore != "" for of, _, bore in bores),
            readings=int(cells["n"].to_numpy()[(cells["family"] == family).to_numpy()].sum()),
        )
        for family in families
    }


def _require(
    cells: pd.DataFrame,
    quantity: str,
    families: tuple[str, ...],
    left_out: Sequence[LeftOut],
    unit: str,
) -> None:
    there = set(cells["family"].unique())
    missing = [family for family in families if family not in there]
    if not missing:
        return
    lost = [part for part in left_out if part.family in missing]
    count = sum(part.readings for part in lost)
    if any(part.reason == "other_scale" for part in lost):
        raise Refusal(
            "hardness_scale",
            f"There is no reading of {quantity} in {unit} for {' or '.join(missing)}. Readings on "
            "another scale are not converted: no table holds for grey iron. A correlation of the "
            "study's own, with its pairs, would do it.",
        )
    why = f" that may enter ({count} searched, doubtful or censored ones were left out)"
    raise Refusal(
        "no_readings",
        f"There is no reading of {quantity} for {' or '.join(missing)}{why if count else ''}.",
    )


def _reached(cells: pd.DataFrame, unit: str, calibrations: Calibrations) -> pd.Series[bool]:
    """Tell for each cell whether its readings are on a scale that can be given in `unit`."""
    scales = [own for own in cells["unit"].unique() if kind_of(own) == "hardness"]
    return reached(cells, unit, calibrations) | ~cells["unit"].isin(scales)


def _shared(cells: pd.DataFrame, families: tuple[str, ...]) -> NDArray[np.bool_]:
    """Tell for each cell whether its place was read in both families."""
    places, first = group_codes(cells, PLACE)
    ours = (cells["family"] == families[0]).to_numpy()
    both = np.ones(len(first), dtype=bool)
    for mine in (ours, ~ours):
        both &= np.bincount(places[mine], minlength=len(first)) > 0
    return both[places]


def _left_out(
    cells: pd.DataFrame, reason: str, families: tuple[str, ...], *, places: bool = False
) -> list[LeftOut]:
    parts = []
    for family in families:
        mine = cells[(cells["family"] == family).to_numpy()]
        if len(mine):
            names = distinct(mine, PLACE) if places else []
            parts.append(
                LeftOut(
                    reason=reason,
                    family=family,
                    readings=int(mine["n"].sum()),
                    places=tuple(_place(*name) for name in names),
                )
            )
    return parts


def _place(station: str, depth: str) -> str:
    return "/".join(part for part in (station, depth) if part) or "place not given"
