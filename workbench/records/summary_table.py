"""`[[summaries]]` of study.toml: a family known by its printed count, mean and standard deviation.

An article or a leaflet often prints of a family how many blocks were measured, their mean and their
standard deviation, and no reading. Each entry is one such line of one source.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Annotated, Literal

from pydantic import Field

from workbench.errors import Refusal
from workbench.records.columns import did_you_mean
from workbench.records.faults import Fault
from workbench.records.quantity_table import UNCONVERTED, Quantity
from workbench.records.setting_faults import key_fault
from workbench.records.setting_types import Line, Name, NotNegative, Number, Positive, Table
from workbench.records.tomlfile import toml_key
from workbench.records.units import canonical_unit, factor, kind_of


class PrintedSummary(Table):
    """What one source prints of one family: `n` blocks, the mean and deviation of block means.

    `uncertainty` is the standard uncertainty of the source's measuring, common to all its blocks,
    where it states one.
    """

    family: Name
    quantity: Name
    unit: Name
    n: Annotated[int, Field(strict=True, ge=2, le=10_000_000)]
    mean: Number
    sd: Positive
    source: Line
    of: Literal["blocks"] = "blocks"
    uncertainty: NotNegative | None = None

    def scale(self, unit: str) -> float:
        """Give what a number of this entry is multiplied with to be in `unit`.

        Raises
        ------
        Refusal
            `unit_mismatch` where it cannot be given in it, as on another hardness scale.
        """
        if self.unit == unit:
            return 1.0
        own = canonical_unit(self.unit)
        if own is None or kind_of(own) == "hardness":
            raise Refusal(
                "unit_mismatch",
                f"What {self.source} prints in {self.unit} cannot be given in {unit}.",
            )
        return float(factor(own, unit))


def summary_faults(
    summaries: Sequence[PrintedSummary], quantities: Mapping[str, Quantity]
) -> Iterator[Fault]:
    """Find entries of unknown quantities, in units that do not fit, or given twice."""
    seen: set[tuple[str, str, str]] = set()
    for at, item in enumerate(summaries):
        place = toml_key(("summaries", at))
        known = quantities.get(item.quantity)
        if known is None:
            hint = did_you_mean(item.quantity, tuple(quantities))
            yield key_fault(
                f"{place}.quantity",
                item.quantity,
                "unknown_quantity",
                f"The quantity is not known{hint}.",
            )
        elif known.kind == "feature":
            yield key_fault(
                f"{place}.quantity",
                item.quantity,
                "bad_value",
                f"{known.label} is seen by eye; it has no mean and no standard deviation.",
            )
        elif not fits_quantity(item.unit, known):
            yield key_fault(
                f"{place}.unit",
                item.unit,
                "unit_mismatch",
                f"The unit does not fit {known.label} (in {known.unit}).",
            )
        key = (item.family, item.quantity, item.source)
        if key in seen:
            yield key_fault(
                f"{place}.source",
                item.source,
                "second_row",
                "An earlier entry gives this source for the family and quantity already.",
            )
        seen.add(key)


def fits_quantity(unit: str, quantity: Quantity) -> bool:
    """Tell whether numbers in `unit` can be of a quantity."""
    if quantity.kind in UNCONVERTED:
        return unit == quantity.unit
    known = canonical_unit(unit)
    return known is not None and kind_of(known) == quantity.kind
