"""What a gauge study found: figures add up, intervals hold the truth, refusals."""

from __future__ import annotations

import math

import numpy as np
import pytest

from workbench.errors import Refusal
from workbench.inference.measuring.gauge_analysis import gauge_study
from workbench.inference.measuring.gauge_study import GaugeStudy


def rng() -> np.random.Generator:
    return np.random.default_rng(1)


def crossed(
    seed: int, parts: int = 10, people: int = 3, repeats: int = 2, interaction: float = 0.0
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    generator = np.random.default_rng(seed)
    part, person, _ = np.indices((parts, people, repeats)).reshape(3, -1)
    y = (
        generator.normal(0, 1.0, parts)[part]
        + generator.normal(0, 0.3, people)[person]
        + generator.normal(0, interaction, (parts, people))[part, person]
        + generator.normal(7, 0.2, part.size)
    )
    return part, y, person


def test_figures_add_up() -> None:
    part, y, person = crossed(1, interaction=0.5)
    study = gauge_study(part, y, person)
    assert not study.pooled
    assert study.variance("gauge") + study.variance("part") == pytest.approx(
        study.variance("total")
    )
    assert study.variance("repeatability") + study.variance("reproducibility") == pytest.approx(
        study.variance("gauge")
    )
    assert sum(study.share(name) for name in study.components) == pytest.approx(1.0)
    assert study.categories() == pytest.approx(
        math.sqrt(2 * study.variance("part") / study.variance("gauge"))
    )


def test_unit_changes_spreads_and_no_share() -> None:
    part, y, person = crossed(2)
    here, there = gauge_study(part, y, person), gauge_study(part, y / 25.4, person)
    for figure in ("part", "gauge", "total"):
        assert there.sd(figure) * 25.4 == pytest.approx(here.sd(figure))
        assert there.interval(figure).high * 25.4 == pytest.approx(here.interval(figure).high)
        assert there.share(figure) == pytest.approx(here.share(figure))
    assert there.categories() == pytest.approx(here.categories())
    assert there.interaction_p == pytest.approx(here.interaction_p)


@pytest.mark.parametrize("figure", ["part", "repeatability", "gauge"])
def test_intervals_hold_the_truth_as_often_as_they_say(figure: str) -> None:
    """Simulated at 90 %: the modified large-sample intervals of a balanced study."""
    truth = {"part": 1.0, "repeatability": 0.2, "gauge": math.hypot(0.3, 0.2)}[figure]
    trials, held = 300, 0
    for seed in range(trials):
        study = gauge_study(*crossed(seed), pool_above=1.0)
        held += study.interval(figure, 0.90).contains(truth)
    assert held / trials > 0.90 - 3 * math.sqrt(0.09 / trials)


def test_share_interval_holds_the_truth() -> None:
    trials, held = 200, 0
    truth = 1.0 / (1.0 + 0.3**2 + 0.2**2)
    for seed in range(trials):
        study = gauge_study(*crossed(seed))
        held += study.share_interval("part", 0.90, generator=rng()).contains(truth)
    assert held / trials > 0.90 - 3 * math.sqrt(0.09 / trials)


def test_step_against_the_spread() -> None:
    study: GaugeStudy = gauge_study(*crossed(7))
    fine, coarse = study.resolution(0.01), study.resolution(2.0)
    assert fine.fine
    assert not coarse.fine
    assert fine.to_total == pytest.approx(0.01 / study.sd("total"))
    assert fine.rounding_share == pytest.approx(0.01**2 / 12 / study.variance("total"))
    with pytest.raises(Refusal, match="The step must be above 0"):
        study.resolution(0.0)


def test_without_operators_the_gauge_is_its_repeatability() -> None:
    part, y, _ = crossed(6)
    study = gauge_study(part, y)
    assert study.variance("gauge") == study.variance("repeatability")
    assert study.operators == 1
    with pytest.raises(Refusal, match="This study has part, repeatability, not reproducibility"):
        study.variance("reproducibility")


def test_what_is_refused() -> None:
    study = gauge_study(*crossed(8))
    with pytest.raises(Refusal, match="The total is the whole variance"):
        study.share_interval("total", generator=rng())
    with pytest.raises(Refusal, match="This study has part, operator, repeatability, not bore"):
        study.sd("bore")
