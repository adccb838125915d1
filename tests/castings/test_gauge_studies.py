"""Gauge studies and agreements in records: published ones laid out as a study, and refusals."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from functools import cache
from itertools import combinations
from statistics import fmean
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workbench.castings.gauge_agreement import RecordedAgreement, recorded_agreements
from workbench.castings.gauge_studies import MOST_PARTS, RecordedStudy, recorded_studies
from workbench.castings.repeated_places import repeated_readings
from workbench.study import Study, open_study

SETTINGS = 'title = "x"\n[quantities.deviation]\nunit = "units"\n'
CLAIM = (
    '[[claim]]\nid = "a"\nstatement = "s"\nquantity = "deviation"\ncandidate = "f"\n'
    'reference = "g"\ndirection = "greater"\nunit = "units"\n'
)
Row = tuple[str, str, str, float]  # part, operator, gauge, value
Maker = Callable[[Iterable[Row]], Study]


@pytest.fixture(scope="module")
def study(tmp_path_factory: pytest.TempPathFactory) -> Maker:
    """Give a maker of studies; of the same rows it is the same one, which nothing changes."""

    @cache
    def made(rows: tuple[Row, ...]) -> Study:
        folder = tmp_path_factory.mktemp("study")
        lines = ["block,family,quantity,value,unit,operator,gauge,station"]
        for part, operator, gauge, value in rows:
            block, _, station = part.partition("/")
            lines.append(f"{block},f,deviation,{value},units,{operator},{gauge},{station}")
        (folder / "readings.csv").write_text("\n".join(lines) + "\n")
        (folder / "study.toml").write_text(SETTINGS)
        (folder / "claims.toml").write_text(CLAIM)
        return open_study(folder)

    return lambda rows: made(tuple(rows))


def repeated(study: Study) -> dict[str, pd.DataFrame]:
    return repeated_readings(study.records, study.settings, study.calibrations)


def studies(study: Study) -> dict[str, RecordedStudy]:
    found = recorded_studies(repeated(study), study.settings)
    return {each.factor: each for each in found}


def agreements(study: Study) -> list[RecordedAgreement]:
    return list(recorded_agreements(repeated(study), study.settings))


# Automotive Industry Action Group, Measurement Systems Analysis reference manual, chapter III
# section B (data read in public tests, printed results from memory): appraiser, trial, part.
APPRAISERS = {
    "A": (
        [0.29, -0.56, 1.34, 0.47, -0.80, 0.02, 0.59, -0.31, 2.26, -1.36],
        [0.41, -0.68, 1.17, 0.50, -0.92, -0.11, 0.75, -0.20, 1.99, -1.25],
        [0.64, -0.58, 1.27, 0.64, -0.84, -0.21, 0.66, -0.17, 2.01, -1.31],
    ),
    "B": (
        [0.08, -0.47, 1.19, 0.01, -0.56, -0.20, 0.47, -0.63, 1.80, -1.68],
        [0.25, -1.22, 0.94, 1.03, -1.20, 0.22, 0.55, 0.08, 2.12, -1.62],
        [0.07, -0.68, 1.34, 0.20, -1.28, 0.06, 0.83, -0.34, 2.19, -1.50],
    ),
    "C": (
        [0.04, -1.38, 0.88, 0.14, -1.46, -0.29, 0.02, -0.46, 1.77, -1.49],
        [-0.11, -1.13, 1.09, 0.20, -1.07, -0.67, 0.01, -0.56, 1.45, -1.77],
        [-0.15, -0.96, 0.67, 0.11, -1.45, -0.49, 0.21, -0.49, 1.87, -2.16],
    ),
}
PRINTED = {"repeatability": 0.199933, "operator": 0.226838, "gauge": 0.302373, "part": 1.042327}


def manual() -> list[Row]:
    return [
        (f"P{part}", operator, "", value)
        for operator, trials in APPRAISERS.items()
        for trial in trials
        for part, value in enumerate(trial)
    ]


def test_the_study_of_the_manual(study: Maker) -> None:
    found = studies(study(manual()))["operator"]
    assert found.study is not None
    assert found.design == "crossed"
    assert (found.labels, found.places, found.together) == (("A", "B", "C"), 10, False)
    for figure, sd in PRINTED.items():
        assert found.study.sd(figure) == pytest.approx(sd, abs=3e-6)
    assert math.floor(found.study.categories()) == 4


def test_over_gauges_nobody_named_there_is_no_study_beside_that_over_operators(
    study: Maker,
) -> None:
    assert set(studies(study(manual()))) == {"operator"}


def test_where_nobody_is_named_there_is_repeatability_alone(study: Maker) -> None:
    """One appraiser of the manual: pooled variance of three trials of each part."""
    rows = [(part, "", "", value) for part, operator, _, value in manual() if operator == "A"]
    found = studies(study(rows))["operator"]
    assert found.study is not None
    assert set(found.study.components) == {"part", "repeatability"}
    assert found.labels == ("",)
    pooled = np.var(APPRAISERS["A"], axis=0, ddof=1).mean()
    assert found.study.sd("repeatability") == pytest.approx(pooled**0.5)


def test_operators_are_compared_with_one_gauge_and_gauges_by_one_operator(study: Maker) -> None:
    """A second gauge that reads 0.5 higher, in the hands of A alone, must not look like a habit."""
    rows = [(part, operator, "g1", value) for part, operator, _, value in manual()]
    rows += [(part, "A", "g2", value + 0.5) for part, operator, _, value in manual()
             if operator == "A"]  # fmt: skip
    found = studies(study(rows))
    over = found["operator"]
    assert over.study is not None
    assert (over.held, over.study.readings, over.together) == ("g1", 90, False)
    for figure, sd in PRINTED.items():
        assert over.study.sd(figure) == pytest.approx(sd, abs=3e-6)
    assert found["gauge"].held == "A"
    pairs = {(of.first, of.second): of for of in agreements(study(rows))}
    gauges, operators = pairs["g1", "g2"], pairs["A", "B"]
    assert gauges.found is not None
    assert operators.found is not None
    assert gauges.found.bias.estimate == pytest.approx(-0.5)
    means = {name: np.mean(trials) for name, trials in APPRAISERS.items()}
    assert operators.found.bias.estimate == pytest.approx(means["A"] - means["B"])
    assert not gauges.together
    assert not operators.together


def test_a_lost_reading_leaves_a_study_that_is_not_balanced(study: Maker) -> None:
    """One of 90 readings taken away: 27 places of the manual stay balanced, with 81 readings."""
    found = studies(study(manual()[:-1]))["operator"]
    assert found.study is not None
    assert found.study.readings in (81, 89)
    assert found.study.sd("gauge") == pytest.approx(PRINTED["gauge"], rel=0.1)


# Bland & Altman (1986), Lancet i:307-310: first readings by either meter (data from memory).
LARGE = [494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427]
MINI = [512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451]
LARGE_AGAIN = [490, 397, 512, 401, 470, 611, 415, 431, 638, 429, 420, 633, 275, 492, 165, 372, 421]
MINI_AGAIN = [525, 415, 508, 444, 500, 625, 460, 390, 642, 432, 420, 605, 227, 467, 268, 370, 443]


def test_the_two_meters_of_bland_and_altman(study: Maker) -> None:
    rows: list[Row] = [(f"P{at}", "", "large", value) for at, value in enumerate(LARGE)]
    rows += [(f"P{at}", "", "mini", value) for at, value in enumerate(MINI)]
    (found,) = agreements(study(rows))
    assert (found.factor, found.first, found.second) == ("gauge", "large", "mini")
    assert found.found is not None
    assert found.found.groups is None
    assert found.found.bias.estimate == pytest.approx(-2.1, abs=0.05)
    assert found.found.sd == pytest.approx(38.8, abs=0.05)
    limits = found.found.limits(factor=2)
    assert limits.low.estimate == pytest.approx(-79.7, abs=0.11)
    assert limits.high.estimate == pytest.approx(75.5, abs=0.11)
    swapped = [(p, o, {"large": "mini", "mini": "large"}[g], v) for p, o, g, v in rows]
    (other,) = agreements(study(swapped))
    assert other.found is not None
    assert other.found.bias.estimate == pytest.approx(-found.found.bias.estimate)


def test_limits_hold_for_single_readings_where_places_were_read_twice(study: Maker) -> None:
    """Bland & Altman (1986), from memory: 37.7 l/min for single readings, 33.2 for means of two."""
    rows: list[Row] = []
    for gauge, twice in (("large", (LARGE, LARGE_AGAIN)), ("mini", (MINI, MINI_AGAIN))):
        for values in twice:
            rows += [(f"P{at}", "", gauge, value) for at, value in enumerate(values)]
    (found,) = agreements(study(rows))
    assert found.found is not None
    assert found.found.sd == pytest.approx(37.7, abs=0.05)
    assert found.found.bias.standard_error == pytest.approx(33.2 / 17**0.5, abs=0.05)


def test_places_of_one_block_are_taken_together(study: Maker) -> None:
    rows: list[Row] = []
    for at, (large, mini) in enumerate(zip(LARGE, MINI, strict=True)):
        place = f"B{at // 4}/{at % 4}"
        rows += [(place, "", "large", large), (place, "", "mini", mini)]
    (found,) = agreements(study(rows))
    assert found.found is not None
    assert (found.found.pairs, found.found.groups) == (17, 5)


def test_gauges_that_change_with_their_operators_are_told_of(study: Maker) -> None:
    gauge = {"A": "g1", "B": "g2", "C": "g3"}
    rows = [(part, operator, gauge[operator], value) for part, operator, _, value in manual()]
    found = studies(study(rows))
    assert found["operator"].together
    assert found["gauge"].together


def test_parts_of_ones_own_make_a_nested_study(study: Maker) -> None:
    rows = [(f"{operator}{part}", operator, "", value) for part, operator, _, value in manual()]
    found = studies(study(rows))["operator"]
    assert found.study is not None
    assert found.design == "nested"
    assert (found.study.parts, found.study.operators) == (30, 3)
    assert agreements(study(rows)) == []


OFTEN_READ: list[Row] = [("P3", "B", "", value) for value in (2.0, 2.5, 2.6)]


@pytest.mark.parametrize(
    ("rows", "why"),
    [
        ([("P1", "A", "", 1.0), ("P2", "A", "", 2.0)], "no place was read more than once"),
        (
            [(f"P{at}", operator, "", float(at)) for at in range(4) for operator in "AB"],
            "No place that several operators read was read twice by one of them",
        ),
        ([("P1", "A", "", 1.0), ("P1", "A", "", 2.0), ("P1", "A", "", 3.0)], "There is 1 part"),
        (
            [("P1", "A", "", 1.0), ("P1", "A", "", 2.0), ("P2", "B", "", 1.0), *OFTEN_READ],
            "their own places were not read equally often",
        ),
    ],
)
def test_what_cannot_be_made_says_why(study: Maker, rows: list[Row], why: str) -> None:
    found = studies(study(rows))["operator"]
    assert found.study is None
    assert why in found.why


def test_many_places_are_thinned_by_how_often_they_were_read(study: Maker) -> None:
    rows = [
        (f"B{at:03d}", operator, "", at / 100 + add)
        for at in range(90)
        for operator, adds in (("A", (0.0, 0.1)), ("B", (0.2,)))
        for add in adds[: 2 if at % 3 == 0 else 1]
    ]
    found = studies(study(rows))["operator"]
    assert found.study is not None
    assert found.study.parts == MOST_PARTS
    assert found.study.readings == 3 * MOST_PARTS
    assert found.places == 90


LABEL = st.sampled_from(["", "u", "v", "w"])
READING = st.tuples(st.sampled_from("abc"), LABEL, LABEL, st.integers(0, 9))


@settings(max_examples=60, deadline=None)
@given(rows=st.lists(READING, min_size=2, max_size=40))
def test_pairs_are_the_means_of_means_of_lists_kept_by_hand(rows: list[tuple]) -> None:
    """Of places read by both under the same other label; without any, of all that both read."""
    table = pd.DataFrame(rows, columns=["block", "operator", "gauge", "value"])
    table["value"] = table["value"].astype(float)
    table["part"] = table.groupby("block").ngroup()
    known = SimpleNamespace(quantities={"x": SimpleNamespace(unit="mm")})
    found = {
        (of.factor, of.first, of.second): of for of in recorded_agreements({"x": table}, known)
    }
    for factor, label, other in (("operator", 1, 2), ("gauge", 2, 1)):
        named = [row for row in rows if row[label]]
        for first, second in combinations(sorted({row[label] for row in named}), 2):
            for together in (False, True):
                read: dict[tuple, dict[str, list[float]]] = {}  # of a place, by the label
                for row in named:
                    place = (row[0], "" if together else row[other])
                    read.setdefault(place, {}).setdefault(row[label], []).append(row[3])
                both: dict[str, list[list[float]]] = {}  # of a part, a row a place
                for (part, _), by_label in sorted(read.items()):
                    if {first, second} <= by_label.keys():
                        mine, theirs = by_label[first], by_label[second]
                        both.setdefault(part, []).append(
                            [fmean(mine), fmean(theirs), 1 / len(mine), 1 / len(theirs)]
                        )
                if both:
                    break
            pair = found.pop((factor, first, second), None)
            if not both:
                assert pair is None
                continue
            assert pair is not None
            assert pair.together == together
            columns = ["first", "second", "first_share", "second_share"]
            assert pair.pairs[columns].to_numpy() == pytest.approx(
                np.array(
                    [
                        np.mean(places, axis=0) / [1, 1, len(places), len(places)]
                        for places in both.values()
                    ]
                )
            )
    assert not found
