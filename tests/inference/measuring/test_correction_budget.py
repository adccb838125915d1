"""What calibrations leave in means and differences: simulated from the pieces up."""

from __future__ import annotations

import math

import numpy as np
import pytest

from workbench.errors import Refusal
from workbench.inference.measuring.calibration_fit import known_speed, line, ratio
from workbench.inference.measuring.calibration_line import CalibrationLine
from workbench.inference.measuring.correction_budget import CorrectedPart, correction_budget

PIECES = np.array([3.0, 8.0])
SD, U = 0.03, 0.04


def made(shown: np.ndarray, names: list[str]) -> CalibrationLine:
    return line(PIECES, shown, reference_uncertainty=U, repeatability=SD, pieces=names)


def exact(names: list[str]) -> CalibrationLine:
    return made(0.1 + 1.1 * PIECES, names)


def through_two(read: np.ndarray, shown: float) -> np.ndarray:
    """Correct a value by each line through what two pieces read; `line` gives the same."""
    found = PIECES[0] + (shown - read[:, 0]) * np.ptp(PIECES) / (read[:, 1] - read[:, 0])
    for row in range(5):
        fitted = line(PIECES, read[row], repeatability=SD)
        assert fitted.corrected(shown) == pytest.approx(found[row])
    return np.asarray(found)


# For four blocks, two of the candidate and two of the reference: the number of the calibration
# each was read under, and the set of pieces that calibration was made on.
LINES = {
    "one calibration": ([0, 0, 0, 0], "aaaa"),
    "each block its own, the same pieces": ([0, 1, 2, 3], "aaaa"),
    "a calibration and pieces for each family": ([0, 0, 1, 1], "aabb"),
    "each block its own, pieces by family": ([0, 1, 2, 3], "aabb"),
}


@pytest.mark.parametrize("case", list(LINES))
def test_a_contrast_of_two_families_by_simulation(case: str) -> None:
    """Two blocks a family, walls of 4, 5, 6 and 7 mm; only calibration errors are simulated."""
    which, sets = LINES[case]
    truth, weights = np.array([6.0, 7.0, 4.0, 5.0]), np.array([0.5, 0.5, -0.5, -0.5])
    shown = 0.1 + 1.1 * truth
    generator, trials = np.random.default_rng(30), 4000
    errors = {name: generator.normal(0, U, (trials, 2)) for name in "ab"}
    reads = {}
    for number, name in zip(which, sets, strict=True):
        if number not in reads:
            scatter = generator.normal(0, SD, (trials, 2))
            reads[number] = 0.1 + 1.1 * (PIECES + errors[name]) + scatter
    found = sum(
        w * through_two(reads[number], s)
        for w, number, s in zip(weights, which, shown, strict=True)
    )
    parts = []
    for number in dict.fromkeys(which):
        mine = np.array(which) == number
        name = sets[which.index(number)]
        parts.append(
            CorrectedPart.of(
                f"C{number}", exact([f"{name}3", f"{name}8"]), weights[mine], truth[mine]
            )
        )
    budget = correction_budget(parts)
    assert budget.combined == pytest.approx(found.std(), rel=0.04)


def test_a_single_value_has_the_uncertainty_of_its_line() -> None:
    fitted = exact(["a", "b"])
    budget = correction_budget([CorrectedPart.of("C1", fitted, [1.0], [5.0])])
    assert budget.combined == pytest.approx(float(fitted.shared_uncertainty(fitted.indicated(5.0))))


def test_two_values_by_one_line_are_its_covariance() -> None:
    fitted = exact(["a", "b"])
    shown = (fitted.indicated(4.0), fitted.indicated(9.0))
    budget = correction_budget([CorrectedPart.of("C1", fitted, [1.0, -1.0], [9.0, 4.0])])
    own = sum(float(fitted.shared_covariance(s, s)) for s in shown)
    assert budget.combined**2 == pytest.approx(own - 2 * float(fitted.shared_covariance(*shown)))


