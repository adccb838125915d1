"""The parts of a collection: written by family and year, read without what was corrected since."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.parquet as pq

from workbench.records.columns import COLUMNS
from workbench.records.parquetfile import open_parquet
from workbench.records.sheets import Sheet
from workbench.records.sources import Source

SCHEMA = pa.schema([(name, pa.string()) for name in COLUMNS])
LONGEST = 120
BYTES_A_ROW = 80


@dataclass(frozen=True, slots=True, kw_only=True)
class Part(Source):
    """A part of a collection, of so many rows; the rows `superseded` are passed over."""

    rows: int
    superseded: frozenset[int] = frozenset()

    @property
    def weight(self) -> int:
        """The size it has as text, roughly; like values are packed a hundredfold and more."""
        return self.rows * BYTES_A_ROW


def open_part(source: Part) -> Sheet:
    """Open a part: text, its values written with a decimal point and nothing else."""
    sheet = open_parquet(source)
    return Sheet(
        source=source,
        header=sheet.header,
        batches=lambda: _batches(sheet, source.superseded),
    )


def _batches(sheet: Sheet, superseded: frozenset[int]) -> Iterator[pa.RecordBatch]:
    stored = f"exact_{sheet.headings.index('value')}"
    passed_over = pa.array(sorted(superseded), pa.int64())
    for batch in sheet.batches():
        at = batch.schema.get_field_index(stored)
        exact = batch.set_column(at, stored, pa.repeat(True, batch.num_rows))
        if superseded:
            rows = exact.column("row")
            exact = exact.filter(pc.invert(pc.is_in(rows, value_set=passed_over)))
        yield exact


def write_parts(batches: Iterable[pa.RecordBatch], folder: Path) -> dict[str, int]:
    """Write rows to parts; give how many went to each, by its path in `folder`.

    Parameters
    ----------
    batches
        The columns `SCHEMA` and `year`, rows of one family and year in a run.
    folder
        The folder of the addition.
    """
    written: dict[str, int] = {}
    writer: pq.ParquetWriter | None = None
    current: tuple[str, str] | None = None
    try:
        for batch in batches:
            for family, year, rows in _runs(batch):
                if (family, year) != current:
                    if writer is not None:
                        writer.close()
                    path = _free(folder, family, year)
                    name = path.relative_to(folder).as_posix()
                    writer, current = (
                        pq.ParquetWriter(path, SCHEMA, compression="zstd"),
                        (family, year),
                    )
                    written[name] = 0
                assert writer is not None
                writer.write_batch(rows.select(SCHEMA.names))
                written[name] += rows.num_rows
    finally:
        if writer is not None:
            writer.close()
    return written


def digest(path: Path) -> str:
    """Give the SHA-256 of a file."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _runs(batch: pa.RecordBatch) -> Iterator[tuple[str, str, pa.RecordBatch]]:
    """Give the runs of rows of one family and year."""
    if not batch.num_rows:
        return
    names = [batch.column(name).to_numpy(zero_copy_only=False) for name in ("family", "year")]
    changes = np.flatnonzero((names[0][1:] != names[0][:-1]) | (names[1][1:] != names[1][:-1])) + 1
    for start, end in zip([0, *changes], [*changes, batch.num_rows], strict=True):
        yield names[0][start], names[1][start], batch.slice(start, end - start)


def _free(folder: Path, family: str, year: str) -> Path:
    """Give the path of a new part; names that a disk does not keep apart get parts of their own."""
    label = quote(family, safe=" ")
    if len(label) > LONGEST:
        label = f"{label[:LONGEST]}-{hashlib.sha256(family.encode()).hexdigest()[:16]}"
    place = folder / f"family={label}" / f"year={year}"
    place.mkdir(parents=True, exist_ok=True)
    path, number = place / "part.parquet", 1
    while path.exists():
        number += 1
        path = place / f"part-{number}.parquet"
    return path
