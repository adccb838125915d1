"""What can be read: the built-in quantities, and `[quantities.NAME]` of `study.toml`."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import Field

from workbench.records.columns import plain
from workbench.records.faults import Fault
from workbench.records.setting_faults import key_fault
from workbench.records.setting_types import Line, Name, Table
from workbench.records.units import canonical_unit, kind_of, units_of

UNIT_SYSTEMS = {"mm": {"length": "mm", "mass": "kg"}, "in": {"length": "in", "mass": "lb"}}
BUILT_IN = {
    "wall_thickness": ("wall thickness", "length"),
    "deck_thickness": ("deck thickness", "length"),
    "web_thickness": ("web thickness", "length"),
    "hardness": ("hardness", "hardness"),
    "mass": ("mass", "mass"),
    "length": ("length", "length"),
    "core_shift": ("core shift", "length"),
}
DERIVED = ("core_shift",)  # nobody need read it: the walls tell; a study may, and declare it
UNCONVERTED = ("feature", "other")  # kinds whose one unit is that of the quantity
YES_NO = ("no", "yes")
SHARE, GRADE = "share", "grade"
# Other words for no and yes; a number says the place of a level, from 0.
NO_YES_WORDS = (("no", "n", "false", "absent"), ("yes", "y", "true", "present"))


class OwnQuantity(Table):
    """A quantity of the user's own; a feature, seen by eye, has levels in place of a unit."""

    label: Line | None = None
    unit: Line | None = None
    kind: Literal["length", "hardness", "mass", "feature", "other"] | None = None
    signed: bool = False
    levels: Annotated[list[Name], Field(min_length=2, max_length=20)] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """What can be read: its label, the unit it is shown in, and its kind.

    `kind` is `length`, `mass`, `hardness`, `feature` or `other`. `signed` quantities may be zero or
    negative. A unit of the user's own is shown as written and never converted. A feature is graded:
    `levels` names its grades from 0 up, `no` and `yes` where it is there or not.
    """

    name: str
    label: str
    unit: str
    kind: str
    signed: bool = False
    levels: tuple[str, ...] = ()

    @property
    def yes_no(self) -> bool:
        """Tell whether it is a feature that is there or not."""
        return len(self.levels) == len(YES_NO)

    def grade(self, written: str) -> int | None:
        """Give the grade a word stands for: a level, its number, or another word for no or yes."""
        wanted = plain(written.removesuffix(".0"))
        for place, level in enumerate(self.levels):
            if wanted in (plain(level), str(place)):
                return place
        if self.levels == YES_NO:
            return next((at for at, words in enumerate(NO_YES_WORDS) if wanted in words), None)
        return None


def built_in_quantities(units: str = "mm") -> dict[str, Quantity]:
    """Give the built-in quantities, shown in the units of the system `mm` or `in`."""
    shown = UNIT_SYSTEMS[units] | {"hardness": "HB"}
    return {
        name: Quantity(name=name, label=label, unit=shown[kind], kind=kind)
        for name, (label, kind) in BUILT_IN.items()
    }


def own_quantity(name: str, own: OwnQuantity) -> tuple[Quantity, list[Fault]]:
    """Complete a quantity of the user's: its kind from its unit, unless it says otherwise."""
    key, faults = f"quantities.{name}", []
    label = own.label or name.replace("_", " ")
    if name in BUILT_IN and name not in DERIVED:
        sentence = f"“{name}” is built in and cannot be declared again."
        faults.append(key_fault(key, "", "bad_value", sentence))
    if own.kind == "feature":
        return _feature(name, label, own, faults)
    if own.levels is not None:
        sentence = "Levels belong to a quantity of kind = “feature”."
        faults.append(key_fault(f"{key}.levels", "", "bad_value", sentence))
    if own.unit is None:
        sentence = "“unit” is required and not given."
        faults.append(key_fault(f"{key}.unit", "", "missing_key", sentence))
    written = own.unit or ""
    unit = canonical_unit(written)
    kind = own.kind or (unit and kind_of(unit)) or "other"
    if written and kind != "other" and (unit is None or kind_of(unit) != kind):
        fitting = ", ".join(units_of(kind))
        sentence = f"“{written}” is not a unit of {kind}; it must be one of {fitting}."
        faults.append(key_fault(f"{key}.unit", written, "unit_mismatch", sentence))
    return Quantity(
        name=name,
        label=label,
        unit=written if kind == "other" else unit or written,
        kind=kind,
        signed=own.signed or kind == "other",
    ), faults


def _feature(
    name: str, label: str, own: OwnQuantity, faults: list[Fault]
) -> tuple[Quantity, list[Fault]]:
    """Complete a feature: yes or no unless it has levels; its unit follows from them."""
    levels = tuple(own.levels or YES_NO)
    if len({plain(level) for level in levels}) < len(levels):
        sentence = "Two levels have the same name."
        faults.append(key_fault(f"quantities.{name}.levels", "", "bad_value", sentence))
    if own.unit is not None:
        sentence = "A feature has levels and no unit of its own; leave it out."
        faults.append(key_fault(f"quantities.{name}.unit", own.unit, "bad_value", sentence))
    unit = SHARE if len(levels) == len(YES_NO) else GRADE
    return Quantity(
        name=name, label=label, unit=unit, kind="feature", signed=True, levels=levels
    ), faults
