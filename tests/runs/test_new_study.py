"""The study that `new` lays out is sound as it stands, and overwrites nothing."""

from __future__ import annotations

import tomllib
from pathlib import Path

import numpy as np
import pytest

from workbench.castings.block_report import block_report
from workbench.errors import RunError
from workbench.records.columns import READINGS
from workbench.runs.new_study import EXAMPLE, FILES, new_study
from workbench.study import open_study


def test_the_new_study_is_sound_and_judged(tmp_path: Path) -> None:
    paths = new_study(tmp_path / "deep" / "study")
    assert [path.name for path in paths] == list(FILES)
    study = open_study(tmp_path / "deep" / "study")
    assert study.sound
    assert study.records.rejected == 0
    assert study.records.notices == ()
    outcomes = [verdict.outcome for verdict in study.judge().verdicts]
    assert outcomes == ["supported", "contradicted", "unresolved"]


def test_place_worth_and_plan_have_something_to_say_of_it(tmp_path: Path) -> None:
    new_study(tmp_path / "study")
    study = open_study(tmp_path / "study")
    answer = study.worth(jointly=False)
    assert answer.duty == "comfortable"
    assert [len(one.costs) for one in answer.families] == [2, 2]
    (plan,) = study.plan().plans
    assert plan.plans[0] is not None
    report = block_report(study.inspect(), "P1", generator=np.random.default_rng(1))
    assert [one.outcome for one in report.fitness] == ["fit", "fit", "not_fit"]


def test_every_file_of_the_example_is_laid_out_and_says_that_it_is_invented() -> None:
    assert {path.name for path in EXAMPLE.iterdir()} == set(FILES)
    assert "(invented data)" in tomllib.loads((EXAMPLE / "study.toml").read_text())["title"]


def test_the_comments_name_every_column() -> None:
    comments = (EXAMPLE / "study.toml").read_text()
    for column in READINGS:
        assert column.name in comments


def test_a_folder_that_holds_something_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("mine")
    with pytest.raises(RunError, match=r"is not empty \(it holds mine.txt\)"):
        new_study(tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["mine.txt"]
    with pytest.raises(RunError, match=r"cannot be laid out in .*mine.txt: File exists"):
        new_study(tmp_path / "mine.txt")
