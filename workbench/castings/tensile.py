"""From the hardness of grey iron to a band of tensile strength: a stated relation, never automatic.

HBW = RH x (100 + 0.44 Rm), Rm in MPa, with a relative hardness RH between 0.8 and 1.2 that depends
on the melt, its treatment and the foundry (EN 1561:2011 and ISO 185:2020, informative annexes; the
formula from memory, the meaning of RH seen). One hardness so stands for strengths more than twice
apart. No verdict rests on it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from workbench.errors import Refusal

BASE, PER_MPA = 100.0, 0.44
LEAST_RELATIVE, GREATEST_RELATIVE = 0.8, 1.2
LEAST_STRENGTH, GREATEST_STRENGTH = 100.0, 350.0
SOURCE = "EN 1561:2011 and ISO 185:2020, informative annexes (formula from memory)"
CAUTION = (
    "A band and no conversion: the relative hardness of an iron is known only from tensile bars of "
    "that iron. A strength from hardness alone proves nothing of a casting; where it matters, have "
    "bars pulled by a test house."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class TensileBand:
    """Strengths, in MPa, that grey iron of one hardness may have: never one number.

    `low` is at relative hardness 1.2, `high` at 0.8; `caution` and `source` belong beside them.
    """

    hardness: float
    low: float
    high: float
    caution: str = CAUTION
    source: str = SOURCE


def hardness_of(strength: float, relative: float = 1.0) -> float:
    """Give the hardness, HBW, that the relation has for a strength in MPa.

    >>> hardness_of(250.0)
    210.0
    """
    if not LEAST_STRENGTH <= strength <= GREATEST_STRENGTH:
        raise Refusal(
            "outside_relation",
            f"The relation is stated for grey iron of {LEAST_STRENGTH:g} to "
            f"{GREATEST_STRENGTH:g} MPa, not {strength:g}.",
        )
    if not LEAST_RELATIVE <= relative <= GREATEST_RELATIVE:
        raise Refusal(
            "outside_relation",
            f"The relative hardness lies from {LEAST_RELATIVE:g} to {GREATEST_RELATIVE:g}, "
            f"not {relative:g}.",
        )
    return relative * (BASE + PER_MPA * strength)


def tensile_band(hardness: float, scale: str) -> TensileBand:
    """Give the band of strengths of grey iron whose hardness, in Brinell, is `hardness`.

    Raises
    ------
    Refusal
        `hardness_scale` for any other scale than “HB”; `outside_relation` for a hardness that the
        relation has for no strength from 100 to 350 MPa at a relative hardness of 1.

    Examples
    --------
    >>> band = tensile_band(210.0, "HB")
    >>> round(band.low), round(band.high)
    (170, 369)
    """
    if scale != "HB":
        raise Refusal(
            "hardness_scale", f"The relation is one of Brinell hardness (HB), not of {scale}."
        )
    least, most = hardness_of(LEAST_STRENGTH), hardness_of(GREATEST_STRENGTH)
    if not (math.isfinite(hardness) and least <= hardness <= most):
        raise Refusal(
            "outside_relation",
            f"The relation reaches from {least:g} to {most:g} HB; {hardness:g} lies outside.",
        )
    low, high = (
        (hardness / relative - BASE) / PER_MPA for relative in (GREATEST_RELATIVE, LEAST_RELATIVE)
    )
    return TensileBand(hardness=hardness, low=low, high=high)
