"""`study.toml`: what the user states about the study, checked whole, every fault with its key.

A key is named as TOML would write it: `families.trophy.price`; the entries of a list are counted
from 1, as in `remembered[2].low`. Unknown keys are faults, with the nearest known one; only a
family keeps further keys of its own, and the tables `boring`, `fitness` and `worth` are kept as
written.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import ConfigDict, Field, ValidationError

from workbench.errors import StudyError
from workbench.records.allowance_table import Part, StatedCorrelation, allowance_faults
from workbench.records.calibration_table import (
    StatedCalibration,
    Temperature,
    calibration_table_faults,
)
from workbench.records.columns import did_you_mean
from workbench.records.faults import Fault, FaultsError
from workbench.records.gauge_table import Gauge as Gauge
from workbench.records.gauge_table import Indenter, Needs, gauge_table_faults
from workbench.records.money import Amount, Currency
from workbench.records.quantity_table import OwnQuantity, own_quantity
from workbench.records.quantity_table import Quantity as Quantity
from workbench.records.quantity_table import built_in_quantities as built_in_quantities
from workbench.records.setting_faults import SETTINGS_FILE as SETTINGS_FILE
from workbench.records.setting_faults import faults_found, key_fault
from workbench.records.setting_types import (
    AsOf,
    LengthUnit,
    Line,
    Name,
    NotNegative,
    Number,
    Positive,
    Table,
)
from workbench.records.summary_table import PrintedSummary, fits_quantity, summary_faults
from workbench.records.tomlfile import read_toml, toml_key
from workbench.records.truncation_table import Truncation, truncation_faults


class Family(Table):
    """A family of blocks as the study states it; keys not listed here are kept for later use."""

    model_config = ConfigDict(extra="allow", frozen=True, strict=True)

    label: Line | None = None
    price: Amount | None = None
    currency: Currency | None = None


class Drawing(Table):
    """The block as drawn: lengths in `unit`, stations in degrees clockwise from the front.

    `depths` says how far below the deck face a named depth lies; `bore_length` is the length of the
    bore from the deck face down.
    """

    unit: LengthUnit = "mm"
    bores: Annotated[int, Field(strict=True, ge=1, le=64)] | None = None
    bore_diameter: Positive | None = None
    bore_spacing: Positive | None = None
    bore_length: Positive | None = None
    wall_thickness: Positive | None = None
    deck_thickness: Positive | None = None
    web_thickness: Positive | None = None
    stations: dict[Name, Annotated[float, Field(strict=True, ge=0, lt=360)]] = Field(
        default_factory=dict
    )
    depths: dict[Name, NotNegative] = Field(default_factory=dict)


class Remembered(Table):
    """A range somebody remembers, from `low` to `high`: shown beside the data, never deciding."""

    who: Line
    quantity: Name
    family: Name
    low: Number
    high: Number
    unit: Name


class ReadingsFile(Table):
    """Where the readings are and how their numbers are written, where that needs saying."""

    file: Line | None = None
    decimal: Literal[".", ","] | None = None
    sheet: Line | None = None
    table: Line | None = None
    as_of: AsOf | None = None


class EngineChoice(Table):
    """Which engine reduces the readings; where a cluster is, the user says and no study file."""

    name: Literal["duckdb", "spark"] = "duckdb"


class _StudyFile(Table):
    title: Line
    confidence: Annotated[float, Field(strict=True, gt=0.5, lt=1)] = 0.95
    units: Literal["mm", "in"] = "mm"
    families: dict[Name, Family] = Field(default_factory=dict)
    drawing: Drawing | None = None
    gauges: dict[Name, Gauge] = Field(default_factory=dict)
    calibrations: dict[Name, StatedCalibration] = Field(default_factory=dict)
    correlations: dict[Name, StatedCorrelation] = Field(default_factory=dict)
    parts: dict[Name, Part] = Field(default_factory=dict)
    quantities: dict[Name, OwnQuantity] = Field(default_factory=dict)
    remembered: list[Remembered] = Field(default_factory=list)
    summaries: list[PrintedSummary] = Field(default_factory=list)
    truncation: list[Truncation] = Field(default_factory=list)
    readings: ReadingsFile = ReadingsFile()
    engine: EngineChoice = EngineChoice()
    boring: dict[str, Any] = Field(default_factory=dict)
    fitness: dict[str, Any] = Field(default_factory=dict)
    worth: dict[str, Any] = Field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """A study's settings, checked; `quantities` holds the built-in ones too."""

    title: str
    confidence: float = 0.95
    units: str = "mm"
    families: Mapping[str, Family] = field(default_factory=dict)
    drawing: Drawing | None = None
    gauges: Mapping[str, Gauge] = field(default_factory=dict)
    calibrations: Mapping[str, StatedCalibration] = field(default_factory=dict)
    correlations: Mapping[str, StatedCorrelation] = field(default_factory=dict)
    parts: Mapping[str, Part] = field(default_factory=dict)
    quantities: Mapping[str, Quantity] = field(default_factory=dict)
    remembered: tuple[Remembered, ...] = ()
    summaries: tuple[PrintedSummary, ...] = ()
    truncations: tuple[Truncation, ...] = ()
    readings: ReadingsFile = field(default_factory=ReadingsFile)
    engine: EngineChoice = field(default_factory=EngineChoice)
    boring: Mapping[str, Any] = field(default_factory=dict)
    fitness: Mapping[str, Any] = field(default_factory=dict)
    worth: Mapping[str, Any] = field(default_factory=dict)

    def family_labels(self, met: Iterable[str]) -> dict[str, str]:
        """Name all families of a study: those met in their order, then those that are only stated.

        Those met are in the order of the settings, what these do not state after it by name.
        """
        found = set(met)
        stated = sorted(self.families, key=lambda family: family not in found)
        known = sum(family in found for family in stated)
        order = (*stated[:known], *sorted(found.difference(stated)), *stated[known:])
        return {family: self.family_label(family) for family in order}

    def family_label(self, family: str) -> str:
        """Give the label of a family, or its name where the study gives none."""
        known = self.families.get(family)
        return known.label if known and known.label else family


