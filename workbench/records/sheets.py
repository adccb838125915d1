"""A table of text from any file: its headings, its rows in batches, the columns they stand for."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field

import pyarrow as pa
import pyarrow.compute as pc

from workbench.records.columns import Column, column_of, did_you_mean, names, plain
from workbench.records.faults import Fault
from workbench.records.sources import Source

NO_HEADER = "The file has no header: its first row must name the columns."


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """An opened file. `batches()` gives its rows once: text by position (`0`, `1`, …) and `row`.

    `ragged` and, for a workbook, `exact` columns fill while the batches are read: rows of another
    length than the header (row, text), and whether a value was stored as a number.
    """

    source: Source
    headings: tuple[str, ...]
    header_row: int
    batches: Callable[[], Iterator[pa.RecordBatch]]
    ragged: list[tuple[int, str]] = field(default_factory=list)
    separator: str = ""
    notices: tuple[tuple[str, str], ...] = ()

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
    if not texts:
        return None
    blank = pc.equal(texts[0], "")
    if not pc.any(blank).as_py():
        return None
    for text in texts[1:]:
        blank = pc.and_(blank, pc.equal(text, ""))
    return pc.invert(blank)
