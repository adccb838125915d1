"""Brinell hardness from load, ball and impression, and what such an impression asks of the place.

Hardness is the load over the curved area of the impression, by definition in kgf/mm^2: HBW =
0.102 x 2 F / (pi D (D - root(D^2 - d^2))) with F in newtons, D and d in millimetres (ISO 6506-1;
ASTM E10; from memory). The standards round 1 / 9.80665 to 0.102, and so does this; with the load
in kgf there is no factor, and the answer is 0.03 % lower.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from workbench.errors import Refusal
from workbench.records.units import factor

LEAST_RATIO, GREATEST_RATIO = 0.24, 0.60
INDICES = (30.0, 15.0, 10.0, 5.0, 2.5, 1.0)
LOAD_UNITS = {"N": 0.102, "kgf": 1.0}


@dataclass(frozen=True, slots=True, kw_only=True)
class Impression:
    """One impression: its hardness, and the room it needs. Lengths in mm.

    Attributes
    ----------
    hardness
        HBW.
    per_diameter
        Change of hardness for 1 mm more of impression diameter; below 0.
    index
        0.102 F / D^2: hardness values compare only at one index. Grey iron is read at 30, below
        140 HBW at 10 (ISO 6506-1, from memory).
    depth
        Of the impression; the section must be `least_thickness` = 8 depths thick.
    least_spacing, least_edge
        3 diameters between centres of impressions, 2.5 from a centre to an edge.
    """

    hardness: float
    per_diameter: float
    index: float
    depth: float
    least_thickness: float
    least_spacing: float
    least_edge: float

    @property
    def standard_index(self) -> bool:
        """Whether load and ball belong together in the standard's table, to 1 %."""
        return any(math.isclose(self.index, index, rel_tol=0.01) for index in INDICES)


def impression_of(load: float, ball: float, hardness: float, *, load_unit: str = "N") -> Impression:
    """Work out the impression that a hardness stands for: `ball` in mm, `hardness` in HBW.

    Raises
    ------
    Refusal
        As `brinell`; `impression_ratio` too where load and ball cannot show such a hardness.

    Examples
    --------
    >>> round(impression_of(29420, 10, 229).least_spacing / 3, 2)
    4.0
    """
    _check(load_unit, load=load, ball=ball, hardness=hardness)
    depth = min(ball / 2, load * LOAD_UNITS[load_unit] / (math.pi * ball * hardness))
    across = 2 * math.sqrt(depth * (ball - depth))
    return brinell(load, ball, across, load_unit=load_unit)


def brinell(
    load: float,
    ball: float,
    diameter: float,
    *,
    load_unit: str = "N",
    length_unit: str = "mm",
) -> Impression:
    """Work out the Brinell hardness of one impression.

    Parameters
    ----------
    load
        In `load_unit`: "N" or "kgf".
    ball, diameter
        Diameters of the ball and of the impression (the mean of two at right angles), in
        `length_unit`, a unit of length.

    Raises
    ------
    Refusal
        `not_positive`, `unit_mismatch`, or `impression_ratio` outside 0.24 to 0.60 ball diameters,
        where the formula does not hold.

    Examples
    --------
    The table of ISO 6506-4 gives 229 for 4.00 mm under 3000 kgf (29 420 N) and a 10 mm ball.

    >>> round(brinell(29420, 10, 4.00).hardness)
    229
    """
    _check(load_unit, load=load, ball=ball, impression=diameter)
    ratio = diameter / ball
    if not LEAST_RATIO <= ratio <= GREATEST_RATIO:
        raise Refusal(
            "impression_ratio",
            f"The impression is {ratio:.3f} of the ball; Brinell hardness holds from "
            f"{LEAST_RATIO:g} to {GREATEST_RATIO:g}. Use another load.",
        )
    to_mm = factor(length_unit, "mm")
    large, small, force = ball * to_mm, diameter * to_mm, load * LOAD_UNITS[load_unit]
    root = math.sqrt(large**2 - small**2)
    depth = (large - root) / 2
    hardness = force / (math.pi * large * depth)
    return Impression(
        hardness=hardness,
        per_diameter=-hardness * small / (root * (large - root)),
        index=force / large**2,
        depth=depth,
        least_thickness=8 * depth,
        least_spacing=3 * small,
        least_edge=2.5 * small,
    )


def _check(load_unit: str, **sizes: float) -> None:
    if load_unit not in LOAD_UNITS:
        raise Refusal(
            "unit_mismatch", f"A load is in {' or '.join(LOAD_UNITS)}, not in “{load_unit}”."
        )
    for name, size in sizes.items():
        if not (size > 0 and math.isfinite(size)):
            raise Refusal("not_positive", f"The {name} must be above 0 and finite, not {size}.")
