"""Gauge studies: shares add up, methods agree, the truth is recovered, refusals."""

from __future__ import annotations

import math

import numpy as np
import pytest

from workbench.errors import Refusal
from workbench.inference.gauge_analysis import gauge_study
from workbench.inference.gauge_study import GaugeStudy


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


def test_likelihood_agrees_with_moments_where_both_answer() -> None:
    """One reading struck out of many moves the answer little, though the method changes."""
    part, y, person = crossed(3, parts=12, repeats=3)
    balanced = gauge_study(part, y, person)
    keep = np.arange(y.size) != 40
    uneven = gauge_study(part[keep], y[keep], person[keep])
    assert balanced.method.startswith("analysis of variance")
    assert uneven.method == "restricted maximum likelihood"
    for figure in ("part", "gauge", "repeatability"):
        assert uneven.sd(figure) == pytest.approx(balanced.sd(figure), rel=0.05)
        low, high = uneven.interval(figure).low, uneven.interval(figure).high
        assert low == pytest.approx(balanced.interval(figure).low, rel=0.15)
        assert low < uneven.sd(figure) < high
    assert uneven.share_interval("part", generator=rng()).contains(uneven.share("part"))


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


def test_interaction_is_pooled_by_its_p_and_only_when_asked() -> None:
    part, y, person = crossed(4)
    pooled, kept = gauge_study(part, y, person), gauge_study(part, y, person, pool_above=1.0)
    assert pooled.pooled
    assert pooled.interaction_p > 0.25
    assert "part by operator" not in pooled.components
    assert "part by operator" in kept.components
    assert pooled.mean_squares["repeatability"].degrees_of_freedom == 48
    assert kept.mean_squares["repeatability"].degrees_of_freedom == 30


def test_parts_within_operators() -> None:
    """Labels of parts may come again with another operator; the rows' order does not matter."""
    part, y, person = crossed(5, parts=5)
    once = gauge_study(part, y, person, design="nested")
    apart = gauge_study(part + 100 * person, y, person, design="nested")
    assert once.components == pytest.approx(apart.components)
    assert once.parts == 15
    order = rng().permutation(y.size)
    again = gauge_study(part[order], y[order], person[order], design="nested")
    assert again.components == pytest.approx(once.components)


def test_without_operators_the_gauge_is_its_repeatability() -> None:
    part, y, _ = crossed(6)
    study = gauge_study(part, y)
    assert study.variance("gauge") == study.variance("repeatability")
    assert study.operators == 1
    with pytest.raises(Refusal, match="This study has part, repeatability, not reproducibility"):
        study.variance("reproducibility")


def test_step_against_the_spread() -> None:
    study: GaugeStudy = gauge_study(*crossed(7))
    fine, coarse = study.resolution(0.01), study.resolution(2.0)
    assert fine.fine
    assert not coarse.fine
    assert fine.to_total == pytest.approx(0.01 / study.sd("total"))
    assert fine.rounding_share == pytest.approx(0.01**2 / 12 / study.variance("total"))
    with pytest.raises(Refusal, match="The step must be above 0"):
        study.resolution(0.0)


def test_what_is_refused() -> None:
    part, y, person = crossed(8)
    with pytest.raises(Refusal, match="crossed or nested, not 'latin'"):
        gauge_study(part, y, person, design="latin")  # type: ignore[arg-type]
    with pytest.raises(Refusal, match="There is 1 operator"):
        gauge_study(part, y, np.zeros(y.size))
    with pytest.raises(Refusal, match="There is 1 part"):
        gauge_study(np.zeros(y.size), y, person)
    with pytest.raises(Refusal, match="Nobody read a part twice"):
        gauge_study(part[::2], y[::2], person[::2])
    with pytest.raises(Refusal, match="readings are equal"):
        gauge_study(part, np.full(y.size, 3.0), person)
    with pytest.raises(Refusal, match="3 of one and 60 of the other"):
        gauge_study([1, 2, 3], y)
    with pytest.raises(Refusal, match="The total is the whole variance"):
        gauge_study(part, y, person).share_interval("total", generator=rng())
