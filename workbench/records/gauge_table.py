"""`[gauges.NAME]` of `study.toml`: an instrument, what it presses, what it asks of a place."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Annotated, Literal

from pydantic import Field

from workbench.records.columns import plain
from workbench.records.faults import Fault
from workbench.records.setting_faults import key_fault
from workbench.records.setting_types import (
    LengthUnit,
    Line,
    MassUnit,
    Name,
    NotNegative,
    Positive,
    Table,
    Unit,
)
from workbench.records.tomlfile import toml_key
from workbench.records.units import REBOUND, kind_of

REBOUND_KINDS = ("rebound", "leeb", "dynamic_hardness")


class Indenter(Table):
    """What presses a Brinell impression: the load, in `load_unit`, and the diameter of the ball.

    Readings give the impression's diameter; resolution and uncertainty are those of the hardness.
    """

    load: Positive
    ball: Positive
    load_unit: Literal["N", "kgf"] = "N"
    ball_unit: LengthUnit = "mm"


class Needs(Table):
    """What a sound hardness reading asks of its place; lengths in `unit`, the mass in `mass_unit`.

    `section` is the quantity that says how thick the iron under the reading is. `spacing` is the
    distance kept between the centres of impressions; readings carry none of their own. `note` says
    where the limits come from.
    """

    note: Line
    section: Name | None = None
    least_section: Positive | None = None
    spacing: Positive | None = None
    least_spacing: Positive | None = None
    unit: LengthUnit = "mm"
    least_mass: Positive | None = None
    mass_unit: MassUnit = "kg"
    least_readings: Annotated[int, Field(strict=True, ge=1, le=100)] | None = None


class Gauge(Table):
    """An instrument: `resolution`, `uncertainty` (standard) and `lower_limit` are in `unit`.

    `calibration_days` says for how many days a calibration of it holds. A reading at `lower_limit`
    or below says only that the value is not above it.
    """

    kind: Line | None = None
    resolution: Positive | None = None
    unit: Unit | None = None
    uncertainty: NotNegative | None = None
    lower_limit: Positive | None = None
    calibration_days: NotNegative | None = None
    impression: Indenter | None = None
    needs: Needs | None = None

    @property
    def rebound(self) -> bool:
        """Tell whether it reads on a rebound scale of its own."""
        return plain(self.kind or "") in REBOUND_KINDS

    @property
    def scale(self) -> str | None:
        """Give the hardness scale it reads on: one, or any rebound scale (""), or None."""
        if self.unit is not None and kind_of(self.unit) == "hardness":
            return self.unit
        return "" if self.rebound else None


def gauge_table_faults(gauges: Mapping[str, Gauge], quantities: Mapping[str, str]) -> list[Fault]:
    """Find what is missing or out of place within the tables of gauges.

    `quantities` gives the kind of each quantity of the study.
    """
    return [
        key_fault(toml_key(("gauges", name, *key)), value, code, sentence)
        for name, gauge in gauges.items()
        for key, value, code, sentence in _slips(gauge, quantities)
    ]


def _slips(
    gauge: Gauge, quantities: Mapping[str, str]
) -> Iterator[tuple[tuple[str, ...], str, str, str]]:
    """Give key, value, code and sentence of each slip."""
    numbers = (gauge.resolution, gauge.uncertainty, gauge.lower_limit)
    if gauge.unit is None and any(number is not None for number in numbers):
        sentence = "A resolution, uncertainty or lower limit needs the “unit” it is in."
        yield ("unit",), "", "missing_key", sentence
    if gauge.rebound and gauge.scale not in ("", *REBOUND):
        sentence = (
            f"A rebound tester reads on a scale of its own ({', '.join(REBOUND)}); what it shows "
            "on another was converted, and no conversion is taken for grey iron."
        )
        yield ("unit",), gauge.unit or "", "bad_value", sentence
    if gauge.impression is not None and gauge.scale is None and gauge.unit is not None:
        sentence = "What is stated of a gauge that presses impressions is a hardness, in “HB”."
        yield ("unit",), gauge.unit, "bad_value", sentence
    needs = gauge.needs
    if needs is None:
        return
    if needs.least_section is not None and needs.section is None:
        sentence = "A least section needs the “section” (a quantity) that is read for it."
        yield ("needs", "section"), "", "missing_key", sentence
    if needs.section is not None and quantities.get(needs.section) != "length":
        sentence = "“section” must be a quantity that is a length, such as deck_thickness."
        yield ("needs", "section"), needs.section, "bad_value", sentence
    if needs.spacing is not None and needs.least_spacing is None and gauge.impression is None:
        sentence = "A “spacing” is held against “least_spacing”, which is not given."
        yield ("needs", "least_spacing"), "", "missing_key", sentence
