"""Pairs: matching, swap, unit, interval against p, refusals."""

import math

import numpy as np
import pytest

from workbench.errors import Refusal
from workbench.inference.means.paired import match_places, paired

NEW, OLD = (4.31, 4.05, 4.62, 3.98), (4.22, 4.01, 4.40, 4.03)


def test_swapped_sides_change_the_sign_and_inches_keep_p() -> None:
    forward, back = paired(NEW, OLD), paired(OLD, NEW)
    assert back.estimate == -forward.estimate
    assert back.p_value(-0.02) == pytest.approx(forward.p_value(0.02))
    inches = paired(np.array(NEW) / 25.4, np.array(OLD) / 25.4)
    assert inches.p_value(0.02 / 25.4) == pytest.approx(forward.p_value(0.02))


@pytest.mark.parametrize("confidence", [0.5, 0.9, 0.99])
def test_the_interval_ends_where_p_says(confidence: float) -> None:
    found = paired(NEW, OLD)
    assert found.p_value(found.interval(confidence).high) == pytest.approx(1 - confidence)


def test_a_shift_common_to_both_sides_of_a_pair_does_not_matter() -> None:
    shift = np.array([0.0, 10.0, -3.0, 2.0])
    moved = paired(np.array(NEW) + shift, np.array(OLD) + shift)
    assert moved.standard_error == pytest.approx(paired(NEW, OLD).standard_error)


def test_matched_places_keep_their_values() -> None:
    new = {("b1", "front"): 4.3, ("b1", "rear"): 4.1, ("b2", "front"): 4.0}
    old = {("b2", "front"): 3.9, ("b1", "front"): 4.2, ("b3", "front"): 4.4}
    found = match_places(new, old)
    assert found.places == (("b1", "front"), ("b2", "front"))
    assert found.candidate.tolist() == [4.3, 4.0]
    assert found.reference.tolist() == [4.2, 3.9]
    assert (found.candidate_left_out, found.reference_left_out) == (1, 1)


def test_refusals() -> None:
    with pytest.raises(Refusal, match="the candidate has 4 values, the reference 3"):
        paired(NEW, OLD[:3])
    with pytest.raises(Refusal, match="All 3 numbers of the differences are equal"):
        paired([2, 3, 4], [1, 2, 3])
    with pytest.raises(Refusal, match="the candidate holds 1 number"):
        paired([2], [1])
    with pytest.raises(Refusal, match="the reference holds nan at place 1"):
        paired([2, 3], [math.nan, 1])
    with pytest.raises(Refusal, match="No place was read on both sides"):
        match_places({"front": 4.0}, {"rear": 4.0})
    with pytest.raises(Refusal, match="the candidate holds inf"):
        match_places({"front": math.inf}, {"front": 4.0})
