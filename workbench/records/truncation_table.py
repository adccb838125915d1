"""`[[truncation]]` of `study.toml`: readings or blocks that never reached the records.

A gauge that shows nothing of walls under 1.5 mm, or a foundry that scraps thin decks before anyone
measures them, leaves no row behind, not even one written with "<". Only the study can say so.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from typing import Literal, NamedTuple

from workbench.errors import Refusal
from workbench.records.columns import did_you_mean
from workbench.records.faults import Fault
from workbench.records.gauge_table import Gauge
from workbench.records.quantity_table import UNCONVERTED, Quantity
from workbench.records.setting_faults import key_fault
from workbench.records.setting_types import Line, Name, Number, Table
from workbench.records.summary_table import fits_quantity
from workbench.records.tomlfile import toml_key
from workbench.records.units import canonical_unit, exact_factor, units_of


class Truncation(Table):
    """From where to where readings of a quantity were kept, both ends included, in `unit`.

    `of` says what was not kept: single readings as the gauge showed them, or whole blocks, sorted
    by somebody before they were measured. `family` and `gauge` left out mean every one; blocks are
    not sorted by the gauge they are later read with. `note` says who or what kept nothing else.
    """

    quantity: Name
    unit: Name
    note: Line
    kept_from: Number | None = None
    kept_to: Number | None = None
    family: Name | None = None
    gauge: Name | None = None
    of: Literal["readings", "blocks"] = "readings"

    @property
    def range_words(self) -> str:
        """Say what was not kept, as "below 1.5 mm"."""
        ends = (("below", self.kept_from), ("above", self.kept_to))
        return " or ".join(f"{side} {end:g} {self.unit}" for side, end in ends if end is not None)

    @property
    def words(self) -> str:
        """Say the entry in words, without its family and quantity."""
        if self.of == "blocks":
            return (
                f"blocks with a reading {self.range_words} were sorted out before they were "
                f"measured ({self.note})"
            )
        by = f" by “{self.gauge}”" if self.gauge else ""
        return f"no reading {self.range_words}{by} was kept ({self.note})"

    def ends_in(self, unit: str) -> tuple[Fraction | None, Fraction | None]:
        """Give both ends in another unit, exactly; None for one that is open.

        Raises
        ------
        Refusal
            `unit_mismatch`, `hardness_scale` where the unit cannot be reached.
        """
        scale = Fraction(1) if unit == self.unit else exact_factor(self.unit, unit)
        low, high = (
            None if end is None else Fraction(str(end)) * scale
            for end in (self.kept_from, self.kept_to)
        )
        return low, high


class KeptRange(NamedTuple):
    """The ends of an entry, counted from 0, in one unit of its quantity, and what it says."""

    entry: int
    of: str
    quantity: str
    unit: str
    family: str
    gauge: str
    low: Fraction | None
    high: Fraction | None
    said: str


def truncations_of(
    truncations: Sequence[Truncation], quantity: str, family: str
) -> tuple[Truncation, ...]:
    """Give the entries that concern a quantity of a family."""
    return tuple(
        one for one in truncations if one.quantity == quantity and one.family in (None, family)
    )


def kept_ranges(
    truncations: Sequence[Truncation], quantities: Mapping[str, Quantity]
) -> Iterator[KeptRange]:
    """Give every entry in every unit its readings may be written in."""
    for at, one in enumerate(truncations):
        kind = quantities[one.quantity].kind
        for unit in (one.unit,) if kind in UNCONVERTED else units_of(kind):
            try:
                low, high = one.ends_in(unit)
            except Refusal:  # another hardness scale, of which nothing is stated
                continue
            yield KeptRange(
                entry=at,
                of=one.of,
                quantity=one.quantity,
                unit=canonical_unit(unit) or unit,
                family=one.family or "",
                gauge=one.gauge or "",
                low=low,
                high=high,
                said=one.words,
            )


def truncation_faults(
    truncations: Sequence[Truncation],
    quantities: Mapping[str, Quantity],
    gauges: Mapping[str, Gauge],
) -> Iterator[Fault]:
    """Find what is wrong in the entries: quantity, unit, ends, and limits that contradict."""
    for at, item in enumerate(truncations):
        place = toml_key(("truncation", at))
        for key, value, code, sentence in _slips(item, quantities, gauges):
            yield key_fault(f"{place}.{key}", value, code, sentence)


def _slips(
    item: Truncation, quantities: Mapping[str, Quantity], gauges: Mapping[str, Gauge]
) -> Iterator[tuple[str, object, str, str]]:
    """Give key, value, code and sentence of each slip."""
    known = quantities.get(item.quantity)
    if known is None:
        hint = did_you_mean(item.quantity, tuple(quantities))
        yield "quantity", item.quantity, "unknown_quantity", f"The quantity is not known{hint}."
    elif known.kind == "feature":
        sentence = f"{known.label} is seen by eye; it has levels and no range."
        yield "quantity", item.quantity, "bad_value", sentence
    elif not fits_quantity(item.unit, known):
        sentence = f"The unit does not fit {known.label} (in {known.unit})."
        yield "unit", item.unit, "unit_mismatch", sentence
    low, high = item.kept_from, item.kept_to
    if low is None and high is None:
        sentence = "“kept_from”, “kept_to” or both are needed: from where to where it was kept."
        yield "kept_from", "", "missing_key", sentence
    elif low is not None and high is not None and low >= high:
        sentence = f"“kept_from” ({low:g}) is not below “kept_to” ({high:g}); nothing were kept."
        yield "kept_from", low, "bad_value", sentence
    if item.of == "blocks" and item.gauge is not None:
        sentence = (
            "Blocks sorted out before they were measured were sorted whatever gauge they would "
            "have been read with; leave “gauge” out, or state it of readings."
        )
        yield "gauge", item.gauge, "bad_value", sentence
    if item.of == "readings":
        yield from _against_lower_limits(item, gauges)


def _against_lower_limits(
    item: Truncation, gauges: Mapping[str, Gauge]
) -> Iterator[tuple[str, object, str, str]]:
    """Refuse a gauge whose low readings are said to be kept as "not above", and not kept at all."""
    asked = gauges if item.gauge is None else {item.gauge: gauges.get(item.gauge)}
    for name, gauge in asked.items():
        if gauge is None or gauge.lower_limit is None or item.kept_from is None:
            continue
        try:
            limit = Fraction(str(gauge.lower_limit)) * exact_factor(gauge.unit or "", item.unit)
        except Refusal:  # the gauge is for another quantity
            continue
        if Fraction(str(item.kept_from)) >= limit:
            yield (
                "kept_from",
                item.kept_from,
                "bad_value",
                f"The gauge “{name}” has the lower limit {gauge.lower_limit:g} {gauge.unit}: what "
                "lies there or below is kept as “not above it”, so it is not true that nothing "
                f"below {item.kept_from:g} {item.unit} was kept. Drop one of the two.",
            )
