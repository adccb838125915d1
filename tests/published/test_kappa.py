"""Kappa against printed examples."""

import numpy as np
import pytest

from workbench.inference.measuring.kappa import several_observers, two_observers

# Printed output of a statistics program on a 3 by 3 table, read in the tests of statsmodels.
TABLE = ((0, 4, 1), (0, 8, 0), (0, 1, 5))

# Fleiss (1971), Psychological Bulletin 76:378-382: 30 patients, 6 diagnoses each (read in the
# tests of statsmodels).
DIAGNOSES = """444444 222555 233335 555555 222444 113333 333355 113334 114444 555555 144444
124444 222333
144444 224445 333335 111455 111112 224444 133555 555555 244444 224555 114444 144445 222224
111155 224444 133333 555555"""


def observed(table: tuple[tuple[int, ...], ...]) -> tuple[list[int], list[int]]:
    cells = [(i, j) for i, row in enumerate(table) for j, n in enumerate(row) for _ in range(n)]
    return [i for i, _ in cells], [j for _, j in cells]


@pytest.mark.parametrize(
    ("weights", "printed"),
    [("none", (0.4842, 0.1380, 0.2137, 0.7547)), ("linear", (0.4701, 0.1457, 0.1845, 0.7558))],
)
def test_two_observers(weights: str, printed: tuple[float, ...]) -> None:
    found = two_observers(*observed(TABLE), weights=weights, levels=range(3))  # type: ignore[arg-type]
    interval = found.interval()
    assert (
        found.estimate,
        found.standard_error,
        interval.low,
        interval.high,
    ) == pytest.approx(printed, abs=5e-5)


def test_several_observers_against_fleiss() -> None:
    """Kappa 0.430 as printed; the jackknife error from R (tests/published/r/kappa.txt)."""
    rows = np.array([[int(grade) for grade in word] for word in DIAGNOSES.split()])
    found = several_observers(rows.T.tolist())
    assert found.estimate == pytest.approx(0.430, abs=5e-4)
    assert found.estimate == pytest.approx(0.43024452006, rel=1e-10)
    assert found.standard_error == pytest.approx(0.0550547209653, rel=1e-10)
    assert (found.things, found.observers) == (30, 6)


def test_grades_of_anxiety() -> None:
    """R irr, data anxiety, second and third observer (numbers read in the tests of statsmodels).

    Only grades that were given count as grades there: 5 is not among them.
    """
    second = [3, 6, 4, 6, 2, 4, 2, 4, 3, 3, 2, 3, 3, 3, 2, 2, 1, 3, 3, 4]
    third = [2, 1, 4, 4, 3, 2, 1, 6, 1, 1, 1, 2, 3, 3, 1, 1, 3, 3, 2, 2]
    for weights, printed in (
        ("none", -0.006289308),
        ("linear", 0.1459075),
        ("quadratic", 0.2520325),
    ):
        found = two_observers(second, third, weights=weights)  # type: ignore[arg-type]
        assert found.estimate == pytest.approx(printed, abs=5e-8)
