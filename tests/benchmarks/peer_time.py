"""What a piece of work takes: seconds of processor, its own and of what it starts."""

from __future__ import annotations

import os
import resource
from collections.abc import Callable
from pathlib import Path
from typing import Any

Way = Callable[[], float]
_UTIME, _STIME, _PARENT = 11, 12, 1  # places in /proc/PID/stat after the name


def spent(work: Callable[[], Any], times: int = 1) -> float:
    """Give user and system seconds of a piece of work and of what it starts, a time."""
    before = processor()
    for _ in range(times):
        work()
    return (processor() - before) / times


def processor() -> float:
    """Give user and system seconds so far, of this process and of all it has started."""
    used = [resource.getrusage(whose) for whose in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(one.ru_utime + one.ru_stime for one in used) + living(os.getpid())


def living(parent: int) -> float:
    """Give the seconds of processes started from `parent` that still run, as Java does."""
    stats: dict[int, list[str]] = {}
    for path in Path("/proc").glob("[0-9]*/stat"):
        try:
            stats[int(path.parent.name)] = path.read_text().rsplit(")", 1)[1].split()
        except (OSError, ValueError):
            continue
    ticks, seconds, waiting = os.sysconf("SC_CLK_TCK"), 0.0, [parent]
    while waiting:
        of = waiting.pop()
        for pid, fields in stats.items():
            if fields[_PARENT] == str(of):
                waiting.append(pid)
                seconds += (int(fields[_UTIME]) + int(fields[_STIME])) / ticks
    return seconds
