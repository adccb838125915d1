"""A copy of a study without the names of people: letters in place of operators and sellers.

Replaced are the columns that name a person, whatever the file, and in the study's own files who a
claim or a range was heard from. Notes may name anybody and become letters too; comments are left
out. The same name gets the same letter throughout, by the order of its first appearance.
"""

from __future__ import annotations

import csv
import io
import string
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

import pyarrow as pa
import pyarrow.parquet as pq
import tomli_w

from workbench.errors import RunError
from workbench.records.columns import BLOCKS, CALIBRATIONS, READINGS, Column, plain
from workbench.records.delimited import encoding_of, open_delimited
from workbench.records.sources import Source
from workbench.records.tomlfile import read_toml
from workbench.runs.letters_collection import (
    is_faults,
    is_record,
    record_anew,
    rewrite_faults,
)
from workbench.runs.letters_workbook import rewrite_workbook

PERSONS = {
    *("seller", "sold_by", "bought_from", "vendor", "dealer", "owner", "previous_owner", "buyer"),
    *("customer", "client", "person", "name", "contact_person", "phone", "email", "address"),
}
HEARD = {"heard_from", "who"}
NAMED = {"operator": "", "note": "note ", "person": "", "source": "source "}
EVERY = (*READINGS, *BLOCKS, *CALIBRATIONS)


class Letters:
    """Letters in place of names, by kind; the same name gets the same letter."""

    def __init__(self) -> None:
        self._given: dict[str, dict[str, str]] = {kind: {} for kind in NAMED}

    def of(self, kind: str, name: str) -> str:
        """Give what stands in place of a name; nothing stays nothing."""
        known = self._given[kind]
        if not name.strip():
            return name
        return known.setdefault(name.strip(), f"{NAMED[kind]}{letter(len(known))}")


def letter(number: int) -> str:
    """Give A to Z, then AA to ZZ, and so on.

    >>> letter(0), letter(25), letter(26), letter(702)
    ('A', 'Z', 'AA', 'AAA')
    """
    text = ""
    number += 1
    while number:
        number, rest = divmod(number - 1, 26)
        text = string.ascii_uppercase[rest] + text
    return text


def kind_of_column(heading: str) -> str:
    """Tell whose name a column holds: an operator's, a person's, anybody's in a note; or nobody's.

    >>> kind_of_column("Inspector"), kind_of_column("Sold by"), kind_of_column("value")
    ('operator', 'person', '')
    """
    name = plain(heading)
    if name in PERSONS:
        return "person"
    for kind in ("operator", "note"):
        if any(name in (column.name, *column.synonyms) for column in EVERY if column.name == kind):
            return kind
    return ""


def lettered(study: Path, names: Iterable[str], target: Path) -> None:
    """Copy the input files `names` of a study into `target`, with letters for names.

    Raises
    ------
    RunError
        When a file is of a kind that cannot be rewritten.
    """
    letters = Letters()
    for name in sorted(names, key=is_record):  # a record holds the digests of what lies beside it
        source, copy = Source(path=study / name, name=name), target / name
        copy.parent.mkdir(parents=True, exist_ok=True)
        if source.ending == ".toml":
            copy.write_text(tomli_w.dumps(without_names(read_toml(source.path), letters)), "utf-8")
        elif is_record(name):
            record_anew(source.path, copy)
        elif is_faults(name):
            rewrite_faults(
                source.path, copy, lambda column, value: without_name(column, value, letters)
            )
        elif source.ending == ".csv":
            copy.write_text(rewritten_csv(source, letters), encoding="utf-8", newline="")
        elif source.ending == ".parquet":
            rewrite_parquet(source.path, copy, letters)
        elif source.ending == ".xlsx":
            rewrite_workbook(source.path, copy, lambda cells: rewritten(cells, letters))
        else:
            raise RunError(f"Names in {name} cannot be replaced: its kind is not known.")


def without_names(table: dict[str, Any], letters: Letters) -> dict[str, Any]:
    """Give a table of a study's own file with letters for names."""
    result: dict[str, Any] = {}
    for key, value in table.items():
        if isinstance(value, dict):
            result[key] = without_names(value, letters)
        elif isinstance(value, list):
            result[key] = [
                without_names(item, letters) if isinstance(item, dict) else item for item in value
            ]
        elif isinstance(value, str) and key in HEARD:
            result[key] = letters.of("source", value)
        elif isinstance(value, str) and plain(key) in PERSONS:
            result[key] = letters.of("person", value)
        else:
            result[key] = value
    return result


def rewritten_csv(source: Source, letters: Letters) -> str:
    """Give a separated file with letters for names, its cells otherwise as they are."""
    separator = open_delimited(source, columns_of(source.name)).separator or ","
    encoding, _ = encoding_of(source)
    text = source.path.read_bytes().decode(encoding)
    rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=separator))
    stream = io.StringIO()
    csv.writer(stream, delimiter=separator, lineterminator="\n").writerows(rewritten(rows, letters))
    return stream.getvalue()


def columns_of(name: str) -> tuple[Column, ...]:
    """Give the columns of the contract a file holds."""
    return {"blocks.csv": BLOCKS, "calibrations.csv": CALIBRATIONS}.get(name, READINGS)


def rewritten(rows: Sequence[Sequence[Any]], letters: Letters) -> list[list[Any]]:
    """Give rows with letters for names; the header is the first row that names such a column."""
    result: list[list[Any]] = []
    kinds: list[str] = []
    for row in rows:
        if not any(kinds):
            kinds = [kind_of_column(str(cell)) for cell in row]
            result.append(list(row))
            continue
        named = [*kinds, *[""] * len(row)]
        result.append(
            [
                letters.of(kind, str(cell)) if kind and cell is not None else cell
                for kind, cell in zip(named, row, strict=False)
            ]
        )
    return result


def without_name(column: str, value: str, letters: Letters) -> str:
    """Give the value of a column, or its letter where the column names a person."""
    kind = kind_of_column(column)
    return letters.of(kind, value) if kind else value


def rewrite_parquet(path: Path, copy: Path, letters: Letters) -> None:
    """Copy a Parquet file with letters for names."""
    table = pq.read_table(path)
    for at, heading in enumerate(table.column_names):
        kind = kind_of_column(heading)
        if kind:
            names = table.column(at).cast(pa.string()).to_pylist()
            given = [None if name is None else letters.of(kind, name) for name in names]
            table = table.set_column(at, heading, pa.array(given, pa.string()))
    pq.write_table(table.replace_schema_metadata(None), copy)
