"""The two small files beside the readings, `blocks.csv` and `calibrations.csv`, with faults."""

from __future__ import annotations

from decimal import Decimal, InvalidOperation

import pandas as pd
import pyarrow as pa

from workbench.records.columns import BLOCKS, CALIBRATIONS, Column, names
from workbench.records.engine import TEXT, text_frame
from workbench.records.faults import Fault
from workbench.records.files import open_sheet
from workbench.records.sheets import map_headings, text_batches, text_schema
from workbench.records.sources import Source
from workbench.records.units import canonical_unit

_SENTENCES = {
    "missing": "“{column}” is required and empty.",
    "ragged_row": "The row has not as many columns as the header.",
    "not_a_number": "The value is not a number; write it with a decimal point.",
    "negative": "The value must not be below 0.",
    "unknown_unit": "The unit is not known.",
    "too_long": "The text is longer than {longest} characters.",
    "second_row": "There is an earlier row for this block; the first was kept.",
}


def read_blocks(source: Source | None) -> tuple[pd.DataFrame, list[Fault]]:
    """Give `blocks.csv`, one row a block as text, `price` a number; faulty rows left out.

    The column `row` says where each stands in the file.
    """
    frame, faults = _read(source, BLOCKS, numbers=("price",), signed=())
    again = frame["block"].duplicated()
    faults += _faults_where(source, frame, "block", again, "second_row")
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


def read_calibrations(source: Source | None) -> tuple[pd.DataFrame, list[Fault]]:
    """Give `calibrations.csv`: names as text, the three numbers as floats, units canonical."""
    frame, faults = _read(
        source,
        CALIBRATIONS,
        numbers=("reference", "indicated", "reference_uncertainty"),
        signed=("reference", "indicated"),
    )
    units = frame["unit"].map(canonical_unit)
    unknown = units.isna()
    faults += _faults_where(source, frame, "unit", unknown, "unknown_unit")
    frame = frame.loc[~unknown].assign(unit=units[~unknown].astype(frame["unit"].dtype))
    return frame.drop(columns="row").reset_index(drop=True), faults


def _read(
    source: Source | None,
    columns: tuple[Column, ...],
    numbers: tuple[str, ...],
    signed: tuple[str, ...],
) -> tuple[pd.DataFrame, list[Fault]]:
    """Read a small file whole; give its sound rows (with `row`) and its faults."""
    faults: list[Fault] = []
    table = text_schema(()).empty_table()
    if source is not None:
        sheet = open_sheet(source, columns)
        found = map_headings(sheet, columns)
        table = pa.Table.from_batches(text_batches(sheet, found.places), text_schema(found.places))
        faults += found.faults
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
            faults += _faults_where(source, frame, column.name, where, code, column.longest)
            bad |= where
    for name in numbers:
        parsed = frame[name].map(_number)
        wrong = parsed.isna() & (frame[name] != "")
        below = (parsed < 0) & (name not in signed)
        for code, where in (("not_a_number", wrong), ("negative", below)):
            faults += _faults_where(source, frame, name, where, code)
            bad |= where
        frame[name] = parsed.astype(float)
    return frame.loc[~bad, ["row", *names(columns)]], faults


def _number(text: str) -> float:
    """Give a number, NaN for what is none; a decimal comma is read where it is the only mark."""
    try:
        number = Decimal(text.replace(",", ".") if text.count(",") == 1 else text)
    except InvalidOperation:
        return float("nan")
    return float(number) if number.is_finite() else float("nan")


def _faults_where(
    source: Source | None,
    frame: pd.DataFrame,
    column: str,
    where: pd.Series[bool],
    code: str,
    longest: int = 0,
) -> list[Fault]:
    if not where.any():
        return []
    return [
        _fault(source, row, column, value, code, longest)
        for row, value in frame.loc[where, ["row", column]].itertuples(index=False)
    ]


def _fault(
    source: Source | None, row: int, column: str, value: str, code: str, longest: int = 0
) -> Fault:
    return Fault(
        file=source.name if source else "",
        row=int(row),
        column=column,
        value=str(value),
        code=code,
        sentence=_SENTENCES[code].format(column=column, longest=longest),
    )
