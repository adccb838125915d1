"""Add files to the collection of a study: checked, held against what is there, written at once."""
# ruff: noqa: S608 -- statements are put together from our own names, never from a user's text

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from workbench.errors import StudyError
from workbench.records.collection.additions import (
    RECORD,
    TO_MEND,
    AddedFile,
    Addition,
    History,
    PartRecord,
    history,
    is_collection,
    next_time,
)
from workbench.records.collection.as_of import told
from workbench.records.collection.commit import (
    SECONDS_TO_WAIT,
    publish,
    sole_writer,
    written_aside,
)
from workbench.records.collection.corrections import CORRECTING, MENDS, set_corrections_aside
from workbench.records.collection.held import hold_against, load_held
from workbench.records.collection.parts import digest, write_parts
from workbench.records.collection.rejects import keep_rejects, open_rejects
from workbench.records.columns import CALIBRATIONS_FILE, COLUMNS, READINGS
from workbench.records.engine import SMALL, Engine
from workbench.records.faults import Fault
from workbench.records.judging import gauges_of, judge_rows
from workbench.records.loading import Findings, load_readings
from workbench.records.notice import Notice
from workbench.records.numbers import matches
from workbench.records.places import between_rows
from workbench.records.sentences import sentences_of
from workbench.records.settings import Settings, load_settings
from workbench.records.shelf import Shelf
from workbench.records.sidefiles import read_calibrations
from workbench.records.sources import READINGS_NAMES, Source, checked, inside, optional_source

DEFAULT = "readings"
BATCH = 131_072


@dataclass(frozen=True, slots=True, kw_only=True)
class Added:
    """What became of the files given: `addition` is None where nothing in them was new.

    `faults` are the first of `fault_count`; `clock` says so where the clock was set back.
    """

    folder: Path
    addition: Addition | None
    files: tuple[AddedFile, ...]
    faults: tuple[Fault, ...]
    fault_count: int
    notices: tuple[Notice, ...]
    clock: str

    @property
    def to_mend(self) -> Path | None:
        """The file of the rows that were rejected for the first time, or None."""
        if self.addition is None or not self.addition.kept:
            return None
        return self.folder / self.addition.name / TO_MEND

    @property
    def rejected(self) -> int:
        """How many rows were rejected."""
        return sum(one.rejected for one in self.files)


def add_readings(
    study: Path,
    files: Sequence[Path],
    *,
    now: datetime | None = None,
    seconds: float = SECONDS_TO_WAIT,
) -> Added:
    """Add the sound rows of files to the collection of a study.

    Parameters
    ----------
    study
        The study. Its collection is the folder `[readings] file` names, or `readings`.
    files
        Files of readings or of corrections, from anywhere.
    now
        The time of the addition; that of the clock when left out.
    seconds
        How long to wait for another writer.

    Raises
    ------
    StudyError
        The study or a file cannot be read, its readings are no collection, the collection is not
        whole, another is writing, or there is no room: nothing was added then.
    """
    settings = load_settings(study)
    folder = collection_folder(study, settings)
    sources = given(files)
    try:
        with sole_writer(folder, seconds), written_aside(folder) as partial:
            past = history(folder)
            return _add(study, settings, sources, past, partial, now or datetime.now(UTC))
    except OSError as error:
        said = error.strerror or str(error)
        raise StudyError(f"Nothing was added to {folder.name}: {said}.") from None


def collection_folder(study: Path, settings: Settings) -> Path:
    """Give the folder of a study's collection, which may not be there yet.

    Raises `StudyError` where its readings are a file, or a folder of files that were not added.
    """
    stated = settings.readings.file
    files = [name for name in READINGS_NAMES if name != DEFAULT and (study / name).exists()]
    if stated is None and files:
        raise StudyError(
            f"The readings of the study are {files[0]}. To keep them as a collection, rename that "
            "file and add it under its new name, as the first: `workbench add STUDY FILE`."
        )
    folder = inside(study, stated or DEFAULT)
    if folder.is_file():
        raise StudyError(f"The readings are the file {stated}; a collection is a folder.")
    if folder.exists() and not is_collection(folder) and any(_seen(folder)):
        raise StudyError(
            f"The folder {folder.name} holds files that were not added. Rename it, and add "
            "them: `workbench add STUDY FILE...`."
        )
    return folder


def _seen(folder: Path) -> Iterator[Path]:
    return (path for path in folder.iterdir() if not path.name.startswith("."))


def given(files: Sequence[Path]) -> tuple[Source, ...]:
    """Give the files to add: by their names alone, where that tells them apart."""
    counts = Counter(path.name for path in files)
    names = [path.name if counts[path.name] == 1 else path.as_posix() for path in files]
    if len(set(names)) < len(names):
        raise StudyError("One file is named twice.")
    return tuple(checked(path, name) for path, name in zip(files, names, strict=True))