def test_a_common_zero_cancels_and_a_common_speed_scales_the_difference() -> None:
    fitted = known_speed(
        set_to=5900, true=4600, true_uncertainty=46, zero_uncertainty=0.2, repeatability=0.0
    )
    budget = correction_budget([CorrectedPart.of("C1", fitted, [1.0, -1.0], [6.0, 4.0])])
    effects = {component.name: abs(component.contribution) for component in budget.components}
    assert effects["zero"] == pytest.approx(0.0, abs=1e-12)
    assert effects["speed"] == pytest.approx(0.01 * 2.0)


def test_lines_of_different_kinds_share_a_piece() -> None:
    """A ratio and a line made on one piece: read at that piece, its error leaves the difference."""
    straight = line([3.0, 8.0], [3.0, 8.0], reference_uncertainty=U, repeatability=0.0)
    one = ratio(8.0, [8.0], reference_uncertainty=U, repeatability=0.0, piece="piece 8")
    budget = correction_budget(
        [CorrectedPart.of("C1", straight, [1.0], [8.0]), CorrectedPart.of("C2", one, [-1.0], [8.0])]
    )
    assert budget.combined == pytest.approx(0.0, abs=1e-12)


def test_unit_does_not_matter() -> None:
    fitted = exact(["a", "b"])
    inches = fitted.rescaled(1 / 25.4)
    here = correction_budget([CorrectedPart.of("C1", fitted, [0.5, 0.5], [5.0, 9.0])])
    there = correction_budget(
        [CorrectedPart.of("C1", inches, [0.5, 0.5], np.array([5.0, 9.0]) / 25.4)]
    )
    assert there.combined * 25.4 == pytest.approx(here.combined)
    assert there.shares() == pytest.approx(here.shares())


def test_degrees_of_freedom_are_those_of_the_scatter() -> None:
    repeated = line([3.0, 3.0, 8.0, 8.0], [3.3, 3.36, 8.8, 8.84])
    budget = correction_budget([CorrectedPart.of("C1", repeated, [1.0], [5.0])])
    assert budget.degrees_of_freedom == pytest.approx(2.0)
    assert budget.coverage_factor() > 4


def test_what_is_refused() -> None:
    fitted = exact(["a", "b"])
    part = CorrectedPart.of("C1", fitted, [1.0], [5.0])
    with pytest.raises(Refusal, match=r"one part for each calibration, not \['C1', 'C1'\]"):
        correction_budget([part, part])
    with pytest.raises(Refusal, match="one part for each calibration, not none"):
        correction_budget([])
    bare = line([3.0, 8.0], [3.3, 8.8])
    with pytest.raises(Refusal, match="leave no scatter to judge by"):
        correction_budget([CorrectedPart.of("C1", bare, [1.0], [5.0])])
    with pytest.raises(Refusal, match="1 of one and 2 of the other"):
        CorrectedPart.of("C1", fitted, [1.0], [5.0, 6.0])
    assert math.isfinite(correction_budget([part]).combined)


def test_a_sensitivity_is_the_derivative_by_the_value_stated_for_a_piece() -> None:
    """Taken numerically: one stated reference moved by a hundredth of its uncertainty."""
    pieces, values = np.array([3.0, 6.0, 10.0]), [4.0, 12.0]
    shown = 0.1 + 1.3 * pieces
    weights = np.array([0.7, -0.2])

    def total(reference: np.ndarray) -> float:
        fitted = line(reference, shown, reference_uncertainty=U, repeatability=0.0)
        return float(weights @ fitted.corrected(np.array(values)))

    fitted = line(pieces, shown, reference_uncertainty=U, repeatability=0.0)
    corrected = fitted.corrected(np.array(values))
    budget = correction_budget([CorrectedPart.of("C1", fitted, weights, corrected)])
    found = [part for part in budget.components if not part.name.startswith("scatter")]
    for at, part in enumerate(found):
        moved = pieces.copy()
        moved[at] += U / 100
        assert part.stated == U
        assert part.sensitivity == pytest.approx((total(moved) - total(pieces)) / (U / 100), 1e-3)
