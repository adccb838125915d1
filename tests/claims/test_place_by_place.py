"""Thicker here, not there: the difference at each place, and one everywhere."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import ttest_ind

from workbench.claims.place_by_place import place_by_place, places_of
from workbench.errors import Refusal


def patterned(lab, seed: int, *, at_rear: float = 0.0, own: float = 0.15):
    """Give blocks read at two stations, each with a pattern of its own; one reading a place."""
    generator = np.random.default_rng(seed)
    rows = []
    for family, many, level in (("trophy", 6, 0.4), ("works", 8, 0.0)):
        for block in range(many):
            mean = 10 + level + generator.normal(0, 0.2)
            for station, more in (("front", 0.0), ("rear", at_rear if level else 0.0)):
                value = round(mean + more + generator.normal(0, own), 2)
                rows.append((family, f"{family[0]}{block}", "1", station, value))
    return lab.table(rows, "family block bore station value")


def by_block(table, family: str):
    mine = table[table["family"] == family]
    wide = mine.pivot_table(index="block", columns="station", values="value")
    return (wide["rear"] - wide["front"]).to_numpy(), wide["rear"].to_numpy()


@pytest.mark.parametrize("at_rear", [0.0, 0.4])
def test_two_stations_are_students_test_of_what_blocks_gain_from_one_to_the_other(
    lab, at_rear: float
) -> None:
    """With one reading a place scipy's pooled t on rear less front of each block is the answer."""
    for seed in range(4):
        table = patterned(lab, seed, at_rear=at_rear)
        found = place_by_place(lab.analysis(lab.cells(table), lab.claim()), "station", 0.95)
        gains = [by_block(table, family)[0] for family in ("trophy", "works")]
        assert found.p_value == pytest.approx(ttest_ind(*gains).pvalue, rel=1e-4)
        rears = [by_block(table, family)[1].mean() for family in ("trophy", "works")]
        assert found.differences["rear"].estimate == pytest.approx(rears[0] - rears[1])
        assert (found.most == "rear") == (gains[0].mean() > gains[1].mean())
        assert {found.most, found.least} == {"front", "rear"}


def test_intervals_hold_at_both_places_together_and_count_the_shared_error(lab) -> None:
    """Sidak: each of two at the square root of 0.95; the gauges' errors differ by family here."""
    table = patterned(lab, 3)
    table["gauge"] = np.where(table["family"] == "trophy", "ug1", "ug2")
    analysis = lab.analysis(lab.cells(table), lab.claim())
    assert analysis.shared.uncertainty == pytest.approx(0.05 * 2**0.5)
    found = place_by_place(analysis, "station", 0.95)
    for place, one in found.differences.items():
        assert one.standard_error > analysis.shared.uncertainty
        alone = one.interval(0.95**0.5)
        assert found.intervals[place].low == pytest.approx(alone.low)
        assert found.intervals[place].high == pytest.approx(alone.high)


def test_swapped_families_and_a_changed_unit(lab) -> None:
    cells = lab.cells(patterned(lab, 5, at_rear=0.3))
    swapped = lab.claim(candidate="works", reference="trophy")
    found, other, inch = (
        place_by_place(lab.analysis(cells, claim), "station", 0.95)
        for claim in (lab.claim(), swapped, lab.claim(unit="in"))
    )
    assert other.most == found.least
    assert other.p_value == pytest.approx(found.p_value, rel=1e-6)
    assert inch.p_value == pytest.approx(found.p_value, rel=1e-5)
    for place, one in found.differences.items():
        assert other.differences[place].estimate == pytest.approx(-one.estimate)
        assert inch.differences[place].estimate * 25.4 == pytest.approx(one.estimate)


def test_one_station_alone_is_refused(lab) -> None:
    table = patterned(lab, 1)
    analysis = lab.analysis(lab.cells(table[table["station"] == "rear"]), lab.claim())
    assert places_of(analysis) == ()
    with pytest.raises(Refusal, match="name one station alone"):
        place_by_place(analysis, "station", 0.95)
