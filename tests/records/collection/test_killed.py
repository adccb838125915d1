"""A writer that is killed, that has no room, or that is not alone: nothing half-written, ever."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tests.records.collection.conftest import BEGUN, Adder, Reader, Writer, rows
from workbench.errors import StudyError
from workbench.records.collection import adding
from workbench.records.collection.adding import add_readings
from workbench.records.collection.additions import check_digests, history
from workbench.records.collection.commit import PARTIAL
from workbench.records.collection.parts import digest

pytestmark = pytest.mark.skipif(os.name != "posix", reason="uses signals and forks")

# Imports once, then adds in a fork for each number read: killed at that event in the collection.
KILLED = """
import os, signal, sys
from pathlib import Path
from workbench.records.collection.adding import add_readings
study, file = Path(sys.argv[1]), Path(sys.argv[2])
watched = str(study / "readings")
for line in sys.stdin:
    left = int(line)
    child = os.fork()
    if not child:
        def watch(event, arguments):
            global left
            if any(watched in str(one) for one in arguments[:2]):
                left -= 1
                if left == 0:
                    os.kill(os.getpid(), signal.SIGKILL)
        sys.addaudithook(watch)
        add_readings(study, [file])
        os._exit(0)
    print(os.waitpid(child, 0)[1], flush=True)
"""
# Adds within a limit for the size of a file.
LIMITED = """
import resource, sys
from pathlib import Path
from workbench.errors import StudyError
from workbench.records.collection.adding import add_readings
study, file, limit = Path(sys.argv[1]), Path(sys.argv[2]), int(sys.argv[3])
resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))
try:
    add_readings(study, [file])
except StudyError as error:
    print(error)
"""
HOLDER = """
import sys, time
from pathlib import Path
from workbench.records.collection.commit import sole_writer, written_aside
with sole_writer(Path(sys.argv[1])), written_aside(Path(sys.argv[1])) as partial:
    (partial / "half.parquet").write_text("half")
    print("holding", flush=True)
    time.sleep(60)
"""


def python(program: str, *arguments: object) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", program, *map(str, arguments)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )


@pytest.fixture
def begun(folder: Path, write: Writer, add: Adder) -> tuple[Path, Path]:
    """Give a study with one addition, and a file with more readings and a faulty row to add."""
    add(write("first.csv", rows("B1", "works", [5.1, 5.2])))
    lines = rows("B2", "works", [5.3, 5.4, "x"]) + rows("T1", "trophy", [6.1], "2025-01-01")
    return folder, write("second.csv", lines)


def test_killed_at_every_step_of_its_writing(
    begun: tuple[Path, Path], tmp_path: Path, held: Reader
) -> None:
    folder, file = begun
    saved = tmp_path / "saved"
    shutil.copytree(folder, saved)
    outcomes = []
    with python(KILLED, folder, file) as child:
        assert child.stdin is not None
        assert child.stdout is not None
        for step in range(1, 200):
            print(step, file=child.stdin, flush=True)
            status = int(child.stdout.readline())
            past = history(folder / "readings")
            digests = {
                path: digest(folder / "readings" / path)
                for addition in past.additions
                for path in addition.paths
            }
            check_digests(past, digests)
            whole = len(past.additions)
            outcomes.append(whole)
            if status == 0:
                break
            assert status == signal.SIGKILL
            if step % 10 == 0:
                records = held()
                assert (records.accepted, records.rejected) == {1: (2, 0), 2: (5, 1)}[whole]
                add_readings(folder, [file], now=BEGUN)
                records = held()
                assert (records.accepted, records.rejected) == (5, 1)
                assert not list((folder / "readings").glob(f"{PARTIAL}*"))
            shutil.rmtree(folder)
            shutil.copytree(saved, folder)
        child.stdin.close()
    assert outcomes == sorted(outcomes), "once it is there it stays"
    assert outcomes.count(1) > 15, "it was killed at many steps before it was whole"
    assert outcomes[-1] == 2


@pytest.mark.parametrize("limit", [100, 1000, 3000])
def test_no_room_on_the_disk(begun: tuple[Path, Path], held: Reader, limit: int) -> None:
    folder, file = begun
    said, _ = python(LIMITED, folder, file, limit).communicate()
    assert said.startswith("Nothing was added to readings: ")
    assert "too large" in said
    assert sorted(path.name for path in (folder / "readings").iterdir()) == ["addition-000001"]
    assert held().accepted == 2


def test_two_writers_at_once(folder: Path, write: Writer, held: Reader) -> None:
    both = [write(f"{at}.csv", rows(f"B{at}", "works", [5.1, 5.2, 5.3])) for at in (1, 2)]
    shared = write("both.csv", rows("B3", "works", [5.1, 5.2]))
    writers = [
        python("from workbench.cli import main; main()", "add", folder, file, shared)
        for file in both
    ]
    said = [writer.communicate()[0] for writer in writers]
    assert [writer.returncode for writer in writers] == [0, 0], said
    assert [one.number for one in history(folder / "readings").additions] == [1, 2]
    assert held().accepted == 8


def test_a_lock_is_waited_for_and_one_of_a_dead_process_is_none(
    folder: Path, write: Writer, held: Reader
) -> None:
    file = write("new.csv", rows("B1", "works", [5.1]))
    with python(HOLDER, folder / "readings") as holder:
        assert holder.stdout is not None
        assert holder.stdout.readline() == "holding\n"
        with pytest.raises(StudyError, match="Another `workbench add` has been writing"):
            add_readings(folder, [file], seconds=0.2)
        holder.kill()
        holder.wait()
    assert list((folder / "readings").glob(f"{PARTIAL}*"))
    begun = time.monotonic()
    add_readings(folder, [file])
    assert time.monotonic() - begun < 30
    assert [path.name for path in (folder / "readings").iterdir()] == ["addition-000001"]
    assert held().accepted == 1


def test_where_folders_cannot_be_locked_the_second_writer_is_told(
    folder: Path, write: Writer, add: Adder, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without locks both write; the name of an addition can be taken once only."""
    monkeypatch.setattr("workbench.records.lock.fcntl", None)
    first, second = (write(f"{at}.csv", rows(f"B{at}", "works", [5.1])) for at in (1, 2))

    def publish_late(partial: Path, target: Path) -> None:
        monkeypatch.setattr(adding, "publish", publish)
        monkeypatch.setattr(os, "getpid", lambda: 0)  # as another process
        add(second)
        publish(partial, target)

    publish = adding.publish
    monkeypatch.setattr(adding, "publish", publish_late)
    with pytest.raises(StudyError, match="made by another writer meanwhile; nothing was added"):
        add(first)
    assert [one.files[0].name for one in history(folder / "readings").additions] == ["2.csv"]
