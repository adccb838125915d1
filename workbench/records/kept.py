"""Reductions kept from one command to the next, each under the digest of all it was made from.

The name of one holds the digests of the files read, so there is nothing that could grow stale: any
other byte in a file, another time asked for or another version of the reading is another name. One
that is damaged is not believed and made anew, and keeping is never a reason to fail.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import re
import shutil
import tempfile
import time
from collections.abc import Sequence
from datetime import datetime
from functools import cache
from importlib.metadata import version
from pathlib import Path

from workbench.errors import StudyError
from workbench.records.digests import Stamp
from workbench.records.lock import locked
from workbench.records.sentences import Sentences
from workbench.records.shelf import Shelf, sweep
from workbench.records.store import FORMAT, Records, open_shelf, save_reduced

CACHE, NO_CACHE = "WORKBENCH_CACHE", "off"
WHOLE = "whole.json"
DAYS = 30
ROOM = 2_000_000_000
PARTIAL = "workbench-partial-"
NAMES = re.compile("[0-9a-f]{64}")
_DAY = 86_400.0


def cache_folder() -> Path | None:
    """Give the folder where reductions are kept between commands: the user's cache.

    `WORKBENCH_CACHE` names another one, or says `off`: then there is none.
    """
    stated = os.environ.get(CACHE)
    if stated == NO_CACHE:
        return None
    if stated:
        return Path(stated) / "reductions"

    from platformdirs import user_cache_path

    return user_cache_path("workbench", appauthor=False) / "reductions"


def kept_name(stamps: Sequence[Stamp], as_of: datetime | None, engine: str) -> str:
    """Name a reduction by what decides it: the files, the time meant, the engine, our own text."""
    decides = {
        "files": [[item.name, item.sha256] for item in stamps],
        "as_of": None if as_of is None else as_of.isoformat(),
        "engine": engine,
        "format": FORMAT,
        "reading": _our_own_text(),
    }
    return hashlib.sha256(json.dumps(decides).encode()).hexdigest()


def find_kept(kept: Path, name: str, sentences: Sentences) -> Records | None:
    """Open the reduction of a name where it is kept whole, else give None."""
    folder = kept / name
    try:
        if not _whole(folder):
            return None
        records = open_shelf(Shelf(folder), sentences)
    except (OSError, StudyError):
        return None
    with contextlib.suppress(OSError):
        os.utime(folder)
    return records


def keep(records: Records, kept: Path, name: str) -> None:
    """Keep a reduction under its name; where it cannot be kept, go on without."""
    with contextlib.suppress(OSError, StudyError):
        kept.mkdir(mode=0o700, parents=True, exist_ok=True)
        sweep(kept, PARTIAL)
        folder = Path(tempfile.mkdtemp(prefix=PARTIAL, dir=kept))
        ours = locked(folder)
        try:
            save_reduced(records, folder)
            (folder / WHOLE).write_text(json.dumps(_digests(folder)), encoding="utf-8")
            _put(folder, kept / name)
        finally:
            shutil.rmtree(folder, ignore_errors=True)
            if ours is not None:
                os.close(ours)
        make_room(kept, spared=name)


def _put(folder: Path, place: Path) -> None:
    """Move a folder to its place, unless another process has put one there that is whole."""
    try:
        folder.rename(place)
    except OSError:
        if not _whole(place):
            shutil.rmtree(place)
            folder.rename(place)


def make_room(kept: Path, *, spared: str, room: int = ROOM, days: float = DAYS) -> None:
    """Remove what nobody used for so many days, and the longest unused where room runs short.

    What was used within a day stays in any case: a command may be at it. So does whatever else lies
    in the folder.
    """
    now = time.time()
    used = sorted(
        ((now - path.stat().st_mtime) / _DAY, path)
        for path in kept.iterdir()
        if path.name != spared and NAMES.fullmatch(path.name) and (path / WHOLE).is_file()
    )
    taken = _bytes(kept / spared)
    for unused, path in used:
        taken += _bytes(path)
        if unused > days or (unused > 1 and taken > room):
            shutil.rmtree(path, ignore_errors=True)


def _whole(folder: Path) -> bool:
    try:
        stated = json.loads((folder / WHOLE).read_text(encoding="utf-8"))
        return bool(stated == _digests(folder))
    except (OSError, ValueError):
        return False


def _digests(folder: Path) -> dict[str, str]:
    found = {}
    for path in sorted(folder.iterdir()):
        if path.name != WHOLE:
            with path.open("rb") as stream:
                found[path.name] = hashlib.file_digest(stream, "sha256").hexdigest()
    return found


def _bytes(folder: Path) -> int:
    return sum(path.stat().st_size for path in folder.iterdir() if path.is_file())


@cache
def _our_own_text() -> str:
    """Tell the version of what reads: the modules of this room, and of the engine."""
    here = Path(__file__).parent
    text = hashlib.sha256(version("duckdb").encode())
    for path in sorted(here.rglob("*.py")):
        text.update(str(path.relative_to(here)).encode() + path.read_bytes())
    return text.hexdigest()
