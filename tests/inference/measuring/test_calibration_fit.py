"""Making a calibration: witnesses, propagated reference errors, and what is refused."""

from __future__ import annotations

import math

import numpy as np
import pytest

from workbench.errors import Refusal
from workbench.inference.measuring.calibration_fit import known_speed, line, ratio

# tests/published/r/calibration_checks.R
X = np.repeat([2.0, 4.0, 6.0, 8.0, 10.0], 2)
Y = np.array([2.11, 2.07, 4.22, 4.18, 6.31, 6.45, 8.40, 8.36, 10.52, 10.49])


def test_weighted_line_against_r_lm() -> None:
    fitted = line(X, Y, weights=np.repeat([1, 2, 3, 4, 5], 2))
    v = fitted.covariance()
    assert fitted.zero == pytest.approx(0.031571428571425, abs=1e-12)
    assert fitted.slope == pytest.approx(1.047285714285716, abs=1e-12)
    assert v.zero == pytest.approx(0.002966843112245, rel=1e-10)
    assert v.both == pytest.approx(-0.000362614158163, rel=1e-10)
    assert v.slope == pytest.approx(4.94473852041e-05, rel=1e-10)
    assert fitted.reading_sd == pytest.approx(0.0960738183452, rel=1e-10)


def test_equal_weights_change_nothing() -> None:
    plain, weighted = line(X, Y), line(X, Y, weights=np.full(10, 7.0))
    assert weighted.slope == pytest.approx(plain.slope, rel=1e-14)
    assert weighted.covariance().slope == pytest.approx(plain.covariance().slope, rel=1e-12)


def test_reference_errors_by_simulation() -> None:
    """Each piece has one error, shared by its repeats: the stated covariance is the simulated."""
    pieces, sd, u, trials = np.array([2.0, 5.0, 9.0]), 0.03, 0.08, 4000
    generator = np.random.default_rng(4)
    marked = np.repeat(pieces, 4)
    found = np.empty((trials, 2))
    for trial in range(trials):
        true = np.repeat(pieces + generator.normal(0, u, 3), 4)
        fitted = line(marked, 0.1 + 1.2 * true + generator.normal(0, sd, 12))
        found[trial] = fitted.zero, fitted.slope
    stated = line(
        marked,
        0.1 + 1.2 * marked,
        reference_uncertainty=u,
        repeatability=sd,
    ).covariance()
    simulated = np.cov(found.T)
    assert math.sqrt(stated.zero) == pytest.approx(math.sqrt(simulated[0, 0]), rel=0.04)
    assert math.sqrt(stated.slope) == pytest.approx(math.sqrt(simulated[1, 1]), rel=0.04)
    correlation = simulated[0, 1] / math.sqrt(simulated[0, 0] * simulated[1, 1])
    assert stated.both / math.sqrt(stated.zero * stated.slope) == pytest.approx(
        correlation, abs=0.02
    )


def test_scatter_is_that_within_pieces_where_the_pieces_are_uncertain() -> None:
    """The bent middle piece counts as scatter only where the pieces are taken as exact."""
    references = np.repeat([2.0, 5.0, 8.0], 2)
    shown = np.array([2.0, 2.1, 5.5, 5.6, 8.0, 8.1])
    exact = line(references, shown)
    uncertain = line(references, shown, reference_uncertainty=0.2)
    assert uncertain.reading_sd == pytest.approx(0.1 / math.sqrt(2), rel=1e-9)
    assert uncertain.degrees_of_freedom == 3
    assert exact.reading_sd is not None
    assert uncertain.reading_sd is not None
    assert exact.reading_sd > 3 * uncertain.reading_sd
    assert exact.degrees_of_freedom == 4


def test_two_pieces_are_met_exactly() -> None:
    fitted = line([3.0, 8.0], [3.3, 8.8], reference_uncertainty=[0.01, 0.02], repeatability=0.03)
    assert fitted.corrected(3.3) == pytest.approx(3.0)
    assert fitted.corrected(8.8) == pytest.approx(8.0)
    assert float(fitted.shared_uncertainty(3.3)) == pytest.approx(
        math.hypot(0.01, 0.03 / fitted.slope), rel=1e-9
    )
    assert float(fitted.shared_uncertainty(8.8)) == pytest.approx(
        math.hypot(0.02, 0.03 / fitted.slope), rel=1e-9
    )
    assert fitted.degrees_of_freedom == math.inf
    assert fitted.method == "line from two pieces"


