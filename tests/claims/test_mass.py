"""Claims on mass: missing parts, and two single blocks judged from measuring alone."""

import math

import pandas as pd
import pytest

from workbench.records.allowance_table import Part
from workbench.records.settings import Gauge, Settings, built_in_quantities

PARTS = {"cap": Part(mass=0.5, uncertainty=0.03, unit="kg")}
NORMAL = 1.959963984540054  # the 97.5 % point of the normal


@pytest.fixture
def scales(lab):
    lab.settings = Settings(
        title="Invented",
        quantities=built_in_quantities(),
        parts=PARTS,
        gauges={"sc1": Gauge(unit="kg", uncertainty=0.05), "sc2": Gauge(unit="kg")},
    )
    return lab


def weighed(lab, *rows, gauge="sc1", **given):
    table = lab.table(list(rows), "family block value")
    return lab.cells(table.assign(quantity="mass", unit="kg", gauge=gauge, **given), step=0.01)


def asked(lab, cells, **given):
    missing = given.pop("missing", {})
    blocks = pd.DataFrame({"block": list(missing), "missing_parts": list(missing.values())})
    extra = {"blocks": blocks.astype(object)} | given.pop("records", {})
    claim = {"quantity": "mass", "unit": "kg", "scope": "block"} | given
    return lab.verdict(cells, given=extra, **claim)


TWO = (("trophy", "T1", 43.20), ("works", "W1", 41.50))


def test_two_single_blocks_from_the_stated_uncertainty(scales):
    """By hand: each weighing is off by 0.05 kg on its own, so root 2 times that."""
    verdict = asked(scales, weighed(scales, *TWO))
    assert verdict.outcome == "supported"
    assert verdict.scope == "block"
    assert verdict.estimate == pytest.approx(1.70)
    assert verdict.standard_error == pytest.approx(0.05 * math.sqrt(2))
    assert verdict.low == pytest.approx(1.70 - NORMAL * 0.05 * math.sqrt(2))
    codes = {threat.code for threat in verdict.warnings}
    assert "error_stated" in codes
    assert "stated error of each reading" in verdict.method


def test_the_step_of_a_coarse_scale_is_the_least_error(scales):
    """A uniform error of one step (JCGM 100, F.2.2.1): 1 kg / root 12 for each block."""
    rows = scales.table([("trophy", "T1", 44.0), ("works", "W1", 41.0)], "family block value")
    cells = scales.cells(rows.assign(quantity="mass", unit="kg", gauge="sc1"), step=1.0)
    assert asked(scales, cells).standard_error == pytest.approx(math.sqrt(2 / 12))


def test_so_is_the_resolution_a_study_states(scales):
    coarse = {"sc1": Gauge(unit="g", uncertainty=50.0, resolution=500.0)}
    scales.settings = Settings(title="x", quantities=built_in_quantities(), gauges=coarse)
    verdict = asked(scales, weighed(scales, *TWO))
    assert verdict.standard_error == pytest.approx(0.5 * math.sqrt(2 / 12))
    repeated = asked(scales, weighed(scales, *TWO, *TWO))  # twice the same: below the step
    assert repeated.standard_error == pytest.approx(0.5 * math.sqrt(2 / 12))
    assert repeated.method == "blocks as measured, error of the gauge's step"


def test_without_any_error_nothing_is_judged(scales):
    verdict = asked(scales, weighed(scales, *TWO, gauge="sc2"))
    assert verdict.outcome == "unresolved"
    assert verdict.warnings[0].code == "no_repeats"
    assert "states no uncertainty of the gauge" in verdict.sentence


def test_a_calibrated_scale_errs_as_it_did_on_its_weights(scales):
    """Scatter on the weights for each reading, and the line's error where it does not cancel."""
    calibration = scales.calibration(
        "S1", gauge="sc1", pieces=(20.0, 40.0, 60.0), unit="kg", noise=0.02, u=0.0
    )
    cells = weighed(scales, *TWO, calibration="S1")
    verdict = asked(scales, cells, records={"calibrations": calibration})
    shown, reference = calibration["indicated"], calibration["reference"]
    from scipy.stats import linregress

    fit = linregress(reference, shown)
    sd = math.sqrt(((shown - fit.intercept - fit.slope * reference) ** 2).sum() / 4)
    of_line = fit.stderr * 1.70 / fit.slope**2
    expected = math.hypot(math.sqrt(2) * sd / fit.slope, of_line)
    assert verdict.standard_error == pytest.approx(expected, rel=1e-6)


def test_a_repeat_takes_the_place_of_what_is_stated(scales):
    cells = weighed(scales, *TWO, ("trophy", "T1", 43.24))
    verdict = asked(scales, cells)
    assert verdict.method == "blocks as measured, error of repeated readings"
    assert "error_stated" not in {threat.code for threat in verdict.warnings}


def test_a_missing_part_is_added_with_its_error(scales):
    bare = asked(scales, weighed(scales, *TWO))
    whole = asked(scales, weighed(scales, *TWO), missing={"W1": "cap"})
    assert whole.estimate == pytest.approx(bare.estimate - 0.5)
    assert whole.standard_error == pytest.approx(math.hypot(bare.standard_error, 0.03))
    assert dict(whole.measuring)["part cap"] == pytest.approx(0.03)
    alike = asked(scales, weighed(scales, *TWO), missing={"W1": "cap", "T1": "cap"})
    assert alike.estimate == pytest.approx(bare.estimate)
    assert alike.standard_error == pytest.approx(bare.standard_error)


def test_a_missing_part_enters_a_claim_on_families_by_its_share(scales):
    rows = [("trophy", f"T{n}", 43.0 + 0.1 * n) for n in range(4)]
    rows += [("works", f"W{n}", 41.0 + 0.1 * n) for n in range(4)]
    cells = weighed(scales, *rows)
    bare = asked(scales, cells, scope="family")
    whole = asked(scales, cells, scope="family", missing={"T0": "cap"})
    assert whole.estimate == pytest.approx(bare.estimate + 0.5 / 4)
    assert dict(whole.measuring) == {"part cap": pytest.approx(0.03 / 4)}


def test_a_part_without_a_mass_is_a_threat(scales):
    verdict = asked(scales, weighed(scales, *TWO), missing={"W1": "sump; cap"})
    texts = {threat.code: threat.text for threat in verdict.warnings}
    assert "W1" in texts["part_not_stated"]
    assert "sump" in texts["part_not_stated"]
    assert "part_not_stated" not in {
        threat.code
        for threat in asked(scales, weighed(scales, *TWO), missing={"W1": "cap"}).warnings
    }
