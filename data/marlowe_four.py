"""The Marlowe Four, an invented block: what is planted in the demo study, and each casting's iron.

A fictional four-cylinder block cast by the fictional Penhale foundry; no block, foundry, person or
price here is real. What the records of the demo should tell is stated in `TRUTH`, and the tests
hold the workbench to it. `generate_demo.py` writes down what inspectors would have read.

Numbers come from the standard library, one stream a block and quantity, so that any machine makes
the same ones. The seed is arbitrary: the day the demo was begun; no other was tried.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from random import Random
from statistics import NormalDist

SEED = 20261125

BLOCKS = {"works": 48, "deepdeck": 22, "trophy": 3}
BORES = ("1", "2", "3", "4")
STATIONS = {"front": 0.0, "thrust": 90.0, "rear": 180.0, "counter": 270.0}
DEPTHS = {"top": -1.0, "middle": 0.0, "bottom": 1.0}
Place = tuple[str, str, str]  # bore, station, depth; "" where the quantity has none


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """Standard deviations of a quantity, in its unit; repeated readings share their `place`."""

    block: float
    bore: float = 0.0
    place: float = 0.0
    repeat: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Shift:
    """How far a core lies off centre, in mm towards 0 degrees and towards 90 degrees.

    A shift thins the wall on its side and thickens it opposite, by the cosine of the angle. The
    standard deviations hold for each of the two axes; `tilt` is that from the middle to an end.
    """

    mean: tuple[float, float]
    block: float
    bore: float
    tilt: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """What an ultrasonic gauge shows: zero + slope x thickness + the error of its calibration."""

    zero: float
    slope: float
    calibration: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Truth:
    """All that is planted: family means over the grid (mm, HB, kg), patterns, spreads, gauges."""

    means: Mapping[str, Mapping[str, float]]
    spreads: Mapping[str, Spread]
    shifts: Mapping[str, Shift]
    stations: Mapping[str, float]
    depths: Mapping[str, float]
    gauges: Mapping[str, Line]
    missing_mass: Mapping[str, float]

    def difference(self, quantity: str, candidate: str, reference: str) -> float:
        """Give the planted candidate minus reference."""
        return self.means[quantity][candidate] - self.means[quantity][reference]


TRUTH = Truth(
    means={
        "wall_thickness": {"works": 4.60, "deepdeck": 4.62, "trophy": 4.90},
        "deck_thickness": {"works": 11.60, "deepdeck": 13.10, "trophy": 14.20},
        "web_thickness": {"works": 7.00, "deepdeck": 7.40, "trophy": 7.30},
        "hardness": {"works": 204.0, "deepdeck": 204.5, "trophy": 210.0},
        "mass": {"works": 41.5, "deepdeck": 42.3, "trophy": 43.6},
    },
    spreads={
        "wall_thickness": Spread(block=0.20, bore=0.12, place=0.10, repeat=0.05),
        "deck_thickness": Spread(block=0.22, bore=0.10, place=0.08, repeat=0.05),
        "web_thickness": Spread(block=0.18, bore=0.10, place=0.06, repeat=0.05),
        "hardness": Spread(block=3.0, place=1.0, repeat=2.5),
        "mass": Spread(block=0.40, repeat=0.05),
    },
    shifts={
        "works": Shift(mean=(0.0, 0.15), block=0.12, bore=0.10, tilt=0.05),
        "deepdeck": Shift(mean=(0.0, 0.15), block=0.12, bore=0.10, tilt=0.05),
        "trophy": Shift(mean=(0.0, 0.05), block=0.06, bore=0.05, tilt=0.03),
    },
    stations={"front": 0.05, "thrust": -0.05, "rear": 0.05, "counter": -0.05},
    depths={"top": 0.12, "middle": -0.02, "bottom": -0.10},
    gauges={
        "ug1": Line(zero=-0.01, slope=1.000, calibration=0.01),
        "ug2": Line(zero=0.02, slope=1.003, calibration=0.01),
    },
    missing_mass={"one main cap": 0.55, "core plugs": 0.12},
)

PLACES: Mapping[str, tuple[Place, ...]] = {
    "wall_thickness": tuple((b, s, d) for b in BORES for d in DEPTHS for s in STATIONS),
    "deck_thickness": tuple((b, s, "") for b in BORES for s in ("thrust", "counter")),
    "web_thickness": tuple((b, "rear", "") for b in BORES[:3]),
    "hardness": (("", "front", ""), ("", "rear", "")),
    "mass": (("", "", ""),),
}


class Stream:
    """Random numbers of one name; the same name gives the same numbers."""

    def __init__(self, *name: str) -> None:
        self.source = Random("/".join((str(SEED), *name)))  # noqa: S311 - a simulation, no secret

    def normal(self, sd: float) -> float:
        """Draw from a normal distribution about 0."""
        return sd * NormalDist().inv_cdf(self.between(1e-12, 1 - 1e-12))

    def chance(self, share: float) -> bool:
        """Say yes with this probability."""
        return self.source.random() < share

    def between(self, low: float, high: float) -> float:
        """Draw evenly from low to high."""
        return low + (high - low) * self.source.random()


@dataclass(frozen=True, slots=True, kw_only=True)
class Pass:
    """One look at a block: with what, under which calibration, by whom, when."""

    gauge: str
    calibration: str
    operator: str
    day: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """One casting; `number` counts within its family, `period` is the calibration in force."""

    name: str
    family: str
    number: int
    period: int
    day: str

    def passes(self) -> tuple[Pass, ...]:
        """Give the looks at the block, gauges and operators alternating so neither is a family.

        Every eighth block and all trophy blocks are looked at with both ultrasonic gauges.
        """
        first, other = ("ug2", "ug1") if self.number % 2 == 0 else ("ug1", "ug2")
        operator = "north" if self.number % 3 else "south"
        looks = (self.look(first, operator), self.look(other, "south"))
        return looks if self.number % 8 == 0 or self.family == "trophy" else looks[:1]

    def look(self, gauge: str, operator: str | None = None) -> Pass:
        """Give the look with this gauge, by the block's first operator unless one is named."""
        ultrasonic = gauge in TRUTH.gauges
        return Pass(
            gauge=gauge,
            calibration=f"{gauge}-{self.period}" if ultrasonic else "",
            operator=operator or self.passes()[0].operator,
            day=self.day,
        )

    def missing_parts(self) -> str:
        """Say what the block lacks on the scale; "" for nothing."""
        return {7: "one main cap", 12: "core plugs", 19: "core plugs"}.get(self.number, "")