def load_settings(folder: Path) -> Settings:
    """Read and check `study.toml` of a study folder.

    Raises `StudyError` where there is no such file, `FaultsError` with every fault found in it.
    """
    data = _parse(folder)
    try:
        stated = _StudyFile.model_validate(data)
    except ValidationError as error:
        raise FaultsError(faults_found(error, _KEYS_AT)) from None
    quantities = built_in_quantities(stated.units)
    faults = []
    for name, own in stated.quantities.items():
        quantity, found = own_quantity(name, own)
        quantities[name] = quantity
        faults += found
    faults += _cross_faults(stated, quantities)
    if faults:
        raise FaultsError(faults)
    return Settings(
        title=stated.title,
        confidence=stated.confidence,
        units=stated.units,
        families=stated.families,
        drawing=stated.drawing,
        gauges=stated.gauges,
        calibrations=stated.calibrations,
        correlations=stated.correlations,
        parts=stated.parts,
        quantities=quantities,
        remembered=tuple(stated.remembered),
        summaries=tuple(stated.summaries),
        truncations=tuple(stated.truncation),
        readings=stated.readings,
        engine=stated.engine,
        boring=stated.boring,
        fitness=stated.fitness,
        worth=stated.worth,
    )


def _parse(folder: Path) -> dict[str, Any]:
    if not folder.is_dir():
        raise StudyError(f"{folder} is not a folder.")
    path = folder / SETTINGS_FILE
    if not path.is_file():
        raise StudyError(f"{folder} is not a study: it holds no {SETTINGS_FILE}.")
    return read_toml(path)


_KEYS_AT = {
    (): tuple(_StudyFile.model_fields),
    ("families", None): tuple(Family.model_fields),
    ("families", None, None): tuple(Amount.model_fields),
    ("gauges", None): tuple(Gauge.model_fields),
    ("gauges", None, None): (*Indenter.model_fields, *Needs.model_fields),
    ("calibrations", None): tuple(StatedCalibration.model_fields),
    ("calibrations", None, None): tuple(Temperature.model_fields),
    ("correlations", None): tuple(StatedCorrelation.model_fields),
    ("parts", None): tuple(Part.model_fields),
    ("quantities", None): tuple(OwnQuantity.model_fields),
    ("remembered", None): tuple(Remembered.model_fields),
    ("summaries", None): tuple(PrintedSummary.model_fields),
    ("truncation", None): tuple(Truncation.model_fields),
    ("drawing",): tuple(Drawing.model_fields),
    ("readings",): tuple(ReadingsFile.model_fields),
    ("engine",): tuple(EngineChoice.model_fields),
}


def _cross_faults(stated: _StudyFile, quantities: Mapping[str, Quantity]) -> list[Fault]:
    """Find what is wrong between tables, and family keys that are slips of the pen."""
    faults = list(calibration_table_faults(SETTINGS_FILE, stated.calibrations))
    for name, family in stated.families.items():
        for key in family.model_extra or {}:
            if hint := did_you_mean(key, tuple(Family.model_fields)):
                sentence = f"There is no key “{key}” here{hint}."
                faults.append(key_fault(f"families.{name}.{key}", "", "unknown_key", sentence))
    kinds = {name: quantity.kind for name, quantity in quantities.items()}
    faults += gauge_table_faults(stated.gauges, kinds)
    faults += allowance_faults(
        stated.parts, stated.correlations, stated.calibrations, stated.gauges
    )
    faults += summary_faults(stated.summaries, quantities)
    faults += truncation_faults(stated.truncation, quantities, stated.gauges)
    for at, item in enumerate(stated.remembered):
        place = toml_key(("remembered", at))
        if item.low > item.high:
            sentence = f"“low” ({item.low}) is above “high” ({item.high})."
            faults.append(key_fault(f"{place}.low", item.low, "bad_value", sentence))
        quantity = quantities.get(item.quantity)
        if quantity is None:
            hint = did_you_mean(item.quantity, tuple(quantities))
            sentence = f"The quantity is not known{hint}."
            faults.append(
                key_fault(f"{place}.quantity", item.quantity, "unknown_quantity", sentence)
            )
        elif not fits_quantity(item.unit, quantity):
            sentence = f"The unit does not fit {quantity.label} (in {quantity.unit})."
            faults.append(key_fault(f"{place}.unit", item.unit, "unit_mismatch", sentence))
    return faults
