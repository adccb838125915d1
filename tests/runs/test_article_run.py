"""The article as files, its bundle rerun in an empty folder, and letters in place of names."""

from __future__ import annotations

import json
import os
import platform
import shutil
import subprocess
import sys
import tomllib
import zipfile
from pathlib import Path
from typing import Any

import pytest

from workbench.errors import RunError
from workbench.runs import article_run, bundle
from workbench.runs.article_run import ARTICLE, write_article
from workbench.runs.new_study import new_study
from workbench.runs.runner import RunSummary, run_study

FEW = ("records", "summary", "deck-thicker")
PROGRAM = "from workbench.cli import main; main()"


@pytest.fixture(scope="module")
def study(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("study") / "shop"
    new_study(folder)
    return folder


@pytest.fixture(scope="module")
def article(study: Path, forked: Any, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Write one with its bundle, which asks for every notebook and here is given a few of them."""
    out = tmp_path_factory.mktemp("article") / "out"

    def run(*given: Any, **options: Any) -> RunSummary:
        assert not options.keys() & {"only", "notebooks"}
        return run_study(*given, only=FEW, manager=forked, **options)

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(bundle, "run_study", run)
        write_article(study, out)
    return out


def rerun(bundled: Path, folder: Path, *arguments: str) -> str:
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"}
    environment["PYTHONPATH"] = str(bundled / "code")
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM, *arguments],
        cwd=folder,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_everything_promised_is_there(article: Path) -> None:
    assert {path.name for path in article.iterdir()} == set(ARTICLE.names)
    figures = {path.name for path in (article / "figures").iterdir()}
    assert {f"verdicts-one-column.{e}" for e in ("svg", "png", "pdf")} <= figures
    assert {f"verdicts-two-columns.{e}" for e in ("svg", "png", "pdf")} <= figures
    tables = {path.name for path in (article / "tables").iterdir()}
    assert {"verdicts.csv", "claims.csv", "tables.xlsx"} <= tables


def test_the_bundle_rerun_in_an_empty_folder_gives_the_same_numbers(
    article: Path, tmp_path: Path
) -> None:
    with zipfile.ZipFile(article / "bundle.zip") as archive:
        archive.extractall(tmp_path)
    held = {path.name for path in tmp_path.iterdir()}
    assert held == {
        *("study", "report", "article", "code", "constraints.txt", "digests.txt", "RERUN.md")
    }
    said = json.loads(rerun(tmp_path, tmp_path, "judge", "study", "--json"))
    assert said == json.loads((tmp_path / "report/verdicts.json").read_text("utf-8"))
    rerun(tmp_path, tmp_path, "article", "study", "--out", "again", "--without-bundle")
    again = (tmp_path / "again/numbers.json").read_bytes()
    assert again == (tmp_path / "article/numbers.json").read_bytes()
    assert again == (article / "numbers.json").read_bytes()
    place = "import workbench; print(workbench.__file__)"
    environment = os.environ | {"PYTHONPATH": str(tmp_path / "code")}
    found = subprocess.run(
        [sys.executable, "-c", place],
        cwd=tmp_path,
        env=environment,
        capture_output=True,
        text=True,
        check=True,
    )
    assert found.stdout.startswith(str(tmp_path))


def test_the_notebooks_of_the_bundle_were_executed_on_the_study_beside_them(
    article: Path, tmp_path: Path
) -> None:
    with zipfile.ZipFile(article / "bundle.zip") as archive:
        names = [name for name in archive.namelist() if name.endswith(".ipynb")]
        executed = [name for name in names if name.startswith("report/")]
        assert {"claim-deck-thicker", "records", "summary"} == {
            Path(name).stem for name in executed
        }
        for name in executed:
            notebook = json.loads(archive.read(name))
            assert any(cell.get("outputs") for cell in notebook["cells"])
            assert '"../../study"' in json.dumps(notebook).replace('\\"', '"')
        pins = archive.read("constraints.txt").decode().splitlines()
        assert {"numpy", "pandas", "duckdb", "papermill"} <= {p.split("==")[0] for p in pins}
        text = archive.read("RERUN.md").decode()
        project = tomllib.loads(archive.read("code/pyproject.toml").decode())["project"]
    assert "constraints.txt ./code" in text
    # the pins may refuse an earlier patch of Python than the one they were resolved for
    assert f"Python {platform.python_version()} or a later" in text
    assert project["requires-python"] == f">={platform.python_version()}"


def test_a_second_article_takes_the_place_of_the_first(
    study: Path, article: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = tmp_path / "out"
    shutil.copytree(article, out)
    monkeypatch.setattr(article_run, "FORMATS", ("svg",))
    write_article(study, out, bundle=False)
    assert {path.name for path in out.iterdir()} == set(ARTICLE.names) - {"bundle.zip"}
    assert {path.suffix for path in (out / "figures").iterdir()} == {".svg", ".csv"}


def test_other_files_are_left_alone(study: Path, tmp_path: Path) -> None:
    (tmp_path / "diary.txt").write_text("mine", encoding="utf-8")
    with pytest.raises(RunError, match="it holds other files"):
        write_article(study, tmp_path, bundle=False)
    assert (tmp_path / "diary.txt").read_text(encoding="utf-8") == "mine"
