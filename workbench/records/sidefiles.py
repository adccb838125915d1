"""The small files beside the readings, such as `blocks.csv` and `calibrations.csv`, with faults."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal, InvalidOperation

import pandas as pd
import pyarrow as pa

from workbench.records.columns import BLOCKS, CALIBRATIONS, PART, WORDS, Column, names, plain
from workbench.records.faults import Fault
from workbench.records.files import open_sheet
from workbench.records.frames import TEXT, text_frame
from workbench.records.settings import Gauge
from workbench.records.sheets import map_headings, text_batches, text_schema
from workbench.records.sources import Source
from workbench.records.units import canonical_unit, kind_of

_SENTENCES = {
    "missing": "“{column}” is required and empty.",
    "ragged_row": "The row has not as many columns as the header.",
    "not_a_number": "The value is not a number; write it with one decimal point or comma.",
    "negative": "The value must not be below 0.",
    "unknown_unit": "The unit is not known.",
    "too_long": "The text is longer than {longest} characters.",
    "second_row": "There is an earlier row for this block; the first was kept.",
    "reference_not_positive": "The reference must be above 0.",
    "indicated_not_positive": "The gauge must have shown more than 0 on the piece.",
    "unit_mismatch": "The unit is not of the kind that the gauge reads in.",
    "unknown_correlation": "There is no [correlations] table of this name in study.toml.",
    "shown_not_positive": "What the gauge showed must be above 0.",
    "unknown_part": "“part” must be one of before, after, or empty.",
}


def read_blocks(source: Source | None) -> tuple[pd.DataFrame, list[Fault]]:
    """Give `blocks.csv`, one row a block as text, `price` a number; faulty rows left out.

    The column `row` says where each stands in the file.
    """
    if source is None:
        return no_rows(BLOCKS, numbers=("price",)), []
    frame, faults = read_small(source, BLOCKS, numbers=("price",), signed=())
    again = frame["block"].duplicated()
    faults += faults_where(source, frame, "block", again, "second_row")
    return frame.loc[~again].reset_index(drop=True), faults


def family_faults(blocks: pd.DataFrame, met: pd.DataFrame) -> list[Fault]:
    """Give the rows of `blocks.csv` that name another family than the readings (`met`) do."""
    both = blocks.merge(met, on="block", suffixes=("", "_read"))
    both = both.loc[both["family"] != both["family_read"], ["row", "family", "family_read"]]
    return [
        Fault(
            file="blocks.csv",
            row=int(row),
            column="family",
            value=stated,
            code="family_differs",
            sentence=f"The readings have this block in family “{read}”.",
        )
        for row, stated, read in both.itertuples(index=False)
    ]


def read_calibrations(
    source: Source | None, gauges: Mapping[str, Gauge]
) -> tuple[pd.DataFrame, list[Fault]]:
    """Give the sound rows of `calibrations.csv`, with `row`, where each stands in the file.

    Names are text, units canonical, the three numbers floats (an uncertainty not given is NaN);
    `step` is the last decimal that `indicated` was written to.
    """
    numbers = ("reference", "indicated", "reference_uncertainty")
    if source is None:
        return no_rows(CALIBRATIONS, numbers=(*numbers, "step")), []
    frame, faults = read_small(
        source, CALIBRATIONS, numbers=numbers, signed=numbers[:2], stepped="indicated"
    )
    units = frame["unit"].map(canonical_unit)
    kinds = {name: kind_of(gauge.unit) for name, gauge in gauges.items() if gauge.unit}
    kind = frame["gauge"].map(kinds)
    part = frame["part"].map(plain).replace(WORDS["part"])
    bad = pd.Series(False, index=frame.index)
    for column, code, where in (
        ("unit", "unknown_unit", units.isna()),
        ("unit", "unit_mismatch", units.notna() & kind.notna() & (units.map(_kind) != kind)),
        ("reference", "reference_not_positive", frame["reference"] <= 0),
        ("indicated", "indicated_not_positive", frame["indicated"] <= 0),
        ("part", "unknown_part", ~part.isin(["", *PART])),
    ):
        faults += faults_where(source, frame, column, where, code)
        bad |= where
    text = frame["unit"].dtype
    frame = frame.assign(unit=units.astype(text), part=part.astype(text))
    return frame.loc[~bad].reset_index(drop=True), faults


def _kind(unit: str | float) -> str | None:
    return kind_of(unit) if isinstance(unit, str) else None


def no_rows(columns: tuple[Column, ...], numbers: tuple[str, ...]) -> pd.DataFrame:
    """Give what is read where there is no such file: no row, its columns of the same types."""
    frame = pd.DataFrame(
        columns=list(dict.fromkeys(["row", *names(columns), *numbers])), dtype=TEXT
    )
    return frame.astype({"row": int} | dict.fromkeys(numbers, float))


def read_small(
    source: Source,
    columns: tuple[Column, ...],
    numbers: tuple[str, ...],
    signed: tuple[str, ...],
    stepped: str = "",
) -> tuple[pd.DataFrame, list[Fault]]:
    """Read a small file whole; give its sound rows (with `row`) and its faults.

    `stepped` names a number of which the column `step` is to say how finely it is written.
    """
    sheet = open_sheet(source, columns)
    found = map_headings(sheet, columns)
    table = pa.Table.from_batches(text_batches(sheet, found.places), text_schema(found.places))
    faults = list(found.faults)
    faults += [_fault(source, row, "", line, "ragged_row") for row, line in sheet.ragged]
    frame = text_frame(table).drop(columns="exact")
    for name in names(columns):
        if name not in frame:
            frame[name] = pd.Series("", index=frame.index, dtype=TEXT)
    bad = pd.Series(False, index=frame.index)
    for column in columns:
        long = frame[column.name].str.len() > column.longest
        empty = (frame[column.name] == "") & column.required
        for code, where in (("too_long", long), ("missing", empty)):
            faults += faults_where(source, frame, column.name, where, code, column.longest)
            bad |= where
    kept = ["row", *names(columns)]
    if stepped:
        frame["step"] = frame[stepped].map(_step).astype(float)
        kept.append("step")
    for name in numbers:
        parsed = frame[name].map(_number)
        wrong = parsed.isna() & (frame[name] != "")
        below = (parsed < 0) & (name not in signed)
        for code, where in (("not_a_number", wrong), ("negative", below)):
            faults += faults_where(source, frame, name, where, code)
            bad |= where
        frame[name] = parsed.astype(float)
    return frame.loc[~bad, kept], faults


def _decimal(text: str) -> Decimal | None:
    """Give a finite number, None for what is none; a decimal comma is read as the only mark."""
    try:
        number = Decimal(text.replace(",", ".") if text.count(",") == 1 else text)
    except InvalidOperation:
        return None
    return number if number.is_finite() else None


def _number(text: str) -> float:
    number = _decimal(text)
    return float("nan") if number is None else float(number)


def _step(text: str) -> float:
    """Give the size of the last decimal a number is written to, 1 for a whole number."""
    number = _decimal(text)
    if number is None:
        return float("nan")
    exponent = number.as_tuple().exponent
    return 10.0 ** min(0, exponent) if isinstance(exponent, int) else float("nan")


def faults_where(
    source: Source,
    frame: pd.DataFrame,
    column: str,
    where: pd.Series[bool],
    code: str,
    longest: int = 0,
) -> list[Fault]:
    """Give the fault of each row of `frame` that `where` marks, at its column."""
    if not where.any():
        return []
    return [
        _fault(source, row, column, value, code, longest)
        for row, value in frame.loc[where, ["row", column]].itertuples(index=False)
    ]


def _fault(source: Source, row: int, column: str, value: str, code: str, longest: int = 0) -> Fault:
    return Fault(
        file=source.name,
        row=int(row),
        column=column,
        value=str(value),
        code=code,
        sentence=_SENTENCES[code].format(column=column, longest=longest),
    )
