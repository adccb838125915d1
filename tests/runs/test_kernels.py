"""Forked kernels must be what a fresh kernel is, and neither make may leave anything behind."""

from __future__ import annotations

import asyncio
import os
import signal
import stat
import subprocess
import sys
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest

from workbench.errors import RunError
from workbench.runs import kernels
from workbench.runs.collector import OBJECTS_BETWEEN
from workbench.runs.execute import Executed, execute
from workbench.runs.jobs import close_loop
from workbench.runs.kernels import kernel_make, open_kernels

WAIT = 60.0
Wait = Callable[[Callable[[], bool]], bool]
Look = Callable[[int], bool]
HOLD = """
import sys, time
from workbench.runs.kernels import open_kernels
from workbench.runs.execute import execute
from workbench.runs.notebook_libraries import load
v4 = load("nbformat").v4
cell = "import os, time; open({pid!r}, 'w').write(str(os.getpid())); time.sleep(600)"
book = v4.new_notebook(cells=[v4.new_code_cell(cell)])
with open_kernels({make!r}) as manager:
    print(manager.folder, flush=True)
    execute("held", book, {{"seed": 1}}, manager=manager, folder={folder!r}, seconds=600)
"""


def run(book: Any, manager: Any, folder: Path, **options: Any) -> Executed:
    """Execute in a thread of its own, as the runner does."""

    def task() -> Executed:
        try:
            return execute(
                "book", book, {"seed": 1}, manager=manager, folder=folder, seconds=60, **options
            )
        finally:
            close_loop()

    with ThreadPoolExecutor(1) as pool:
        return pool.submit(task).result()


def outputs(done: Executed) -> list[Any]:
    assert done.failure is None, done.failure.line()
    return [cell.get("outputs", []) for cell in done.notebook.cells]


def test_a_forked_kernel_looks_for_dead_cycles_rarely(
    forked: Any, notebook: Callable[..., Any], tmp_path: Path
) -> None:
    book = notebook("import gc; print(gc.isenabled(), gc.get_threshold()[0])")
    (said,) = outputs(run(book, forked, tmp_path))[-1]
    assert said["text"].split() == ["True", str(OBJECTS_BETWEEN)]


def test_forked_and_plain_kernels_give_the_same_outputs(
    forked: Any, plain: Any, notebook: Callable[..., Any], tmp_path: Path
) -> None:
    book = notebook(
        "import os, sys\nimport numpy as np, pandas as pd, matplotlib.pyplot as plt",
        "pd.DataFrame(np.arange(60.0).reshape(2, 30) / 7)",  # 30 columns: more than are shown
        "print(pd.DataFrame(np.arange(60.0).reshape(2, 30)))",
        "pd.get_option('display.max_columns'), pd.get_option('display.width')",
        "figure, axes = plt.subplots(); axes.plot([1, 2, 3]);",
        "np.random.default_rng(5).normal(size=3), np.linalg.svd(np.ones((60, 60)) / 3)[1][:2]",
        "os.getcwd(), sys.argv[0].rpartition('/')[2].removesuffix('.py'), __name__",
        "list({'deck', 'wall', 'web', 'mass'})",  # the order of a set
        "plt.get_backend(), plt.isinteractive()",
        "'' in sys.path, os.getcwd() in sys.path",
        "import warnings; warnings.warn('seen')",
    )
    one, other = outputs(run(book, forked, tmp_path)), outputs(run(book, plain, tmp_path))
    assert one[:-1] == other[:-1]
    (warning,), (other_warning,) = one[-1], other[-1]
    assert warning["name"] == other_warning["name"] == "stderr"
    assert warning["text"].split(": ", 1)[1] == other_warning["text"].split(": ", 1)[1]


def test_a_forked_kernel_shows_figures_inline(
    forked: Any, notebook: Callable[..., Any], tmp_path: Path
) -> None:
    done = run(
        notebook("import seaborn as sns\nsns.lineplot(x=[1, 2], y=[3, 4]);"), forked, tmp_path
    )
    (figure,) = outputs(done)[-1]
    assert set(figure["data"]) == {"image/png", "text/plain"}


