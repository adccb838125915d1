"""A collection with letters for names: its faults rewritten, its additions recorded anew."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pyarrow as pa
import pyarrow.parquet as pq

from workbench.records.collection.additions import FAULTS, RECORD, Addition, PartRecord
from workbench.records.collection.parts import digest


def is_faults(name: str) -> bool:
    """Tell whether a file of a study is the faults of an addition."""
    return name.rpartition("/")[2] == FAULTS


def is_record(name: str) -> bool:
    """Tell whether a file of a study is the record of an addition."""
    return name.rpartition("/")[2] == RECORD


def rewrite_faults(path: Path, copy: Path, rewritten: Callable[[str, str], str]) -> None:
    """Copy the faults of an addition; `rewritten` gives what stands for a value of a column.

    A row that could not be told into columns counts as a note. The digests of the rows as written
    go: they are of the names.
    """
    table = pq.read_table(path)
    columns, values = (table.column(name).to_pylist() for name in ("column", "value"))
    given = [
        rewritten(column or "note", value) for column, value in zip(columns, values, strict=True)
    ]
    for name, texts in (("value", given), ("written", [""] * table.num_rows)):
        at = table.schema.get_field_index(name)
        table = table.set_column(at, name, pa.array(texts, pa.string()))
    pq.write_table(table, copy)


def record_anew(path: Path, copy: Path) -> None:
    """Copy the record of an addition whose other files have been rewritten beside the copy."""
    addition = Addition.model_validate_json(path.read_text(encoding="utf-8"))

    def anew(parts: dict[str, PartRecord]) -> dict[str, PartRecord]:
        return {
            name: PartRecord(
                rows=part.rows,
                size=(copy.parent / name).stat().st_size,
                sha256=digest(copy.parent / name),
            )
            for name, part in parts.items()
        }

    written = addition.model_copy(
        update={"parts": anew(addition.parts), "kept": anew(addition.kept)}
    )
    copy.write_text(written.model_dump_json(indent=1), encoding="utf-8")
