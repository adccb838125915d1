"""A run of a collection as it was before a correction, and the bundle of a corrected one."""

from __future__ import annotations

import json
import zipfile
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from workbench.records.collection.adding import add_readings
from workbench.records.collection.as_of import told
from workbench.runs import article_run, bundle
from workbench.runs.article_run import write_article
from workbench.runs.new_study import new_study
from workbench.runs.parameters import ClaimParameters
from workbench.runs.plan import Notebook
from workbench.runs.runner import run_study
from workbench.study import open_study

CLAIM = """
from workbench.study import open_study
(verdict,) = open_study(study).judge(only=claim, seed=seed).verdicts
print(verdict.claim, verdict.outcome, repr(verdict.estimate))
"""
PARAMETERS = 'study = "../data/demo"\nseed = 1\nclaim = "x"'


@pytest.fixture
def study(tmp_path: Path) -> Path:
    """Give a collection of one addition: sound rows and a rejected one."""
    folder = tmp_path / "study"
    new_study(folder)
    first = (folder / "readings.csv").rename(tmp_path / "first.csv")
    first.write_text(f"{first.read_text('utf-8')}P1,plain,1,front,deck_thickness,thick,mm\n")
    add_readings(folder, [first])
    return folder


@pytest.fixture
def books(written: Callable[..., Path]) -> list[Notebook]:
    path = written("claim", CLAIM, parameters=PARAMETERS)
    return [Notebook(path=path, model=ClaimParameters, title="Claim", each_claim=True)]


def correct(study: Path, folder: Path) -> str:
    """Correct every deck of a block by a millimetre; give the time of it."""
    every = pd.read_csv(folder / "first.csv", dtype=str, keep_default_na=False).fillna("")
    wrong = every[(every["block"] == "P1") & (every["quantity"] == "deck_thickness")].iloc[:-1]
    right = [f"{float(value) + 1:.2f}" for value in wrong["value"]]
    wrong.assign(was_value=wrong["value"], value=right).to_csv(folder / "fix.csv", index=False)
    added = add_readings(study, [folder / "fix.csv"])
    assert added.fault_count == 0
    assert added.addition is not None
    return told(added.addition.added)


def printed(out: Path, claim: str) -> str:
    """Give what the notebook of a claim printed."""
    book = json.loads((out / "notebooks" / f"claim-{claim}.ipynb").read_text("utf-8"))
    return "".join(book["cells"][-1]["outputs"][0]["text"])


def test_a_run_as_of_before_a_correction_gives_the_earlier_verdicts(
    study: Path, forked: Any, books: list[Notebook], tmp_path: Path
) -> None:
    run = partial(run_study, study, notebooks=books, progress=False, seed=7, manager=forked)
    addition = json.loads((study / "readings/addition-000001/addition.json").read_text("utf-8"))
    run(tmp_path / "then")
    corrected = correct(study, tmp_path)
    run(tmp_path / "now")
    run(tmp_path / "again", as_of=addition["added"])
    run(tmp_path / "still", as_of=corrected)
    then, now, again, still = (
        (tmp_path / name / "verdicts.json").read_bytes()
        for name in ("then", "now", "again", "still")
    )
    assert again == then != now == still
    said = [printed(tmp_path / name, "deck-thicker") for name in ("then", "now", "again")]
    assert said[2] == said[0] != said[1], "the notebooks read the collection as it was, too"
    manifests = [
        json.loads((tmp_path / name / "manifest.json").read_text("utf-8"))
        for name in ("then", "again", "now")
    ]
    assert manifests[1]["as_of"] == addition["added"]
    assert manifests[1]["inputs"] == manifests[0]["inputs"] != manifests[2]["inputs"]


@pytest.mark.parametrize(("letters", "earlier"), [(False, True), (True, False)])
def test_the_bundle_of_a_collection_judges_as_its_article_does(
    study: Path,
    forked: Any,
    books: list[Notebook],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    letters: bool,
    earlier: bool,
) -> None:
    """Corrected, with a rejected row, now or as of before.

    For speed with notebooks of its own, kernels of all, and figures in no format of their own.
    """
    addition = json.loads((study / "readings/addition-000001/addition.json").read_text("utf-8"))
    correct(study, tmp_path)
    if earlier:
        settings = study / "study.toml"
        stated = f"{settings.read_text('utf-8')}\n[readings]\nas_of = {addition['added']}\n"
        settings.write_text(stated, encoding="utf-8")
    own = partial(run_study, notebooks=books, manager=forked)
    monkeypatch.setattr(bundle, "run_study", own)
    monkeypatch.setattr(article_run, "FORMATS", ())
    write_article(study, tmp_path / "article", letters=letters)
    unpacked = tmp_path / "unpacked"
    with zipfile.ZipFile(tmp_path / "article" / "bundle.zip") as archive:
        archive.extractall(unpacked)
    said = json.loads((unpacked / "report" / "verdicts.json").read_text("utf-8"))
    here, there = open_study(study), open_study(unpacked / "study")
    judged = here.judge()
    assert there.judge().to_json() == said
    for one, other in zip(judged.verdicts, said["verdicts"], strict=True):
        assert (one.outcome, one.estimate, one.low, one.high) == tuple(
            other[name] for name in ("outcome", "estimate", "low", "high")
        )
    assert letters or judged.to_json() == said
    assert there.records.rejected == here.records.rejected == 1
    held = {path.name for path in (unpacked / "study" / "readings").iterdir()}
    assert held == {"addition-000001"} | (set() if earlier else {"addition-000002"})
