"""Shares of fit blocks from the readings of a study: counts, draws, reasons, every duty at once."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from workbench.article.shift_views import fitness_by_family_shown
from workbench.castings.calibration import Calibrations
from workbench.castings.family_fitness import fitness_of_family
from workbench.castings.inspection import inspect_study
from workbench.castings.stated_rules import stated_duties
from workbench.errors import Refusal
from workbench.study import Study, open_study
from workbench.worth.fit_share import JudgedShares
from workbench.worth.judged_shares import duties_to_judge, judged_shares

DEMO = Path(__file__).parents[2] / "data" / "demo"


@pytest.fixture(scope="module")
def study():
    return open_study(DEMO)


def shares_of(study: Study) -> JudgedShares:
    return judged_shares(study.fitness(seed=1), duties_to_judge(study.settings))


@pytest.fixture(scope="module")
def judged(study):
    return shares_of(study)


def test_the_page_of_fitness_counts_the_same_blocks(study, judged) -> None:
    """A block of the demo lies on the 4 mm of a duty: other draws would count it the other way."""
    (table,) = fitness_by_family_shown(study, 1)
    shown = {(row[1], row[0]): row[2] for row in table.rows}
    for duty, families in judged.shares.items():
        for family, share in families.items():
            at = (judged.labels[duty], study.settings.family_label(family))
            assert shown[at] == f"{share.passed} of {share.inspected}"


def test_counts_are_those_of_fitness(study, judged) -> None:
    """Judged by itself with another seed: blocks far from the limit come out the same."""
    inspection = inspect_study(study.records.cells, study.settings, study.calibrations)
    duty = stated_duties(study.settings)["high_power"]
    alone = fitness_of_family(
        inspection, "deepdeck", duty, name="high_power", generator=np.random.default_rng(9)
    )
    found = judged.shares["high_power"]["deepdeck"]
    assert found.inspected == alone.passing.of == 22
    assert abs(found.passed - alone.passing.yes) <= alone.proven["too_close"]
    assert found.too_close <= found.inspected


def test_every_duty_and_family_of_the_demo(judged) -> None:
    assert judged.duties == ("usable", "high_power", "comfortable", "boosted")
    assert all(
        set(of_duty) == {"works", "deepdeck", "trophy"} for of_duty in judged.shares.values()
    )
    assert judged.label("high_power") == "High power"
    assert judged.notes["high_power"] == "common practice, no source"
    assert judged.not_judged == {}


def test_the_model_lies_round_the_count(judged) -> None:
    """The middle half of the model's draws and of the beta of the count overlap."""
    found = judged.shares["comfortable"]["works"]
    counted, modelled = (
        found.belief(basis).quantile([0.25, 0.75]) for basis in ("counted", "modelled")
    )
    assert counted[0] < modelled[1]
    assert modelled[0] < counted[1]


def test_a_harder_duty_is_never_passed_by_more(judged) -> None:
    for family in ("works", "deepdeck", "trophy"):
        passed = [
            judged.shares[duty][family].passed for duty in ("usable", "high_power", "comfortable")
        ]
        assert passed == sorted(passed, reverse=True)


def test_three_blocks_are_too_few_for_a_model_of_two_figures(judged) -> None:
    assert judged.shares["boosted"]["trophy"].draws is None
    assert judged.shares["usable"]["trophy"].draws is not None


def with_settings(tmp_path: Path, change) -> Path:
    folder = tmp_path / "study"
    shutil.copytree(DEMO, folder)
    path = folder / "study.toml"
    path.write_text(change(path.read_text(encoding="utf-8")), encoding="utf-8")
    return folder


def test_a_figure_nobody_read_leaves_the_family_out_with_the_reason(tmp_path) -> None:
    def softer(text: str) -> str:
        return text.replace("least_deck = 12.0", 'hardness_low = 90\nhardness_unit = "HRB"')

    study = open_study(with_settings(tmp_path, softer))
    found = shares_of(study)
    assert found.shares["boosted"] == {}
    assert found.not_judged["boosted", "works"]
    with pytest.raises(Refusal, match="No block was judged for the duty “boosted”"):
        study.worth(duty="boosted")


def test_a_study_without_duties_is_refused(tmp_path) -> None:
    def none_stated(text: str) -> str:
        return text[: text.index("[fitness.usable]")] + '[worth]\ncurrency = "GBP"\n'

    study = open_study(with_settings(tmp_path, none_stated))
    with pytest.raises(Refusal, match=r"states no duty to be fit for; state one as \[fitness"):
        study.worth()


def test_families_read_with_one_gauge_share_its_error(study) -> None:
    """With a gauge a whole spread of the blocks out, the draws of two families go together."""
    rough = {
        name: gauge.model_copy(update={"uncertainty": 0.3})
        for name, gauge in study.settings.gauges.items()
    }
    settings = replace(study.settings, gauges=rough)
    found = shares_of(replace(study, settings=settings, calibrations=Calibrations()))
    works, deepdeck = (found.shares["comfortable"][name].draws for name in ("works", "deepdeck"))
    assert np.corrcoef(works, deepdeck)[0, 1] > 0.6
    exact = {name: gauge.model_copy(update={"uncertainty": 0.0}) for name, gauge in rough.items()}
    settings = replace(study.settings, gauges=exact)
    apart = shares_of(replace(study, settings=settings, calibrations=Calibrations()))
    alone = [apart.shares["comfortable"][name].draws for name in ("works", "deepdeck")]
    assert abs(np.corrcoef(*alone)[0, 1]) < 0.1
    assert works.std() > 2 * alone[0].std()