def blocks() -> Iterator[Block]:
    """Give every block; each family is spread over the three calibration periods."""
    for family, count in BLOCKS.items():
        for number in range(1, count + 1):
            period = 1 + number // 3 % 3
            yield Block(
                name=f"{family[0].upper()}{number:02d}",
                family=family,
                number=number,
                period=period,
                day=f"2026-{2 + period:02d}-{1 + number * 7 % 28:02d}",
            )


def iron(block: Block, quantity: str) -> dict[Place, float]:
    """Give what is really there, at every place of the grid."""
    draw, spread = Stream("iron", quantity, block.name), TRUTH.spreads[quantity]
    mean = TRUTH.means[quantity][block.family] + draw.normal(spread.block)
    bores = {bore: mean + draw.normal(spread.bore) for bore in BORES} | {"": mean}
    there = {place: bores[place[0]] + draw.normal(spread.place) for place in PLACES[quantity]}
    if quantity != "wall_thickness":
        return there
    shift = TRUTH.shifts[block.family]
    whole = [middle + draw.normal(shift.block) for middle in shift.mean]
    centre = {bore: [axis + draw.normal(shift.bore) for axis in whole] for bore in BORES}
    lean = {bore: [draw.normal(shift.tilt) for _ in whole] for bore in BORES}
    for place in there:
        bore, station, depth = place
        x, y = (c + DEPTHS[depth] * t for c, t in zip(centre[bore], lean[bore], strict=True))
        angle = math.radians(STATIONS[station])
        there[place] += TRUTH.stations[station] + TRUTH.depths[depth]
        there[place] -= x * math.cos(angle) + y * math.sin(angle)
    return there


def cast_mean(quantity: str, family: str) -> float:
    """Give the true mean of a quantity over the blocks of a family that were cast."""
    means = []
    for block in blocks():
        if block.family == family:
            places = iron(block, quantity)
            means.append(sum(places.values()) / len(places))
    return sum(means) / len(means)
