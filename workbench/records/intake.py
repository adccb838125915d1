"""Read the records of a study: every row accepted or rejected, every fault with its place.

Readings go once through the engine: the file as text into a table, each row judged by all rules at
once, the sound ones reduced to cells. No reading becomes an object of its own in Python. What was
reduced before from the very same files need not go through it again.
"""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from workbench.records.collection.reading import Readings, find_readings
from workbench.records.columns import BLOCKS_FILE, CALIBRATIONS_FILE, CORRELATIONS_FILE
from workbench.records.digests import changed, stamp
from workbench.records.engine_choice import engine_asked
from workbench.records.kept import find_kept, keep, kept_name
from workbench.records.notice import Notice
from workbench.records.sentences import sentences_of
from workbench.records.settings import SETTINGS_FILE, Settings
from workbench.records.shelf import Shelf
from workbench.records.store import (
    Records,
    check_inputs,
    load_reduced,
    open_shelf,
    reduced_as_of,
    save_reduced,
)

__all__ = ["Notice", "Records", "read_records", "save_reduced"]


def read_records(
    folder: Path,
    settings: Settings,
    *,
    as_of: datetime | None = None,
    reduced: Path | None = None,
    kept: Path | None = None,
    engine: str | None = None,
    memory_limit_mb: int | None = None,
    threads: int | None = None,
) -> Records:
    """Read all records of a study.

    Parameters
    ----------
    folder
        The study.
    settings
        Its settings, from `load_settings`.
    as_of
        Read a collection as it was then; left out, as `[readings] as_of` says, or as it is now.
    reduced
        A folder made by `save_reduced` from the same files: opened instead of reading again.
    kept
        The folder where reductions are kept between commands: one made from the same files is
        opened, else the new one is kept there. Left out, nothing is kept.
    engine
        The engine that reduces them, in place of the one the study states: `duckdb`, `spark` or
        the address of a Spark.
    memory_limit_mb, threads
        Bounds for the engine that reads them.

    Raises
    ------
    StudyError
        There are no readings, a file cannot be read or is not what it says (`FaultsError`), or
        `reduced` was made from other files.
    """
    asked = engine_asked(engine or settings.engine.name)
    sentences = sentences_of(settings)
    at = as_of_meant(settings, as_of, reduced)
    found = find_readings(folder, settings.readings.file, at)
    inputs = _inputs(found)
    if reduced is not None:
        return load_reduced(reduced, folder, inputs, sentences)
    stamps = [stamp(folder, name) for name in inputs]
    found.check({one.name: one.sha256 for one in stamps if one.sha256})
    name = "" if kept is None else kept_name(stamps, at, asked.name)
    before = None if kept is None else find_kept(kept, name, sentences)
    if before is not None:
        return before

    from workbench.records.intake_pass import read_through

    shelf = Shelf.temporary()
    try:
        read_through(
            folder,
            found,
            settings,
            sentences,
            shelf.folder,
            stamps,
            at,
            asked,
            memory_limit_mb,
            threads,
            whole=kept is not None,
        )
        records = open_shelf(shelf, sentences)
        # Files that changed while they were read are not what their digests say.
        if kept is not None and not changed(folder, stamps):
            keep(records, kept, name)
        return records
    except BaseException:
        shelf.remove()
        raise


def check_reduced(reduced: Path, folder: Path, settings: Settings) -> None:
    """Refuse a reduction made by `save_reduced` from other files than the study has now."""
    at = as_of_meant(settings, None, reduced)
    check_inputs(reduced, folder, _inputs(find_readings(folder, settings.readings.file, at)))


def _inputs(found: Readings) -> list[str]:
    beside = (BLOCKS_FILE, CALIBRATIONS_FILE, CORRELATIONS_FILE)
    return [SETTINGS_FILE, *found.inputs, *beside]


def as_of_meant(
    settings: Settings, as_of: datetime | None, reduced: Path | None
) -> datetime | None:
    """Give the time a collection is read for: asked for, that of a reduction, or the study's."""
    if as_of is not None:
        return as_of
    if reduced is not None:
        return reduced_as_of(reduced)
    return settings.readings.as_of
