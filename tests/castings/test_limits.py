"""One wall against a limit: the three answers, guard band and risk."""

from __future__ import annotations

import pytest
from scipy.stats import norm

from workbench.castings.limits import AtLimit, at_limit
from workbench.castings.reading_budget import MeanBudget
from workbench.errors import Refusal
from workbench.inference.measuring.budget import Budget, Component


def measured(value: float, u: float = 0.08, **given: float) -> MeanBudget:
    part = Component(name="all", kind="B", stated=u, **given)  # type: ignore[arg-type]
    return MeanBudget(
        label="Wall of B1", unit="mm", value=value, readings=1, budget=Budget(components=(part,))
    )


def test_against_iso_14253_1() -> None:
    """ISO 14253-1:2017, guard factor 1.65 at 95 % (from memory): 4.50 mm, u = 0.08 mm, 4.62 mm."""
    found = at_limit(measured(4.62), lower=4.5)
    assert found.outcome == "too_close"
    assert found.conformity.guard_band == pytest.approx(0.132, abs=5e-4)
    assert 1 - found.risk == pytest.approx(0.9332, abs=5e-5)
    assert "is too close to call" in found.sentence
    assert "guard band 0.132 mm" in found.sentence
    assert "outside 6.7%" in found.sentence


@pytest.mark.parametrize(
    ("value", "outcome"),
    [(4.64, "conforming"), (4.62, "too_close"), (4.38, "too_close"), (4.36, "not_conforming")],
)
def test_the_three_answers(value: float, outcome: str) -> None:
    assert at_limit(measured(value), lower=4.5).outcome == outcome
    mirrored = at_limit(measured(9.0 - value), upper=4.5)  # the mirror image decides alike
    assert mirrored.outcome == outcome


def test_few_degrees_of_freedom_widen_the_band() -> None:
    few = at_limit(measured(4.64, degrees_of_freedom=4), lower=4.5)
    assert few.outcome == "too_close"
    assert few.conformity.guard_band == pytest.approx(2.132 * 0.08, abs=1e-4)  # t, 4, one-sided


def test_the_same_in_inches() -> None:
    millimetres = at_limit(measured(4.62), lower=4.5)
    inches = at_limit(measured(4.62 / 25.4, 0.08 / 25.4), lower=4.5 / 25.4)
    assert inches.risk == pytest.approx(millimetres.risk)


def test_the_risks_of_a_rule_for_many_walls() -> None:
    """Drawn: walls of the family, each read once with the error; JCGM 106, 9.5."""
    found = at_limit(measured(4.62), lower=4.5, family=(4.6, 0.2))
    assert isinstance(found, AtLimit)
    assert found.family is not None
    import numpy as np

    rng = np.random.default_rng(8)
    wall = rng.normal(4.6, 0.2, 2_000_000)
    taken = wall + rng.normal(0, 0.08, wall.size) >= 4.5 + norm.ppf(0.95) * 0.08
    assert found.family.consumer == pytest.approx(np.mean(taken & (wall < 4.5)), abs=3e-4)
    assert found.family.producer == pytest.approx(np.mean(~taken & (wall >= 4.5)), abs=1e-3)


def test_a_limit_is_needed() -> None:
    with pytest.raises(Refusal, match="Give a lower limit"):
        at_limit(measured(4.6))
    with pytest.raises(Refusal, match="must rise"):
        at_limit(measured(4.6), lower=5.0, upper=4.0)
    with pytest.raises(Refusal, match=r"above 0\.5"):
        at_limit(measured(4.6), lower=4.0, confidence=0.4)


@pytest.mark.parametrize(
    ("limits", "said"),
    [({"lower": 4.0}, "at least 4 mm"), ({"upper": 5.0}, "at most 5 mm")],
)
def test_the_limit_is_said(limits: dict[str, float], said: str) -> None:
    assert said in at_limit(measured(4.6), **limits).sentence  # type: ignore[arg-type]
    both = at_limit(measured(4.6), lower=4.0, upper=5.0).sentence
    assert "against 4 mm to 5 mm conforms" in both
    assert "below 0.1%" in both
