"""Where an opened study keeps its reduction for the next command."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from workbench.records import intake_pass
from workbench.records.kept import CACHE, cache_folder
from workbench.study import open_study

OXIDE = Path(__file__).parents[1] / "data" / "oxide"


def test_the_variable_says_where_or_that_nowhere(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv(CACHE, "off")
    assert cache_folder() is None
    monkeypatch.setenv(CACHE, str(tmp_path))
    assert cache_folder() == tmp_path / "reductions"


def test_left_out_it_is_the_users_own_cache(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv(CACHE)
    found = cache_folder()
    assert found is not None
    assert found.is_absolute()
    assert found.parts[-2:] != ("workbench", "workbench")
    assert "workbench" in found.parts


def test_a_study_opened_again_answers_the_same_without_its_readings(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    study = tmp_path / "study"
    shutil.copytree(OXIDE, study)
    plain = open_study(study).judge()
    monkeypatch.setenv(CACHE, str(tmp_path / "cache"))
    first = open_study(study)

    def forbidden(*_: object, **__: object) -> None:
        pytest.fail("the readings were read again")

    monkeypatch.setattr(intake_pass, "read_through", forbidden)
    again = open_study(study)
    assert repr(again.judge().verdicts) == repr(first.judge().verdicts) == repr(plain.verdicts)
    assert again.digests == first.digests
