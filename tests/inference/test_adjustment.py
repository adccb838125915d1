"""Adjusted p-values: order, bounds, sharpness, and what is refused."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workbench.errors import Refusal
from workbench.inference.adjustment import (
    benjamini_hochberg,
    benjamini_yekutieli,
    hochberg,
    holm,
)

ALL = (holm, hochberg, benjamini_hochberg, benjamini_yekutieli)
lists = st.lists(st.floats(0, 1), min_size=1, max_size=12)


@pytest.mark.parametrize("adjust", ALL)
@given(p_values=lists)
@settings(max_examples=60, deadline=None, derandomize=True)
def test_adjusting_never_lowers_a_p_and_keeps_the_order(adjust, p_values):
    adjusted = adjust(p_values)
    assert (adjusted >= np.array(p_values) * (1 - 1e-12)).all()
    assert (adjusted <= 1).all()
    order = np.argsort(p_values, kind="stable")
    assert (np.diff(adjusted[order]) >= -1e-12).all()


@pytest.mark.parametrize("adjust", ALL)
@given(p_values=lists, data=st.data())
@settings(max_examples=60, deadline=None, derandomize=True)
def test_each_p_keeps_its_place_whatever_the_order(adjust, p_values, data):
    shuffled = data.draw(st.permutations(range(len(p_values))))
    straight = adjust(p_values)
    assert adjust([p_values[i] for i in shuffled]) == pytest.approx(straight[list(shuffled)])


@given(p_values=lists)
@settings(max_examples=60, deadline=None, derandomize=True)
def test_the_methods_come_in_their_known_order_of_sharpness(p_values):
    slack = 1e-12
    assert (benjamini_hochberg(p_values) <= hochberg(p_values) + slack).all()
    assert (hochberg(p_values) <= holm(p_values) + slack).all()
    assert (holm(p_values) <= np.minimum(np.array(p_values) * len(p_values), 1) + slack).all()


@pytest.mark.parametrize("adjust", ALL)
def test_one_claim_alone_is_not_adjusted_and_none_is_no_trouble(adjust):
    assert adjust([0.03]).tolist() == [0.03]
    assert adjust([]).tolist() == []


@pytest.mark.parametrize(
    ("p_values", "message"),
    [([0.2, 1.2], r"from 0 to 1, not at 1\.2"), ([np.nan], r"not at nan"), ([[0.1]], r"one list")],
)
@pytest.mark.parametrize("adjust", ALL)
def test_what_is_no_p_value_is_refused(adjust, p_values, message):
    with pytest.raises(Refusal, match=message):
        adjust(p_values)
