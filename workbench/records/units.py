"""Units of length, mass and hardness: their spellings, and exact factors between them.

Factors are fractions, so a reading in inches becomes millimetres without a rounding of its own:
1 in = 25.4 mm and 1 lb = 0.453 592 37 kg exactly (international yard and pound, 1959; NIST SP 811,
appendix B). Hardness scales have no factor between them: a conversion is a correlation of one
material, with an uncertainty, not a change of unit.
"""

from __future__ import annotations

from fractions import Fraction

from workbench.errors import Refusal

# Rebound hardness, a scale for each impact body (ISO 16859-1, from memory).
REBOUND = ("HLD", "HLC", "HLE", "HLG", "HLS", "HLDL")

_POUND = Fraction(45359237, 100_000_000)
# unit: (kind, size in mm or kg; None where no other unit of the kind can be reached)
_UNITS: dict[str, tuple[str, Fraction | None]] = {
    "mm": ("length", Fraction(1)),
    "cm": ("length", Fraction(10)),
    "m": ("length", Fraction(1000)),
    "um": ("length", Fraction(1, 1000)),
    "in": ("length", Fraction(254, 10)),
    "mil": ("length", Fraction(254, 10_000)),
    "kg": ("mass", Fraction(1)),
    "g": ("mass", Fraction(1, 1000)),
    "t": ("mass", Fraction(1000)),
    "lb": ("mass", _POUND),
    "oz": ("mass", _POUND / 16),
    "HB": ("hardness", None),
    "HRB": ("hardness", None),
    "HRC": ("hardness", None),
    "HV": ("hardness", None),
    "HLD": ("hardness", None),
    "HLC": ("hardness", None),
    "HLE": ("hardness", None),
    "HLG": ("hardness", None),
    "HLS": ("hardness", None),
    "HLDL": ("hardness", None),
}

# Spellings beside the unit itself, without case, spaces and a closing full stop.
SPELLINGS: dict[str, tuple[str, ...]] = {
    "mm": ("millimetre", "millimetres", "millimeter", "millimeters"),
    "cm": ("centimetre", "centimetres", "centimeter", "centimeters"),
    "m": ("metre", "metres", "meter", "meters"),
    "um": ("µm", "μm", "micron", "microns", "micrometre", "micrometer"),
    "in": ("inch", "inches", '"', "″", "”", "''"),
    "mil": ("mils", "thou"),
    "kg": ("kgs", "kilogram", "kilograms", "kilo", "kilos"),
    "g": ("gram", "grams"),
    "t": ("tonne", "tonnes"),
    "lb": ("lbs", "pound", "pounds"),
    "oz": ("ounce", "ounces"),
    "HB": ("hbw", "bhn", "brinell"),
    "HRB": ("rockwell b",),
    "HRC": ("rockwell c",),
    "HV": ("vickers",),
    "HLD": ("hl", "leeb", "leeb d"),
    "HLC": ("leeb c",),
    "HLE": ("leeb e",),
    "HLG": ("leeb g",),
    "HLS": ("leeb s",),
    "HLDL": ("leeb dl",),
}
_BY_SPELLING = {spelling: unit for unit in _UNITS for spelling in (unit.lower(), *SPELLINGS[unit])}


def canonical_unit(text: str) -> str | None:
    """Give the unit a spelling stands for, or None for one that is not known.

    >>> canonical_unit(" In. "), canonical_unit("HBW"), canonical_unit("furlong")
    ('in', 'HB', None)
    """
    return _BY_SPELLING.get(" ".join(text.lower().split()).removesuffix("."))


def kind_of(unit: str) -> str | None:
    """Give the kind of a canonical unit (`length`, `mass`, `hardness`), or None if not known."""
    known = _UNITS.get(unit)
    return known[0] if known else None


def units_of(kind: str) -> tuple[str, ...]:
    """Give the canonical units of a kind, the commonest first."""
    return tuple(unit for unit, (of, _) in _UNITS.items() if of == kind)


def all_units() -> tuple[str, ...]:
    """Give every canonical unit."""
    return tuple(_UNITS)


def exact_factor(unit_from: str, unit_to: str) -> Fraction:
    """Give the fraction that turns a number in `unit_from` into one in `unit_to`.

    A unit of the user's own converts to itself only. Refuses (`unit_mismatch`) units of different
    kinds and (`hardness_scale`) different hardness scales.

    >>> exact_factor("in", "mm"), exact_factor("lb", "oz")
    (Fraction(127, 5), Fraction(16, 1))
    """
    start, end = canonical_unit(unit_from) or unit_from, canonical_unit(unit_to) or unit_to
    if start == end:
        return Fraction(1)
    kind_start, size_start = _UNITS.get(start, (None, None))
    kind_end, size_end = _UNITS.get(end, (None, None))
    if kind_start == kind_end == "hardness":
        raise Refusal(
            "hardness_scale",
            f"“{start}” cannot be turned into “{end}”: hardness scales have no common factor.",
        )
    if kind_start != kind_end or size_start is None or size_end is None:
        raise Refusal("unit_mismatch", f"“{start}” cannot be turned into “{end}”.")
    return size_start / size_end


def factor(unit_from: str, unit_to: str) -> float:
    """Give the factor from one unit to another as the nearest float; see `exact_factor`.

    >>> factor("in", "mm")
    25.4
    """
    return float(exact_factor(unit_from, unit_to))


def spelling_table() -> str:
    """Give the units and their spellings as a Markdown table for the documents."""
    lines = ["| unit | of | also read |", "| --- | --- | --- |"]
    for unit, (kind, _) in _UNITS.items():
        also = ", ".join(f"`{spelling}`" for spelling in SPELLINGS[unit])
        lines.append(f"| `{unit}` | {kind} | {also} |")
    return "\n".join(lines)
