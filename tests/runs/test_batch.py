"""Many items: one that fails stops none, done ones are left, a killed run loses nothing."""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from workbench.errors import RunError
from workbench.runs import batch_record
from workbench.runs.batch import BatchSummary
from workbench.runs.batch_notebook import run_over
from workbench.runs.batch_record import file_name
from workbench.runs.batch_studies import run_studies
from workbench.runs.new_study import new_study
from workbench.runs.parameters import BlockParameters, SummaryParameters
from workbench.runs.plan import Notebook
from workbench.runs.terminal import print_batch

pytestmark = pytest.mark.usefixtures("readings_kept")
Written = Callable[..., Path]
Over = Callable[..., BatchSummary]
CELL = 'study = "../data/demo"\nseed = 1\nblock = ""'
LOG = "open({log!r}, 'a').write(block + '\\n')"
SHOW = "from workbench.study import open_study\nprint(block, len(open_study(study).records.blocks))"
FAIL = "assert block != {bad!r}, 'no such iron'"
SLOW = """
import os, time
if block == 'P4':
    open({pid!r}, 'w').write(str(os.getpid()))
    while os.path.exists({hold!r}):
        time.sleep(0.05)
"""
RUN = """
from pathlib import Path
from workbench.runs.batch_notebook import run_over
from workbench.runs.plan import Notebook
from workbench.runs.parameters import BlockParameters
book = Notebook(path=Path({path!r}), model=BlockParameters, title="Block", each_block=True)
run_over({study!r}, {out!r}, only="block", each=["block=P1,P2,P3,P4,P5,P6"], jobs=1,
         notebooks=[book], kernels="forked")
"""


@pytest.fixture
def study(tmp_path: Path) -> Path:
    new_study(tmp_path / "study")
    return tmp_path / "study"


@pytest.fixture
def log(tmp_path: Path) -> Path:
    return tmp_path / "log"


def block_book(written: Written, *sources: str) -> list[Notebook]:
    path = written("block", *sources, parameters=CELL)
    return [Notebook(path=path, model=BlockParameters, title="Block", each_block=True)]


@pytest.fixture
def over(forked: Any) -> Over:
    """Give a batch of the notebook `block`, on kernels that all batches here share."""

    def run(study: Path, out: Path, books: list[Notebook], *each: str, **more: Any) -> BatchSummary:
        options = {"only": "block", "each": each or ("block",), "jobs": 2} | more
        return run_over(study, out, notebooks=books, progress=False, manager=forked, **options)

    return run


def ran(log: Path) -> list[str]:
    """Give what the notebooks wrote since it was last asked."""
    lines = sorted(log.read_text().split()) if log.exists() else []
    log.unlink(missing_ok=True)
    return lines


def files(out: Path) -> dict[str, bytes]:
    """Give the files of the items: what a reader opens."""
    found = (*out.glob("notebooks/*"), *out.glob("pages/*"), *out.glob("done/*"))
    return {path.relative_to(out).as_posix(): path.read_bytes() for path in found}


def test_every_block_has_its_page_and_a_second_call_runs_none(
    study: Path, over: Over, written: Written, tmp_path: Path, log: Path
) -> None:
    out = tmp_path / "out"
    books = block_book(written, SHOW, LOG.format(log=str(log)))
    first = over(study, out, books)
    names = ran(log)
    assert (first.done, first.skipped, first.failed) == (len(names), 0, 0)
    assert len(names) > 3
    for name in names:
        assert name in (out / "pages" / f"block-{name}.html").read_text()
        assert f"pages/block-{name}.html" in first.index.read_text()
    before = files(out)
    again = over(study, out, books)
    assert (again.done, again.skipped, again.failed) == (0, len(names), 0)
    assert ran(log) == []
    assert files(out) == before


