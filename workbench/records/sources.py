"""Find the files of a study that hold records, and let none of them leave it.

A study names its readings in `study.toml` (`[readings] file = …`) or has exactly one of
`readings.csv`, `readings.xlsx`, `readings.parquet`, `readings.duckdb` and a folder `readings` of
Parquet or CSV files. A path that leaves the study folder, also by a symbolic link, is refused. What
a file holds is checked against its ending before it is read.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from workbench.errors import StudyError
from workbench.records.faults import Fault, FaultsError

DATABASE = ".duckdb"
ENDINGS = (".csv", ".xlsx", ".parquet", DATABASE)
PACKED = 20  # times that text is larger than a workbook or a Parquet file of it
IN_FOLDER = (".csv", ".parquet")
READINGS_NAMES = (*(f"readings{ending}" for ending in ENDINGS), "readings")
_SIGNATURES = {
    b"PK\x03\x04": "a zip archive or workbook",
    b"PAR1": "a Parquet file",
    b"\x89PNG": "a PNG picture",
    b"\xff\xd8\xff": "a JPEG picture",
    b"GIF8": "a GIF picture",
    b"%PDF": "a PDF document",
    b"\x1f\x8b": "a gzip archive",
    b"\xd0\xcf\x11\xe0": "an old workbook or document (save it as .xlsx)",
    b"\x7fELF": "a program",
    b"MZ": "a program",
    b"SQLite format 3": "a database",
}
_EXPECTED = {".xlsx": (0, b"PK\x03\x04"), ".parquet": (0, b"PAR1"), DATABASE: (8, b"DUCK")}


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """A file of records: where it is, and its name in the study for people."""

    path: Path
    name: str

    @property
    def ending(self) -> str:
        """The ending of the file in small letters, with its point."""
        return self.path.suffix.lower()

    @property
    def files(self) -> tuple[str, ...]:
        """The files behind it: itself, and what a database has not written into it yet."""
        return (self.name, f"{self.name}.wal") if self.ending == DATABASE else (self.name,)

    @property
    def weight(self) -> int:
        """The size it has as text, roughly."""
        return self.path.stat().st_size * (1 if self.ending == ".csv" else PACKED)

    def fault(self, code: str, sentence: str, *, column: str = "") -> Fault:
        """Make a fault of this file as a whole."""
        return Fault(
            file=self.name, row=None, column=column, value="", code=code, sentence=sentence
        )

    def refuse(self, code: str, sentence: str, *, column: str = "") -> FaultsError:
        """Make the error that says this file cannot be read at all."""
        return FaultsError([self.fault(code, sentence, column=column)])


def readings_path(folder: Path, stated: str | None) -> tuple[Path, str]:
    """Give where the readings are, and their name in the study; `stated` is what the study says."""
    if stated is None:
        found = [name for name in READINGS_NAMES if (folder / name).exists()]
        if not found:
            raise StudyError(
                f"{folder} has no readings: it needs one of {', '.join(READINGS_NAMES)} "
                "(the last a folder of Parquet or CSV files), or [readings] file in study.toml."
            )
        if len(found) > 1:
            raise StudyError(
                f"{folder} has more than one set of readings ({', '.join(found)}); "
                "say which in study.toml under [readings] file."
            )
        stated = found[0]
    path = inside(folder, stated)
    if not path.exists():
        raise StudyError(f"The readings “{stated}” are not in the study.")
    return path, path.relative_to(folder.resolve()).as_posix() if path.is_dir() else stated


def readings_sources(folder: Path, stated: str | None) -> tuple[Source, ...]:
    """Give the files of the readings: one, or those of a folder in the order of their paths.

    In a folder, names that begin with a point or a low line are passed over.
    """
    path, name = readings_path(folder, stated)
    if not path.is_dir():
        return (checked(path, name),)
    files = sorted(file for file in path.rglob("*") if file.suffix.lower() in IN_FOLDER)
    kept = [file for file in files if not _hidden(file.relative_to(path))]
    if not kept:
        raise StudyError(f"The folder “{name}” holds no Parquet or CSV file.")
    names = [file.relative_to(folder.resolve()).as_posix() for file in kept]
    return tuple(checked(inside(folder, name), name) for name in names)


def _hidden(path: Path) -> bool:
    return any(part.startswith((".", "_")) for part in path.parts)


def optional_source(folder: Path, name: str) -> Source | None:
    """Give a file of the study that may be left out, or None."""
    path = inside(folder, name)
    return checked(path, name) if path.exists() else None


def inside(folder: Path, name: str) -> Path:
    """Give the path of `name` in `folder`; refuse one that leaves it, links followed."""
    path, root = (folder / name).resolve(), folder.resolve()
    if not path.is_relative_to(root) or path == root:
        raise FaultsError(
            [
                Fault(
                    file=name,
                    row=None,
                    column="",
                    value="",
                    code="outside_study",
                    sentence="The path leaves the study folder; a study holds its own files.",
                )
            ]
        )
    return path


def checked(path: Path, name: str) -> Source:
    """Check that a file is what its ending says, as far as its first bytes tell."""
    source = Source(path=path, name=name)
    if not path.is_file():
        raise source.refuse("not_a_file", "This is not a file.")
    if source.ending not in ENDINGS:
        raise source.refuse("unknown_ending", f"The ending must be one of {', '.join(ENDINGS)}.")
    try:
        with path.open("rb") as file:
            start = file.read(16)
    except OSError as error:
        raise StudyError(f"{name} cannot be read: {error.strerror}.") from None
    if not start:
        raise source.refuse("empty_file", "The file is empty: it has no header.")
    at, expected = _EXPECTED.get(source.ending, (0, b""))
    if expected and start[at:].startswith(expected):
        return source
    held = next((what for sign, what in _SIGNATURES.items() if start.startswith(sign)), "")
    if expected or held:
        what = f"it holds {held}" if held else "its content is of another kind"
        raise source.refuse("not_its_ending", f"The file is not what its ending says: {what}.")
    return source
