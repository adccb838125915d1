"""The collector of dead cycles, set for processes that live for seconds and import much."""

from __future__ import annotations

import atexit
import gc

OBJECTS_BETWEEN = 200_000  # 700 where nothing is said


def collect_rarely() -> None:
    """Let this process, and what it forks, look for dead cycles rarely, and not at its end.

    Looking takes a tenth of a short command and of the drawing of figures. At the end all that is
    alive would be looked through once more before it goes anyway.
    """
    gc.set_threshold(OBJECTS_BETWEEN)
    atexit.register(gc.freeze)
