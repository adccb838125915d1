"""Commands and kernels look for dead cycles rarely, and end at once."""

from __future__ import annotations

import gc
import subprocess
import sys

from workbench.runs import collector

ENDING = """
import atexit, gc
atexit.register(lambda: print(gc.get_freeze_count() > 0))
from workbench.cli import main
main(["--help"], standalone_mode=False)
main(["new", "--help"], standalone_mode=False)
from workbench.runs.collector import OBJECTS_BETWEEN
print(gc.get_threshold()[0] == OBJECTS_BETWEEN)
"""


def test_a_command_ends_with_nothing_left_to_look_through() -> None:
    done = subprocess.run(
        [sys.executable, "-c", ENDING], capture_output=True, text=True, check=True
    )
    assert done.stdout.splitlines()[-2:] == ["True", "True"]


def test_dead_cycles_are_still_found() -> None:
    before = gc.get_threshold()
    try:
        collector.collect_rarely()
        assert gc.isenabled()
        gc.collect()
        living = gc.get_count()[0]
        kept = [[number] for number in range(collector.OBJECTS_BETWEEN // 2)]
        assert gc.get_count()[0] > living
        kept += [[number] for number in range(collector.OBJECTS_BETWEEN)]
        assert gc.get_count()[0] < collector.OBJECTS_BETWEEN
    finally:
        gc.set_threshold(*before)
