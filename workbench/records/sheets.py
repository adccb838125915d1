"""A table of text from any file: its headings, its rows in batches, the columns they stand for."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import islice

import pyarrow as pa
import pyarrow.compute as pc

from workbench.records.columns import Column, column_of, did_you_mean, names, plain
from workbench.records.faults import Fault
from workbench.records.sources import Source

HEADER_WITHIN = 50
HEADINGS_SHOWN = 8
NO_HEADER = "The file has no header: its first row must name the columns."


@dataclass(frozen=True, slots=True, kw_only=True)
class Header:
    """The row that names the columns: its number, its headings, how many of them are known.

    `above` counts the rows above it that hold anything: titles, which are not read.
    """

    row: int
    headings: tuple[str, ...]
    known: int = 0
    above: int = 0

    @property
    def notices(self) -> tuple[tuple[str, str], ...]:
        """Say that rows above the header were passed over, where there are any."""
        said = f"The header is row {self.row}; what stands above it was not read."
        return (("rows_above_header", said),) if self.above else ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """An opened file. `batches()` gives its rows: text by position (`0`, `1`, …) and `row`.

    `ragged` fills while the batches are read, with the rows of another length than the header (row
    and text). A workbook or Parquet file also gives `exact_0`, `exact_1`, …: whether a cell was
    stored as a number.
    """

    source: Source
    header: Header
    batches: Callable[[], Iterator[pa.RecordBatch]]
    ragged: list[tuple[int, str]] = field(default_factory=list)
    separator: str = ""
    notices: tuple[tuple[str, str], ...] = ()

    @property
    def headings(self) -> tuple[str, ...]:
        """The headings, in their order."""
        return self.header.headings

    @property
    def row_inside(self) -> str:
        """The pattern of a whole row inside one cell, what an unclosed quotation mark leaves."""
        if not self.separator or len(self.headings) < 3:
            return ""
        return f"\n([^\n]*[{self.separator}]){{{len(self.headings) - 1}}}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Mapping:
    """Where each column of the contract stands in a sheet, with what was found on the way."""

    places: dict[str, int]
    faults: tuple[Fault, ...]
    notices: tuple[tuple[str, str], ...]


def find_header(rows: Iterable[Sequence[str]], columns: tuple[Column, ...]) -> Header | None:
    """Find the header among the first rows: the first that names two columns of the contract.

    Where none does it is the first row that holds anything; None where all are blank.
    """
    first: Header | None = None
    above = 0
    for row, cells in enumerate(islice(rows, HEADER_WITHIN), 1):
        if not any(sign.isalnum() for cell in cells for sign in cell):
            continue
        headings = tuple(cell.strip() for cell in cells)
        known = len({column_of(heading, columns) for heading in headings} - {None})
        if known > 1:
            return Header(row=row, headings=headings, known=known, above=above)
        first = first or Header(row=row, headings=headings, known=known)
        above += 1
    return first


def map_headings(sheet: Sheet, columns: tuple[Column, ...]) -> Mapping:
    """Find the columns of the contract among the headings.

    A heading that is the column's own name goes before its other names. Two headings for one column
    are refused (`two_headings`); a required column that is missing is a fault; a heading that
    stands for none is a notice.
    """
    own = {plain(heading) for heading in sheet.headings}
    places: dict[str, int] = {}
    unknown: list[str] = []
    for place, heading in enumerate(sheet.headings):
        column = column_of(heading, columns)
        if column is None or (column in own and plain(heading) != column):
            unknown += [heading] if heading else []
        elif column in places:
            other = sheet.headings[places[column]]
            raise sheet.source.refuse(
                "two_headings",
                f"“{other}” and “{heading}” both stand for “{column}”; keep one.",
                column=column,
            )
        else:
            places[column] = place
    if not places:
        found = ", ".join(f"“{heading}”" for heading in sheet.headings[:HEADINGS_SHOWN])
        raise sheet.source.refuse(
            "no_known_column", f"The header names no column of the contract, only {found}."
        )
    faults = tuple(
        sheet.source.fault(
            "missing_column",
            f"The required column “{column.name}” is missing.",
            column=column.name,
        )
        for column in columns
        if column.required and column.name not in places
    )
    free = tuple(name for name in names(columns) if name not in places)
    notices = tuple(
        ("unknown_column", f"The column “{heading}” is not read{did_you_mean(heading, free)}.")
        for heading in unknown
    )
    return Mapping(places=places, faults=faults, notices=notices)


def text_batches(sheet: Sheet, places: dict[str, int]) -> Iterator[pa.RecordBatch]:
    """Give the rows that are not blank: `row`, `exact`, then the columns there are, trimmed.

    `exact` says the value was stored as a number.
    """
    schema = text_schema(places)
    for batch in sheet.batches():
        texts = [pc.utf8_trim_whitespace(batch.column(str(place))) for place in places.values()]
        stored = f"exact_{places.get('value')}"
        exact = (
            batch.column(stored)
            if stored in batch.schema.names
            else pa.repeat(False, batch.num_rows)
        )
        whole = pa.RecordBatch.from_arrays([batch.column("row"), exact, *texts], schema=schema)
        filled = _filled(texts)
        yield whole if filled is None else whole.filter(filled)


def text_schema(places: Iterable[str]) -> pa.Schema:
    """Give the schema of `text_batches` for the columns there are."""
    texts = [(name, pa.string()) for name in places]
    return pa.schema([("row", pa.int64()), ("exact", pa.bool_()), *texts])


def _filled(texts: list[pa.Array]) -> pa.Array | None:
    """Tell which rows hold anything, or None where all do."""
    blank = pc.equal(texts[0], "")
    if not pc.any(blank).as_py():
        return None
    for text in texts[1:]:
        blank = pc.and_(blank, pc.equal(text, ""))
    return pc.invert(blank)
