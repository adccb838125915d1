"""An addition made in one stroke: written aside by one writer at a time, then renamed into place.

A writer that dies leaves a folder whose name begins with `.partial-`, which nobody reads and the
next writer removes. Where folders cannot be locked, a second writer finds the name taken.
"""

from __future__ import annotations

import contextlib
import os
import shutil
import time
from collections.abc import Iterator
from pathlib import Path

from workbench.errors import StudyError
from workbench.records.lock import can_lock, lock

PARTIAL = ".partial-"
SECONDS_TO_WAIT = 60.0
_PAUSE = 0.05


@contextlib.contextmanager
def sole_writer(folder: Path, seconds: float = SECONDS_TO_WAIT) -> Iterator[None]:
    """Be the only writer of a collection for the time of the block, waiting for another to end.

    The folder is made where there is none, and goes again when nothing was written to it.
    """
    until = time.monotonic() + seconds
    while True:
        folder.mkdir(exist_ok=True)
        with lock(folder) as ours:
            if ours and folder.exists():
                try:
                    yield
                finally:
                    with contextlib.suppress(OSError):
                        folder.rmdir()
                return
        if time.monotonic() > until:
            raise StudyError(
                f"Another `workbench add` has been writing to {folder.name} for {seconds:g} s; "
                "nothing was added. Try again when it has ended."
            )
        time.sleep(_PAUSE)


@contextlib.contextmanager
def written_aside(folder: Path) -> Iterator[Path]:
    """Give an empty folder to write an addition to; it goes with the block unless published.

    To be called by the sole writer: what dead ones left is removed, where none can be at work.
    """
    for left in folder.glob(f"{PARTIAL}*") if can_lock() else ():
        shutil.rmtree(left, ignore_errors=True)
    partial = folder / f"{PARTIAL}{os.getpid()}"
    partial.mkdir()
    try:
        yield partial
    finally:
        shutil.rmtree(partial, ignore_errors=True)


def publish(partial: Path, target: Path) -> None:
    """Put an addition in its place, whole: its files are on the disk before its name is.

    Raises `StudyError` where the name is taken.
    """
    for path in partial.rglob("*"):
        _to_disk(path)
    _to_disk(partial)
    try:
        partial.rename(target)
    except OSError as error:
        if target.exists():
            raise StudyError(
                f"{target.name} was made by another writer meanwhile; nothing was added. Add again."
            ) from None
        raise error
    _to_disk(target.parent)


def _to_disk(path: Path) -> None:
    """Wait until a file or folder is on the disk; systems that cannot open a folder go without."""
    try:
        handle = os.open(path, os.O_RDONLY)
    except OSError:
        if path.is_dir():
            return
        raise
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
