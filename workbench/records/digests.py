"""The digests of the inputs of a reduction, and a quick way to see that they still hold."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

SMALL = 4_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Stamp:
    """A file as it was: its SHA-256 (empty: there was none), size and times of change."""

    name: str
    sha256: str
    size: int
    modified: int
    altered: int


def stamp(folder: Path, name: str) -> Stamp:
    """Take the stamp of a file of the study."""
    path = folder / name
    if not path.is_file():
        return Stamp(name=name, sha256="", size=0, modified=0, altered=0)
    with path.open("rb") as file:
        digest = hashlib.file_digest(file, "sha256").hexdigest()
    state = path.stat()
    return Stamp(
        name=name,
        sha256=digest,
        size=state.st_size,
        modified=state.st_mtime_ns,
        altered=state.st_ctime_ns,
    )


def changed(folder: Path, stamps: Sequence[Stamp]) -> list[str]:
    """Give the names of the files that are no longer as stamped.

    A large file whose size and times all agree is taken as unchanged without reading it.
    """
    return [known.name for known in stamps if not _same(folder, known)]


def _same(folder: Path, known: Stamp) -> bool:
    path = folder / known.name
    if known.size > SMALL and path.is_file():
        state = path.stat()
        times = (state.st_size, state.st_mtime_ns, state.st_ctime_ns)
        if times == (known.size, known.modified, known.altered):
            return True
    return stamp(folder, known.name).sha256 == known.sha256


def digests(folder: Path, names: list[str]) -> dict[str, str]:
    """Give the SHA-256 of each named file that exists in `folder`, in the order of their names."""
    found = {}
    for name in sorted(set(names)):
        path = folder / name
        if path.is_file():
            with path.open("rb") as stream:
                found[name] = hashlib.file_digest(stream, "sha256").hexdigest()
    return found
