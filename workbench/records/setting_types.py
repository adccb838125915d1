"""What a value of `study.toml` must be: numbers, lines of text, names and units, checked alike."""

from __future__ import annotations

import math
from datetime import date, datetime
from typing import Annotated

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field

from workbench.errors import StudyError
from workbench.records.collection.as_of import moment
from workbench.records.columns import ID_LENGTH, did_you_mean
from workbench.records.units import all_units, canonical_unit, kind_of

FURTHEST = 1e15  # no unit makes a measured number larger, and its square must still be a number


def _measured(number: float) -> float:
    if not math.isfinite(number):
        raise ValueError("must be a finite number")
    if abs(number) > FURTHEST:
        raise ValueError(f"must be no further from 0 than {FURTHEST:g}")
    return number


def _known_unit(text: str) -> str:
    unit = canonical_unit(text)
    if unit is None:
        raise ValueError(f"is not a known unit{did_you_mean(text, all_units())}")
    return unit


def _moment(stated: object) -> datetime:
    try:
        if isinstance(stated, str | date):
            return moment(stated)
    except StudyError:
        pass
    raise ValueError("must be a day (2026-11-25) or a time (2026-11-25T14:30Z)")


def _length_unit(text: str) -> str:
    unit = _known_unit(text)
    if kind_of(unit) != "length":
        raise ValueError("must be a unit of length")
    return unit


def _mass_unit(text: str) -> str:
    unit = _known_unit(text)
    if kind_of(unit) != "mass":
        raise ValueError("must be a unit of mass")
    return unit


def _hardness_scale(text: str) -> str:
    unit = _known_unit(text)
    if kind_of(unit) != "hardness":
        raise ValueError("must be a hardness scale")
    return unit


def _one_line(text: str) -> str:
    if any(ord(sign) < 32 for sign in text):
        raise ValueError("must be one line of text without control characters")
    return text.strip()


Number = Annotated[float, Field(strict=True), AfterValidator(_measured)]
Positive = Annotated[float, Field(strict=True, gt=0), AfterValidator(_measured)]
NotNegative = Annotated[float, Field(strict=True, ge=0), AfterValidator(_measured)]
Line = Annotated[str, Field(min_length=1, max_length=500), AfterValidator(_one_line)]
Name = Annotated[str, Field(min_length=1, max_length=ID_LENGTH), AfterValidator(_one_line)]
Unit = Annotated[str, Field(min_length=1, max_length=20), AfterValidator(_known_unit)]
LengthUnit = Annotated[str, Field(min_length=1, max_length=20), AfterValidator(_length_unit)]
MassUnit = Annotated[str, Field(min_length=1, max_length=20), AfterValidator(_mass_unit)]
HardnessScale = Annotated[str, Field(min_length=1, max_length=20), AfterValidator(_hardness_scale)]

AsOf = Annotated[datetime, BeforeValidator(_moment)]


class Table(BaseModel):
    """A table of `study.toml`: only the keys named, of exactly their types."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)
