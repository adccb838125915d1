"""The default analysis of a comparison, for families and for the blocks measured."""

import math

import numpy as np
import pandas as pd
import pytest
import statsmodels.formula.api as smf
from scipy import stats

from workbench.claims.analysis import analyse
from workbench.claims.evidence import gather
from workbench.errors import Refusal
from workbench.inference.nested.fit import nested_fit
from workbench.records.settings import Gauge


def evidence(lab, *parts, step=0.01, **fields):
    asked = {"quantity": "deck_thickness", "candidate": "trophy", "reference": "works"}
    return gather(lab.cells(*parts, step=step), **(asked | {"unit": "mm"} | fields))


def test_families_are_compared_by_the_nested_model_with_every_factor(lab):
    parts = (lab.readings("trophy", 12, blocks=4), lab.readings("works", 11, blocks=7))
    for half in parts:
        half["gauge"] = np.where(np.arange(len(half)) % 3 == 0, "ug1", "ug2")
    analysis = analyse(evidence(lab, *parts), lab.settings.gauges, "family")
    table = pd.concat(parts).assign(value=lambda t: t["value"].round(2))
    fit = nested_fit(
        table, response="value", fixed=["family", "station", "gauge"], nesting=["block", "bore"]
    )
    wanted = fit.contrast("family", "trophy", "works")
    assert analysis.factors == ("station", "gauge")
    assert analysis.difference.estimate == pytest.approx(wanted.estimate, abs=1e-8)
    assert analysis.difference.standard_error == pytest.approx(wanted.standard_error, rel=1e-6)
    assert analysis.difference.degrees_of_freedom == pytest.approx(
        wanted.degrees_of_freedom, rel=1e-5
    )
    assert set(analysis.components) == {"block", "bore", "residual"}
    assert analysis.shared.cancels
    assert not analysis.gauge_confounded


def test_one_gauge_for_each_family_widens_the_interval_and_leaves_the_gauge_out(lab):
    parts = (
        lab.readings("trophy", 12, blocks=4, gauge="ug1"),
        lab.readings("works", 11, gauge="ug2"),
    )
    analysis = analyse(evidence(lab, *parts), lab.settings.gauges, "family")
    assert analysis.gauge_confounded
    assert "gauge" not in analysis.factors
    assert analysis.shared.uncertainty == pytest.approx(0.05 * math.sqrt(2))
    own = analysis.readings_only.standard_error
    assert analysis.difference.standard_error == pytest.approx(math.hypot(own, 0.05 * math.sqrt(2)))


def test_three_gauges_of_which_two_meet_one_family_only_are_still_told_apart(lab):
    ours = lab.readings("trophy", 12, blocks=4)
    others = lab.readings("works", 11, blocks=6)
    ours["gauge"] = np.where(np.arange(len(ours)) % 3 == 0, "ug1", "ug2")
    others["gauge"] = np.where(np.arange(len(others)) % 3 == 0, "ug2", "ug3")
    analysis = analyse(evidence(lab, ours, others), lab.settings.gauges, "family")
    assert analysis.factors == ("station", "gauge")
    assert analysis.shared.cancels


def test_a_mass_read_once_a_block_is_a_pooled_t(lab):
    rows = [("trophy", f"T{i}", v) for i, v in enumerate((62.1, 62.9, 61.8))]
    rows += [("works", f"W{i}", v) for i, v in enumerate((60.2, 60.9, 59.8, 60.1, 60.4))]
    table = lab.table(rows, "family block value").assign(quantity="mass", unit="kg")
    found = evidence(lab, table, quantity="mass", unit="kg", step=0.1)
    analysis = analyse(found, {}, "family")
    from scipy.stats import ttest_ind

    ours, others = ([v for f, _, v in rows if f == family] for family in ("trophy", "works"))
    assert analysis.difference.degrees_of_freedom == pytest.approx(6)
    assert analysis.difference.p_value() == pytest.approx(ttest_ind(ours, others).pvalue, rel=1e-6)


def test_repeats_that_never_differ_count_once(lab):
    rows = [("trophy", f"T{i}", v) for i, v in enumerate((62.1, 62.9, 61.8))]
    rows += [("works", f"W{i}", v) for i, v in enumerate((60.2, 60.9, 59.8, 60.1))]
    once = lab.table(rows, "family block value")
    twice = lab.table([row for row in rows for _ in range(2)], "family block value")
    alone = analyse(evidence(lab, once, step=0.1), {}, "family")
    repeated = analyse(evidence(lab, twice, step=0.1), {}, "family")
    assert repeated.difference.p_value() == pytest.approx(alone.difference.p_value(), rel=1e-6)


