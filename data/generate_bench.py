"""Write the records of the bench study: how far the gauges of the Marlowe Four can be trusted.

All of it is invented, as in `marlowe_four.py`: fictional blocks of the fictional Penhale foundry.
The demo has walls without end and one of everything else; here each way of measuring stands once:
calibrations of every kind, Brinell impressions and rebound readings with the study's own
correlation, blocks weighed without some of their parts, features seen by three pairs of eyes, and a
gauge study. What is planted stands in `TRUTH`. Run from the project folder:

    uv run python data/generate_bench.py            write the files of data/bench
    uv run python data/generate_bench.py --check    say whether they are these
"""

from __future__ import annotations

import math
import sys
from collections.abc import Iterator
from itertools import product
from pathlib import Path

from generate_demo import COLUMNS, STEP_HEADING, Row, text
from marlowe_four import Stream

FOLDER = Path(__file__).parent / "bench"
BLOCKS = {"works": [f"K{n:02d}" for n in range(1, 13)], "trophy": [f"L{n}" for n in range(1, 7)]}
SINGLES = {"light_trial": "X1", "heavy_trial": "X2"}
STATIONS = ("front", "thrust", "rear", "counter")
EYES = ("north", "south", "east")
STEEL = 5920.0  # m/s, what ug3 is set to; ug4 is set to 4600 and needs no large correction

TRUTH = {
    "wall_thickness": {"works": 4.40, "trophy": 4.85},  # mm
    "deck_thickness": {"works": 11.6, "trophy": 14.2},  # mm
    "hardness": {"works": 203.0, "trophy": 212.0},  # HB
    "mass": {"works": 41.5, "trophy": 43.6, "light_trial": 39.20, "heavy_trial": 39.62},  # kg
    "speed": {"works": 4600.0, "trophy": 4720.0},  # m/s, in the iron of the family
    "fourth_web": {"works": 0.15, "trophy": 0.85},  # share of blocks
    "smooth": {"works": 0.3, "trophy": 0.8},  # share of blocks with a smooth gallery, the rest less
    "ug4_bias": 0.06,  # mm, at any thickness
    "repeat": 0.03,  # mm, of one ultrasonic reading
    "operator": {"north": 0.0, "south": 0.04, "east": -0.02},  # mm, a habit of each
    "rebound": (180.0, 1.5),  # HLD = 180 + 1.5 HB, in this iron
    "parts": {"main cap": 0.55, "core plug": 0.04},  # kg
}
# calibration: (how it was made, the speed in the iron it was made on, true pieces in mm)
LINES = {
    "works-steps": ("ug3", TRUTH["speed"]["works"], (2.0, 4.0, 6.0, 10.0, 15.0)),
    "works-after": ("ug3", TRUTH["speed"]["works"] * 1.004, (2.0, 4.0, 6.0, 10.0, 15.0)),
    "trophy-two": ("ug3", TRUTH["speed"]["trophy"], (4.0, 15.0)),
    "K03-piece": ("ug3", TRUTH["speed"]["works"], (5.0,)),
}


def calibration_of(block: str, family: str) -> str:
    """Name the calibration a block was read under: of its iron, or of the block itself."""
    own = {"K03": "K03-piece", "L5": "L5-speed", "K11": "K11-warm"}
    return own.get(block, "works-steps" if family == "works" else "trophy-two")


def shown(thickness: float, speed: float) -> float:
    """Give what ug3, set for steel, shows of a thickness in iron: too much, and a zero of 0.03."""
    return 0.03 + thickness * STEEL / speed


def row(block: str, family: str, quantity: str, value: str, unit: str, **given: str) -> Row:
    """Give one row; what is not given stays empty."""
    fixed = {"block": block, "family": family, "quantity": quantity, "value": value, "unit": unit}
    return dict.fromkeys(COLUMNS, "") | fixed | given


def cast() -> Iterator[tuple[str, str]]:
    """Give each block with its family."""
    for family, names in BLOCKS.items():
        yield from ((name, family) for name in names)


