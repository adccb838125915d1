"""The sentence of a verdict: effect, interval, outcome, p, counts, in careful words."""

import re

import pytest

from workbench.claims.sentences import OTHERWISE, REMEDIES, percent, remedy
from workbench.records.settings import Family, Gauge, Settings, built_in_quantities

FORBIDDEN = re.compile(r"\bprove|no difference\b|significan|\bp = 0\.000|\*", re.IGNORECASE)


@pytest.fixture
def cells(lab):
    return lab.cells(lab.readings("trophy", 13, blocks=4), lab.readings("works", 11, blocks=8))


@pytest.mark.parametrize(
    ("fields", "outcome", "words"),
    [
        ({"margin": 1.0}, "supported", "all of it lies above 1 mm"),
        ({"margin": 5.0}, "contradicted", "all of it lies below 5 mm"),
        ({"margin": 2.0}, "unresolved", "reaches across 2 mm"),
        ({"direction": "less"}, "contradicted", "all of it lies above 0 mm"),
        ({"direction": "less", "margin": -5.0}, "supported", "all of it lies below 5 mm"),
        ({"direction": "same", "margin": 9.0}, "supported", "within 9 mm either way"),
        ({"direction": "same", "margin": 0.5}, "contradicted", "all of it lies beyond 0.5 mm"),
        ({"direction": "same", "margin": 2.0}, "unresolved", "nor wholly beyond"),
        ({"direction": "different"}, "supported", "it leaves out 0"),
        ({"direction": "different", "margin": 9.0}, "contradicted", "within 9 mm either way"),
        ({"direction": "different", "margin": 1.0}, "supported", "all of it lies beyond 1 mm"),
        ({"direction": "different", "margin": 2.0}, "unresolved", "reaches across 2 mm"),
    ],
)
def test_each_outcome_says_how_the_interval_lies(lab, cells, fields, outcome, words):
    verdict = lab.verdict(cells, **fields)
    assert verdict.outcome == outcome
    assert words in verdict.sentence
    assert {"supported": "support", "contradicted": "contradict", "unresolved": "open"}[
        outcome
    ] in verdict.sentence
    assert not FORBIDDEN.search(verdict.sentence + verdict.next_step)


def test_the_effect_comes_before_p_and_the_counts_last(lab, cells):
    sentence = lab.verdict(cells).sentence
    places = [sentence.index(part) for part in ("mm above", "95% interval", "(p ", "It rests on")]
    assert places == sorted(places)
    assert "4 trophy blocks (8 bores, 16 readings)" in sentence
    assert "8 works blocks (16 bores, 32 readings)" in sentence
    assert "mean deck thickness" in sentence


def test_a_wide_interval_is_never_told_as_sameness(lab):
    cells = lab.cells(
        lab.readings("trophy", 11, blocks=2, between=2.0), lab.readings("works", 11, between=2.0)
    )
    verdict = lab.verdict(cells, direction="different")
    assert verdict.outcome == "unresolved"
    assert "leaves a difference either way open" in verdict.sentence
    assert "same" not in verdict.sentence


def test_labels_of_the_study_are_used(lab, cells):
    lab.settings = Settings(
        title="Invented",
        quantities=built_in_quantities(),
        families={"trophy": Family(label="Trophy <b>")},
        gauges={"ug1": Gauge(unit="mm", uncertainty=0.05)},
    )
    assert "of the Trophy <b> blocks is" in lab.verdict(cells).sentence


def test_sameness_shows_the_interval_that_decides_it(lab, cells):
    verdict = lab.verdict(cells, direction="same", margin=9.0)
    assert "90% interval" in verdict.sentence
    assert verdict.low < verdict.inner_low < verdict.inner_high < verdict.high


def test_a_claim_on_the_blocks_says_it_holds_for_these_alone(lab, cells):
    sentence = lab.verdict(cells, scope="block").sentence
    assert "trophy blocks measured" in sentence
    assert sentence.endswith("holds for these blocks alone.")


def test_the_next_step_of_a_decided_claim_names_the_error_that_would_undo_it(lab, cells):
    verdict = lab.verdict(cells, margin=1.0)
    room = re.search(r"off by ([\d.]+) mm", verdict.next_step)
    assert float(room[1]) == pytest.approx(verdict.low - 1.0, abs=0.01)
    assert "fair draw" in verdict.next_step
    assert "fair draw" not in lab.verdict(cells, margin=1.0, scope="block").next_step


def test_the_next_step_of_an_open_claim_counts_blocks(lab):
    cells = lab.cells(lab.readings("trophy", 11.3, blocks=3), lab.readings("works", 11, blocks=9))
    step = lab.verdict(cells, margin=0.1).next_step
    assert re.search(r"chance of 80% by \d+ more trophy blocks?, ", step)
    assert re.search(r"or \d+ more of each\.", step)


def test_the_next_step_asks_for_a_calibration_where_blocks_cannot_help(lab):
    lab.settings = Settings(
        title="Invented",
        quantities=built_in_quantities(),
        gauges={name: Gauge(unit="mm", uncertainty=1.0) for name in ("ug1", "ug2")},
    )
    cells = lab.cells(lab.readings("trophy", 12, gauge="ug2"), lab.readings("works", 11))
    verdict = lab.verdict(cells)
    assert verdict.outcome == "unresolved"
    assert "Calibrate the gauges" in verdict.next_step
    assert verdict.gauge_uncertainty == pytest.approx(2**0.5)


def test_the_next_step_on_the_margin_says_that_blocks_will_not_help(lab):
    cells = lab.cells(lab.readings("trophy", 12), lab.readings("works", 11))
    margin = lab.verdict(cells).estimate
    assert "too near the margin" in lab.verdict(cells, margin=margin).next_step


def test_the_next_step_of_an_open_claim_on_blocks_counts_repeats(lab):
    values = (11.0, 11.2, 11.1, 11.3, 11.0, 11.2)
    rows = [("trophy", "T1", value + 0.04) for value in values]
    rows += [("works", "W1", value) for value in values]
    cells = lab.cells(lab.table(rows, "family block value"))
    verdict = lab.verdict(cells, scope="block")
    assert re.match(r"Taking the readings \d+ times in all would settle", verdict.next_step)
    nearly = lab.verdict(cells, scope="block", margin=verdict.estimate + 1e-4)
    assert "hardly settle" in nearly.next_step


def test_every_refusal_has_a_remedy():
    assert remedy("no_shared_station") == REMEDIES["no_shared_station"]
    assert remedy("anything else") == OTHERWISE


def test_a_confidence_is_told_in_per_cent():
    assert percent(2 * 0.95 - 1) == "90%"
    assert percent(0.999) == "99.9%"