def test_one_block_borrows_the_spread_of_the_other_family(lab):
    parts = (lab.readings("trophy", 12, blocks=1), lab.readings("works", 11, blocks=8))
    analysis = analyse(evidence(lab, *parts), lab.settings.gauges, "family")
    # between blocks alone there are 8 - 1 degrees of freedom
    assert analysis.difference.degrees_of_freedom == pytest.approx(7, rel=0.05)
    assert analysis.difference.standard_error > math.sqrt(analysis.components["block"])


def test_one_block_of_each_family_is_refused_for_the_families_and_answered_for_the_blocks(lab):
    parts = (lab.readings("trophy", 12, blocks=1), lab.readings("works", 11, blocks=1))
    found = evidence(lab, *parts)
    with pytest.raises(Refusal, match=r"2 blocks in all.*at least 3") as refusal:
        analyse(found, lab.settings.gauges, "family")
    assert refusal.value.code == "too_few_blocks"
    assert analyse(found, lab.settings.gauges, "block").difference.estimate > 0


def test_blocks_as_measured_are_judged_by_the_error_of_repeats(lab):
    parts = (
        lab.readings("trophy", 12, blocks=2, repeats=3),
        lab.readings("works", 11, blocks=3, repeats=3),
    )
    analysis = analyse(evidence(lab, *parts), lab.settings.gauges, "block")
    table = pd.concat(parts).assign(value=lambda t: t["value"].round(2))
    means = table.groupby(["family", "block", "bore", "station"])["value"].mean()
    families = means.groupby(level=[0, 1]).mean().groupby(level=0).mean()
    wanted = families["trophy"] - families["works"]
    assert analysis.difference.estimate == pytest.approx(wanted, abs=1e-9)
    table["place"] = table["block"] + table["bore"] + table["station"]
    spread = math.sqrt(smf.ols("value ~ 0 + place", table).fit().scale)
    # balanced: 2 blocks of 12 readings against 3 of 12
    wanted_error = spread * math.sqrt(1 / 24 + 1 / 36)
    assert analysis.difference.standard_error == pytest.approx(wanted_error, rel=1e-6)
    assert analysis.difference.degrees_of_freedom == len(table) - len(means)
    assert "repeated readings" in analysis.difference.method


def test_too_few_repeats_fall_back_on_what_is_left_within_bores(lab):
    parts = (lab.readings("trophy", 12, blocks=2), lab.readings("works", 11, blocks=3))
    analysis = analyse(evidence(lab, *parts), lab.settings.gauges, "block")
    table = pd.concat(parts).assign(value=lambda t: t["value"].round(2))
    table["hole"] = table["block"] + table["bore"]
    fit = smf.ols("value ~ 0 + hole + station", table).fit()
    assert fit.df_resid == analysis.difference.degrees_of_freedom == 9
    error = math.sqrt(fit.scale * (1 / 8 + 1 / 12))
    assert analysis.difference.standard_error == pytest.approx(error, rel=1e-6)
    assert "within a bore or block" in analysis.difference.method


def test_single_readings_of_single_blocks_show_no_error(lab):
    table = lab.table([("trophy", "T1", 62.1), ("works", "W1", 60.2)], "family block value")
    with pytest.raises(Refusal, match=r"No reading was repeated") as refusal:
        analyse(evidence(lab, table), {}, "block")
    assert refusal.value.code == "no_repeats"


def test_repeats_that_agree_to_the_step_leave_the_error_of_the_step(lab):
    rows = [("trophy", "T1", 62.1)] * 3 + [("works", "W1", 60.2)] * 3
    table = lab.table(rows, "family block value")
    difference = analyse(evidence(lab, table, step=0.1), {}, "block").difference
    # JCGM 100, F.2.2.1: step / sqrt(12) for each of the two values, however often repeated
    assert difference.standard_error == pytest.approx(0.1 * math.sqrt(2 / 12))
    assert difference.degrees_of_freedom == math.inf


def test_two_single_blocks_by_two_gauges_carry_both_stated_uncertainties(lab):
    gauges = {"sc1": Gauge(unit="kg", uncertainty=0.3), "sc2": Gauge(unit="kg", uncertainty=0.4)}
    rows = [("trophy", "T1", "sc1", 62.0 + i / 10) for i in range(4)]
    rows += [("works", "W1", "sc2", 60.0 + i / 10) for i in range(4)]
    table = lab.table(rows, "family block gauge value").assign(quantity="mass", unit="kg")
    analysis = analyse(evidence(lab, table, quantity="mass", unit="kg", step=0.1), gauges, "block")
    assert analysis.shared.uncertainty == pytest.approx(0.5)
    assert analysis.gauge_confounded


