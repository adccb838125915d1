"""Power of margin tests: simulation, limits, direction, far tails, refusals."""

import math

import numpy as np
import pytest
from scipy import stats

from workbench.errors import Refusal
from workbench.inference.means.margin_power import equivalence_power, superiority_power

PLAN = {"standard_error": 0.3, "degrees_of_freedom": 7.0}


def test_superiority_against_simulation() -> None:
    generator = np.random.default_rng(1)
    size = 100_000
    estimates = 0.9 + 0.3 * generator.normal(size=size)
    errors = 0.3 * np.sqrt(generator.chisquare(7, size) / 7)
    shown = np.mean((estimates - 0.2) / errors > stats.t.ppf(0.975, 7))
    power = superiority_power(difference=0.9, margin=0.2, **PLAN)
    assert shown == pytest.approx(power, abs=4 * 0.5 / math.sqrt(size))


def test_equivalence_against_simulation() -> None:
    generator = np.random.default_rng(2)
    size = 100_000
    estimates = 0.1 + 0.3 * generator.normal(size=size)
    errors = 0.3 * np.sqrt(generator.chisquare(7, size) / 7)
    t = stats.t.ppf(0.95, 7)
    shown = np.mean((estimates - t * errors > -0.8) & (estimates + t * errors < 1.0))
    power = equivalence_power(difference=0.1, low=-0.8, high=1.0, **PLAN)
    assert shown == pytest.approx(power, abs=4 * 0.5 / math.sqrt(size))


def test_at_the_boundary_power_is_the_level() -> None:
    assert superiority_power(difference=0.2, margin=0.2, **PLAN) == pytest.approx(0.025)
    wide = equivalence_power(difference=9.0, low=-9.0, high=9.0, **PLAN)
    assert wide == pytest.approx(0.05, abs=1e-6)


def test_more_blocks_a_clearer_truth_or_wider_margins_raise_it() -> None:
    base = superiority_power(difference=0.9, margin=0.2, **PLAN)
    assert superiority_power(difference=1.1, margin=0.2, **PLAN) > base
    sharper = superiority_power(
        difference=0.9, margin=0.2, standard_error=0.2, degrees_of_freedom=20
    )
    assert sharper > base
    narrow = equivalence_power(difference=0, low=-0.6, high=0.6, **PLAN)
    assert equivalence_power(difference=0, low=-0.9, high=0.9, **PLAN) > narrow


def test_mirrored_truth_and_margins_give_the_same() -> None:
    forward = equivalence_power(difference=0.2, low=-0.5, high=1.0, **PLAN)
    back = equivalence_power(difference=-0.2, low=-1.0, high=0.5, **PLAN)
    assert back == pytest.approx(forward, rel=1e-12)


def test_unit_does_not_matter() -> None:
    metric = superiority_power(difference=0.9, margin=0.2, **PLAN)
    inches = superiority_power(
        difference=0.9 / 25.4,
        margin=0.2 / 25.4,
        standard_error=0.3 / 25.4,
        degrees_of_freedom=7,
    )
    assert inches == pytest.approx(metric)


@pytest.mark.parametrize(("df", "shift"), [(1198, 8.6), (58, 9.0)])
def test_far_tails_are_numbers(df: float, shift: float) -> None:
    """The ready noncentral t gives NaN for the other side of these plans."""
    for difference in (shift, -shift):
        found = superiority_power(
            difference=difference, margin=0, standard_error=1, degrees_of_freedom=df
        )
        assert found == pytest.approx(1.0 if difference > 0 else 0.0, abs=1e-6)


def test_hopeless_margins_have_no_power() -> None:
    hopeless = equivalence_power(
        difference=0, low=-1e-9, high=1e-9, standard_error=1, degrees_of_freedom=4
    )
    assert hopeless == pytest.approx(0, abs=1e-12)


def test_refusals() -> None:
    for error in (0, -1, math.inf, math.nan):
        with pytest.raises(Refusal, match="above 0 and finite"):
            superiority_power(difference=1, margin=0, standard_error=error, degrees_of_freedom=5)
    with pytest.raises(Refusal, match="degrees of freedom are 0"):
        superiority_power(difference=1, margin=0, standard_error=1, degrees_of_freedom=0)
    with pytest.raises(Refusal, match="low margin below a high one"):
        equivalence_power(difference=0, low=1, high=-1, **PLAN)
    with pytest.raises(Refusal, match="Confidence must lie"):
        equivalence_power(difference=0, low=-1, high=1, confidence=1, **PLAN)
    with pytest.raises(Refusal, match=r"Sameness at 0\.5 confidence is no claim"):
        equivalence_power(difference=0, low=-1, high=1, confidence=0.5, **PLAN)
