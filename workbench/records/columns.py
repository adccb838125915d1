"""The columns of the three record files: what each holds, and the other headings it is known by.

A heading is compared without regard to case, and with spaces, hyphens, points and slashes read
as underscores: `Measured on`, `measured-on` and `MEASURED_ON` are one heading. Then the other
names of `Column.synonyms` are accepted. A heading that is none of these is not read, and a notice
says so; two headings for one column are a fault, because a choice between them would be a guess.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from difflib import get_close_matches

ID_LENGTH = 100
NOTE_LENGTH = 2000
SAMPLING = ("grid", "search")
CONTACT = ("good", "doubtful")
# A good reading that says only that the value is not above it; never written in that column.
BELOW = "below"
PART = ("before", "after")
BLOCKS_FILE = "blocks.csv"
CALIBRATIONS_FILE = "calibrations.csv"
CORRELATIONS_FILE = "correlations.csv"


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column of a record file: its name, what it holds, and the headings it is known by."""

    name: str
    holds: str
    required: bool = False
    synonyms: tuple[str, ...] = ()
    longest: int = ID_LENGTH


READINGS = (
    Column(
        name="block",
        holds="the block read; text, leading zeros kept",
        required=True,
        synonyms=("block_id", "block_no", "block_number", "casting", "serial", "serial_number"),
    ),
    Column(
        name="family",
        holds="the family of the block, as in `study.toml`",
        required=True,
        synonyms=("block_family", "type", "block_type", "variant", "kind"),
    ),
    Column(
        name="quantity",
        holds="what was read: `wall_thickness`, `deck_thickness`, … or a quantity of `study.toml`",
        required=True,
        synonyms=("measurement", "characteristic", "dimension", "what", "measured_quantity"),
    ),
    Column(
        name="value",
        holds="the number read, in `unit`",
        required=True,
        synonyms=("reading", "result", "measured_value", "measured"),
    ),
    Column(
        name="unit",
        holds="the unit of the number: `mm`, `in`, `kg`, `lb`, `HB`, …",
        required=True,
        synonyms=("units", "uom", "unit_of_measure"),
    ),
    Column(
        name="bore",
        holds="the bore, counted from the front",
        synonyms=("cylinder", "cyl", "bore_no", "bore_number", "cylinder_no", "cylinder_number"),
    ),
    Column(
        name="station",
        holds="the place round the bore (a name of `[drawing.stations]`, or degrees)",
        synonyms=("position", "angle", "location", "clock"),
    ),
    Column(
        name="depth",
        holds="the height down the bore: a name or a distance, one way throughout the study",
        synonyms=("height", "level", "depth_from_deck"),
    ),
    Column(
        name="gauge",
        holds="the instrument, as in `[gauges]`",
        synonyms=("gage", "instrument", "device", "probe", "tester"),
    ),
    Column(
        name="calibration",
        holds="the calibration the reading was made under, as in `calibrations.csv`",
        synonyms=("calibration_id", "cal", "cal_id"),
    ),
    Column(
        name="operator",
        holds="who held the gauge",
        synonyms=("inspector", "measured_by", "appraiser", "technician"),
    ),
    Column(
        name="sampling",
        holds="`grid` (a place chosen before looking; the default) or `search` (hunted for)",
        synonyms=("sampled", "chosen"),
    ),
    Column(
        name="repeat",
        holds="the number of the repeat at the same place",
        synonyms=("rep", "trial", "repetition", "replicate"),
    ),
    Column(
        name="contact",
        holds="`good` (the default) or `doubtful`",
        synonyms=("coupling", "contact_quality", "signal"),
    ),
    Column(
        name="measured_on",
        holds="the day of the reading, YYYY-MM-DD",
        synonyms=("date", "measured_at", "measurement_date", "read_on"),
    ),
    Column(
        name="note",
        holds="anything else, up to 2000 characters",
        synonyms=("notes", "remark", "remarks", "comment", "comments"),
        longest=NOTE_LENGTH,
    ),
)