def test_a_plotting_choice_of_the_user_does_not_lose_the_figures(
    notebook: Callable[..., Any], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("MPLBACKEND", "agg")
    book = notebook("import matplotlib.pyplot as plt\nplt.plot([1, 2]);")
    with open_kernels("plain") as manager:
        (figure,) = outputs(run(book, manager, tmp_path))[-1]
    assert "image/png" in figure["data"]


def test_each_forked_kernel_has_a_random_state_of_its_own(
    forked: Any, notebook: Callable[..., Any], tmp_path: Path
) -> None:
    book = notebook("import random, numpy as np", "np.random.random(), random.random()")
    first, second = (outputs(run(book, forked, tmp_path))[-1][0]["data"] for _ in range(2))
    mine, others = (eval(data["text/plain"]) for data in (first, second))
    assert mine[0] != others[0]
    assert mine[1] != others[1]


def test_nothing_passes_from_one_forked_kernel_to_the_next(
    forked: Any, notebook: Callable[..., Any], tmp_path: Path
) -> None:
    spoil = notebook(
        "import os, sys, numpy as np, pandas as pd\n"
        "os.environ['SPOILT'] = 'yes'; sys.path.append('/spoilt'); np.seterr(all='raise')\n"
        "pd.set_option('display.max_rows', 3); pd.DataFrame.mean = None\n"
        "import decimal, warnings; decimal.getcontext().prec = 5; os.chdir('/')\n"
        "import workbench.study; workbench.study.DEFAULT_SEED = 1; warnings.simplefilter('error')"
    )
    look = notebook(
        "import os, sys, numpy as np, pandas as pd",
        "('SPOILT' in os.environ, '/spoilt' in sys.path, np.geterr()['divide'],"
        " pd.get_option('display.max_rows'), pd.DataFrame.mean is None)",
        "import decimal, warnings, workbench.study",
        "(decimal.getcontext().prec, os.getcwd(), workbench.study.DEFAULT_SEED,"
        " any(one[0] == 'error' for one in warnings.filters))",
    )
    before = outputs(run(look, forked, tmp_path))
    outputs(run(spoil, forked, tmp_path))
    after = outputs(run(look, forked, tmp_path))
    assert before[3][0]["data"]["text/plain"].startswith("(False, False, 'warn'")
    assert after == before


def test_a_forked_kernel_prints_no_notice_of_itself(
    forked: Any, notebook: Callable[..., Any], tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    before = set(forked.folder.glob("*/kernel.log"))  # of kernels of other tests, killed at work
    for _ in range(3):
        outputs(run(notebook("1"), forked, tmp_path))
    assert capfd.readouterr() == ("", "")
    logs = set(forked.folder.glob("*/kernel.log")) - before
    assert len(logs) == 3
    for log in logs:
        # a kernel is interrupted before it is asked to end, and may say so when caught at work
        said = [line for line in log.read_text().splitlines() if "KeyboardInterrupt" not in line]
        assert said == []


def test_start_up_files_of_the_user_do_not_run(
    plain: Any, notebook: Callable[..., Any], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    startup = tmp_path / "ipython" / "profile_default" / "startup"
    startup.mkdir(parents=True)
    (startup / "00.py").write_text("spoilt = True")
    monkeypatch.setenv("IPYTHONDIR", str(tmp_path / "ipython"))
    done = run(notebook("'spoilt' in globals()"), plain, tmp_path)
    assert outputs(done)[-1][0]["data"]["text/plain"] == "False"


def test_a_module_in_the_working_folder_is_not_imported(
    forked: Any, plain: Any, notebook: Callable[..., Any], tmp_path: Path
) -> None:
    (tmp_path / "colorsys.py").write_text("raise RuntimeError('hostile')")
    for manager in (forked, plain):
        done = run(notebook("import colorsys; colorsys.rgb_to_hsv(1, 1, 1)"), manager, tmp_path)
        assert outputs(done)[-1][0]["data"]["text/plain"] == "(0.0, 0.0, 1)"


def test_the_sockets_are_their_owners_alone(forked: Any) -> None:
    assert stat.S_IMODE(forked.folder.stat().st_mode) & 0o077 == 0


def test_the_folder_of_the_sockets_goes_with_the_run() -> None:
    with open_kernels("plain") as manager:
        folder = manager.folder
        assert folder.is_dir()
    assert not folder.exists()


def test_an_interrupted_run_ends_its_kernels(
    notebook: Callable[..., Any], tmp_path: Path, comes_true: Wait, gone: Look
) -> None:
    book = notebook(
        f"import os; open({str(tmp_path / 'pid')!r}, 'w').write(str(os.getpid()))",
        "import time; time.sleep(600)",
    )
    for make in kernels.MAKES:
        (tmp_path / "pid").unlink(missing_ok=True)
        with ThreadPoolExecutor(1) as pool:
            with open_kernels(make) as manager:
                future = pool.submit(run, book, manager, tmp_path)
                assert comes_true(lambda: (tmp_path / "pid").exists())
                time.sleep(0.1)
            failure = future.result(WAIT).failure
        assert failure is not None
        assert "kernel died" in failure.reason
        assert comes_true(lambda: gone(int((tmp_path / "pid").read_text())))


@pytest.mark.parametrize("make", kernels.MAKES)
def test_a_killed_runner_leaves_no_process_and_no_socket(
    make: str, tmp_path: Path, comes_true: Wait, gone: Look
) -> None:
    pid = tmp_path / "pid"
    script = HOLD.format(make=make, pid=str(pid), folder=str(tmp_path))
    runner = subprocess.Popen(
        [sys.executable, "-c", script], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    try:
        assert runner.stdout is not None
        folder = Path(runner.stdout.readline().strip())
        assert comes_true(lambda: pid.exists() and pid.read_text() != "")
        children = Path(f"/proc/{runner.pid}/task/{runner.pid}/children").read_text().split()
        assert children
    finally:
        runner.send_signal(signal.SIGKILL)
        runner.communicate()
    for process in (*map(int, children), int(pid.read_text())):
        assert comes_true(lambda process=process: gone(process)), process
    if make == "forked":
        assert comes_true(lambda: not folder.exists())
    else:  # no process is left that could: the next run does it
        os.utime(folder, (0, 0))
        kernels.sweep(folder.parent, kernels.PREFIX)
        assert not folder.exists()


def test_a_killed_server_takes_its_kernels_along(
    notebook: Callable[..., Any], tmp_path: Path, comes_true: Wait, gone: Look
) -> None:
    pid = tmp_path / "pid"
    book = notebook(
        f"import os; open({str(pid)!r}, 'w').write(str(os.getpid()))",
        "import time; time.sleep(600)",
    )
    with open_kernels("forked") as manager, ThreadPoolExecutor(1) as pool:
        future = pool.submit(run, book, manager, tmp_path)
        assert comes_true(lambda: pid.exists() and pid.read_text() != "")
        manager.server.process.send_signal(signal.SIGKILL)
        failure = future.result(WAIT).failure
    assert failure is not None
    assert "kernel died" in failure.reason
    assert comes_true(lambda: gone(int(pid.read_text())))


def test_a_sweep_leaves_the_folder_of_a_run_at_work(plain: Any) -> None:
    os.utime(plain.folder, (0, 0))
    kernels.sweep(plain.folder.parent, kernels.PREFIX)
    assert plain.folder.is_dir()


def test_a_server_that_ends_is_told_with_its_reason(
    notebook: Callable[..., Any], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PYTHONHOME", str(tmp_path))  # no Python can start there
    with open_kernels("forked") as manager:
        failure = run(notebook("1"), manager, tmp_path).failure
    assert failure is not None
    assert failure.cell is None
    assert "process that kernels are forked from has ended" in failure.reason


def test_the_make_is_chosen_by_the_environment(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(kernels.CHOICE, "plain")
    assert kernel_make() == "plain"
    monkeypatch.delenv(kernels.CHOICE)
    assert kernel_make() == ("forked" if sys.platform == "linux" else "plain")
    monkeypatch.setenv(kernels.CHOICE, "spawned")
    with pytest.raises(RunError, match="WORKBENCH_KERNELS is 'spawned'; it may be one of forked"):
        kernel_make()


@pytest.mark.parametrize("make", ["forked", "plain"])
def test_a_client_goes_ahead_as_soon_as_the_kernel_answers(make: str, request: Any) -> None:
    manager = request.getfixturevalue(make)

    async def start() -> None:
        one = manager()
        await one.start_kernel()
        assert all(Path(f"{one.ip}-{port}").exists() for port in one.ports)
        client = one.client()
        client.start_channels()
        hear, heard = client.iopub_channel.get_msg, []

        async def listened(*asked: Any, **options: Any) -> Any:
            heard.append(False)
            said = await hear(*asked, **options)  # or Empty, where nothing came in time
            heard[-1] = True
            return said

        client.iopub_channel.get_msg = listened
        try:
            await client.wait_for_ready(timeout=WAIT)
            assert heard[-1]  # the last that was waited for came: nothing was waited for in vain
            sent = client.execute("print('seen')")
            while True:  # nothing that belongs to a cell is missed
                said = await client.get_iopub_msg(timeout=WAIT)
                if said["parent_header"].get("msg_id") == sent and said["msg_type"] == "stream":
                    assert said["content"]["text"] == "seen\n"
                    return
        finally:
            client.stop_channels()
            await one.shutdown_kernel(now=True)
            assert not await one.is_alive()

    asyncio.run(start())


def test_a_kernel_that_is_gone_or_does_not_answer_is_told(forked: Any) -> None:
    async def start(number: int, seconds: float) -> None:
        one = manager()
        await one.start_kernel()
        await one.provisioner.send_signal(number)
        client = one.client()
        client.start_channels()
        try:
            await client.wait_for_ready(timeout=seconds)
        finally:
            client.stop_channels()
            await one.shutdown_kernel(now=True)

    manager = forked
    with pytest.raises(RuntimeError, match="it ended before it answered"):
        asyncio.run(start(signal.SIGKILL, WAIT))
    with pytest.raises(RuntimeError, match=r"it has not answered in 0\.5 seconds"):
        asyncio.run(start(signal.SIGSTOP, 0.5))
