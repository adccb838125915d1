"""The notebooks of a run open what the run has read and judged, and only while it is the same."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from workbench.article.gathering import gathered, samples_of
from workbench.claims.judgement import Judgement
from workbench.errors import StudyError
from workbench.records.kept_run import REDUCTIONS
from workbench.runs.new_study import new_study
from workbench.study import open_study

SEED = 5


@pytest.fixture
def study(tmp_path: Path) -> Path:
    new_study(tmp_path / "study")
    return tmp_path / "study"


@pytest.fixture(scope="module")
def judgement(tmp_path_factory: pytest.TempPathFactory) -> Judgement:
    """Judge the new study, of which every test here has a copy, and mark what it comes to."""
    folder = tmp_path_factory.mktemp("judged") / "study"
    new_study(folder)
    return replace(open_study(folder).judge(seed=SEED), study="kept")


@pytest.fixture
def kept(
    study: Path, judgement: Judgement, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Callable[[], None]:
    """Give a function that keeps that judgement and makes this process one of the run."""

    def keep() -> None:
        opened = open_study(study)
        opened.keep(tmp_path / "reductions")
        opened.keep_judgement(judgement, tmp_path / "reductions")
        monkeypatch.setenv(REDUCTIONS, str(tmp_path / "reductions"))

    return keep


def test_a_notebook_reads_no_reading_again(
    study: Path, kept: Callable[[], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    before = open_study(study)
    kept()

    def read(*_: object) -> None:
        pytest.fail("the readings were read again")

    monkeypatch.setattr("workbench.records.intake_pass.read_through", read)
    again = open_study(study)
    assert again.digests == before.digests
    assert again.records.cells.equals(before.records.cells)
    assert again.records.rows_in == before.records.rows_in


def test_a_notebook_gets_the_verdicts_of_the_run(study: Path, kept: Callable[[], None]) -> None:
    alone = open_study(study).judge(seed=SEED, only="same-mass")
    kept()
    shared = open_study(study).judge(seed=SEED, only="same-mass")
    assert shared.study == "kept"
    assert repr(shared.verdicts) == repr(alone.verdicts)
    verdicts = open_study(study).judge(seed=SEED).verdicts
    assert [verdict.claim for verdict in verdicts] == list(open_study(study).ledger.ids)


def test_what_is_planned_is_the_same_once_the_verdicts_are_kept(
    study: Path, kept: Callable[[], None]
) -> None:
    alone = open_study(study).plan(seed=SEED)
    kept()
    assert [plan.claim for plan in alone.plans] == ["walls-thicker"]
    assert repr(open_study(study).plan(seed=SEED)) == repr(alone)


def test_another_seed_is_judged_anew(study: Path, kept: Callable[[], None]) -> None:
    kept()
    assert open_study(study).judge(seed=SEED + 1).study != "kept"


def test_other_claims_are_judged_anew(study: Path, kept: Callable[[], None]) -> None:
    kept()
    text = (study / "claims.toml").read_text().replace("margin = 1.0", "margin = 1.5", 1)
    (study / "claims.toml").write_text(text)
    assert open_study(study).judge(seed=SEED).study != "kept"


def test_an_unknown_claim_is_refused_as_ever(study: Path, kept: Callable[[], None]) -> None:
    kept()
    with pytest.raises(StudyError, match="No claim has the id “none”"):
        open_study(study).judge(seed=SEED, only="none")


def test_readings_changed_during_a_run_are_told(study: Path, kept: Callable[[], None]) -> None:
    kept()
    with (study / "readings.csv").open("a") as file:
        file.write("P1,plain,,,mass,39.1,kg,,A,2026-05-30\n")
    with pytest.raises(StudyError, match=r"made from other inputs: readings\.csv changed since"):
        open_study(study)


def test_another_study_is_read_as_ever(kept: Callable[[], None], tmp_path: Path) -> None:
    kept()
    new_study(tmp_path / "other")
    assert open_study(tmp_path / "other").judge(seed=SEED).study != "kept"


def test_a_notebook_opens_the_study_as_the_run_opened_it(
    study: Path, kept: Callable[[], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    before = open_study(study)
    kept()

    def fitted(*_: object) -> None:
        pytest.fail("the study was opened anew")

    monkeypatch.setattr("workbench.castings.calibration.calibrations_of", fitted)
    monkeypatch.chdir(study)
    again = open_study(".")
    assert again.folder == Path()
    assert again.settings == before.settings
    assert again.ledger.ids == before.ledger.ids
    assert repr(again.calibrations) == repr(before.calibrations)
    assert [doubt.code for doubt in again.doubts] == [doubt.code for doubt in before.doubts]
    assert again.records.rejected_rows().equals(before.records.rejected_rows())
    assert again.records.values("mass").equals(before.records.values("mass"))


def test_claims_changed_during_a_run_are_seen(study: Path, kept: Callable[[], None]) -> None:
    kept()
    text = (study / "claims.toml").read_text().replace('id = "same-mass"', 'id = "like-mass"', 1)
    (study / "claims.toml").write_text(text)
    assert "like-mass" in open_study(study).ledger.ids


@pytest.mark.parametrize("name", ["study.toml", "blocks.csv", "readings.xlsx"])
def test_any_other_file_changed_or_come_is_told(
    study: Path, kept: Callable[[], None], name: str
) -> None:
    kept()
    with (study / name).open("a") as file:
        file.write("\n# more\n" if name == "study.toml" else "block,family\nP1,plain\n")
    with pytest.raises(StudyError, match=r"changed since|more than one|one of"):
        open_study(study)


def test_what_one_page_reached_is_given_to_the_next(
    study: Path, kept: Callable[[], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    with (study / "study.toml").open("a") as file:
        file.write('\n[fitness.use]\nnote = "invented"\nleast_wall = 3.0\nunit = "mm"\n')
    alone = open_study(study)
    expected = repr(alone.fitness(seed=SEED)), alone.inspect().of("mass").places
    samples = samples_of(alone)
    kept()
    open_study(study).fitness(seed=SEED)
    samples_of(open_study(study))

    def again(*_: object, **__: object) -> None:
        pytest.fail("it was reached again")

    for name in (
        "castings.inspection.inspect_study",
        "worth.judged_shares.judged_families",
        "article.gathering.sample_of",
    ):
        monkeypatch.setattr(f"workbench.{name}", again)
    opened = open_study(study)
    assert repr(opened.fitness(seed=SEED)) == expected[0]
    assert opened.inspect().of("mass").places.equals(expected[1])
    assert [repr(sample) for sample in samples_of(opened)] == [repr(sample) for sample in samples]
    with pytest.raises(pytest.fail.Exception, match="reached again"):
        gathered(opened, "colour")
    with pytest.raises(pytest.fail.Exception, match="reached again"):
        opened.fitness(seed=SEED + 1)
    changed = replace(opened, digests={**opened.digests, "readings.csv": ""})
    with pytest.raises(pytest.fail.Exception, match="reached again"):
        changed.inspect()