BLOCKS = (
    Column(
        name="block",
        holds="the block, as in the readings",
        required=True,
        synonyms=READINGS[0].synonyms,
    ),
    Column(
        name="family",
        holds="the family of the block",
        required=True,
        synonyms=READINGS[1].synonyms,
    ),
    Column(
        name="condition",
        holds="as cast, bored, cracked, … in words",
        synonyms=("state",),
        longest=NOTE_LENGTH,
    ),
    Column(
        name="foundry_mark",
        holds="what is cast on it",
        synonyms=("mark", "casting_mark"),
        longest=NOTE_LENGTH,
    ),
    Column(name="price", holds="what was paid or asked, a number", synonyms=("cost", "paid")),
    Column(
        name="missing_parts",
        holds="what was off the block when it was weighed",
        synonyms=("missing", "parts_missing"),
        longest=NOTE_LENGTH,
    ),
    Column(
        name="note",
        holds="anything else, up to 2000 characters",
        synonyms=("notes", "remark", "remarks", "comment", "comments"),
        longest=NOTE_LENGTH,
    ),
)

CALIBRATIONS = (
    Column(
        name="calibration",
        holds="the name readings refer to",
        required=True,
        synonyms=("calibration_id", "cal", "cal_id"),
    ),
    Column(
        name="gauge",
        holds="the instrument, as in `[gauges]`",
        required=True,
        synonyms=("gage", "instrument", "device", "probe", "tester"),
    ),
    Column(name="material", holds="what the reference piece is made of"),
    Column(
        name="reference",
        holds="the true value of the piece, in `unit`",
        required=True,
        synonyms=("true", "nominal", "reference_value"),
    ),
    Column(
        name="indicated",
        holds="what the gauge showed, in `unit`",
        required=True,
        synonyms=("shown", "reading", "indication"),
    ),
    Column(
        name="unit",
        holds="the unit of both numbers",
        required=True,
        synonyms=("units", "uom", "unit_of_measure"),
    ),
    Column(
        name="reference_uncertainty",
        holds="standard uncertainty of the piece, in `unit`",
        synonyms=("uncertainty", "u_reference"),
    ),
    Column(
        name="piece",
        holds="the name of the piece: calibrations made on one piece share its error",
        synonyms=("reference_piece", "standard", "piece_id"),
    ),
    Column(
        name="made_on",
        holds="the day of the calibration, YYYY-MM-DD",
        synonyms=("date", "calibrated_on", "made_at", "calibration_date"),
    ),
    Column(
        name="part",
        holds="`before` or `after` the readings, where a calibration was made both times",
        synonyms=("when", "before_after"),
    ),
)

# Other words for the values of the closed columns, in the form `plain` gives them.
WORDS = {
    "quantity": {
        "wall": "wall_thickness",
        "cylinder_wall": "wall_thickness",
        "deck": "deck_thickness",
        "web": "web_thickness",
        "weight": "mass",
    },
    "sampling": {"searched": "search", "hunted": "search", "gridded": "grid"},
    "contact": {"ok": "good", "poor": "doubtful", "bad": "doubtful"},
    "part": {"pre": "before", "start": "before", "post": "after", "end": "after"},
}


def plain(text: str) -> str:
    """Give a heading or word without case, its spaces, hyphens, points and slashes as `_`."""
    return re.sub(r"[\s\-./_]+", "_", text.strip().lower()).strip("_")


def names(columns: tuple[Column, ...]) -> tuple[str, ...]:
    """Give the names of the columns, in the order of the contract."""
    return tuple(column.name for column in columns)


COLUMNS = names(READINGS)


def column_of(heading: str, columns: tuple[Column, ...]) -> str | None:
    """Give the column a heading stands for, or None.

    >>> column_of("Measured On", READINGS), column_of("cyl.", READINGS), column_of("sky", READINGS)
    ('measured_on', 'bore', None)
    """
    wanted = plain(heading)
    for column in columns:
        if wanted == column.name or wanted in column.synonyms:
            return column.name
    return None


def did_you_mean(word: str, choices: tuple[str, ...]) -> str:
    """Give ` (did you mean “x”?)` for a word close to one of `choices`, else nothing."""
    by_plain = {plain(choice): choice for choice in choices}
    close = get_close_matches(plain(word[:ID_LENGTH]), list(by_plain), n=1, cutoff=0.7)
    return f" (did you mean “{by_plain[close[0]]}”?)" if close else ""


def synonym_table(columns: tuple[Column, ...] = READINGS) -> str:
    """Give the columns and their other headings as a Markdown table for the documents."""
    lines = ["| column | required | holds | also read |", "| --- | --- | --- | --- |"]
    for column in columns:
        also = ", ".join(f"`{name}`" for name in column.synonyms)
        required = "yes" if column.required else ""
        lines.append(f"| `{column.name}` | {required} | {column.holds} | {also} |")
    return "\n".join(lines)
