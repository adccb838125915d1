"""Where on the line of differences an interval must lie for each outcome of a claim."""

from __future__ import annotations

import math
from dataclasses import dataclass

from workbench.claims.rules import Direction, Outcome

SUPPORTED: Outcome = "supported"
CONTRADICTED: Outcome = "contradicted"


@dataclass(frozen=True, slots=True, kw_only=True)
class Zone:
    """A stretch of differences, and what a claim is when its whole interval lies there."""

    low: float
    high: float
    outcome: Outcome


def zones(direction: Direction | None, margin: float) -> tuple[Zone, ...]:
    """Give the zones of a claim from left to right; they meet at its boundary or boundaries.

    The boundaries are those of `workbench.claims.rules`: a claim of `less` is one of a difference
    below minus the margin. A claim that could not be read (None) has no zones.
    """
    if direction is None:
        return ()
    size = abs(margin)
    if direction == "greater":
        return split(margin, CONTRADICTED, SUPPORTED)
    if direction == "less":
        return split(0.0 - margin, SUPPORTED, CONTRADICTED)
    if direction == "same":
        return between(size, inside=SUPPORTED, outside=CONTRADICTED)
    if size == 0:
        return split(0.0, SUPPORTED, SUPPORTED)
    return between(size, inside=CONTRADICTED, outside=SUPPORTED)


def split(boundary: float, left: Outcome, right: Outcome) -> tuple[Zone, ...]:
    """Give two zones that meet at `boundary`."""
    return (
        Zone(low=-math.inf, high=boundary, outcome=left),
        Zone(low=boundary, high=math.inf, outcome=right),
    )


def between(size: float, *, inside: Outcome, outside: Outcome) -> tuple[Zone, ...]:
    """Give three zones that meet at minus and plus `size`."""
    return (
        Zone(low=-math.inf, high=-size, outcome=outside),
        Zone(low=-size, high=size, outcome=inside),
        Zone(low=size, high=math.inf, outcome=outside),
    )


def boundaries(direction: Direction | None, margin: float) -> tuple[float, ...]:
    """Give the margins as they stand on the line of differences, from left to right."""
    return tuple(zone.high for zone in zones(direction, margin)[:-1])
