"""Delimited text read as text: encoding, separator and header found, nothing converted.

UTF-8 with or without a byte-order mark, UTF-16 with one, else Windows-1252 with a notice. The
separator is a comma, semicolon, tab or bar: the one that gives the header most columns of the
contract. Rows are counted as a spreadsheet does; a row of another length than the header is kept
aside whole.
"""

from __future__ import annotations

import codecs
import csv
import io
import re
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass

import numpy as np
import pyarrow as pa
import pyarrow.csv

from workbench.records.columns import Column
from workbench.records.sheets import NO_HEADER, Header, Sheet, find_header
from workbench.records.sources import Source

SEPARATORS = (",", ";", "\t", "|")
SAMPLE = 1_000_000
BLOCK = 2_000_000
RAGGED_SHOWN = 2000
_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)


@dataclass(frozen=True, slots=True)
class _Layout:
    encoding: str
    separator: str
    header: Header


def open_delimited(source: Source, columns: tuple[Column, ...]) -> Sheet:
    """Open a delimited file; `columns` are those of the contract it is to hold."""
    encoding, notices = encoding_of(source)
    layout = _layout(source, encoding, columns)
    ragged: list[tuple[int, str]] = []
    return Sheet(
        source=source,
        header=layout.header,
        batches=lambda: _batches(source, layout, ragged),
        ragged=ragged,
        separator=layout.separator,
        notices=(*notices, *layout.header.notices),
    )


def encoding_of(source: Source) -> tuple[str, tuple[tuple[str, str], ...]]:
    """Find the encoding from the mark, or by reading the file through once."""
    with source.path.open("rb") as file:
        start = file.read(4)
        for mark, name in _MARKS:
            if start.startswith(mark):
                return name, ()
        file.seek(0)
        decoder, utf8 = codecs.getincrementaldecoder("utf-8")(), True
        while piece := file.read(1 << 22):
            if b"\x00" in piece:
                raise source.refuse(
                    "not_text", "The file is not text (or UTF-16 without a byte-order mark)."
                )
            if utf8:
                try:
                    decoder.decode(piece)
                except UnicodeDecodeError:
                    utf8 = False
        if utf8:
            try:
                decoder.decode(b"", final=True)
            except UnicodeDecodeError:
                utf8 = False
    if utf8:
        return "utf-8", ()
    said = "The file is not UTF-8 and was read as Windows-1252; check signs such as µ, ° and ü."
    return "cp1252", (("windows_1252", said),)


def _layout(source: Source, encoding: str, columns: tuple[Column, ...]) -> _Layout:
    """Find separator and header: the first row that is not blank."""
    with source.path.open("rb") as file:
        raw = file.read(SAMPLE)
    try:
        text = codecs.getincrementaldecoder(encoding)().decode(raw)
    except UnicodeDecodeError:
        raise source.refuse("not_text", "The file is not text in any encoding known.") from None
    stated = re.match(r"\s*sep=([,;|\t])\s*\r?\n", text)
    best: _Layout | None = None
    for separator in stated[1] if stated else SEPARATORS:
        header = find_header(_records(text, separator), columns)
        if header is not None:
            layout = _Layout(encoding, separator, header)
            if best is None or _score(layout) > _score(best):
                best = layout
    if best is None and any(sign.isalnum() for sign in text.replace("sep=", "")):
        raise source.refuse("not_csv", "The header cannot be read: a field of it is too long.")
    if best is None:
        raise source.refuse("empty_file", NO_HEADER)
    return best


def _score(layout: _Layout) -> tuple[int, int]:
    return layout.header.known, len(layout.header.headings)


def _records(text: str, separator: str) -> Iterator[list[str]]:
    """Give the records of the sample, up to one too long; the line of the separator is none."""
    with suppress(csv.Error):
        for record in csv.reader(io.StringIO(text, newline=""), delimiter=separator):
            yield [] if record and record[0].startswith("sep=") else record


def _batches(
    source: Source, layout: _Layout, ragged: list[tuple[int, str]]
) -> Iterator[pa.RecordBatch]:
    """Give the rows below the header as batches of text, their row numbers in the last column."""
    names = [str(at) for at in range(len(layout.header.headings))]
    skipped: list[int] = []

    def keep_aside(row: pa.csv.InvalidRow) -> str:
        skipped.append(row.number)
        if row.number > layout.header.row and row.text.strip(f' \t\r\n{layout.separator}"'):
            ragged.append((row.number, row.text[:RAGGED_SHOWN]))
        return "skip"

    try:
        reader = pa.csv.open_csv(
            source.path,
            read_options=pa.csv.ReadOptions(
                column_names=names,
                block_size=BLOCK,
                use_threads=False,
                encoding=layout.encoding,
            ),
            parse_options=pa.csv.ParseOptions(
                delimiter=layout.separator,
                newlines_in_values=True,
                ignore_empty_lines=False,
                invalid_row_handler=keep_aside,
            ),
            convert_options=pa.csv.ConvertOptions(
                column_types=dict.fromkeys(names, pa.string()), strings_can_be_null=False
            ),
        )
        at, first = 0, 1
        for batch in reader:
            rows, at = _row_numbers(batch.num_rows, first, skipped, at)
            first = int(rows[-1]) + 1 if len(rows) else first
            below = int(np.searchsorted(rows, layout.header.row, side="right"))
            yield batch.append_column("row", pa.array(rows)).slice(below)
    except (pa.ArrowInvalid, UnicodeDecodeError) as error:
        raise _unreadable(source, error) from None


def _row_numbers(
    count: int, first: int, skipped: list[int], at: int
) -> tuple[np.ndarray[tuple[int], np.dtype[np.int64]], int]:
    """Give `count` row numbers from `first` on, without those skipped (from place `at` on)."""
    last, start = first + count - 1, at
    while at < len(skipped) and skipped[at] <= last:
        at, last = at + 1, last + 1
    rows = np.arange(first, last + 1, dtype=np.int64)
    return np.setdiff1d(rows, np.array(skipped[start:at], dtype=np.int64), assume_unique=True), at


def _unreadable(source: Source, error: Exception) -> Exception:
    said = str(error).splitlines()[0]
    if "straddling" in said:
        return source.refuse(
            "open_quote",
            f"A row is longer than {BLOCK // 1_000_000} million characters: "
            "a quotation mark is opened and not closed.",
        )
    if isinstance(error, UnicodeDecodeError):
        return source.refuse("not_text", "The file is not text in any encoding known.")
    return source.refuse("not_csv", f"The file cannot be read as separated text: {said}.")