def test_ratio_knows_its_piece_best() -> None:
    fitted = ratio(
        10.0,
        [11.0, 11.02, 10.98],
        reference_uncertainty=0.02,
        zero_uncertainty=0.1,
    )
    at_piece = math.hypot(0.02, 0.02 / math.sqrt(3) / fitted.slope)
    assert float(fitted.shared_uncertainty(11.0)) == pytest.approx(at_piece, rel=1e-9)
    nothing = float(fitted.shared_uncertainty(0.0))
    assert nothing == pytest.approx(0.1 / fitted.slope, rel=1e-9)
    assert fitted.degrees_of_freedom == 2


def test_ratio_is_the_line_whose_second_piece_is_nothing() -> None:
    through = line([0.0, 10.0], [0.0, 11.0], repeatability=0.0)
    assert ratio(10.0, [11.0]).corrected(6.6) == pytest.approx(through.corrected(6.6))


def test_known_speed_in_any_unit_of_speed() -> None:
    metric = known_speed(set_to=5920, true=4600, true_uncertainty=46)
    inches = known_speed(set_to=5920 / 25.4, true=4600 / 25.4, true_uncertainty=46 / 25.4)
    assert inches.corrected(6.0) == pytest.approx(metric.corrected(6.0), rel=1e-14)
    assert float(metric.shared_uncertainty(6.0)) == pytest.approx(
        0.01 * metric.corrected(6.0), rel=1e-12
    )
    assert float(inches.shared_uncertainty(6.0)) == pytest.approx(
        float(metric.shared_uncertainty(6.0)), rel=1e-12
    )


def test_two_pieces_of_one_size_are_two() -> None:
    """Their errors are independent: three named pieces give a smaller error than two."""
    references, shown = [3.0, 3.0, 8.0], [3.3, 3.32, 8.8]
    named = line(
        references, shown, reference_uncertainty=0.1, repeatability=0.0, pieces=["a", "b", "c"]
    )
    unnamed = line(references, shown, reference_uncertainty=0.1, repeatability=0.0)
    assert (named.pieces, unnamed.pieces) == (3, 2)
    assert float(named.shared_uncertainty(3.31)) == pytest.approx(0.1 / math.sqrt(2), rel=0.01)
    assert float(unnamed.shared_uncertainty(3.31)) == pytest.approx(0.1, rel=0.01)
    with pytest.raises(Refusal, match="The piece “a” is given two references, 3 and 8"):
        line(references, shown, pieces=["a", "b", "a"])


def test_one_repeated_reference_is_refused() -> None:
    with pytest.raises(Refusal, match=r"All 3 readings are on one reference \(5\)"):
        line([5.0, 5.0, 5.0], [5.1, 5.2, 5.0])


@pytest.mark.parametrize("shown", [(5.0, 3.0), (4.0, 4.0)])
def test_a_line_that_does_not_rise_is_refused(shown: tuple[float, float]) -> None:
    with pytest.raises(Refusal, match="must rise with the reference; their slope is"):
        line([3.0, 8.0], shown)


def test_an_indicated_value_of_nothing_is_refused() -> None:
    with pytest.raises(Refusal, match="their slope is 0"):
        ratio(5.0, [0.0])


def test_a_reference_of_nothing_is_refused() -> None:
    with pytest.raises(Refusal, match="The reference must be above 0 and finite, not 0"):
        ratio(0.0, [0.1])


@pytest.mark.parametrize("speed", [0.0, -4600.0, math.nan])
def test_a_speed_that_is_none_is_refused(speed: float) -> None:
    with pytest.raises(Refusal, match="The true speed must be above 0"):
        known_speed(set_to=5900, true=speed)


def test_bad_weights_uncertainties_and_pairs_are_refused() -> None:
    with pytest.raises(Refusal, match="one weight above 0 for each of 2 readings"):
        line([3.0, 8.0], [3.3, 8.8], weights=[1.0, 0.0])
    with pytest.raises(Refusal, match="Reference uncertainties are 0 or more"):
        line([3.0, 8.0], [3.3, 8.8], reference_uncertainty=-0.1)
    with pytest.raises(Refusal, match="“piece 3” is given with two different uncertainties"):
        line([3.0, 3.0, 8.0], [3.3, 3.2, 8.8], reference_uncertainty=[0.1, 0.2, 0.1])
    with pytest.raises(Refusal, match="2 of one and 3 of the other"):
        line([3.0, 8.0], [3.3, 8.8, 9.0])
    with pytest.raises(Refusal, match="holds nan at place 2"):
        line([3.0, math.nan], [3.3, 8.8])
    with pytest.raises(Refusal, match="The repeatability must be 0 or more"):
        line([3.0, 8.0], [3.3, 8.8], repeatability=-0.01)
