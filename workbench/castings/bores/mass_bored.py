"""The mass that boring takes out of a block: a side figure."""

from __future__ import annotations

import math

from workbench.errors import Refusal
from workbench.records.settings import Drawing
from workbench.records.units import factor

GRAMS = 1000.0  # to the kilogram, and cubic millimetres to the cubic centimetre


def mass_removed(
    drawing: Drawing | None, unit: str, overbore: float, density: float, bores: int | None = None
) -> float:
    """Give the kilograms an overbore takes out of all bores (or of `bores` of them).

    Exact for round bores, also about offset centres, as the new bore takes in the old one.
    `density` is in g/cm3; `overbore` in `unit`.

    Raises
    ------
    Refusal
        `no_drawing` where the drawing lacks the diameter, the length or the number of bores;
        `nothing_removed` for an overbore below 0.
    """
    known = drawing and (drawing.bore_diameter, drawing.bore_length, bores or drawing.bores)
    if drawing is None or not known or None in known:
        raise Refusal(
            "no_drawing", "[drawing] needs bores, bore_diameter and bore_length for a mass."
        )
    if overbore < 0:
        raise Refusal("nothing_removed", "There is no room for boring, so nothing is removed.")
    to_mm = factor(drawing.unit, "mm")
    diameter, length, count = (float(number) for number in known if number is not None)
    old, new = diameter * to_mm, diameter * to_mm + overbore * factor(unit, "mm")
    volume = count * math.pi / 4 * (new**2 - old**2) * length * to_mm
    return volume / GRAMS * density / GRAMS
