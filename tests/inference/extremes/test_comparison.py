"""Two families where they are thin: coverage, swap, interval and p agree, units, refusals."""

import math

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import t

from workbench.errors import Refusal
from workbench.inference.extremes.comparison import (
    DrawnDifference,
    DrawnFigure,
    share_below_difference,
    thinnest_difference,
)
from workbench.inference.nested.squares import nested_squares, pooled_squares


def families(drawn_study, seed, blocks=(10, 6), means=(4.9, 4.6)):
    return pooled_squares(
        pd.concat(
            [
                drawn_study(seed + i * 1000, blocks=b, mean=m).assign(family=name)
                for i, (name, b, m) in enumerate(zip("ab", blocks, means, strict=True))
            ]
        )
    )


def drawn(estimate, draws):
    family = DrawnFigure(estimate=estimate, draws=draws)
    return DrawnDifference(
        estimate=estimate, draws=draws, method="drawn", families=(family, family)
    )


@pytest.mark.parametrize("freedom", [2, 5, 30, math.inf])
def test_the_error_is_that_of_the_spreads_as_estimated(freedom) -> None:
    """Draws of a mean of few blocks are Student's t, whose own variance may be infinite."""
    rows = t.ppf((np.arange(4000) + 0.5) / 4000, freedom)
    found = DrawnFigure(estimate=0.0, draws=0.3 * rows, degrees_of_freedom=freedom)
    assert math.sqrt(found.variance) == pytest.approx(0.3, rel=1e-3)


def test_the_errors_of_both_and_of_what_they_share_are_squared_and_added(drawn_study) -> None:
    """Blocks of three places alike: of means, as their spread between blocks tells it."""
    found = families(drawn_study, 5, blocks=(4, 40))
    apart = thinnest_difference(found["a"], found["b"], bores=4, seed=1)
    plain = math.sqrt(found["a"].block.value * (1 / 4 + 1 / 40))
    assert apart.standard_error == pytest.approx(plain, rel=0.15)
    wide = apart.widened(0.3, seed=1)
    assert wide.standard_error == pytest.approx(math.hypot(apart.standard_error, 0.3))


def test_an_end_hardly_hangs_on_the_seed(drawn_study) -> None:
    """Of a family of three blocks, within a tenth of a quarter of the interval (deviation)."""
    found = families(drawn_study, 6, blocks=(3, 12))
    ends = [
        thinnest_difference(found["a"], found["b"], bores=4, seed=seed, draws=1000).interval()
        for seed in range(12)
    ]
    quarter = np.mean([end.half_width for end in ends]) / 2
    assert np.std([end.low for end in ends]) < 0.1 * quarter
    assert np.std([end.high for end in ends]) < 0.1 * quarter


def test_equal_spreads_make_the_difference_of_means(drawn_study) -> None:
    """With one spread and one pattern the thinnest places lie as far apart as the means."""
    found = families(drawn_study, 1, blocks=(300, 300))
    apart = thinnest_difference(found["a"], found["b"], bores=4, seed=1)
    assert apart.estimate == pytest.approx(found["a"].mean - found["b"].mean, abs=0.02)
    assert apart.interval().contains(0.3)
    assert apart.p_value() < 0.01


def test_intervals_keep_their_confidence(drawn_study) -> None:
    held = [
        thinnest_difference(pair["a"], pair["b"], bores=4, seed=seed, draws=400)
        .interval(0.9)
        .contains(0.3)
        for seed in range(80)
        for pair in [families(drawn_study, seed)]
    ]
    assert abs(np.mean(held) - 0.9) < 4 * math.sqrt(0.09 / 80)


def test_each_error_of_reading_comes_off_its_own_family(drawn_study) -> None:
    found = families(drawn_study, 3)
    given = {"bores": 4, "seed": 1}
    plain = thinnest_difference(found["a"], found["b"], **given)
    own = thinnest_difference(found["a"], found["b"], error_variances=(0.05**2, 0.0), **given)
    both = thinnest_difference(found["a"], found["b"], error_variances=(0.05**2, 0.05**2), **given)
    assert own.families[1].estimate == plain.families[1].estimate
    assert own.families[0].estimate == both.families[0].estimate > plain.families[0].estimate
    with pytest.raises(Refusal, match="A variance is 0 or more, not -1"):
        thinnest_difference(found["a"], found["b"], error_variances=(0.0, -1.0), **given)


