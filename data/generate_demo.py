"""Write the records of the demo study from the truth planted in `marlowe_four.py`.

All of it is invented. Run from the project folder:

    uv run python data/generate_demo.py            write readings, blocks and calibrations
    uv run python data/generate_demo.py --check    say whether the files in data/demo are these

The rows of `FAULTY` are meant: `workbench check data/demo` lists them and exits with 1.
"""

from __future__ import annotations

import csv
import io
import sys
from collections.abc import Iterator, Mapping
from pathlib import Path

from marlowe_four import TRUTH, Block, Pass, Place, Stream, blocks, iron

FOLDER = Path(__file__).parent / "demo"
HEADING = (
    "block,family,bore,station,depth,quantity,value,unit,gauge,calibration,operator,sampling,"
    "repeat,contact,measured_on,note"
)
COLUMNS = tuple(HEADING.split(","))

STEP_HEADING = "calibration,gauge,material,reference,indicated,unit,reference_uncertainty"

Row = dict[str, str]


def shown(thickness: float, look: Pass) -> float:
    """Give what the ultrasonic gauge of a look shows, before repeat error and rounding."""
    line = TRUTH.gauges[look.gauge]
    shared = Stream("calibration", look.calibration).normal(line.calibration)
    return line.zero + line.slope * thickness + shared


def row(block: Block, quantity: str, look: Pass, place: Place, repeat: int | str = "") -> Row:
    """Give a row without its value; `north` writes the defaults out, `south` leaves them empty."""
    usual = ("grid", "good") if look.operator == "north" else ("", "")
    given = (block.name, block.family, *place, quantity, "", "", look.gauge, look.calibration)
    given = (*given, look.operator, usual[0], str(repeat), usual[1], look.day, "")
    return dict(zip(COLUMNS, given, strict=True))


def walls(block: Block) -> Iterator[Row]:
    """Read the wall everywhere, some places twice, and on some blocks hunt for the thinnest."""
    there, draw = iron(block, "wall_thickness"), Stream("walls", block.name)
    repeat_sd = TRUTH.spreads["wall_thickness"].repeat
    for look in block.passes():
        for place, thickness in there.items():
            if draw.chance(0.02):  # rust or scale: left out
                continue
            for repeat in (1, 2) if draw.chance(0.12) else (1,):
                read = shown(thickness, look) + draw.normal(repeat_sd)
                more = {}
                if draw.chance(0.012):
                    read += draw.between(0.4, 1.5)
                    more = {"contact": "doubtful", "note": "echo not steady"}
                value = {"value": f"{read:.2f}", "unit": "mm"}
                yield row(block, "wall_thickness", look, place, repeat) | value | more
    if block.number % 5 == 1:
        look = block.passes()[0]
        for bore, station, depth in sorted(there, key=lambda place: there[place])[:3]:
            found = there[bore, station, depth] - draw.between(0.02, 0.25)
            read = shown(found, look) + draw.normal(repeat_sd)
            value = {"value": f"{read:.2f}", "unit": "mm"}
            more = {"sampling": "search", "note": "thinnest place found"}
            yield row(block, "wall_thickness", look, (bore, "", depth)) | value | more


def decks(block: Block) -> Iterator[Row]:
    """Read the deck beside each bore; the second gauge stood at inches on some days."""
    there, draw = iron(block, "deck_thickness"), Stream("decks", block.name)
    for look in block.passes():
        inches = look.gauge == "ug2" and block.number % 3 == 1
        for place, thickness in there.items():
            for repeat in (1, 2) if draw.chance(0.25) else (1,):
                read = shown(thickness, look)
                read += draw.normal(TRUTH.spreads["deck_thickness"].repeat)
                value = (f"{read / 25.4:.3f}", "in") if inches else (f"{read:.2f}", "mm")
                more = dict(zip(("value", "unit"), value, strict=True))
                yield row(block, "deck_thickness", look, place, repeat) | more


def webs(block: Block) -> Iterator[Row]:
    """Read the webs twice: works with one gauge, deepdeck with the other.

    So gauge and family cannot be told apart there, and the claim on it must say so.
    """
    there, draw = iron(block, "web_thickness"), Stream("webs", block.name)
    gauge = {"works": "ug1", "deepdeck": "ug2"}.get(block.family, block.passes()[0].gauge)
    look = block.look(gauge)
    for place, thickness in there.items():
        for repeat in (1, 2):
            read = shown(thickness, look) + draw.normal(TRUTH.spreads["web_thickness"].repeat)
            value = {"value": f"{read:.2f}", "unit": "mm"}
            yield row(block, "web_thickness", look, place, repeat) | value


def hardness(block: Block) -> Iterator[Row]:
    """Press three Brinell impressions at each end of the deck face."""
    there, draw = iron(block, "hardness"), Stream("impressions", block.name)
    for place, level in there.items():
        for repeat in (1, 2, 3):
            read = level + draw.normal(TRUTH.spreads["hardness"].repeat)
            value = {"value": f"{read:.0f}", "unit": "HB"}
            yield row(block, "hardness", block.look("bt1"), place, repeat) | value