def test_one_failing_item_stops_none_is_told_and_is_run_again(
    study: Path,
    over: Over,
    written: Written,
    tmp_path: Path,
    log: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    out = tmp_path / "out"
    books = block_book(written, FAIL.format(bad="<b>P2"), LOG.format(log=str(log)))
    each = "block=P1,<b>P2,P3"
    summary = over(study, out, books, each)
    assert ran(log) == ["P1", "P3"]
    assert (summary.done, summary.failed) == (3, 1)
    (failure,) = summary.failures
    assert "in cell 3" in failure.failure
    assert "no such iron" in failure.failure
    told = json.loads((out / "batch.json").read_text())
    assert told["complete"]
    assert [one["about"] for one in told["failures"]] == [{"block": "<b>P2"}]
    page = summary.index.read_text()
    assert "&lt;b&gt;P2" in page
    assert "<b>P2" not in page
    print_batch(summary)
    printed = capsys.readouterr().out
    assert "no such iron" in printed
    assert "1 failed" in printed
    again = over(study, out, books, each)
    assert (again.done, again.skipped, again.failed) == (1, 2, 1)


def test_only_what_changed_is_run_again(
    study: Path,
    over: Over,
    written: Written,
    tmp_path: Path,
    log: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    out = tmp_path / "out"
    books = block_book(written, LOG.format(log=str(log)))
    over(study, out, books, "block=P1,P2")
    assert ran(log) == ["P1", "P2"]
    over(study, out, books, "block=P2,P3")
    assert ran(log) == ["P3"]  # a value more
    over(study, out, books, "block=P1", seed=5)
    assert ran(log) == ["P1"]  # another parameter
    over(study, out, books, "block=P1,P2")
    assert ran(log) == ["P1"]
    with (study / "readings.csv").open("a") as file:
        file.write("\n")
    over(study, out, books, "block=P1,P2,P3")
    assert ran(log) == ["P1", "P2", "P3"]  # the inputs
    books[0].path.write_text(books[0].path.read_text().replace("block + ", "'new' + block + "))
    over(study, out, books, "block=P1")
    assert ran(log) == ["newP1"]  # the notebook
    monkeypatch.setattr(batch_record, "versions", lambda: {"workbench": "another"})
    over(study, out, books, "block=P1")
    assert ran(log) == ["newP1"]  # the versions
    over(study, out, books, "block=P1")
    assert ran(log) == []


def test_a_killed_run_leaves_what_is_done_and_the_next_does_the_rest(
    study: Path,
    over: Over,
    written: Written,
    tmp_path: Path,
    log: Path,
    comes_true: Callable[[Callable[[], bool]], bool],
    gone: Callable[[int], bool],
) -> None:
    out, pid, hold, sockets = (tmp_path / name for name in ("out", "pid", "hold", "t"))
    sockets.mkdir()
    hold.touch()
    slow = SLOW.format(pid=str(pid), hold=str(hold))
    books = block_book(written, slow, LOG.format(log=str(log)))
    script = RUN.format(path=str(books[0].path), study=str(study), out=str(out))
    process = subprocess.Popen(
        [sys.executable, "-c", script],
        env=os.environ | {"TMPDIR": str(sockets)},
        stderr=subprocess.DEVNULL,
    )
    try:
        assert comes_true(lambda: pid.exists() and pid.read_text() != "")
    finally:
        process.send_signal(signal.SIGKILL)
        process.wait()
    assert comes_true(lambda: gone(int(pid.read_text())))
    assert comes_true(lambda: list(sockets.glob("workbench-run-*")) == [])
    assert ran(log) == ["P1", "P2", "P3"]
    before = files(out)
    assert len(before) == 9
    assert not json.loads((out / "batch.json").read_text())["complete"]
    hold.unlink()
    summary = over(study, out, books, "block=P1,P2,P3,P4,P5,P6")
    assert (summary.done, summary.skipped, summary.failed) == (3, 3, 0)
    assert ran(log) == ["P4", "P5", "P6"]
    assert files(out).items() >= before.items()
    assert list(out.glob(".*")) == []


def test_an_item_cut_short_between_its_files_is_run_again(
    study: Path, over: Over, written: Written, tmp_path: Path, log: Path
) -> None:
    out = tmp_path / "out"
    books = block_book(written, LOG.format(log=str(log)))
    over(study, out, books, "block=P1,P2")
    ran(log)
    (out / "done" / "block-P1.json").write_text('{"name": "block-P1", "dig')
    over(study, out, books, "block=P1,P2")
    assert ran(log) == ["P1"]


@pytest.mark.parametrize(
    ("only", "each", "said"),
    [
        ("block", "bore", "cannot be run over 'bore'; it can be over block"),
        ("block", "seed=1,2", "cannot be run over 'seed'"),
        ("block", "block=,", "no value of block"),
        ("claims", "claim", "named by --only: block"),
        (None, "block", "named by --only: block"),
    ],
)
def test_what_cannot_be_run_over_is_refused(
    only: str | None,
    each: str,
    said: str,
    study: Path,
    over: Over,
    written: Written,
    tmp_path: Path,
) -> None:
    with pytest.raises(RunError, match=said):
        over(study, tmp_path / "out", block_book(written, "1"), each, only=only)
    assert not (tmp_path / "out").exists()


def test_a_parameter_set_and_run_over_is_refused(
    study: Path, over: Over, written: Written, tmp_path: Path
) -> None:
    with pytest.raises(RunError, match="parameter block is set, and the notebook is to be run"):
        over(study, tmp_path / "out", block_book(written, "1"), parameters={"block": "P1"})


def test_a_folder_with_a_report_takes_no_batch(
    study: Path, over: Over, written: Written, tmp_path: Path
) -> None:
    out = tmp_path / "out"
    out.mkdir()
    (out / "letter.txt").write_text("mine")
    with pytest.raises(RunError, match=r"holds other files \(letter.txt\)"):
        over(study, out, block_book(written, "1"))


@pytest.mark.parametrize(
    ("one", "other"),
    [("block-A b", "block-A-b"), ("block-é", "block-è"), ("x" * 80, "x" * 81), ("..", "...")],
)
def test_two_items_never_share_a_file(one: str, other: str) -> None:
    names = {file_name(one, one), file_name(other, other)}
    assert len(names) == 2
    assert all(name.isascii() and "/" not in name and "." not in name for name in names)


STUDY_CELL = "from workbench.study import open_study\nprint(open_study(study).title)"


@pytest.fixture
def studies(tmp_path: Path) -> list[Path]:
    folders = [tmp_path / "shop" / name for name in ("north", "south", "east")]
    for folder in folders:
        new_study(folder)
    return folders


def summary_book(written: Written, log: Path, *more: str) -> list[Notebook]:
    source = f"import pathlib\nopen({str(log)!r}, 'a').write(pathlib.Path(study).name + '\\n')"
    path = written("summary", STUDY_CELL, *more, source)
    return [Notebook(path=path, model=SummaryParameters, title="Summary")]


def test_one_failing_study_stops_no_other_and_only_a_changed_one_runs_again(
    studies: list[Path], forked: Any, written: Written, tmp_path: Path, log: Path
) -> None:
    out = tmp_path / "out"
    books = summary_book(written, log)
    (studies[1] / "study.toml").write_text("title = 3\n")
    given = [*studies, tmp_path / "nowhere"]
    first = run_studies(given, out, notebooks=books, progress=False, manager=forked)
    assert ran(log) == ["east", "north"]
    assert (first.done, first.failed) == (4, 2)
    assert {one.name for one in first.failures} == {"south", "nowhere"}
    assert "no study folder" in next(one.failure for one in first.failures if one.name == "nowhere")
    kept = (out / "north" / "manifest.json").read_bytes()
    shutil.copy(studies[0] / "study.toml", studies[1] / "study.toml")
    (studies[2] / "readings.csv").write_text((studies[2] / "readings.csv").read_text() + "\n")
    second = run_studies(studies, out, notebooks=books, progress=False, manager=forked)
    assert ran(log) == ["east", "south"]
    assert (second.done, second.skipped, second.failed) == (2, 1, 0)
    assert (out / "north" / "manifest.json").read_bytes() == kept
    assert (out / "south" / "index.html").exists()


def test_a_notebook_that_fails_in_one_study_is_told_with_its_cell(
    studies: list[Path], written: Written, tmp_path: Path, log: Path
) -> None:
    books = summary_book(written, log, "assert not study.endswith('south'), 'bad iron'")
    summary = run_studies(studies, tmp_path / "out", notebooks=books, progress=False)
    assert ran(log) == ["east", "north"]
    (failure,) = summary.failures
    assert failure.name == "south"
    assert "in cell 4" in failure.failure
    assert "bad iron" in failure.failure
    assert (tmp_path / "out" / "south" / "index.html").exists()


def test_studies_of_one_name_have_folders_of_their_own(
    tmp_path: Path, forked: Any, written: Written, log: Path
) -> None:
    folders = [tmp_path / year / "blocks" for year in ("2024", "2025")]
    for folder in folders:
        new_study(folder)
    out = tmp_path / "out"
    run = partial(run_studies, notebooks=summary_book(written, log), progress=False, manager=forked)
    both = run(folders, out)
    assert (both.done, both.failed) == (2, 0)
    assert len(list(out.glob("blocks-*/index.html"))) == 2
    alone = tmp_path / "alone"
    run(folders[:1], alone)
    before = (alone / "blocks" / "manifest.json").read_bytes()
    run(folders[1:], alone)  # another of that name, later
    assert (alone / "blocks" / "manifest.json").read_bytes() == before
    assert len(list(alone.glob("blocks*/index.html"))) == 2


def test_reports_do_not_go_over_a_study(studies: list[Path], tmp_path: Path) -> None:
    with pytest.raises(RunError, match="lies in it"):
        run_studies(studies, tmp_path / "shop", progress=False)
