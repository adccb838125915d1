"""Thicker here, not there: planted patterns, agreement of p and interval, refusals."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from workbench.errors import Refusal
from workbench.inference.nested.interaction import nested_interaction

PLACES = {"block": ["block"], "bore": ["block", "bore"], "place": ["block", "station"]}


def planted(seed, *, here=0.0, everywhere=0.0, own=0.0, many=6):
    """Two families at three stations; `own` is the spread of each block's stations."""
    rng = np.random.default_rng(seed)
    rows = []
    for family in ("trophy", "works"):
        for block in range(many):
            level = rng.normal(0, 0.2)
            stations = rng.normal(0, own, 3)
            for bore in range(3):
                wall = 6 + level + rng.normal(0, 0.1)
                for place, station in enumerate(("front", "rear", "thrust")):
                    shift = (family == "trophy") * (everywhere + here * (station == "thrust"))
                    value = wall + 0.3 * place + shift + stations[place] + rng.normal(0, 0.1)
                    rows.append((family, f"{family}{block}", str(bore), station, value))
    return pd.DataFrame(rows, columns=["family", "block", "bore", "station", "wall"])


def asked(table, **given):
    arguments = {
        "response": "wall", "factor": "family", "candidate": "trophy", "reference": "works",
        "by": "station", "nesting": ["block", "bore"],
    }  # fmt: skip
    if "random" in given:
        arguments.pop("nesting")
    return nested_interaction(table, **{**arguments, **given})


def test_thicker_here_not_there():
    found = asked(planted(1, here=1.0))
    assert found.test.p_value < 1e-6
    assert (found.test.numerator, found.left_out) == (2, ())
    assert found.sides() == {"front": "open", "rear": "open", "thrust": "above"}
    assert found.apart("thrust", "front").interval().low > 0.5
    assert found.apart("rear", "front").interval(0.99).contains(0)


def test_thicker_everywhere_is_no_pattern():
    found = asked(planted(2, everywhere=1.5))
    assert found.test.p_value > 0.05
    assert set(found.sides().values()) == {"above"}


def test_balanced_differences_are_those_of_the_means():
    table = planted(3, here=0.4)
    means = table.groupby(["family", "station"])["wall"].mean()
    found = asked(table)
    for place, difference in found.differences.items():
        assert difference.estimate == pytest.approx(means["trophy", place] - means["works", place])
    apart = found.apart("thrust", "rear")
    assert apart.estimate == pytest.approx(
        found.differences["thrust"].estimate - found.differences["rear"].estimate
    )


@pytest.mark.parametrize("margin", [0.0, 0.3, 0.8])
@pytest.mark.parametrize("confidence", [0.8, 0.95, 0.99])
def test_intervals_agree_with_p(margin, confidence):
    for seed in range(4):
        found = asked(planted(seed, here=0.4, everywhere=0.2))
        ends, p = found.intervals(confidence), found.p_values(margin)
        for place in found.differences:
            assert (not ends[place].contains(margin)) == (p[place] < 1 - confidence)
            assert p[place] >= found.differences[place].p_value(margin)


def test_swap_and_unit():
    table = planted(5, here=0.4)
    plain = asked(table)
    swapped = asked(table, candidate="works", reference="trophy")
    inches = asked(table.assign(wall=table["wall"] / 25.4))
    for other in (swapped, inches):
        assert other.test.statistic == pytest.approx(plain.test.statistic, rel=1e-6)
        assert other.test.p_value == pytest.approx(plain.test.p_value, rel=1e-6)
    for place, difference in plain.differences.items():
        assert swapped.differences[place].estimate == pytest.approx(-difference.estimate)
        assert inches.differences[place].estimate == pytest.approx(difference.estimate / 25.4)
        assert swapped.p_values()[place] == pytest.approx(plain.p_values()[place], rel=1e-6)


def test_places_read_in_one_family_alone_are_left_out():
    table = planted(6, here=1.0)
    table.loc[(table["family"] == "works") & (table["station"] == "rear"), "station"] = "counter"
    other = table.assign(family=table["family"].replace({"works": "zinc"}))
    found = asked(pd.concat([table, other.assign(block=other["block"] + "z")]))
    assert found.left_out == ("counter", "rear")
    assert list(found.differences) == ["front", "thrust"]


def test_blocks_with_patterns_of_their_own_need_places_of_their_own():
    """False alarms of the F test at a nominal 5 in 100, no pattern planted."""
    plain = own = 0
    for seed in range(60):
        table = planted(seed, own=0.2, many=5)
        plain += asked(table).test.p_value < 0.05
        own += asked(table, random=PLACES).test.p_value < 0.05
    assert plain / 60 > 0.3
    assert own / 60 < 0.15


def test_refusals():
    table = planted(7)
    with pytest.raises(Refusal, match="no column 'angle'"):
        asked(table, by="angle")
    with pytest.raises(Refusal, match="no level 'gold'"):
        asked(table, candidate="gold")
    with pytest.raises(Refusal, match="cannot be compared with itself"):
        asked(table, candidate="works")
    with pytest.raises(Refusal, match="1 level of 'station' was read in both families"):
        asked(table[(table["station"] == "rear") | (table["family"] == "works")])
    found = asked(table)
    with pytest.raises(Refusal, match="No difference was found at 'deck'"):
        found.apart("deck", "front")
    with pytest.raises(Refusal, match="cannot be compared with itself"):
        found.apart("front", "front")
