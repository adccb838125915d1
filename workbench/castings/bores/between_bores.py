"""The metal between neighbouring bores, from the drawing: bores stand in one row, 1 at the front.

The wall of a bore at 0 degrees faces the bore before it, at 180 degrees the bore behind it. Where
the drawing leaves less metal between two bores than two walls of the nominal thickness, the bores
share it, and a wall read there is a part of the bridge, not a wall with water behind it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workbench.errors import Refusal
from workbench.records.settings import Drawing
from workbench.records.units import factor

Values = NDArray[np.float64]

BEFORE, BEHIND = 0.0, 180.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Facing:
    """One side of a bore that faces a neighbour.

    Attributes
    ----------
    neighbour
        The bore faced.
    centre, half_width
        The sector in which a line from the bore's centre meets the neighbour, in degrees.
    bridge
        The metal between the two bores as drawn, in `unit`.
    shared
        Whether the bores share it; None where the drawing gives no nominal wall.
    """

    neighbour: str
    centre: float
    half_width: float
    bridge: float
    shared: bool | None
    unit: str


def facing(drawing: Drawing | None, bore: str, unit: str) -> tuple[Facing, ...]:
    """Answer which sides of a bore face a neighbour, and how much metal is drawn there.

    Raises
    ------
    Refusal
        `no_drawing` where the drawing lacks what it takes; `bores_overlap` where the spacing is
        below the diameter; `unknown_bore`.
    """
    plan = _plan(drawing)
    if not bore.isdigit() or not 1 <= int(bore) <= plan.count:
        raise Refusal("unknown_bore", f"The drawing has bores 1 to {plan.count}, not “{bore}”.")
    at, scale = int(bore), factor(plan.unit, unit)
    bridge = plan.spacing - plan.diameter
    shared = None if plan.wall is None else bridge < 2 * plan.wall
    half = math.degrees(math.asin(plan.diameter / 2 / plan.spacing))
    sides = ((at - 1, BEFORE), (at + 1, BEHIND))
    return tuple(
        Facing(
            neighbour=str(other),
            centre=centre,
            half_width=half,
            bridge=bridge * scale,
            shared=shared,
            unit=unit,
        )
        for other, centre in sides
        if 1 <= other <= plan.count
    )


def faces_neighbour(degrees: Values, sides: tuple[Facing, ...]) -> NDArray[np.bool_]:
    """Tell which angles face a neighbouring bore."""
    found = np.zeros(degrees.shape, dtype=bool)
    for side in sides:
        apart = np.abs((degrees - side.centre + 180.0) % 360.0 - 180.0)
        found |= apart <= side.half_width
    return found


def bridge_left(
    drawing: Drawing | None, unit: str, overbore: float, first: float, second: float
) -> float:
    """Give the metal left between two neighbours bored by `overbore` (on the diameter).

    `first` and `second` are how far the centres of the bore in front and of the one behind it were
    moved towards the front, in `unit`. Cores that lie off centre do not matter here: the bores are
    where the machine puts them.
    """
    plan = _plan(drawing)
    return (plan.spacing - plan.diameter) * factor(plan.unit, unit) - overbore + first - second


@dataclass(frozen=True, slots=True, kw_only=True)
class _Plan:
    unit: str
    count: int
    diameter: float
    spacing: float
    wall: float | None


def _plan(drawing: Drawing | None) -> _Plan:
    needed = ("bores", "bore_diameter", "bore_spacing")
    missing = [name for name in needed if drawing is None or getattr(drawing, name) is None]
    if drawing is None or missing:
        raise Refusal(
            "no_drawing",
            "The drawing does not say what lies between the bores; [drawing] needs "
            + ", ".join(missing)
            + ".",
        )
    assert drawing.bores is not None
    assert drawing.bore_diameter is not None
    assert drawing.bore_spacing is not None
    if drawing.bores > 1 and drawing.bore_spacing <= drawing.bore_diameter:
        raise Refusal(
            "bores_overlap",
            f"A spacing of {drawing.bore_spacing:g} {drawing.unit} and a diameter of "
            f"{drawing.bore_diameter:g} {drawing.unit} leave no metal between the bores.",
        )
    return _Plan(
        unit=drawing.unit,
        count=drawing.bores,
        diameter=drawing.bore_diameter,
        spacing=drawing.bore_spacing,
        wall=drawing.wall_thickness,
    )
