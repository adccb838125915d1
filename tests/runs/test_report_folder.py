"""A report is complete or not there; what stood before stays until the new one is whole."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from workbench.errors import RunError
from workbench.runs import report_folder as module
from workbench.runs.report_folder import REPORT, publish, report_folder


def write(folder: Path, text: str) -> None:
    for name in REPORT.names:
        if "." in name:
            (folder / name).write_text('{"inputs_digest": "' + text + '"}')
        else:
            (folder / name).mkdir()
            (folder / name / "x").write_text(text)


def state(folder: Path) -> dict[str, str]:
    return {
        str(path.relative_to(folder)): path.read_text()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


@pytest.fixture
def study(tmp_path: Path) -> Path:
    (tmp_path / "study").mkdir()
    return tmp_path / "study"


@pytest.fixture
def out(tmp_path: Path, study: Path) -> Path:
    out = tmp_path / "deep" / "out"
    with report_folder(study, out) as partial:
        write(partial, "first")
        publish(partial, out)
    assert {path.name for path in out.iterdir()} == set(REPORT.names)
    return out


def test_a_new_report_replaces_the_old(study: Path, out: Path) -> None:
    (out / "notebooks" / "of-the-old").write_text("")
    with report_folder(study, out) as partial:
        write(partial, "second")
        publish(partial, out)
    assert state(out)["notebooks/x"] == "second"
    assert {path.name for path in out.iterdir()} == set(REPORT.names)
    assert not (out / "notebooks" / "of-the-old").exists()


def test_a_run_that_fails_leaves_the_old(study: Path, out: Path) -> None:
    def fail() -> None:
        with report_folder(study, out) as partial:
            write(partial, "second")
            raise ZeroDivisionError

    before = state(out)
    with pytest.raises(ZeroDivisionError):
        fail()
    assert state(out) == before


def test_a_folder_made_for_a_run_that_fails_goes_again(study: Path, tmp_path: Path) -> None:
    with pytest.raises(ZeroDivisionError), report_folder(study, tmp_path / "new"):
        raise ZeroDivisionError
    assert not (tmp_path / "new").exists()


class Killed(BaseException):
    """Stands for a SIGKILL: nothing that would tidy up is run after it."""


@pytest.mark.parametrize("steps", range(2 * len(REPORT.names) + 1))
@pytest.mark.parametrize("first", [True, False])
def test_a_replacement_cut_short_anywhere_is_put_right(
    steps: int, first: bool, study: Path, out: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    if first:
        shutil.rmtree(out)
        out.mkdir()
    before = state(out)
    partial = out / ".partial-killed"
    partial.mkdir()
    write(partial, "second")
    whole, left = state(partial), steps
    rename = Path.rename

    def counted(self: Path, target: Path) -> Path:
        nonlocal left
        if left == 0:
            raise Killed
        left -= 1
        return rename(self, target)

    monkeypatch.setattr(Path, "rename", counted)
    monkeypatch.setattr(module.shutil, "rmtree", lambda *_: None)
    try:
        publish(partial, out)
        finished = True
    except Killed:
        finished = False
    monkeypatch.undo()
    with report_folder(study, out) as other:
        shutil.rmtree(other)
        assert state(out) == (whole if finished else before)


def test_what_a_killed_run_left_is_cleared(study: Path, out: Path) -> None:
    (out / ".partial-dead").mkdir()
    (out / ".partial-dead" / "x").write_text("")
    with report_folder(study, out) as partial:
        assert list(out.glob(".partial-*")) == [partial]


def test_two_runs_at_once_are_refused(study: Path, out: Path) -> None:
    with (
        report_folder(study, out),
        pytest.raises(RunError, match="Another run is writing its report to"),
        report_folder(study, out),
    ):
        pass


@pytest.mark.parametrize("place", [".", "..", "study"])
def test_the_study_is_not_written_over(place: str, study: Path) -> None:
    target = (study / place if place != "study" else study).resolve()
    message = "that is the study, or a folder around it"
    with pytest.raises(RunError, match=message), report_folder(study, target):
        pass
    assert list(study.iterdir()) == []


def test_a_folder_with_other_files_is_refused(study: Path, tmp_path: Path) -> None:
    out = tmp_path / "other"
    out.mkdir()
    for n in range(7):
        (out / f"{n}.txt").write_text("mine")
    message = r"it holds other files \(0.txt, 1.txt, 2.txt, 3.txt, 4.txt, …\)"
    with pytest.raises(RunError, match=message), report_folder(study, out):
        pass
    assert len(list(out.iterdir())) == 7
    (out / "manifest.json").write_text('{"name": "another program"}')
    with pytest.raises(RunError, match="it holds other files"), report_folder(study, out):
        pass


def test_a_file_in_the_way_is_refused(study: Path, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    for out in (tmp_path / "file", tmp_path / "file" / "out"):
        with pytest.raises(RunError, match="there is a file in the way"), report_folder(study, out):
            pass


def test_a_place_that_cannot_be_written_to_is_refused(
    study: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    long = tmp_path / ("x" * 300)
    with pytest.raises(RunError, match="File name too long"), report_folder(study, long):
        pass
    monkeypatch.setattr(module.os, "access", lambda *_: False)  # whoever runs the tests may write
    message = "nothing may be written there"
    with pytest.raises(RunError, match=message), report_folder(study, tmp_path / "out"):
        pass
