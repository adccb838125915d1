"""A study's own correlation of hardness scales: its fit, its way through the readings, refusals."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import pandas as pd
import pytest

from workbench.castings.calibration import Calibrations
from workbench.castings.correction import corrected_moments
from workbench.castings.correlation import Correlation, fit_correlations
from workbench.castings.measuring import shared_error
from workbench.errors import Refusal
from workbench.records.allowance_table import StatedCorrelation

STATED = {"iron": StatedCorrelation(gauge="lt1", shown="HLD", to="HB", note="own iron")}
# Pearson's data with York's weights: York (1966), Canadian Journal of Physics 44:1079; the line and
# its errors as printed by York et al. (2004), American Journal of Physics 72:367, table II (from
# memory). The slope falls, so y is turned round here: 10 - y.
PEARSON_X = [0.0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4]
PEARSON_Y = [5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5]
WEIGHT_X = [1000.0, 1000, 500, 800, 200, 80, 60, 20, 1.8, 1]
WEIGHT_Y = [1.0, 1.8, 4, 8, 20, 20, 70, 70, 100, 500]


def pairs(
    value: Sequence[float],
    shown: Sequence[float],
    u_value: Sequence[float] | float = math.nan,
    u_shown: Sequence[float] | float = math.nan,
    name: str = "iron",
) -> pd.DataFrame:
    frame = pd.DataFrame({"value": value, "shown": shown}, dtype=float)
    return frame.assign(
        correlation=name,
        row=np.arange(2, 2 + len(frame)),
        value_uncertainty=u_value,
        shown_uncertainty=u_shown,
    )


def one(frame: pd.DataFrame) -> Correlation:
    found, faults = fit_correlations(frame, STATED)
    assert faults == ()
    return found["iron"]


def test_against_pearson_with_york_weights() -> None:
    found = one(
        pairs(
            PEARSON_X,
            [10 - y for y in PEARSON_Y],
            [w**-0.5 for w in WEIGHT_X],
            [w**-0.5 for w in WEIGHT_Y],
        )
    )
    line = found.line
    assert line is not None
    assert found.weighed
    assert line.zero == pytest.approx(10 - 5.47991022, abs=1e-8)
    assert line.slope == pytest.approx(0.480533407, abs=1e-9)
    widened = math.sqrt(11.8663532 / 8)  # the scatter is more than the weights allow
    covariance = line.covariance()
    assert math.sqrt(covariance.zero) == pytest.approx(0.294971 * widened, rel=1e-5)
    assert math.sqrt(covariance.slope) == pytest.approx(0.0579850 * widened, rel=1e-5)
    assert line.degrees_of_freedom == 8


def test_without_uncertainties_it_is_the_least_squares_line() -> None:
    """NIST StRD Norris, certified (from memory): intercept and slope of y on x, its residual sd."""
    x = [0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5]
    x += [666.9, 338.0, 447.5, 11.6, 556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1]
    x += [887.2, 999.0, 779.0, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5]
    y = [0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1]
    y += [668.8, 339.3, 448.9, 10.8, 557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3]
    y += [888.0, 998.5, 778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2]
    found = one(pairs(x, y))
    assert found.line is not None
    assert not found.weighed
    assert found.line.zero == pytest.approx(-0.262323073774029, abs=1e-10)
    assert found.line.slope == pytest.approx(1.00211681802045, abs=1e-12)
    assert found.line.reading_sd == pytest.approx(0.884796396144373, abs=1e-11)


def cells(*rows: tuple[str, int, str]) -> pd.DataFrame:
    """Lay out one reading a row: block, what was shown, unit."""
    frame = pd.DataFrame(rows, columns=["block", "s1", "unit"])
    text = {"family": "works", "bore": "", "station": "", "depth": "", "quantity": "hardness"}
    text |= {"gauge": "lt1", "calibration": "", "operator": "", "sampling": "grid"}
    frame = frame.assign(**text, contact="good", step=1.0, n=1)
    return frame.assign(s2=frame["s1"] ** 2, kmin=frame["s1"], kmax=frame["s1"])


STRAIGHT = pairs([180.0, 200.0, 220.0, 240.0], [451.0, 479.0, 521.0, 549.0])


def of(frame: pd.DataFrame = STRAIGHT) -> Calibrations:
    return Calibrations(correlations={"iron": one(frame)})


def test_readings_go_through_the_line_and_keep_their_order() -> None:
    known = of()
    line = known.correlations["iron"].line
    assert line is not None
    found = corrected_moments(
        cells(("B1", 500, "HLD"), ("B2", 208, "HB"), ("B3", 600, "HLD")), "HB", known
    )
    assert found["mean"].tolist() == pytest.approx(
        [line.corrected(500.0), 208.0, line.corrected(600.0)]
    )
    assert found["block"].tolist() == ["B1", "B2", "B3"]
    assert found["corrected_by"].tolist() == ["iron", "", "iron"]
    assert found["extrapolated"].tolist() == [False, False, True]
    assert set(found["unit"]) == {"HB"}


@pytest.mark.parametrize(
    ("gauge", "unit", "to"), [("lt2", "HLD", "HB"), ("lt1", "HLE", "HB"), ("lt1", "HLD", "HRC")]
)
def test_nothing_else_is_converted(gauge: str, unit: str, to: str) -> None:
    with pytest.raises(Refusal, match="no common factor") as raised:
        corrected_moments(cells(("B1", 500, unit)).assign(gauge=gauge), to, of())
    assert raised.value.code == "hardness_scale"


def test_readings_asked_for_on_their_own_scale_stay_as_shown() -> None:
    found = corrected_moments(cells(("B1", 500, "HLD")), "HLD", of())
    assert found["mean"].tolist() == [500.0]
    assert found["corrected_by"].tolist() == [""]


@pytest.mark.parametrize("blocks_vary", [True, False])
def test_what_the_correlation_leaves_in_a_difference(blocks_vary: bool) -> None:
    """By hand: the zero cancels, the slope moves 1 for 1, and each block lies off the line."""
    known = of()
    line = known.correlations["iron"].line
    assert line is not None
    assert line.reading_sd is not None
    found = corrected_moments(cells(("B1", 540, "HLD"), ("B2", 460, "HLD")), "HB", known)
    apart = float(found["mean"].iloc[0] - found["mean"].iloc[1])
    error = shared_error(found, np.array([1.0, -1.0]), {}, "HB", known, blocks_vary=blocks_vary)
    by_line = apart * math.sqrt(line.covariance().slope) / line.slope
    about = math.sqrt(2) * line.reading_sd / line.slope
    expected = by_line if blocks_vary else math.hypot(by_line, about)
    assert error.uncertainty == pytest.approx(expected)
    assert error.unstated == ()  # the gauge's own error is in the pairs


@pytest.mark.parametrize(
    ("frame", "file", "code", "match"),
    [
        (STRAIGHT.iloc[:0], "study.toml", "no_correlation_data", "no sound row"),
        (STRAIGHT.iloc[:2], "correlations.csv", "too_few_pairs", "3 different values"),
        (pairs([200.0] * 4, [1.0, 2, 3, 4]), "correlations.csv", "too_few_pairs", "and has 1"),
        (
            pairs([180.0, 200, 220, 240], [549.0, 521, 479, 451]),
            "correlations.csv",
            "slope_not_positive",
            "must rise",
        ),
        (
            pairs([180.0, 200, 220, 240], [500.0, 470, 530, 505]),
            "correlations.csv",
            "slope_not_positive",
            "standard uncertainty",
        ),
    ],
)
def test_what_cannot_be_used_is_a_fault_at_its_place(
    frame: pd.DataFrame, file: str, code: str, match: str
) -> None:
    found, faults = fit_correlations(frame, STATED)
    assert found["iron"].line is None
    assert match in found["iron"].why
    (fault,) = faults
    assert (fault.file, fault.code) == (file, code)
    assert fault.row == (None if file == "study.toml" else 2)
