"""A run stopped half-way: the study and the last report stay, and nothing is left behind."""

from __future__ import annotations

import hashlib
import os
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from workbench.runs.new_study import new_study
from workbench.runs.parameters import SummaryParameters
from workbench.runs.plan import Notebook
from workbench.runs.runner import run_study

# In the background of a shell without job control, where tests may run, Ctrl-C is ignored.
RUN_ONE = """
import signal, sys
signal.signal(signal.SIGINT, signal.default_int_handler)
from pathlib import Path
from workbench.runs.runner import run_study
from workbench.runs.plan import Notebook
from workbench.runs.parameters import SummaryParameters
book = Notebook(path=Path({path!r}), model=SummaryParameters, title="Slow")
try:
    run_study({study!r}, {out!r}, notebooks=[book], kernels="forked")
except KeyboardInterrupt:
    sys.exit(3)
"""


@pytest.fixture
def study(tmp_path: Path) -> Path:
    new_study(tmp_path / "study")
    return tmp_path / "study"


def state(folder: Path) -> dict[str, str]:
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def test_an_interrupted_run_says_so_and_leaves_nothing(
    study: Path,
    written: Callable[..., Path],
    tmp_path: Path,
    comes_true: Callable[[Callable[[], bool]], bool],
    gone: Callable[[int], bool],
) -> None:
    out, pid = tmp_path / "out", tmp_path / "pid"
    slow = f"import os, time; open({str(pid)!r}, 'w').write(str(os.getpid())); time.sleep(600)"
    script = RUN_ONE.format(path=str(written("slow", slow)), study=str(study), out=str(out))
    process = subprocess.Popen(
        [sys.executable, "-c", script], stderr=subprocess.PIPE, text=True, start_new_session=True
    )
    assert comes_true(lambda: pid.exists() and pid.read_text() != "")
    os.killpg(process.pid, signal.SIGINT)
    said = process.communicate(timeout=30)[1]
    assert process.returncode == 3, said
    assert "Traceback" not in said
    assert comes_true(lambda: gone(int(pid.read_text())))
    assert not out.exists()


def test_a_killed_run_leaves_the_study_and_the_last_report(
    study: Path,
    written: Callable[..., Path],
    tmp_path: Path,
    comes_true: Callable[[Callable[[], bool]], bool],
    gone: Callable[[int], bool],
) -> None:
    out, pid = tmp_path / "out", tmp_path / "pid"
    quick = Notebook(path=written("quick", "seed"), model=SummaryParameters, title="Quick")
    run_study(study, out, notebooks=[quick], kernels="plain", progress=False)
    before = state(study), state(out)
    sockets = tmp_path / "t"
    sockets.mkdir()
    slow = f"import os, time; open({str(pid)!r}, 'w').write(str(os.getpid())); time.sleep(600)"
    script = RUN_ONE.format(path=str(written("slow", slow)), study=str(study), out=str(out))
    process = subprocess.Popen(
        [sys.executable, "-c", script], env=os.environ | {"TMPDIR": str(sockets)}
    )
    try:
        assert comes_true(lambda: pid.exists() and pid.read_text() != "")
    finally:
        process.send_signal(signal.SIGKILL)
        process.wait()
    assert comes_true(lambda: gone(int(pid.read_text())))
    assert comes_true(lambda: list(sockets.glob("workbench-run-*")) == [])
    kept = {name: digest for name, digest in state(out).items() if not name.startswith(".partial-")}
    assert (state(study), kept) == before
    assert (out / "index.html").exists()
    run_study(study, out, notebooks=[quick], kernels="plain", progress=False)
    assert list(out.glob(".*")) == []
