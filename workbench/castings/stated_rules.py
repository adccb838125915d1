"""`[fitness.NAME]` and `[boring]` of `study.toml`: their keys, checked, every fault named.

A duty::

    [fitness.high_power]
    label = "High power"
    note = "common practice, no source"     # where the limits come from; required
    unit = "mm"                             # of the lengths below
    least_wall = 3.5                        # everywhere round the bore
    least_deck = 10.0
    largest_shift = 0.5                     # of the core of any bore
    hardness_low = 180                      # a band, or one side of it
    hardness_high = 240
    hardness_unit = "HB"

    [fitness.high_power.station_classes.thrust_sides]   # a class of stations with its own wall
    stations = ["thrust", "counter"]
    least_wall = 4.0

Boring::

    [boring]
    unit = "mm"
    oversizes = [0.5, 1.0]      # of pistons to be had, on the diameter
    largest_offset = 0.2        # how far a centre may be moved; left out, no further than cleans up
    clean_up = 0.05             # least cut at any place, on the radius
    least_wall = 3.5            # to be left; where the duty gives none
    density = 7.2               # of the iron, g/cm3, for the mass bored away
    note = "pistons of the catalogue of 2026"
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any

from pydantic import Field, ValidationError

from workbench.records.faults import Fault, FaultsError
from workbench.records.setting_faults import faults_found, key_fault
from workbench.records.setting_types import (
    LengthUnit,
    Line,
    Name,
    NotNegative,
    Positive,
    Table,
    Unit,
)
from workbench.records.settings import Settings
from workbench.records.tomlfile import toml_key
from workbench.records.units import kind_of

# Grey cast iron lies near 7.2 g/cm3 (common practice, no source).
IRON_DENSITY = 7.2

COMMON_PRACTICE = """\
# What a block must show for a duty. The limits are common practice, no source: they depend on
# design, fuel and duty, and a thickness says nothing of cracks, porosity or corrosion. Replace them
# with those of your engine.
[fitness.usable]
label = "To be used at all"
note = "common practice, no source"
unit = "mm"
least_wall = 3.0

[fitness.high_power]
label = "High power"
note = "common practice, no source"
unit = "mm"
least_wall = 3.5

[fitness.comfortable]
label = "Comfortable"
note = "common practice, no source"
unit = "mm"
least_wall = 4.0
"""


class StationClass(Table):
    """Stations that share a least wall of their own."""

    stations: Annotated[list[Name], Field(min_length=1)]
    least_wall: Positive


class Duty(Table):
    """What a block must show for one duty; lengths in `unit`."""

    note: Line
    label: Line | None = None
    unit: LengthUnit | None = None
    least_wall: Positive | None = None
    station_classes: dict[Name, StationClass] = Field(default_factory=dict)
    least_deck: Positive | None = None
    largest_shift: Positive | None = None
    hardness_low: Positive | None = None
    hardness_high: Positive | None = None
    hardness_unit: Unit = "HB"


class Boring(Table):
    """What boring is asked for; lengths in `unit`, oversizes on the diameter."""

    unit: LengthUnit = "mm"
    oversizes: list[Positive] = Field(default_factory=list)
    largest_offset: NotNegative | None = None
    clean_up: NotNegative = 0.0
    least_wall: Positive | None = None
    density: Positive = IRON_DENSITY
    note: Line | None = None


_KEYS_AT = {
    ("fitness", None): tuple(Duty.model_fields),
    ("fitness", None, None): tuple(StationClass.model_fields),
    ("fitness", None, None, None): tuple(StationClass.model_fields),
    ("boring",): tuple(Boring.model_fields),
}


def stated_duties(settings: Settings) -> dict[str, Duty]:
    """Give the duties of a study by name, in the order stated.

    Raises
    ------
    FaultsError
        With every fault of `[fitness]`.
    """
    duties: dict[str, Duty] = {}
    faults: list[Fault] = []
    for name, table in settings.fitness.items():
        try:
            duties[name] = Duty.model_validate(table)
        except ValidationError as error:
            faults += faults_found(error, _KEYS_AT, ("fitness", name))
            continue
        faults += _duty_faults(name, duties[name], settings)
    if faults:
        raise FaultsError(faults)
    return duties


def stated_boring(settings: Settings) -> Boring:
    """Give what a study asks of boring; all left out is answered too.

    Raises
    ------
    FaultsError
        With every fault of `[boring]`.
    """
    try:
        return Boring.model_validate(dict(settings.boring))
    except ValidationError as error:
        raise FaultsError(faults_found(error, _KEYS_AT, ("boring",))) from None


def _duty_faults(name: str, duty: Duty, settings: Settings) -> list[Fault]:
    """Find what no single key shows: no rule, no unit, a band upside down, unknown stations."""
    lengths = (duty.least_wall, duty.least_deck, duty.largest_shift, duty.station_classes or None)
    band = (duty.hardness_low, duty.hardness_high)
    faults = []

    def fault(key: tuple[str, ...], value: Any, code: str, sentence: str) -> None:
        faults.append(key_fault(toml_key(("fitness", name, *key)), value, code, sentence))

    if all(limit is None for limit in (*lengths, *band)):
        fault((), "", "no_rule", "The duty asks nothing; give it a limit.")
    if duty.unit is None and any(limit is not None for limit in lengths):
        fault(("unit",), "", "missing_key", "A length needs the “unit” it is in.")
    if kind_of(duty.hardness_unit) != "hardness":
        fault(("hardness_unit",), duty.hardness_unit, "bad_value", "It must be a hardness scale.")
    if None not in band and not band[0] < band[1]:  # type: ignore[operator]
        sentence = f"“hardness_low” ({band[0]:g}) must lie below “hardness_high” ({band[1]:g})."
        fault(("hardness_low",), band[0], "bad_value", sentence)
    known = station_angles(settings)
    seen: dict[str, str] = {}
    for label, own in duty.station_classes.items():
        for station in own.stations:
            at = ("station_classes", label, "stations")
            if station not in known:
                fault(at, station, "unknown_station", "It is not in [drawing.stations].")
            elif station in seen:
                fault(at, station, "bad_value", f"It is in the class “{seen[station]}” already.")
            seen[station] = label
    return faults


def station_angles(settings: Settings) -> Mapping[str, float]:
    """Give the stations of the drawing with their angles; none without a drawing."""
    return {} if settings.drawing is None else settings.drawing.stations
