from __future__ import annotations

import gc
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from workbench.records import shelf
from workbench.records.shelf import Shelf

HOLDER = """
import sys, time
from workbench.records.shelf import Shelf
shelf = Shelf.temporary()
print(shelf.folder, flush=True)
time.sleep(60)
"""


def grown_old(folder: Path) -> None:
    long_ago = time.time() - 10 * shelf.SECONDS_TO_LOCK
    os.utime(folder, (long_ago, long_ago))


def test_a_temporary_folder_goes_with_its_shelf() -> None:
    held = Shelf.temporary()
    folder = held.folder
    assert folder.is_dir()
    del held
    gc.collect()
    assert not folder.exists()


def test_a_temporary_folder_can_go_at_once_and_one_that_was_named_stays(tmp_path: Path) -> None:
    held = Shelf.temporary()
    held.remove()
    assert not held.folder.exists()
    Shelf(tmp_path).remove()
    assert tmp_path.is_dir()


@pytest.mark.skipif(os.name != "posix", reason="folders are locked on POSIX systems alone")
def test_what_a_killed_process_left_goes_and_what_a_living_one_uses_stays() -> None:
    process = subprocess.Popen(
        [sys.executable, "-c", HOLDER], stdout=subprocess.PIPE, text=True, env=os.environ
    )
    assert process.stdout is not None
    folder = Path(process.stdout.readline().strip())
    (folder / "cells.parquet").write_text("half")
    grown_old(folder)
    shelf.sweep(folder.parent, shelf.PREFIX)
    assert folder.is_dir()
    process.send_signal(signal.SIGKILL)
    process.wait()
    process.stdout.close()
    shelf.sweep(folder.parent, shelf.PREFIX)
    assert not folder.exists()


def test_a_young_folder_and_another_ones_stay(tmp_path: Path) -> None:
    young, other = tmp_path / f"{shelf.PREFIX}1", tmp_path / "workbench"
    for folder in (young, other):
        folder.mkdir()
    grown_old(other)
    shelf.sweep(tmp_path, shelf.PREFIX)
    assert young.is_dir()
    assert other.is_dir()


def test_where_folders_cannot_be_locked_another_ones_stay(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("workbench.records.lock.fcntl", None)
    used = tmp_path / f"{shelf.PREFIX}1"
    used.mkdir()
    grown_old(used)
    shelf.sweep(tmp_path, shelf.PREFIX)
    assert used.is_dir()
