"""`workbench run` as it is typed: exit codes, what is run, what a batch cannot do."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from workbench.cli import main
from workbench.runs.new_study import new_study

pytestmark = pytest.mark.usefixtures("readings_kept", "kernels_shared")


def call(*arguments: str | Path) -> Result:
    return CliRunner(env={"COLUMNS": "120"}).invoke(main, [str(word) for word in arguments])


@pytest.fixture
def study(tmp_path: Path) -> Path:
    folder = tmp_path / "study"
    new_study(folder)
    return folder


def test_a_batch_names_its_failure_ends_with_exit_code_one_and_goes_on(
    study: Path, tmp_path: Path
) -> None:
    arguments = ("run", study, "--only", "block", "--each", "block=none such", "--out")
    result = call(*arguments, tmp_path / "out")
    assert result.exit_code == 1, result.output
    assert "1 item run" in result.output
    assert "1 failed" in result.output
    assert (tmp_path / "out" / "index.html").exists()
    result = call("run", study, tmp_path / "nowhere", "--only", "none", "--out", tmp_path / "two")
    assert result.exit_code == 1, result.output
    assert "There is no study folder" in result.output
    assert "There is no notebook and no claim 'none'" in result.output


def test_run_takes_only_what_is_named(study: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    result = call("run", study, "--out", out, "--only", "summary", "--only", "records")
    assert result.exit_code == 0, result.output
    assert sorted(page.stem for page in (out / "pages").iterdir()) == ["records", "summary"]


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (("--each", "block", "--block", "P1", "--only", "block"), "without --block"),
        (("--each", "block"), "named by --only"),
        (("--each", "block", "--only", "block", "--only", "worth"), "named by --only"),
        (("--each", "bore", "--only", "block"), "cannot be run over 'bore'"),
    ],
)
def test_what_a_batch_cannot_do_is_said_with_exit_code_two(
    more: tuple[str, ...], said: str, study: Path, tmp_path: Path
) -> None:
    result = call("run", study, "--out", tmp_path / "out", *more)
    assert result.exit_code == 2
    assert said in result.output
    assert "Traceback" not in result.output
