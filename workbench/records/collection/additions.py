"""The additions of a collection: what each brought, when, and which of them count as of a time.

A collection is a folder of additions, numbered from 1. An addition is a folder that appears whole,
by one rename, and is never changed: its parts (Parquet, by family and year), what was rejected
then, and `addition.json`, which says what belongs to it. A reading that was corrected stays in its
part; the addition that corrects it names the row.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from pydantic import ValidationError

from workbench.errors import StudyError
from workbench.records.collection.as_of import told
from workbench.records.setting_types import Table

RECORD = "addition.json"
FAULTS = "faults.parquet"
REJECTED = "rejected.parquet"
TO_MEND = "rejected.csv"  # a copy of the rejected rows for their reader to mend, or to delete
HELD_TO = 1  # the format of `addition.json`
_NAME = re.compile(r"addition-(\d{6})")


class AddedFile(Table):
    """A file that was added: its digest, and what became of its rows."""

    name: str
    sha256: str
    rows_in: int
    added: int
    held: int
    struck: int
    rejected: int


class PartRecord(Table):
    """A part as it was written: its rows, its size in bytes, its digest."""

    rows: int
    size: int
    sha256: str


class Addition(Table):
    """One addition, as `addition.json` says.

    `parts` and `kept` (what was rejected) are named by their paths in the addition. `superseded`
    holds, by the path of a part in the collection, the rows that no longer count from here on;
    `mended` the rejected rows of earlier additions that were put right or let go.
    """

    format: int = HELD_TO
    number: int
    added: datetime
    files: tuple[AddedFile, ...]
    parts: dict[str, PartRecord]
    kept: dict[str, PartRecord]
    superseded: dict[str, tuple[int, ...]]
    mended: tuple[str, ...]

    @property
    def name(self) -> str:
        """The name of its folder."""
        return addition_name(self.number)

    @property
    def kept_paths(self) -> tuple[str, ...]:
        """The files of what was rejected, by their paths in the collection."""
        return tuple(f"{self.name}/{path}" for path in self.kept)

    @property
    def paths(self) -> dict[str, PartRecord]:
        """Its files by their paths in the collection, the record itself left out."""
        return {f"{self.name}/{path}": part for path, part in (self.parts | self.kept).items()}


@dataclass(frozen=True, slots=True, kw_only=True)
class History:
    """The additions that count, in their order."""

    folder: Path
    additions: tuple[Addition, ...]

    @property
    def parts(self) -> dict[str, PartRecord]:
        """Every part by its path in the collection, in the order of the additions."""
        return {
            f"{addition.name}/{path}": part
            for addition in self.additions
            for path, part in addition.parts.items()
        }

    @property
    def superseded(self) -> Mapping[str, frozenset[int]]:
        """The rows that were corrected, by the path of their part."""
        found: dict[str, set[int]] = {}
        for addition in self.additions:
            for path, rows in addition.superseded.items():
                found.setdefault(path, set()).update(rows)
        return {path: frozenset(rows) for path, rows in found.items()}

    @property
    def mended(self) -> frozenset[str]:
        """The rejected rows that were put right or let go."""
        return frozenset(row for addition in self.additions for row in addition.mended)


def addition_name(number: int) -> str:
    """Give the name of an addition's folder."""
    return f"addition-{number:06d}"


def is_collection(folder: Path) -> bool:
    """Tell whether a folder is a collection: whether it holds an addition."""
    return any(True for _ in _numbered(folder))


def history(folder: Path, as_of: datetime | None = None) -> History:
    """Read the additions of a collection, all of them or those made up to a time.

    Raises
    ------
    StudyError
        One is missing, holds a file that is not its own or lacks one, or cannot be read; or none
        was made by then.
    """
    found = sorted(_numbered(folder))
    for wanted, (number, path) in enumerate(found, 1):
        if number != wanted:
            raise StudyError(
                f"The collection {folder.name} is not whole: {addition_name(wanted)} is missing, "
                f"and {path.name} is there. Put it back from a copy."
            )
    every = tuple(_read(path, number) for number, path in found)
    counted = tuple(one for one in every if as_of is None or one.added <= as_of)
    if every and as_of is not None and not counted:
        raise StudyError(
            f"The collection {folder.name} held nothing on {told(as_of)}: "
            f"the first addition was made on {told(every[0].added)}."
        )
    return History(folder=folder, additions=counted)


def check_digests(history: History, found: Mapping[str, str]) -> None:
    """Hold the parts to what was written; `found` has the digest of each by its path.

    Raises `StudyError` naming those that were changed.
    """
    expected = {path: part for one in history.additions for path, part in one.paths.items()}
    if wrong := [path for path, digest in found.items() if expected[path].sha256 != digest]:
        raise _changed(history.folder.name, wrong)


def _numbered(folder: Path) -> Iterator[tuple[int, Path]]:
    for path in folder.iterdir():
        match = _NAME.fullmatch(path.name)
        if match and path.is_dir():
            yield int(match[1]), path


def _read(folder: Path, number: int) -> Addition:
    record, name = folder / RECORD, f"{folder.parent.name}/{folder.name}"
    try:
        addition = Addition.model_validate_json(record.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError):
        raise StudyError(f"{name} is not whole: {RECORD} cannot be read.") from None
    except ValidationError as error:
        place = ".".join(str(part) for part in error.errors()[0]["loc"])
        raise StudyError(f"{name}/{RECORD} is not as it was written ({place}).") from None
    if addition.format != HELD_TO or addition.number != number:
        raise StudyError(f"{name}/{RECORD} is of another version, or of another addition.")
    _check_files(folder, name, addition.parts | addition.kept)
    return addition


def _check_files(folder: Path, name: str, own: Mapping[str, PartRecord]) -> None:
    there = {
        path.relative_to(folder).as_posix(): path.stat().st_size
        for path in folder.rglob("*")
        if not path.is_dir() and not path.name.startswith(".")
    }
    if missing := sorted(own.keys() - there.keys()):
        raise StudyError(f"{name} is not whole: {', '.join(missing)} is missing.")
    if strange := sorted(there.keys() - own.keys() - {RECORD, TO_MEND}):
        raise StudyError(
            f"{name} holds {', '.join(strange)}, which was not added there: take it away, "
            "and add it with `workbench add`."
        )
    if wrong := [path for path, part in own.items() if there[path] != part.size]:
        raise _changed(name, wrong)


def _changed(name: str, paths: Sequence[str]) -> StudyError:
    return StudyError(
        f"{name} is not as it was written: {', '.join(paths)} was changed or cut short. Put it "
        "back from a copy; the other parts are not touched."
    )


def next_time(latest: datetime | None, now: datetime) -> datetime:
    """Give the time to file an addition under: now, but always after the latest.

    A clock that was set back would file it before what it may correct.
    """
    now = now.astimezone(UTC)
    return now if latest is None or now > latest else latest + timedelta(microseconds=1)