def test_gauges_shared_by_the_blocks_are_corrected_for(lab):
    ours, others = lab.readings("trophy", 12, blocks=1), lab.readings("works", 11, blocks=1)
    parts = []
    for half, by_first in ((ours, 1), (others, 3)):
        for number in range(4):
            gauge, offset = ("ug1", 0.0) if number < by_first else ("ug2", 0.5)
            parts.append(half.assign(gauge=gauge, value=half["value"] + offset))
    analysis = analyse(evidence(lab, *parts), lab.settings.gauges, "block")
    plain = analyse(evidence(lab, ours, others), lab.settings.gauges, "block")
    assert analysis.difference.estimate == pytest.approx(plain.difference.estimate, abs=0.02)
    assert analysis.shared.cancels


def test_blocks_read_at_places_that_never_overlap_are_not_like_with_like(lab):
    rows = [
        *[("trophy", "T1", "front", v) for v in (12.0, 12.1)],
        *[("trophy", "T2", "front", v) for v in (12.2, 12.1)],
        *[("trophy", "T3", "rear", v) for v in (13.0, 13.1)],
        *[("works", "W1", "front", v) for v in (11.0, 11.1)],
        *[("works", "W2", "rear", v) for v in (11.9, 12.0)],
    ]
    found = evidence(lab, lab.table(rows, "family block station value"))
    with pytest.raises(Refusal, match=r"different places") as refusal:
        analyse(found, lab.settings.gauges, "block")
    assert refusal.value.code == "not_like_with_like"


def test_the_block_means_stand_on_a_common_footing(lab):
    full = lab.readings("works", 11, blocks=3, within=0.02, bore_spread=0, between=0)
    part = lab.readings("trophy", 12, blocks=2, within=0.02, bore_spread=0, between=0)
    lacking = part.drop(part[(part["block"] == "T01") & (part["station"] == "rear")].index)
    means = analyse(evidence(lab, full, lacking), lab.settings.gauges, "family").means_of("trophy")
    # the rear station lies 0.3 higher; without the correction T01 would stand 0.15 low
    assert means == pytest.approx([12.15, 12.15], abs=0.04)


@pytest.mark.parametrize("blocks", [(3, 5), (6, 9)])
def test_where_blocks_do_not_differ_scipys_t_test_of_block_means_decides(lab, blocks):
    """Read alike everywhere, families are compared by block means, however little blocks differ."""
    flat = {"between": 0.0, "bore_spread": 0.0, "within": 0.3, "repeats": 3}
    held = 0
    for seed in range(8):
        parts = [
            lab.readings(family, mean, blocks=many, seed=seed, **flat)
            for family, mean, many in zip(("trophy", "works"), (12, 11), blocks, strict=True)
        ]
        analysis = analyse(evidence(lab, *parts), lab.settings.gauges, "family")
        ours, others = (
            part["value"].round(2).groupby(part["block"]).mean().to_numpy() for part in parts
        )
        expected = stats.ttest_ind(ours, others, equal_var=not analysis.own)
        assert analysis.difference.p_value() == pytest.approx(expected.pvalue, rel=1e-5)
        assert analysis.difference.degrees_of_freedom == pytest.approx(expected.df, rel=1e-5)
        assert min(analysis.components.values()) >= 0
        for component in analysis.boundary:
            level, _, family = component.partition(" of ")
            families = [family] if family else list(analysis.spreads)
            assert {analysis.spreads[one][level] for one in families} == {0.0}
        held += bool(analysis.boundary)
    assert held > 3


def test_repeats_that_never_differ_still_give_an_answer(lab):
    """A coarse gauge shows no scatter at all: variances are then held at zero, and it is said."""
    parts = [
        lab.readings(family, mean, blocks=4, between=0.0, bore_spread=0.0, within=0.0, repeats=2)
        for family, mean in (("trophy", 12), ("works", 11))
    ]
    parts[0].loc[parts[0].index[0], "value"] += 0.01
    analysis = analyse(evidence(lab, *parts), lab.settings.gauges, "family")
    assert analysis.difference.estimate == pytest.approx(1.0, abs=0.01)
    assert analysis.difference.standard_error > 0