def walls() -> Iterator[Row]:
    """Read two bores at four stations with ug3, some twice; two thin places below what it shows."""
    for block, family in cast():
        draw = Stream("bench walls", block)
        whole, speed = draw.normal(0.15), TRUTH["speed"][family]
        name = calibration_of(block, family)
        day = f"2026-05-{4 + int(block[1:]):02d}"
        for bore, station in product("12", STATIONS):
            there = TRUTH["wall_thickness"][family] + whole + draw.normal(0.12)
            there -= 0.15 if station == "thrust" else 0.0
            at = {"bore": bore, "station": station, "gauge": "ug3", "calibration": name}
            for repeat in "12" if draw.chance(0.3) else "1":
                warm = 1.012 if name == "K11-warm" else 1.0  # sound slower in the warm iron
                read = shown(there, speed / warm) + draw.normal(TRUTH["repeat"])
                read += TRUTH["operator"]["north"]
                given = at | {"operator": "north", "repeat": repeat, "measured_on": day}
                if block == "K07" and (bore, station) == ("2", "thrust"):
                    yield row(block, family, "wall_thickness", "<2.50", "mm", **given)
                    continue
                if draw.chance(0.02):
                    given |= {"contact": "doubtful", "note": "rust under the probe"}
                yield row(block, family, "wall_thickness", f"{read:.2f}", "mm", **given)
        if block in ("K02", "L2"):
            found = shown(there - 0.5, speed) + draw.normal(TRUTH["repeat"])
            given = {"bore": "2", "gauge": "ug3", "calibration": name, "sampling": "search"}
            given |= {"operator": "north", "measured_on": day, "note": "thinnest place found"}
            yield row(block, family, "wall_thickness", f"{found:.2f}", "mm", **given)


def decks() -> Iterator[Row]:
    """Read ten places of works decks by three operators, twice each, and once more with ug4."""
    for block, station in product(BLOCKS["works"][:5], ("thrust", "counter")):
        draw = Stream("bench decks", block, station)
        there = TRUTH["deck_thickness"]["works"] + draw.normal(0.25)
        at = {"bore": "1", "station": station, "measured_on": "2026-05-30"}
        for operator, repeat in product(EYES, "12"):
            read = shown(there + TRUTH["operator"][operator], TRUTH["speed"]["works"])
            read += draw.normal(TRUTH["repeat"])
            given = at | {"gauge": "ug3", "calibration": "works-steps", "operator": operator}
            value = f"{read:.2f}"
            yield row(block, "works", "deck_thickness", value, "mm", repeat=repeat, **given)
        for repeat in "12":
            read = there + TRUTH["ug4_bias"] + draw.normal(TRUTH["repeat"])
            given = at | {"gauge": "ug4", "operator": "north", "repeat": repeat}
            yield row(block, "works", "deck_thickness", f"{read:.2f}", "mm", **given)


def hardness() -> Iterator[Row]:
    """Press Brinell impressions in the blocks that may be marked; rebound readings on all."""
    zero, slope = TRUTH["rebound"]
    for block, family in cast():
        draw = Stream("bench hardness", block)
        level = TRUTH["hardness"][family] + draw.normal(4.0)
        for station in ("front", "rear"):
            place = level + draw.normal(1.5)
            for repeat in "123":
                if family == "works" or block in ("L1", "L2"):
                    value = f"{diameter(place + draw.normal(2.0)):.2f}"
                    given = {"station": station, "gauge": "bt2", "repeat": repeat}
                    yield row(block, family, "hardness", value, "mm", operator="south", **given)
                value = f"{zero + slope * place + draw.normal(4.0):.0f}"
                given = {"station": station, "gauge": "lt1", "repeat": repeat}
                yield row(block, family, "hardness", value, "HLD", operator="south", **given)
    # meant to be refused: an impression beyond the ball's range, and a converted reading
    given = {"station": "rear", "gauge": "bt2", "repeat": "4"}
    yield row("K01", "works", "hardness", "6.80", "mm", **given)
    yield row("K01", "works", "hardness", "205", "HB", **given | {"gauge": "lt1"})


def diameter(level: float, load: float = 3000.0, ball: float = 10.0) -> float:
    """Give the impression, in mm, that a load in kgf leaves: the Brinell formula turned round."""
    depth = load / (math.pi * level * ball)
    return 2 * math.sqrt(depth * (ball - depth))


def masses() -> Iterator[Row]:
    """Weigh every block once, as it came."""
    singles = [(block, family) for family, block in SINGLES.items()]
    for block, family in (*cast(), *singles):
        draw = Stream("bench scale", block)
        there = TRUTH["mass"][family] + (0.0 if family in SINGLES else draw.normal(0.35))
        there -= sum(n * TRUTH["parts"][name] for name, n in missing(block).items())
        yield row(block, family, "mass", f"{there + draw.normal(0.04):.1f}", "kg", gauge="sc1")


