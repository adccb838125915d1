"""A lock that its owner's death releases: tells a run at work from what a dead one left."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterator
from pathlib import Path

try:
    import fcntl
except ImportError:  # not a POSIX system: every lock is granted, as if no other run were there
    fcntl = None  # type: ignore[assignment]


def can_lock() -> bool:
    """Tell whether a lock keeps anybody out on this system."""
    return fcntl is not None


@contextlib.contextmanager
def lock(folder: Path) -> Iterator[bool]:
    """Try to lock a folder for the time of the block; yields whether it is ours."""
    if fcntl is None:
        yield True
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        yield taken(handle)
    finally:
        os.close(handle)


def locked(folder: Path) -> int | None:
    """Lock a folder for as long as this process, or a copy of it, lives; give the handle."""
    if fcntl is None:
        return None
    handle = os.open(folder, os.O_RDONLY)
    taken(handle)
    return handle


def taken(handle: int) -> bool:
    """Take the lock unless another process, or another opening of the folder, has it."""
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True
