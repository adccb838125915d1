"""From where to where readings were kept: whole steps of each gauge, corrected as readings are."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import norm, truncnorm

from workbench.castings.family_readings import FamilyReadings, family_readings
from workbench.castings.family_shape import family_shape
from workbench.castings.kept import check_limit_kept, kept_everywhere
from workbench.errors import Refusal
from workbench.inference.distributions.fit import fit_distribution
from workbench.records.truncation_table import Truncation
from workbench.study import open_study

HEAD = "block,family,bore,station,quantity,value,unit,gauge,calibration"
Read = Callable[..., FamilyReadings]


def entry(**given: object) -> str:
    keys = {"quantity": "wall_thickness", "unit": "mm", "note": "x", "kept_from": 4.0} | given
    lines = [f"{key} = {value!r}" for key, value in keys.items() if value is not None]
    return "\n[[truncation]]\n" + "\n".join(lines).replace("'", '"') + "\n"


@pytest.fixture
def read(tmp_path: Path) -> Read:
    """Write rows (value, unit, gauge, calibration) as a study, and give its readings."""

    def readings(rows: list[tuple[str, str, str, str]], settings: str, pieces: str = ""):  # type: ignore[no-untyped-def]
        lines = [HEAD]
        for at, (value, unit, gauge, calibration) in enumerate(rows):
            place = f"B{at // 8},works,{1 + at % 8 // 4},s{at % 4}"
            lines.append(f"{place},wall_thickness,{value},{unit},{gauge},{calibration}")
        (tmp_path / "study.toml").write_text(f'title = "T"\n{settings}', "utf-8")
        (tmp_path / "readings.csv").write_text("\n".join(lines) + "\n", "utf-8")
        if pieces:
            (tmp_path / "calibrations.csv").write_text(pieces, "utf-8")
        study = open_study(tmp_path)
        assert study.records.rejected == 0
        return family_readings(
            study.records, study.settings, study.calibrations, "wall_thickness", "mm"
        )["works"]

    return readings


def drawn(size: int, *, cut: float = 4.0, seed: int = 2) -> np.ndarray:
    """Draw walls of mean 4.3 and standard deviation 0.4, and keep those shown at `cut` or more."""
    shown = np.round(np.random.default_rng(seed).normal(4.3, 0.4, size), 2)
    return shown[shown >= cut - 1e-9]


def test_the_range_begins_half_a_step_before_the_first_reading_kept(read: Read) -> None:
    rows = [(f"{value:.2f}", "mm", "ug1", "") for value in drawn(60)]
    assert read(rows, entry()).window == (pytest.approx(3.995), np.inf)
    assert read(rows, entry(kept_from=3.997)).window[0] == pytest.approx(3.995)
    assert read(rows, entry(kept_from=3.991)).window[0] == pytest.approx(3.995)
    both = read(rows, entry(kept_to=9.0))
    assert both.window == pytest.approx((3.995, 9.005))
    coarse = '[gauges.ug1]\nresolution = 0.05\nunit = "mm"\n'
    assert read(rows, coarse + entry()).window[0] == pytest.approx(3.975)
    assert read(rows, entry(family="trophy")).window == (-np.inf, np.inf)
    assert read(rows, entry(of="blocks")).window == (-np.inf, np.inf)


def test_a_fit_finds_what_was_cast_and_not_what_was_kept(read: Read) -> None:
    values = drawn(3000)
    found = read([(f"{value:.2f}", "mm", "ug1", "") for value in values], entry())
    fit = fit_distribution(found.readings, "normal")
    assert values.mean() > 4.40
    for one, planted in zip(fit.parameters, (4.3, 0.4), strict=True):
        assert abs(one.estimate - planted) < 3 * one.standard_error
    planted_seen = 1 - truncnorm.cdf(3.995, -np.inf, np.inf, loc=4.3, scale=0.4)
    assert fit.seen == pytest.approx(planted_seen, abs=0.05)
    assert fit.share_of_seen_below(3.995)[0] == 0


def test_the_unit_of_an_entry_does_not_matter(read: Read) -> None:
    """3.81 mm are 0.15 in."""
    rows = [(f"{value:.2f}", "mm", "ug1", "") for value in drawn(400, cut=3.81)]
    in_mm = read(rows, entry(kept_from=3.81))
    in_inches = read(rows, entry(kept_from=0.15, unit="in"))
    assert in_mm.window == pytest.approx(in_inches.window)
    fits = [fit_distribution(of.readings, "normal").estimates for of in (in_mm, in_inches)]
    assert fits[0] == pytest.approx(fits[1])


def test_readings_in_another_unit_are_seen_through_the_same_range(read: Read) -> None:
    values = np.round(np.random.default_rng(2).normal(4.3, 0.4, 600), 3)
    values = values[values >= 4.0]
    mm = read([(f"{value:.3f}", "mm", "ug1", "") for value in values], entry())
    um = read([(f"{value * 1000:.0f}", "um", "ug1", "") for value in values], entry())
    assert um.window == pytest.approx(mm.window)
    estimates = [fit_distribution(of.readings, "normal").estimates for of in (mm, um)]
    assert estimates[0] == pytest.approx(estimates[1], rel=1e-6)


def test_the_range_is_corrected_as_readings_are(read: Read) -> None:
    """A gauge that shows 2 % too much shows 4.00 on walls of 3.92."""
    pieces = (
        "calibration,gauge,material,reference,indicated,unit,reference_uncertainty\n"
        "C1,ug1,iron,2,2.04,mm,0.001\nC1,ug1,iron,8,8.16,mm,0.001\n"
    )
    rows = [(f"{value:.2f}", "mm", "ug1", "C1") for value in drawn(400)]
    found = read(rows, entry(), pieces)
    assert found.window[0] == pytest.approx(3.995 / 1.02)
    assert len(found.shared[0]) == len(found.table)
    assert found.table["low"].min() >= found.window[0] - 1e-9


def test_a_gauge_that_shows_more_adds_what_the_other_could_not(read: Read) -> None:
    blind = [(f"{value:.2f}", "mm", "ug1", "") for value in drawn(400, seed=2)]
    sharp = [(f"{value:.2f}", "mm", "ug2", "") for value in drawn(400, cut=0, seed=3)]
    found = read(blind + sharp, entry(gauge="ug1"))
    below = sum(float(value) < 4.0 for value, *_ in sharp)
    assert found.window == (-np.inf, np.inf)
    assert found.size == len(blind) + len(sharp)
    tested, window = found.shared
    assert window[0] == pytest.approx(3.995)
    assert int(tested["n"].sum()) == found.size - below < found.size
    fits = [
        fit_distribution(of.readings, "normal")
        for of in (found, read(sharp, entry(gauge="ug1")), read(blind, entry()))
    ]
    for fit in fits:
        for one, planted in zip(fit.parameters, (4.3, 0.4), strict=True):
            assert abs(one.estimate - planted) < 3 * one.standard_error
    errors = [fit.parameters[0].standard_error for fit in fits]
    assert errors[0] < min(errors[1:])
    assert fits[0].seen == pytest.approx(1.0)


def test_what_was_seen_of_two_gauges_is_their_mixture(read: Read) -> None:
    blind = [(f"{value:.2f}", "mm", "ug1", "") for value in drawn(300, seed=2)]
    sharp = [(f"{value:.2f}", "mm", "ug2", "") for value in drawn(200, cut=0, seed=3)]
    fit = fit_distribution(read(blind + sharp, entry(gauge="ug1")).readings, "normal")
    mean, sd = fit.estimates["mean"], fit.estimates["sd"]
    share = len(blind) / (len(blind) + len(sharp))
    cut = truncnorm((3.995 - mean) / sd, np.inf, loc=mean, scale=sd)
    whole = norm(mean, sd)
    x = np.linspace(3.0, 5.5, 26)
    assert fit.share_of_seen_below(x) == pytest.approx(
        share * cut.cdf(x) + (1 - share) * whole.cdf(x)
    )
    assert fit.density_of_seen(x) == pytest.approx(share * cut.pdf(x) + (1 - share) * whole.pdf(x))


def test_a_family_under_two_calibrations_is_fitted_and_tested_on_whole_steps(read: Read) -> None:
    pieces = (
        "calibration,gauge,material,reference,indicated,unit,reference_uncertainty\n"
        "C1,ug1,iron,2,2.04,mm,0.001\nC1,ug1,iron,8,8.16,mm,0.001\n"
        "C2,ug1,iron,2,1.98,mm,0.001\nC2,ug1,iron,8,7.92,mm,0.001\n"
    )
    rng = np.random.default_rng(8)
    rows = []
    for name, slope in (("C1", 1.02), ("C2", 0.99)):
        shown = np.round(slope * rng.normal(4.3, 0.4, 400), 2)
        rows += [(f"{value:.2f}", "mm", "ug1", name) for value in shown[shown >= 4.0]]
    found = read(rows, entry(), pieces)
    assert found.window[0] == pytest.approx(3.995 / 1.02)
    assert found.shared[1][0] == pytest.approx(3.995 / 0.99)
    shape = family_shape(found, None, confidence=0.95, seed=1)
    assert shape.fitted is not None
    assert shape.comparison is not None
    steps = {part.window[0] for part in shape.fitted.by_window}
    assert len(steps) == 2
    assert min(steps) >= found.window[0] - 1e-9
    assert found.size - shape.fitted.size < 20  # those that straddle an end
    normal = next(fit for fit in shape.comparison.fits if fit.family == "normal")
    for one, planted in zip(normal.parameters, (4.3, 0.4), strict=True):
        assert abs(one.estimate - planted) < 3 * one.standard_error
    deciding = shape.tested["normal"].deciding
    assert deciding is not None
    assert deciding.test("anderson-darling").p_value > 0.01


def truncation(**given: object) -> Truncation:
    keys = {"quantity": "wall_thickness", "unit": "mm", "note": "x"} | given
    return Truncation.model_validate(keys)


def test_what_no_gauge_of_a_family_could_show() -> None:
    stated = [truncation(kept_from=1.5, gauge="ug1"), truncation(kept_to=20.0)]
    assert kept_everywhere(stated, ["ug1"], "mm") == (1.5, 20.0)
    assert kept_everywhere(stated, ["ug1", "ug2"], "mm") == (-np.inf, 20.0)
    assert kept_everywhere(stated, ["ug1"], "in") == pytest.approx((1.5 / 25.4, 20 / 25.4))
    assert kept_everywhere(stated, ["ug1"], "HB") == (-np.inf, np.inf)


@pytest.mark.parametrize(("limit", "said"), [(1.5, "none of what"), (1.2, "none"), (21, "all of")])
def test_a_limit_where_nothing_was_kept_is_refused(limit: float, said: str) -> None:
    with pytest.raises(Refusal, match=said) as caught:
        check_limit_kept(limit, (1.5, 20.0), "mm", "Works blocks")
    assert caught.value.code == "limit_not_kept"
    check_limit_kept(1.6, (1.5, 20.0), "mm", "Works blocks")