def test_swapped_families_turn_the_sign(drawn_study) -> None:
    found = families(drawn_study, 2)
    plain = thinnest_difference(found["a"], found["b"], bores=4, seed=1)
    swapped = thinnest_difference(found["b"], found["a"], bores=4, seed=1)
    assert swapped.estimate == pytest.approx(-plain.estimate)
    ends, turned = plain.interval(), swapped.interval()
    assert (turned.low, turned.high) == pytest.approx((-ends.high, -ends.low), abs=0.03)
    shares = [
        share_below_difference(found[x], found[y], 4.2, bores=4, seed=1)
        for x, y in (("a", "b"), ("b", "a"))
    ]
    assert shares[0].estimate == pytest.approx(-shares[1].estimate)
    assert shares[0].estimate < 0  # the thicker family has fewer below


@given(st.floats(-3, 3), st.sampled_from([0.8, 0.9, 0.95]))
@settings(max_examples=60, deadline=None)
def test_the_interval_agrees_with_p(margin, confidence) -> None:
    draws = np.sort(np.random.default_rng(4).normal(0.5, 1, 3999))
    found = drawn(0.5, draws)
    ends = found.interval(confidence)
    tail = (1 - confidence) / 2
    slack = 1.5 / 4000
    if margin < ends.low:
        assert found.p_above(margin) <= tail + slack
        assert found.p_value(margin) <= 1 - confidence + 2 * slack
    elif margin > ends.high:
        assert found.p_below(margin) <= tail + slack
    else:
        assert found.p_value(margin) >= 1 - confidence - 2 * slack


def test_the_unit_changes_nothing(drawn_study) -> None:
    data = pd.concat([drawn_study(s, blocks=8).assign(family=n) for s, n in ((3, "a"), (4, "b"))])
    found = pooled_squares(data)
    inches = pooled_squares(data.assign(value=data["value"] / 25.4))
    plain = thinnest_difference(found["a"], found["b"], bores=4, seed=1)
    other = thinnest_difference(inches["a"], inches["b"], bores=4, seed=1)
    assert other.estimate * 25.4 == pytest.approx(plain.estimate)
    assert other.draws * 25.4 == pytest.approx(plain.draws, abs=1e-9)


def test_a_family_of_one_block_is_wide_open_but_answers(drawn_study) -> None:
    found = families(drawn_study, 5, blocks=(12, 1))
    few = thinnest_difference(found["a"], found["b"], bores=4, seed=1)
    many = families(drawn_study, 5, blocks=(12, 12))
    whole = thinnest_difference(many["a"], many["b"], bores=4, seed=1)
    assert few.interval().half_width > 1.5 * whole.interval().half_width


def test_studies_of_their_own_need_not_share_spreads(drawn_study) -> None:
    wide = nested_squares(drawn_study(6, blocks=60, spreads=(0.4, 0.2, 0.2)))
    narrow = nested_squares(drawn_study(7, blocks=60, spreads=(0.1, 0.05, 0.05)))
    found = thinnest_difference(narrow, wide, bores=4, seed=1)
    assert found.interval().low > 0.1  # of one mean, the family that varies less is the thicker


def test_a_shared_uncertainty_widens() -> None:
    draws = np.sort(np.random.default_rng(8).normal(0, 0.1, 20_000))
    found = drawn(0.0, draws)
    wide = found.widened(0.2, seed=1).interval().half_width
    assert wide == pytest.approx(1.96 * math.hypot(0.1, 0.2), rel=0.03)
    assert found.widened(0.0, seed=1).interval() == found.interval()


def test_refusals(drawn_study) -> None:
    found = families(drawn_study, 9)
    data = drawn_study(10)
    fewer = nested_squares(data[data["place"] < 3])
    with pytest.raises(Refusal, match="1 places, the first 3, were read in one family only"):
        thinnest_difference(found["a"], fewer, bores=4, seed=1)
    with pytest.raises(Refusal, match="is it in the unit of the readings"):
        share_below_difference(found["a"], found["b"], 0.17, bores=4, seed=1)
    with pytest.raises(Refusal, match="of place, bore, block, not of 'deck'"):
        share_below_difference(found["a"], found["b"], 4.0, "deck", bores=4, seed=1)
    with pytest.raises(Refusal, match="0 or more, not -1"):
        drawn(0.0, np.zeros(9)).widened(-1, seed=1)