def masses(block: Block) -> Iterator[Row]:
    """Weigh the block once, as it came; a few were logged in pounds."""
    (place, mass), draw = *iron(block, "mass").items(), Stream("scale", block.name)
    read = mass - TRUTH.missing_mass.get(block.missing_parts(), 0.0)
    read += draw.normal(TRUTH.spreads["mass"].repeat)
    value = (f"{read / 0.45359237:.1f}", "lb") if block.number % 11 == 5 else (f"{read:.1f}", "kg")
    more = dict(zip(("value", "unit"), value, strict=True))
    yield row(block, "mass", block.look("sc1"), place) | more


# What someone typed wrong: the nth row of a quantity, copied, with these cells changed.
FAULTY: tuple[tuple[str, int, Mapping[str, str]], ...] = (
    ("wall_thickness", 333, {"unit": ""}),
    ("wall_thickness", 610, {"value": "-4.71"}),
    ("wall_thickness", 902, {"quantity": "wall_thicknes"}),
    ("wall_thickness", 1207, {"value": "NaN"}),
    ("wall_thickness", 1500, {"value": ""}),
    ("wall_thickness", 1777, {"value": "over"}),
    ("wall_thickness", 2050, {"unit": "kg"}),
    ("wall_thickness", 2301, {"unit": "mn"}),
    ("wall_thickness", 2602, {"block": ""}),
    ("wall_thickness", 2904, {"family": ""}),
    ("wall_thickness", 3200, {"bore": "5"}),
    ("wall_thickness", 3501, {"station": "left"}),
    ("wall_thickness", 3603, {"sampling": "random"}),
    ("wall_thickness", 3702, {"contact": "wet"}),
    ("wall_thickness", 3804, {"value": "4.44"}),  # the same place and repeat number once more
    ("wall_thickness", 3906, {"value": "inf"}),
    ("wall_thickness", 4003, {}),  # the row before, written twice
    ("deck_thickness", 105, {"value": "11.8 mm"}),
    ("deck_thickness", 250, {"value": "=11.7+0.05"}),
    ("deck_thickness", 420, {"family": "deepdeck"}),
    ("hardness", 77, {"unit": "mm"}),
    ("mass", 30, {"value": "0"}),
)


def readings() -> list[Row]:
    """Give all rows as they were typed: faulty ones, a decimal comma, loose ends among them."""
    rows = [
        row
        for block in blocks()
        for read in (walls, decks, webs, hardness, masses)
        for row in read(block)
    ]
    for quantity, nth, changes in FAULTY:
        places = [index for index, row in enumerate(rows) if row["quantity"] == quantity]
        rows.insert(places[nth] + 1, rows[places[nth]] | changes)
    rows[41]["value"] = rows[41]["value"].replace(".", ",")  # meant, and read as meant
    for index in range(97, len(rows), 97):
        rows[index] = rows[index] | {"unit": rows[index]["unit"] + " "}
    for index in (4000, 2000, 800):
        rows.insert(index, dict.fromkeys(COLUMNS, ""))
    return rows


def described() -> list[Row]:
    """Give the rows of blocks.csv."""
    draw = Stream("prices")
    asked = {"works": 900.0, "deepdeck": 1450.0, "trophy": 4200.0}
    return [
        {
            "block": block.name,
            "family": block.family,
            "condition": ("bare, cleaned", "bare, light rust", "stripped, oily")[block.number % 3],
            "foundry_mark": f"PENHALE {'KLM'[block.period - 1]}{block.number % 4 + 1}",
            "price": f"{10 * round(asked[block.family] * draw.between(0.85, 1.15) / 10)}",
            "missing_parts": block.missing_parts(),
            "note": "sleeve in bore 3" if block.name == "W31" else "",
        }
        for block in blocks()
    ]


def calibrations() -> list[Row]:
    """Give two readings on each step of the step piece, for every calibration."""
    looks = {b.look(gauge).calibration: b.look(gauge) for b in blocks() for gauge in TRUTH.gauges}
    rows = []
    for _, look in sorted(looks.items()):
        draw = Stream("steps", look.calibration)
        for step in (3.0, 6.0, 10.0, 15.0, 3.0, 6.0, 10.0, 15.0):
            read = shown(step, look) + draw.normal(0.01)
            cells = (look.calibration, look.gauge, "Penhale iron step piece", f"{step:.2f}")
            cells = (*cells, f"{read:.2f}", "mm", "0.01")
            rows.append(dict(zip(STEP_HEADING.split(","), cells, strict=True)))
    return rows


def text(rows: list[Row]) -> str:
    """Give rows as CSV: commas, line feeds, one heading."""
    out = io.StringIO()
    writer = csv.DictWriter(out, list(rows[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


def files() -> dict[str, str]:
    """Give the text of every generated file by its name."""
    blank = "," * (len(COLUMNS) - 1)  # one blank row has lost even its commas
    return {
        "readings.csv": text(readings()).replace(f"\n{blank}\n", "\n\n", 1),
        "blocks.csv": text(described()),
        "calibrations.csv": text(calibrations()),
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
