"""Readings as intervals: corrected at both ends, censored where written so, grouped as read."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from workbench.castings.family_readings import FamilyReadings, family_readings
from workbench.errors import Refusal
from workbench.inference.distributions.fit import fit_distribution
from workbench.inference.measuring.censoring import censored_normal
from workbench.study import open_study

HEAD = "block,family,bore,station,quantity,value,unit,gauge,calibration,sampling,contact"
Read = Callable[..., dict[str, FamilyReadings]]


@pytest.fixture
def read(tmp_path: Path) -> Read:
    """Write values of one wall each as a study, open it, and give its readings by family."""

    def readings(
        values: list[str], settings: str = "", calibrations: str = "", **columns: str
    ) -> dict[str, FamilyReadings]:
        fixed = {"gauge": "", "calibration": "", "sampling": "grid", "contact": "good"} | columns
        rows = [HEAD]
        for at, value in enumerate(values):
            rows.append(
                f"B{at // 4},works,{1 + at % 4 // 2},s{at % 2},wall_thickness,{value},mm,"
                f"{fixed['gauge']},{fixed['calibration']},{fixed['sampling']},{fixed['contact']}"
            )
        (tmp_path / "study.toml").write_text(f'title = "T"\n{settings}', "utf-8")
        (tmp_path / "readings.csv").write_text("\n".join(rows) + "\n", "utf-8")
        if calibrations:
            (tmp_path / "calibrations.csv").write_text(calibrations, "utf-8")
        study = open_study(tmp_path)
        assert study.records.rejected == 0
        return family_readings(
            study.records, study.settings, study.calibrations, "wall_thickness", "mm"
        )

    return readings


VALUES = ["4.52", "4.61", "4.55", "4.70", "4.49", "4.58", "4.66", "4.61"]


def test_a_reading_is_the_interval_of_its_step(read: Read) -> None:
    works = read(VALUES)["works"]
    first = works.table[works.table["value"] == 4.52].iloc[0]
    assert (first["low"], first["high"]) == pytest.approx((4.515, 4.525))
    assert (works.size, works.blocks, works.censored) == (8, 2, 0)
    assert works.step == pytest.approx(0.01)
    assert works.nesting == ("block", "bore")


def test_a_coarser_resolution_stated_of_the_gauge_widens_the_interval(read: Read) -> None:
    gauge = '[gauges.ug1]\nkind = "ultrasonic"\nresolution = 0.1\nunit = "mm"\n'
    works = read(VALUES, gauge, gauge="ug1")["works"]
    assert (works.table["high"] - works.table["low"]).to_numpy() == pytest.approx(0.1)


def test_both_ends_go_through_the_calibration(read: Read) -> None:
    """A gauge that shows 0.1 mm plus 1.02 times the iron: ends are shown less 0.1, over 1.02."""
    pieces = "calibration,gauge,reference,indicated,unit\n" + "".join(
        f"C1,ug1,{true},{0.1 + 1.02 * true:.3f},mm\n" for true in (2.5, 5.0, 7.5, 10.0)
    )
    works = read(VALUES, calibrations=pieces, gauge="ug1", calibration="C1")["works"]
    shown = np.array([float(value) for value in VALUES])
    expected = {(round((v - 0.105) / 1.02, 6), round((v - 0.095) / 1.02, 6)) for v in shown}
    assert (
        set(zip(works.table["low"].round(6), works.table["high"].round(6), strict=True)) == expected
    )
    fit = fit_distribution(works.readings, "normal")
    assert fit.estimates["mean"] == pytest.approx((shown.mean() - 0.1) / 1.02, abs=1e-6)


def test_a_value_written_with_a_sign_is_known_from_above_only(read: Read) -> None:
    works = read([*VALUES[:6], "<4.50", "<4.50"])["works"]
    assert works.censored == 2
    below = works.table[np.isinf(works.table["low"])]
    assert below["high"].tolist() == [4.5, 4.5]
    assert works.readings.censored == 2


def test_a_censored_fit_is_that_of_the_censored_normal(read: Read) -> None:
    """The other fit of censored readings takes values as points: a step of 0.01 tells little."""
    rng = np.random.default_rng(5)
    drawn = np.round(rng.normal(4.6, 0.3, 200), 2)
    values = [f"{v:.2f}" if v > 4.3 else "<4.30" for v in drawn]
    works = read(values)["works"]
    seen = drawn[drawn > 4.3]
    assert works.censored == 200 - seen.size
    assert works.censored > 20
    shown = np.concatenate([seen, np.full(works.censored, 4.3)])
    other = censored_normal(shown, np.arange(200) >= seen.size)
    fit = fit_distribution(works.readings, "normal").estimates
    assert fit["mean"] == pytest.approx(other.mean, abs=0.003)
    assert fit["sd"] == pytest.approx(other.sd, abs=0.003)
    assert seen.mean() - fit["mean"] > 0.08  # what leaving them out would add
    assert fit["mean"] == pytest.approx(drawn.mean(), abs=0.03)


def test_searched_and_doubtful_readings_do_not_enter(read: Read) -> None:
    assert read(VALUES, sampling="search") == {}
    assert read(VALUES, contact="doubtful") == {}


@pytest.mark.parametrize(
    ("values", "code", "enough"),
    [
        (["4.50"] * 8, "zero_spread", "at least 5 readings of at least 3 different values"),
        (["4.50", "4.60"] * 4, "too_few_values", "or a gauge with a finer step"),
        (VALUES[:4], "too_few", "at least 5 readings"),
        (["<4.50"] * 8, "all_censored", "at least 5 readings of at least 3 different values"),
    ],
)
def test_too_little_for_a_shape_is_refused(
    read: Read, values: list[str], code: str, enough: str
) -> None:
    settings = '[gauges.ug1]\nkind = "ultrasonic"\n'
    works = read([f"{value}" for value in values], settings, gauge="ug1")["works"]
    with pytest.raises(Refusal, match=enough) as refused:
        _ = works.readings
    assert refused.value.code == code
