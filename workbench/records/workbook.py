"""An Excel workbook read as text: stored values only, nothing in it is ever computed.

A cell that holds a formula without a stored value comes as the formula's text (`=A1+B2`), an error
cell as `#error`, so that the row rules refuse both instead of finding an empty cell. Numbers are
written with 15 digits, as the program that stored them shows them; a whole number loses its `.0`.
"""

from __future__ import annotations

import datetime
import re
import zipfile
from collections.abc import Iterator
from itertools import islice

import pyarrow as pa
from python_calamine import CalamineError, CalamineSheet, CalamineWorkbook

from workbench.records.columns import Column
from workbench.records.sheets import NO_HEADER, Header, Sheet, find_header
from workbench.records.sources import Source

UNPACKED_LIMIT = 4_000_000_000
BATCH = 20_000
_CELL = re.compile(rb"<(?:\w+:)?c\b([^>]*)>(.*?)</(?:\w+:)?c>", re.DOTALL)
_FORMULA = re.compile(rb"<(?:\w+:)?f\b[^>]*>(.*?)</(?:\w+:)?f>", re.DOTALL)
_STORED = re.compile(rb"<(?:\w+:)?v>[^<]")
_PLACE = re.compile(rb'\br="([A-Z]+)([0-9]+)"')


def open_workbook(source: Source, columns: tuple[Column, ...], sheet: str | None) -> Sheet:
    """Open a sheet of a workbook: the one named, else one called as the file, else the first.

    `columns` are those of the contract it is to hold.
    """
    _check_size(source)
    try:
        book = CalamineWorkbook.from_path(str(source.path))
        names = book.sheet_names
        chosen = _choose(source, names, sheet)
        cells = book.get_sheet_by_name(chosen)
    except (CalamineError, OSError) as error:
        raise source.refuse("not_workbook", f"The workbook cannot be read: {error}.") from None
    header = find_header(([_text(cell) for cell in row] for row in cells.iter_rows()), columns)
    if header is None:
        raise source.refuse("empty_file", NO_HEADER)
    first_column = cells.start[1] if cells.start else 0
    unstored = _without_value(source, names.index(chosen), first_column)
    return Sheet(
        source=source,
        header=header,
        batches=lambda: _batches(cells, header, unstored),
        notices=(*_other_sheets(names, chosen), *header.notices),
    )


def _other_sheets(names: list[str], chosen: str) -> tuple[tuple[str, str], ...]:
    others = ", ".join(f"“{name}”" for name in names if name != chosen)
    said = f"Only the sheet “{chosen}” was read, not {others}."
    return (("other_sheets", said),) if others else ()


def _check_size(source: Source) -> None:
    """Refuse a file that is no zip archive, or one that would unpack without bound."""
    try:
        with zipfile.ZipFile(source.path) as archive:
            size = sum(item.file_size for item in archive.infolist())
    except (zipfile.BadZipFile, OSError):
        raise source.refuse("not_workbook", "The workbook is damaged or cut short.") from None
    if size > UNPACKED_LIMIT:
        raise source.refuse(
            "too_large_file", f"The workbook unpacks to more than {UNPACKED_LIMIT // 10**9} GB."
        )


def _choose(source: Source, names: list[str], wanted: str | None) -> str:
    if wanted is not None and wanted not in names:
        listed = ", ".join(f"“{name}”" for name in names)
        raise source.refuse("no_such_sheet", f"There is no sheet “{wanted}”, only {listed}.")
    if not names:
        raise source.refuse("empty_file", "The workbook holds no sheet.")
    stem = source.path.stem.lower()
    return wanted or next((name for name in names if name.lower() == stem), names[0])


def _batches(
    cells: CalamineSheet, header: Header, unstored: dict[tuple[int, int], str]
) -> Iterator[pa.RecordBatch]:
    """Give the rows below the header in batches."""
    width = len(header.headings)
    names = [str(at) for at in range(width)]
    exact_names = [f"exact_{at}" for at in range(width)]
    rows = islice(enumerate(cells.iter_rows(), 1), header.row, None)
    while chunk := list(islice(rows, BATCH)):
        texts = [
            pa.array(
                [unstored.get((row, at)) or _text(cell[at]) for row, cell in chunk], pa.string()
            )
            for at in range(width)
        ]
        exact = [
            pa.array([isinstance(cell[at], int | float) for _, cell in chunk], pa.bool_())
            for at in range(width)
        ]
        numbers = pa.array([row for row, _ in chunk], pa.int64())
        yield pa.RecordBatch.from_arrays(
            [*texts, *exact, numbers], names=[*names, *exact_names, "row"]
        )


def _text(cell: object) -> str:
    """Give a cell as text; midnight of a day is the day."""
    if isinstance(cell, str):
        return cell.strip()
    if isinstance(cell, float):
        return str(int(cell)) if cell.is_integer() else f"{cell:.15g}"
    if isinstance(cell, datetime.datetime):
        return cell.isoformat(" ").removesuffix(" 00:00:00")
    return str(cell)


def _without_value(source: Source, index: int, first: int) -> dict[tuple[int, int], str]:
    """Find the cells that hold a formula without a stored value, or an error.

    They are named by row and by column counted from `first`, where the sheet's table starts.
    """
    found: dict[tuple[int, int], str] = {}
    with zipfile.ZipFile(source.path) as archive:
        part = _part_of(archive, index)
        if part is None:
            return found
        with archive.open(part) as stream:
            rest = b""
            while piece := stream.read(1 << 20):
                rest += piece
                if b"<f" not in rest and b":f" not in rest and b't="e"' not in rest:
                    rest = rest[rest.rfind(b"<") :]
                    continue
                end = 0
                for match in _CELL.finditer(rest):
                    end = match.end()
                    text, place = _unstored(match[1], match[2]), _PLACE.search(match[1])
                    if text and place:
                        found[int(place[2]), _column_index(place[1]) - first] = text
                rest = rest[end:]
    return found


def _unstored(attributes: bytes, content: bytes) -> str:
    if b't="e"' in attributes:
        return "#error"
    formula = _FORMULA.search(content)
    if formula is None or _STORED.search(content):
        return ""
    return "=" + formula[1].decode("utf-8", "replace")


def _part_of(archive: zipfile.ZipFile, index: int) -> str | None:
    """Give the name of the archive's part that holds the sheet at `index`."""
    try:
        book = archive.read("xl/workbook.xml")
        links = archive.read("xl/_rels/workbook.xml.rels")
    except KeyError:
        return None
    sheets = re.findall(rb"<(?:\w+:)?sheet\b[^>]*?\b\w+:id=\"([^\"]+)\"", book)
    for link in re.findall(rb"<(?:\w+:)?Relationship\b[^>]*>", links):
        target = re.search(rb'\bTarget="([^"]+)"', link)
        if index < len(sheets) and b'Id="' + sheets[index] + b'"' in link and target:
            name = target[1].decode().lstrip("/")
            name = name if name.startswith("xl/") else f"xl/{name}"
            return name if name in archive.namelist() else None
    return None


def _column_index(letters: bytes) -> int:
    index = 0
    for letter in letters:
        index = index * 26 + letter - 64
    return index - 1
