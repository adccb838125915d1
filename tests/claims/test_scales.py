"""Hardness on several scales, and readings that say only that a value is not above them."""

import math

import numpy as np
import pandas as pd
import pytest

from workbench.claims.ledger import load_ledger
from workbench.records.allowance_table import StatedCorrelation
from workbench.records.settings import Gauge, Settings, built_in_quantities

STATED = {"iron": StatedCorrelation(gauge="lt1", shown="HLD", to="HB", note="six cut-up blocks")}


@pytest.fixture
def testers(lab):
    lab.settings = Settings(
        title="Invented",
        quantities=built_in_quantities(),
        correlations=STATED,
        gauges={"lt1": Gauge(kind="rebound", unit="HLD"), "bt1": Gauge(unit="HB", uncertainty=1.5)},
    )
    return lab


def hard(lab, family, mean, unit, gauge, **given):
    spread = 4.0 if unit == "HB" else 6.0
    return lab.readings(
        family,
        mean,
        between=spread,
        bore_spread=0.0,
        within=spread / 2,
        bores=1,
        quantity="hardness",
        unit=unit,
        gauge=gauge,
        **given,
    )


def pairs(slope=1.5, zero=180.0, noise=2.0):
    generator = np.random.default_rng(5)
    value = np.repeat([170.0, 190.0, 210.0, 230.0, 250.0], 3)
    shown = zero + slope * value + noise * generator.standard_normal(value.size)
    frame = pd.DataFrame({"value": value, "shown": shown, "correlation": "iron"})
    nothing = {"value_uncertainty": math.nan, "shown_uncertainty": math.nan}
    return frame.assign(row=np.arange(2, 17), **nothing)


def asked(lab, *parts, correlations=None, **given):
    extra = {} if correlations is None else {"correlations": correlations}
    claim = {"quantity": "hardness", "unit": "HB"} | given
    return lab.verdict(lab.cells(*parts, step=1.0), given=extra, **claim)


def warned(verdict):
    return {threat.code: threat.text for threat in verdict.warnings}


def test_a_claim_on_a_rebound_scale_is_judged_on_it(testers):
    parts = [hard(testers, f, m, "HLD", "lt1") for f, m in (("trophy", 530), ("works", 500))]
    verdict = asked(testers, *parts, unit="HLD")
    assert verdict.outcome == "supported"
    assert verdict.unit == "HLD"
    assert "other_scale" not in warned(verdict)


def test_a_conversion_is_refused_and_the_rest_answered(testers):
    parts = [hard(testers, f, m, "HLD", "lt1") for f, m in (("trophy", 530), ("works", 500))]
    refused = asked(testers, *parts)
    assert refused.outcome == "unresolved"
    assert refused.warnings[0].code == "hardness_scale"
    assert "no table holds for grey iron" in refused.sentence
    assert "scale" in refused.next_step
    brinell = [hard(testers, f, m, "HB", "bt1") for f, m in (("trophy", 225), ("works", 205))]
    verdict = asked(testers, *parts, *brinell)
    assert verdict.outcome == "supported"
    assert "on another hardness scale" in warned(verdict)["other_scale"]
    alone = asked(testers, *brinell)
    assert verdict.estimate == alone.estimate
    assert verdict.candidate_readings == alone.candidate_readings


def test_the_study_s_own_correlation_converts(testers):
    parts = [hard(testers, f, m, "HLD", "lt1") for f, m in (("trophy", 530), ("works", 500))]
    data = pairs()
    verdict = asked(testers, *parts, correlations=data)
    own = asked(testers, *parts, unit="HLD")
    slope = np.polyfit(data["value"], data["shown"], 1)[0]
    assert verdict.estimate == pytest.approx(own.estimate / slope)
    text = warned(verdict)["converted_readings"]
    assert "15 pairs, 170 HB to 250 HB; six cut-up blocks" in text
    assert "iron like that of its pairs" in text
    assert dict(verdict.measuring)["scatter of iron"] > 0
    assert verdict.standard_error > own.standard_error / slope


def test_readings_beyond_the_pairs_are_said_to_be(testers):
    parts = [hard(testers, f, m, "HLD", "lt1") for f, m in (("trophy", 600), ("works", 500))]
    assert "a guess" in warned(asked(testers, *parts, correlations=pairs()))["extrapolated"]


def test_one_block_each_may_lie_off_the_correlation(testers):
    """Blocks alone: each may be off the line by the scatter of the pairs, in HB."""
    parts = [
        hard(testers, f, m, "HLD", "lt1", blocks=1, repeats=8)
        for f, m in (("trophy", 530), ("works", 500))
    ]
    data = pairs()
    verdict = asked(testers, *parts, correlations=data, scope="block")
    fit, residuals, *_ = np.polyfit(data["value"], data["shown"], 1, full=True)
    scatter = math.sqrt(residuals[0] / 13) / fit[0]
    assert dict(verdict.measuring)["iron unlike that of iron"] == pytest.approx(
        math.sqrt(2) * scatter
    )


def test_the_ledger_takes_any_hardness_scale(testers, tmp_path):
    claim = (
        '[[claim]]\nid = "a"\nstatement = "s"\nquantity = "hardness"\ncandidate = "t"\n'
        'reference = "w"\ndirection = "greater"\nunit = "{}"\n'
    )
    path = tmp_path / "claims.toml"
    path.write_text(claim.format("Leeb D"))
    ledger = load_ledger(path, testers.settings)
    assert ledger.faults == ()
    assert ledger.claims[0].unit == "HLD"
    path.write_text(claim.format("mm"))
    assert [fault.code for fault in load_ledger(path, testers.settings).faults] == ["unit_mismatch"]


def test_censored_readings_enter_no_mean_and_are_counted(lab):
    parts = [lab.readings("trophy", 12), lab.readings("works", 11)]
    below = lab.readings("works", 2.0, blocks=2, within=0.0, contact="below")
    verdict = lab.verdict(lab.cells(*parts, below))
    plain = lab.verdict(lab.cells(*parts))
    assert (verdict.estimate, verdict.standard_error) == (plain.estimate, plain.standard_error)
    text = warned(verdict)["censored_readings"]
    assert text.startswith("Left out: 8 works readings written with “<”")
    assert "too high" in text
    assert "doubtful_excluded" not in warned(verdict)