def _add(
    study: Path,
    settings: Settings,
    sources: tuple[Source, ...],
    past: History,
    partial: Path,
    now: datetime,
) -> Added:
    before = open_rejects(past)
    shelf = Shelf.temporary()
    try:
        small = sum(source.weight for source in sources) < SMALL
        with Engine(shelf.folder, passing=small) as engine:
            findings = Findings()
            load_readings(engine, sources, settings, findings, (*READINGS, *CORRECTING))
            set_corrections_aside(engine, before)
            paths = load_held(engine, past, len(sources))
            _judge(engine, study, settings, len(sources))
            faults, count, kept = keep_rejects(
                engine, sentences_of(settings), before, len(past.additions) + 1, partial
            )
            files = _counted(engine, sources)
            parts = write_parts(engine.batches(_taken_sql(), BATCH), partial)
            superseded = _superseded(engine, paths, len(sources))
            mended = [row for (row,) in engine.rows(_mended_sql(len(sources)))]
        addition = None
        clock = ""
        if parts or superseded or mended or kept:
            latest = past.additions[-1].added if past.additions else None
            added = next_time(latest, now)
            if latest is not None and added > now.astimezone(UTC):
                clock = (
                    f"The clock says {told(now)}, which is not after the latest addition: this "
                    f"one is filed under {told(added)}."
                )
            addition = Addition(
                number=len(past.additions) + 1,
                added=added,
                files=files,
                parts={path: _record(partial / path, rows) for path, rows in parts.items()},
                kept={path: _record(partial / path, rows) for path, rows in kept.items()},
                superseded=superseded,
                mended=tuple(mended),
            )
            (partial / RECORD).write_text(addition.model_dump_json(indent=1), encoding="utf-8")
            publish(partial, past.folder / addition.name)
    finally:
        shelf.remove()
    return Added(
        folder=past.folder,
        addition=addition,
        files=files,
        faults=(*findings.faults, *faults),
        fault_count=len(findings.faults) + count,
        notices=tuple(findings.notices),
        clock=clock,
    )


def _judge(engine: Engine, study: Path, settings: Settings, first_held: int) -> None:
    """Judge the new rows by all rules, and against what is held; keep no fault of other rows."""
    calibrations, _ = read_calibrations(optional_source(study, CALIBRATIONS_FILE), settings.gauges)
    judge_rows(engine, settings, gauges_of(settings, calibrations))
    for faults in ("row_faults", "unkept"):
        engine.run(f"delete from {faults} where file >= {first_held} or row < 0")
    engine.keep("own", f"select * from sound where file < {first_held} and row > 0")
    between_rows(engine, "own")
    hold_against(engine, first_held)


def _taken_sql() -> str:
    """Give the rows that are new, as written, but the value with a decimal point and no more."""
    texts = ", ".join(f"r.{name}" for name in COLUMNS if name != "value")
    day = matches("r.measured_on", "^[0-9]{4}-[0-9]{2}-[0-9]{2}")
    return (
        f"select {texts}, case when t.quantity_kind = 'feature' then r.value"
        " when n.below then '<' || n.plain else n.plain end as value,"
        f" case when {day} then substr(r.measured_on, 1, 4) else 'undated' end as year"
        " from (select a.*, q.kind as quantity_kind from taken a"
        " join (select name, min(kind) as kind from quantity_words group by name) q"
        " on a.quantity = q.name) t"
        " join raw r on t.file = r.file and t.row = r.row"
        " left join numbers n on r.file = n.file and r.exact = n.exact and r.value = n.value"
        " order by r.family, year, r.block, r.quantity, r.bore, r.station, r.depth, r.file, r.row"
    )


def _counted(engine: Engine, sources: Sequence[Source]) -> tuple[AddedFile, ...]:
    """Count what became of the rows of each file."""
    counts = {
        name: dict(engine.rows(f"select file, count(*) from {rows} group by file"))
        for name, rows in {
            "rows_in": "(select file from raw where row > 0 union all select file from strikes"
            " union all select file from ragged)",
            "added": "taken",
            "held": "again",
            "struck": "(select s.file, s.row from strikes s left join rejected r"
            " on s.file = r.file and s.row = r.row where r.file is null)",
            "rejected": "(select distinct file, row from rejected)",
        }.items()
    }
    files = tuple(
        AddedFile(
            name=source.name,
            sha256=digest(source.path),
            **{name: count.get(at, 0) for name, count in counts.items()},
        )
        for at, source in enumerate(sources)
    )
    for one in files:
        if one.rows_in != one.added + one.held + one.struck + one.rejected:
            raise StudyError(f"The counts of the rows of {one.name} do not agree.")
    return files


def _superseded(engine: Engine, paths: Sequence[str], first: int) -> dict[str, tuple[int, ...]]:
    found: dict[str, list[int]] = {}
    for file, row in engine.rows("select file, row from superseded order by file, row"):
        found.setdefault(paths[file - first], []).append(row)
    return {path: tuple(rows) for path, rows in found.items()}


def _mended_sql(first_held: int) -> str:
    asked = f"select {MENDS} as id from"
    return (
        f"select distinct o.id from open_rejected o join ({asked} strikes union all {asked} raw"
        f" where row > 0 and file < {first_held}) a on o.id = a.id order by o.id"
    )


def _record(path: Path, rows: int) -> PartRecord:
    return PartRecord(rows=rows, size=path.stat().st_size, sha256=digest(path))
