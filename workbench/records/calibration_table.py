"""`[calibrations.NAME]` of `study.toml`: what readings on reference pieces cannot say themselves.

How the line is to be made, a speed of sound that is known, the uncertainty of a zero taken on
trust, which calibration was made after which, and how warm the iron was.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Annotated, Literal

from pydantic import Field

from workbench.records.faults import Fault
from workbench.records.setting_types import Name, NotNegative, Positive, Table, Unit
from workbench.records.tomlfile import toml_key

METRES_PER_SECOND = {"m/s": 1.0, "mm/us": 1000.0, "in/us": 25_400.0}


class Temperature(Table):
    """Pieces at `calibrated_at`, readings at `read_at`, in degrees Celsius.

    `coefficient` is the relative change of the speed of sound per degree, below 0 where sound
    slows as the iron warms; it is never assumed. `uncertainty` is the standard uncertainty of the
    difference of the two temperatures.
    """

    coefficient: Annotated[float, Field(strict=True, gt=-0.002, lt=0.002)]
    calibrated_at: Annotated[float, Field(strict=True, ge=-60, le=200)]
    read_at: Annotated[float, Field(strict=True, ge=-60, le=200)]
    uncertainty: NotNegative = 0.0
    coefficient_uncertainty: NotNegative = 0.0

    @property
    def change(self) -> float:
        """How many times faster sound was in the iron read than in the pieces."""
        return 1 + self.coefficient * (self.read_at - self.calibrated_at)


class StatedCalibration(Table):
    """What the study states of a calibration; `zero_uncertainty` is in `unit`.

    The speeds are in `speed_unit`. `pair_of` names the calibration that this one, made after the
    readings, is to be compared with.
    """

    gauge: Name | None = None
    method: Literal["ratio", "line", "speed"] | None = None
    zero_uncertainty: NotNegative | None = None
    unit: Unit | None = None
    set_speed: Positive | None = None
    true_speed: Positive | None = None
    speed_uncertainty: NotNegative | None = None
    speed_unit: Literal["m/s", "mm/us", "in/us"] = "m/s"
    pair_of: Name | None = None
    temperature: Temperature | None = None

    def metres_per_second(self, speed: float) -> float:
        """Turn a speed as stated here into metres a second."""
        return speed * METRES_PER_SECOND[self.speed_unit]


def calibration_table_faults(file: str, stated: Mapping[str, StatedCalibration]) -> Iterator[Fault]:
    """Find what is missing or out of place within the tables of calibrations."""
    for name, table in stated.items():
        for key, code, sentence in _slips(name, table):
            place = toml_key(("calibrations", name, key))
            given = getattr(table, key)
            yield Fault(
                file=file,
                row=None,
                column=place,
                value="" if given is None else str(given),
                code=code,
                sentence=sentence,
            )


def _slips(name: str, table: StatedCalibration) -> Iterator[tuple[str, str, str]]:
    """Give key, code and sentence of each slip."""
    if table.method == "speed":
        for key in ("set_speed", "true_speed"):
            if getattr(table, key) is None:
                yield key, "missing_key", f"A known speed needs “{key}”."
    elif table.true_speed is not None:
        sentence = "A true speed makes the line only with method = “speed”."
        yield "true_speed", "bad_value", sentence
    elif table.speed_uncertainty is not None:
        sentence = "An uncertainty of the speed belongs to method = “speed”."
        yield "speed_uncertainty", "bad_value", sentence
    if table.zero_uncertainty is not None:
        if table.unit is None:
            yield "unit", "missing_key", "“zero_uncertainty” needs the “unit” it is in."
        if table.method == "line":
            sentence = "A line finds its zero; no uncertainty of an assumed one belongs to it."
            yield "zero_uncertainty", "bad_value", sentence
    if table.pair_of == name:
        yield "pair_of", "bad_value", "A calibration cannot be compared with itself."