def missing(block: str) -> dict[str, int]:
    """Give what a block lacked on the scale."""
    return {"K04": {"main cap": 1}, "L3": {"main cap": 2, "core plug": 3}}.get(block, {})


def features() -> Iterator[Row]:
    """Let three pairs of eyes look at two features; one look in twelve is a slip."""
    levels = ("rough", "fair", "smooth")
    for block, family in cast():
        draw = Stream("bench eyes", block)
        web = draw.chance(TRUTH["fourth_web"][family])
        grade = 2 if draw.chance(TRUTH["smooth"][family]) else int(draw.chance(0.5))
        for observer in EYES:
            seen = web != draw.chance(0.04)
            value = "yes" if seen else "no"
            yield row(block, family, "fourth_web", value, "", operator=observer)
            slip = draw.chance(0.12)
            value = levels[abs(grade - 1) if slip and grade else grade + slip]
            yield row(block, family, "gallery", value, "", operator=observer)
    yield row("K01", "works", "gallery", "glossy", "", operator="north")  # no level: refused


def calibrations() -> list[Row]:
    """Give two readings on each piece, of every calibration that was made on pieces."""
    heading = (*STEP_HEADING.split(","), "piece", "made_on", "part")
    rows = []
    for name, (gauge, speed, pieces) in LINES.items():
        draw = Stream("bench pieces", name)
        iron = "trophy" if name.startswith("trophy") else "works"
        for piece, _ in product(pieces, range(2)):
            read = shown(piece, speed) + draw.normal(0.01)
            cells = (name, gauge, f"{iron} iron", f"{piece:.2f}", f"{read:.2f}", "mm", "0.01")
            day, part = (
                ("2026-05-31", "after") if name == "works-after" else ("2026-05-01", "before")
            )
            cells = (*cells, f"{iron[0].upper()}S{piece:g}", day, part)
            rows.append(dict(zip(heading, cells, strict=True)))
    warm = [
        row | {"calibration": "K11-warm"} for row in rows if row["calibration"] == "works-steps"
    ]
    return [*rows, *warm]


def correlations() -> list[Row]:
    """Give rebound and Brinell at twelve places of blocks that were cut up."""
    draw, (zero, slope) = Stream("bench correlation"), TRUTH["rebound"]
    heading = ("correlation", "shown", "value", "shown_uncertainty", "value_uncertainty", "block")
    rows = []
    for number in range(12):
        level = 180 + 5 * number + draw.normal(1.0)
        read = zero + slope * level + draw.normal(4.0)
        cells = ("own-iron", f"{read:.0f}", f"{level + draw.normal(1.5):.1f}", "4", "1.5")
        rows.append(dict(zip(heading, (*cells, f"scrap {number // 2 + 1}"), strict=True)))
    return rows


def blocks() -> list[Row]:
    """Give the rows of blocks.csv."""
    singles = [(block, family) for family, block in SINGLES.items()]
    return [
        {
            "block": block,
            "family": family,
            "missing_parts": "; ".join(f"{n} x {name}" for name, n in missing(block).items()),
        }
        for block, family in (*cast(), *singles)
    ]


def files() -> dict[str, str]:
    """Give the text of every generated file by its name."""
    readings = [row for read in (walls, decks, hardness, masses, features) for row in read()]
    return {
        "readings.csv": text(readings),
        "blocks.csv": text(blocks()),
        "calibrations.csv": text(calibrations()),
        "correlations.csv": text(correlations()),
    }


def main() -> int:
    """Write the files, or with --check compare them; exit code 1 when one differs."""
    made = {name: content.encode() for name, content in files().items()}
    if "--check" in sys.argv[1:]:
        there = {name: FOLDER / name for name in made if (FOLDER / name).is_file()}
        differ = [n for n in made if n not in there or there[n].read_bytes() != made[n]]
        print(f"Not as generated: {', '.join(differ)}." if differ else "All as generated.")
        return 1 if differ else 0
    for name, content in made.items():
        (FOLDER / name).write_bytes(content)
        print(f"{name}: {len(content)} bytes")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
