"""The folder of a reduction: kept where it was asked for, or gone with the process that made it.

A process that is killed tidies up nothing. Its folder is locked as long as it lives, so the next
one that needs a folder can tell and removes what a dead one left.
"""

from __future__ import annotations

import contextlib
import os
import shutil
import tempfile
import time
import weakref
from pathlib import Path

from workbench.records.lock import can_lock, lock, locked

PREFIX = "workbench-records-"
SECONDS_TO_LOCK = 60.0  # a folder this young may be about to be locked


class Shelf:
    """The folder behind a set of records; `temporary()` gives one that goes when they do."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._removal: weakref.finalize[[Path, int | None, int], Shelf] | None = None

    def remove(self) -> None:
        """Remove the folder now; one that was not temporary stays."""
        if self._removal is not None:
            self._removal()

    @classmethod
    def temporary(cls) -> Shelf:
        """Make a folder that goes with the shelf, or with the process."""
        sweep(Path(tempfile.gettempdir()), PREFIX)
        folder = Path(tempfile.mkdtemp(prefix=PREFIX))
        shelf = cls(folder)
        shelf._removal = weakref.finalize(shelf, _remove, folder, locked(folder), os.getpid())
        return shelf


def sweep(parent: Path, prefix: str) -> None:
    """Remove the folders of a prefix whose owner is gone without having tidied up.

    Where folders cannot be locked nobody can tell, and they stay.
    """
    for folder in parent.glob(f"{prefix}*") if can_lock() else ():
        with contextlib.suppress(OSError):
            old = time.time() - folder.stat().st_mtime > SECONDS_TO_LOCK
            if old and folder.is_dir() and not folder.is_symlink():
                with lock(folder) as ours:
                    if ours:
                        shutil.rmtree(folder)


def _remove(folder: Path, handle: int | None, owner: int) -> None:
    """Remove a folder, unless this is a copy of the process that made it."""
    if os.getpid() == owner:
        shutil.rmtree(folder, ignore_errors=True)
        if handle is not None:
            os.close(handle)
