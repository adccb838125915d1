"""The readings of a study, wherever they stand: files, or a collection as of a time."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import pyarrow as pa
import pyarrow.parquet as pq

from workbench.errors import StudyError
from workbench.records.collection.additions import (
    FAULTS,
    RECORD,
    History,
    check_digests,
    history,
    is_collection,
)
from workbench.records.collection.as_of import told
from workbench.records.collection.parts import Part
from workbench.records.sources import Source, inside, readings_path, readings_sources

if TYPE_CHECKING:
    from workbench.records.engine import Engine


@dataclass(frozen=True, slots=True, kw_only=True)
class Readings:
    """Where the readings of a study are; `past` is what a collection holds, else None."""

    name: str
    sources: tuple[Source, ...]
    past: History | None = None

    @property
    def inputs(self) -> tuple[str, ...]:
        """The files they rest on, by their names in the study."""
        own = tuple(name for source in self.sources for name in source.files)
        if self.past is None:
            return own
        kept = [
            path
            for one in self.past.additions
            for path in (f"{one.name}/{RECORD}", *one.kept_paths)
        ]
        return (*own, *(f"{self.name}/{path}" for path in kept))

    def check(self, digests: Mapping[str, str]) -> None:
        """Hold the files of a collection to what was written."""
        if self.past is not None:
            within = {
                name.removeprefix(f"{self.name}/"): digest
                for name, digest in digests.items()
                if name.startswith(f"{self.name}/") and not name.endswith(RECORD)
            }
            check_digests(self.past, within)


def find_readings(folder: Path, stated: str | None, as_of: datetime | None = None) -> Readings:
    """Find the readings of a study; `stated` is `[readings] file`.

    Raises
    ------
    StudyError
        There are none, or more than one set; a collection is not whole; or `as_of` is asked of
        readings that keep no history.
    """
    path, name = readings_path(folder, stated)
    if not (path.is_dir() and is_collection(path)):
        if as_of is not None:
            raise StudyError(
                f"The readings “{name}” keep no history, so there is no “as of”: "
                "`workbench add` keeps readings as a collection."
            )
        return Readings(name=name, sources=readings_sources(folder, stated))
    past = history(path, as_of)
    superseded = past.superseded
    return Readings(
        name=name,
        past=past,
        sources=tuple(
            Part(
                path=inside(folder, f"{name}/{part}"),
                name=f"{name}/{part}",
                rows=record.rows,
                superseded=superseded.get(part, frozenset()),
            )
            for part, record in past.parts.items()
        ),
    )


def collection_notice(past: History) -> str:
    """Say how much history the readings have."""
    latest = past.additions[-1]
    many = len(past.additions)
    gone = sum(len(rows) for rows in past.superseded.values())
    said = f"{many} addition{'' if many == 1 else 's'}, the latest made at {told(latest.added)}."
    if gone:
        said += (
            f" {gone} reading{'' if gone == 1 else 's'} corrected or struck out since do not count."
        )
    return said


def bring_rejected(engine: Engine, past: History) -> None:
    """Count what was rejected when it was added, and not put right since, among the rejected.

    Each file that was added then is a file of the records, named with its addition.
    """
    (first,) = engine.rows("select count(*) from files")[0]
    for addition in past.additions:
        if FAULTS not in addition.kept:
            continue
        found = pq.read_table(past.folder / addition.name / FAULTS).to_pandas()
        open_still = [
            f"{addition.number}-{number}" not in past.mended for number in found["number"]
        ]
        for file, rows in found[open_still].groupby("file", sort=True):
            name = f"{file} (addition {addition.number})"
            engine.run("insert into files values (?, ?, '', false, '')", [first, name])
            columns = [
                pa.array(rows[one].tolist()) for one in ("row", "column", "value", "code", "said")
            ]
            batch = pa.RecordBatch.from_arrays(
                columns, names=["row", "column", "value", "code", "said"]
            )
            engine.append(
                "brought",
                f'{first} as file, row, 0 as place, "column", value, code, said',
                batch.schema,
                [batch],
            )
            first += 1
