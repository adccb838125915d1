"""Claims on the thinnest place: known truth, the shared grid, hunted places, both scopes."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from workbench.claims.grid import NEARLY_ALL

COUNTED = "least readings of whole blocks, Welch"
HUNTED = "least readings, places hunted for counted in"
FITTED = "extreme values fitted to the least readings"
STATIONS = ("front", "thrust", "rear", "counter")


def walls(lab, family, mean, **given):
    return lab.readings(family, mean, stations=STATIONS, quantity="wall_thickness", **given)


def asked(lab, cells, **fields):
    return lab.verdict(cells, quantity="wall_thickness", figure="thinnest", **fields)


def check(verdict, name):
    return next(check for check in verdict.checks if check.name == name)


def test_equal_spreads_make_it_the_difference_of_means(lab):
    """With one spread and one pattern both thinnest places lie equally far below their means."""
    parts = (walls(lab, "trophy", 5.0, blocks=30), walls(lab, "works", 4.6, blocks=30))
    cells = lab.cells(*parts)
    verdict = asked(lab, cells)
    mean = lab.verdict(cells, quantity="wall_thickness")
    assert verdict.estimate == pytest.approx(mean.estimate, abs=0.03)
    assert verdict.outcome == "supported"
    assert verdict.low < 0.4 < verdict.high
    assert "the thinnest wall thickness of a trophy block" in verdict.sentence
    assert "4 places in each of 2 bores" in verdict.sentence


def test_a_family_read_once_is_not_thought_thinner_than_one_read_often(lab):
    """Equal iron: what repeating takes off the error of reading is counted family by family."""
    often = walls(lab, "trophy", 4.6, blocks=60, within=0.0)
    once = walls(lab, "works", 4.6, blocks=60, within=0.0)
    generator = np.random.default_rng(7)
    own = 0.1 * generator.standard_normal((2, 480))
    often["value"] += own[0]
    once["value"] += own[1]
    often = pd.concat([often] * 8, ignore_index=True)
    once = pd.concat([once, once[once["block"] <= "W05"]], ignore_index=True)
    for part in (often, once):
        part["value"] += 0.2 * generator.standard_normal(len(part))
    verdict = asked(lab, lab.cells(often, once), direction="different")
    counted = check(verdict, COUNTED)
    apart = (
        verdict.estimate - lab.verdict(lab.cells(often, once), quantity="wall_thickness").estimate
    )
    assert abs(apart) < 0.04  # the iron of the families is alike but for their means
    assert counted.estimate > verdict.estimate + 0.05  # as counted, the one read once is thinner


def test_the_expected_thinnest_is_that_of_simulated_blocks(lab):
    """Uneven families: means differ by 0, spreads of places by 3; the truth is simulated."""
    ours = walls(lab, "trophy", 4.6, blocks=60, within=0.3, bore_spread=0.1)
    others = walls(lab, "works", 4.6, blocks=60, within=0.1, bore_spread=0.1)
    verdict = asked(lab, lab.cells(ours, others), direction="less")
    generator = np.random.default_rng(5)
    truth = []
    for within in (0.3, 0.1):
        bores = 0.1 * generator.standard_normal((40_000, 2, 1))
        places = 0.3 * np.arange(4) + within * generator.standard_normal((40_000, 2, 4))
        truth.append(float((bores + places).min(axis=(1, 2)).mean()))
    assert verdict.low < truth[0] - truth[1] < verdict.high
    assert verdict.outcome == "supported"
    assert "own spreads" in verdict.method


def test_counted_beside_is_welch_on_block_minima(lab):
    parts = (walls(lab, "trophy", 5.0, blocks=7), walls(lab, "works", 4.9, blocks=9))
    verdict = asked(lab, lab.cells(*parts))
    minima = [part.assign(v=part["value"].round(2)).groupby("block")["v"].min() for part in parts]
    known = stats.ttest_ind(*minima, equal_var=False)
    found = check(verdict, COUNTED)
    assert found.estimate == pytest.approx(minima[0].mean() - minima[1].mean())
    # one gauge, one calibration: nothing shared is left, and Welch stands as it is
    assert verdict.gauge_uncertainty == pytest.approx(0.0, abs=1e-9)
    assert found.p_value == pytest.approx(known.pvalue, rel=1e-9)
    assert check(verdict, FITTED).note.startswith("not made")


def test_extreme_values_stand_beside_where_there_are_blocks_enough(lab):
    parts = (walls(lab, "trophy", 5.0, blocks=25), walls(lab, "works", 4.6, blocks=25))
    found = check(asked(lab, lab.cells(*parts)), FITTED)
    fitted = [
        stats.genextreme.fit(-part.groupby("block")["value"].min().to_numpy()) for part in parts
    ]
    medians = [-stats.genextreme.median(*fit) for fit in fitted]
    assert found.estimate == pytest.approx(medians[0] - medians[1], abs=0.02)
    assert found.outcome == "supported"


def test_more_readings_do_not_make_a_family_thinner(lab):
    """The reference was read at twice the places and three times as often: only shared ones count.

    Rule 6: its raw least readings lie lower, its walls do not.
    """
    ours = walls(lab, "trophy", 4.6, blocks=20)
    others = walls(lab, "works", 4.6, blocks=20)
    more = lab.readings(
        "works", 3.4, blocks=20, stations=("a", "b", "c", "d"), quantity="wall_thickness"
    )
    plain = asked(lab, lab.cells(ours, others), direction="different")
    with_more = asked(lab, lab.cells(ours, others, more), direction="different")
    assert with_more.estimate == plain.estimate
    assert with_more.outcome == plain.outcome
    assert "unmatched_stations" in {threat.code for threat in with_more.warnings}


def test_swapped_families_turn_the_sign(lab):
    parts = (walls(lab, "trophy", 4.9, blocks=8), walls(lab, "works", 4.6, blocks=12))
    cells = lab.cells(*parts)
    plain = asked(lab, cells, direction="different")
    turned = asked(lab, cells, direction="different", candidate="works", reference="trophy")
    assert turned.estimate == pytest.approx(-plain.estimate)
    assert (turned.low, turned.high) == pytest.approx((-plain.high, -plain.low), abs=0.04)


@pytest.mark.parametrize("direction", ["greater", "less", "same", "different"])
@pytest.mark.parametrize("margin", [0.0, 0.1, 0.29, 0.45, 0.8])
@pytest.mark.parametrize("scope", ["family", "block"])
def test_every_direction_agrees_with_its_interval(lab, direction, margin, scope):
    if direction == "same" and margin == 0:
        margin = 0.05
    parts = (
        walls(lab, "trophy", 4.9, blocks=8, repeats=2),
        walls(lab, "works", 4.6, blocks=12, repeats=2),
    )
    verdict = asked(lab, lab.cells(*parts), direction=direction, margin=margin, scope=scope)
    assert (verdict.outcome != "unresolved") == (verdict.deciding_p < 0.05)
    assert verdict.low < verdict.estimate < verdict.high


def test_hunted_readings_can_only_lower(lab):
    parts = [walls(lab, name, 4.6 + 0.3 * (name == "trophy"), blocks=6) for name in
             ("trophy", "works")]  # fmt: skip
    high = parts[0].drop_duplicates("block").assign(value=9.0, sampling="search", station="")
    low = high.assign(value=3.0)
    plain, nothing, lowered = (
        asked(lab, lab.cells(*parts, *more)) for more in ((), (high,), (low,))
    )
    for verdict in (nothing, lowered):
        assert (verdict.estimate, verdict.low) == (plain.estimate, plain.low)
    assert HUNTED not in {check.name for check in nothing.checks}  # they lower no block
    assert check(lowered, HUNTED).estimate < check(plain, COUNTED).estimate - 0.5
    assert not check(lowered, HUNTED).binding
    said = {threat.code for threat in lowered.warnings}
    assert "searched_excluded" in said
    assert ("searched_lower" in said) == (check(lowered, HUNTED).outcome != lowered.outcome)


def test_one_block_borrows_and_says_so(lab):
    parts = (walls(lab, "trophy", 6.0, blocks=1), walls(lab, "works", 4.6, blocks=8))
    verdict = asked(lab, lab.cells(*parts))
    codes = [threat.code for threat in verdict.warnings]
    assert {"one_block", "common_spread"} <= set(codes)
    assert verdict.outcome == "supported"
    assert check(verdict, COUNTED).note.startswith("not made")


@pytest.mark.parametrize(
    ("between", "words"),
    [
        (0.6, "told by their own spread, which 3 blocks tell poorly"),
        (0.05, "taken to be as in works blocks"),
    ],
)
def test_few_blocks_say_whose_spread_was_taken(lab, between, words):
    """Own spreads where the few vary more, else those of both: and the warning says which."""
    few = walls(lab, "trophy", 5.0, blocks=3, between=between)
    verdict = asked(lab, lab.cells(few, walls(lab, "works", 4.6, blocks=20, between=0.1)))
    (threat,) = [one for one in verdict.warnings if one.code == "few_blocks"]
    assert words in threat.text
    common = "common_spread" in {one.code for one in verdict.warnings}
    assert common == ("own" not in words)


def test_the_blocks_measured_are_judged_by_the_error_of_reading(lab):
    parts = [walls(lab, name, mean, blocks=4, repeats=6, within=0.03) for name, mean in
             (("trophy", 4.65), ("works", 4.6))]  # fmt: skip
    family, block = (asked(lab, lab.cells(*parts), scope=scope) for scope in ("family", "block"))
    assert block.high - block.low < 0.4 * (family.high - family.low)
    minima = [p.groupby(["block", "bore", "station"])["value"].mean().groupby("block").min().mean()
              for p in parts]  # fmt: skip
    assert block.estimate == pytest.approx(minima[0] - minima[1], abs=0.005)


def test_a_shared_gauge_error_enters_as_a_shift(lab):
    """Families by gauges of 0.05 mm each: at least 0.0707 mm stays on the difference."""
    parts = (
        walls(lab, "trophy", 4.9, blocks=30, gauge="ug1"),
        walls(lab, "works", 4.6, blocks=30, gauge="ug2"),
    )
    for scope in ("family", "block"):
        verdict = asked(lab, lab.cells(*parts), scope=scope)
        assert verdict.gauge_uncertainty == pytest.approx(math.hypot(0.05, 0.05), rel=1e-6)
        assert verdict.high - verdict.low > 2 * 1.96 * 0.0707 * 0.93
        assert "single_gauge_each" in {threat.code for threat in verdict.warnings}


def test_blocks_read_at_few_places_have_no_say_in_the_least(lab):
    whole = (walls(lab, "trophy", 4.9, blocks=6), walls(lab, "works", 4.6, blocks=6))
    sparse = whole[0].drop(whole[0][(whole[0]["block"] == "T01") & (whole[0]["bore"] == "1")].index)
    verdict = asked(lab, lab.cells(sparse, whole[1]))
    (threat,) = (t for t in verdict.warnings if t.code == "incomplete_grid")
    assert "1 trophy block, read at fewer than nine tenths" in threat.text
    assert NEARLY_ALL == 0.9
    assert check(verdict, COUNTED).note.startswith("5 and 6 blocks")


@pytest.mark.parametrize(
    ("blocks", "code"), [((1, 1), "too_few_blocks"), ((1, 2), "too_few_blocks")]
)
def test_too_few_blocks_are_unresolved_for_a_reason_of_evidence(lab, blocks, code):
    parts = [walls(lab, name, 4.6, blocks=n) for name, n in zip(("trophy", "works"), blocks,
                                                             strict=True)]  # fmt: skip
    verdict = asked(lab, lab.cells(*parts))
    assert (verdict.outcome, verdict.warnings[0].code) == ("unresolved", code)
    assert pd.isna(verdict.estimate)


def test_blocks_read_nowhere_alike_are_unresolved(lab):
    parts = [walls(lab, name, 4.6, blocks=3) for name in ("trophy", "works")]
    parts[0] = parts[0][(parts[0]["station"] == "front") ^ (parts[0]["bore"] == "1")]
    parts[0]["bore"] = ["1"] * len(parts[0])
    verdict = asked(lab, lab.cells(*parts))
    assert verdict.warnings[0].code in {"incomplete_grid", "too_few_blocks"}
    assert verdict.outcome == "unresolved"


def test_the_same_seed_gives_the_same_verdict(lab):
    parts = (walls(lab, "trophy", 4.9, blocks=6), walls(lab, "works", 4.6, blocks=6))
    assert asked(lab, lab.cells(*parts)) == asked(lab, lab.cells(*parts))
