"""Which readings enter a comparison, and the count of those that do not."""

import pandas as pd
import pytest

from workbench.claims.evidence import Count, gather, places_text
from workbench.errors import Refusal

COLUMNS = "family block bore station depth value"


def pair(cells, **fields):
    asked = {"quantity": "deck_thickness", "candidate": "trophy", "reference": "works"}
    return gather(cells, **(asked | {"unit": "mm"} | fields))


def test_the_readings_of_both_families_enter_and_are_counted(lab):
    cells = lab.cells(
        lab.readings("trophy", 12, blocks=3, repeats=2),
        lab.readings("works", 11, blocks=5, bores=1),
        lab.readings("deepdeck", 13),
        lab.readings("works", 4, quantity="wall_thickness"),
    )
    evidence = pair(cells)
    assert evidence.count("trophy") == Count(blocks=3, bores=6, readings=24)
    assert evidence.count("works") == Count(blocks=5, bores=5, readings=10)
    assert evidence.left_out == ()
    assert evidence.step == 0.01


def test_bores_that_are_not_named_are_not_counted(lab):
    cells = lab.cells(lab.readings("trophy", 12, bores=1), lab.readings("works", 11, bores=1))
    evidence = pair(cells.assign(bore=""))
    assert evidence.count("works") == Count(blocks=6, bores=0, readings=12)


def test_searched_and_doubtful_readings_stay_outside_and_are_counted(lab):
    cells = lab.cells(
        lab.readings("trophy", 12, blocks=2),
        lab.readings("works", 11, blocks=2),
        lab.readings("trophy", 2, blocks=1, bores=1, stations=("front",), sampling="search"),
        lab.readings("works", 2, blocks=2, bores=1, stations=("front",), contact="doubtful"),
        lab.readings(
            "works", 2, blocks=1, bores=1, stations=("rear",), contact="doubtful", sampling="search"
        ),
    )
    evidence = pair(cells)
    assert evidence.cells["mean"].min() > 10
    counted = {(part.reason, part.family): part.readings for part in evidence.left_out}
    assert counted == {("doubtful", "works"): 3, ("search", "trophy"): 1}


def test_only_places_read_in_both_families_enter(lab):
    rows = [
        ("trophy", "T1", "1", "front", "top", 12.0),
        ("trophy", "T1", "1", "rear", "low", 12.1),
        ("trophy", "T1", "1", "side", "top", 12.1),
        ("works", "W1", "1", "front", "top", 11.0),
        ("works", "W1", "1", "rear", "top", 11.1),  # the station is shared, the place is not
        ("works", "W1", "1", "rear", "low", 11.2),
    ]
    evidence = pair(lab.cells(lab.table(rows, COLUMNS)))
    assert sorted(evidence.cells["station"] + "/" + evidence.cells["depth"]) == [
        *("front/top", "front/top", "rear/low", "rear/low")
    ]
    parts = {part.family: part for part in evidence.left_out}
    assert parts["trophy"].places == ("side/top",)
    assert parts["works"].places == ("rear/top",)
    assert {part.readings for part in parts.values()} == {1}


def test_readings_in_both_units_are_brought_to_the_unit_asked_for(lab):
    metric = lab.table([("trophy", "T1", 25.4, "mm", 0.1)], "family block value unit step")
    inch = lab.table([("works", "W1", 0.5, "in", 0.001)], "family block value unit step")
    evidence = pair(lab.cells(metric, inch))
    assert evidence.cells.set_index("family")["mean"].to_dict() == {"trophy": 25.4, "works": 12.7}
    inches = pair(lab.cells(metric, inch), unit="in")
    assert inches.cells.set_index("family")["mean"].to_dict() == pytest.approx(
        {"trophy": 1.0, "works": 0.5}
    )


def test_a_block_name_used_in_both_families_is_two_blocks(lab):
    rows = [("trophy", "1", 12.0), ("works", "1", 11.0), ("works", "2", 11.2)]
    evidence = pair(lab.cells(lab.table(rows, "family block value")))
    assert evidence.cells["block"].nunique() == 3


def test_gathering_leaves_the_cells_as_they_were(lab):
    cells = lab.cells(lab.readings("trophy", 12), lab.readings("works", 11))
    before = cells.copy(deep=True)
    first, second = pair(cells), pair(cells)
    pd.testing.assert_frame_equal(cells, before)
    pd.testing.assert_frame_equal(first.cells, second.cells)


def test_a_family_without_readings_is_refused(lab):
    cells = lab.cells(lab.readings("works", 11))
    with pytest.raises(Refusal, match=r"no reading of deck_thickness for trophy\.") as refusal:
        pair(cells)
    assert refusal.value.code == "no_readings"
    with pytest.raises(Refusal, match=r"for trophy or works"):
        pair(cells.iloc[:0])


def test_a_family_with_nothing_but_searched_readings_is_refused_with_the_count(lab):
    cells = lab.cells(
        lab.readings("works", 11),
        lab.readings("trophy", 12, blocks=1, bores=1, sampling="search"),
    )
    with pytest.raises(Refusal, match=r"trophy that may enter \(2 searched, doubtful or"):
        pair(cells)


def test_families_without_a_shared_place_are_refused(lab):
    cells = lab.cells(
        lab.readings("works", 11, stations=("front",)),
        lab.readings("trophy", 12, stations=("rear",)),
    )
    with pytest.raises(Refusal, match=r"read in both trophy and works") as refusal:
        pair(cells)
    assert refusal.value.code == "no_shared_station"


def test_units_that_do_not_fit_are_refused(lab):
    cells = lab.cells(lab.readings("works", 11), lab.readings("trophy", 12))
    with pytest.raises(Refusal, match=r"cannot be turned into"):
        pair(cells, unit="kg")


def test_a_long_list_of_places_is_shortened():
    assert places_text(tuple("abcdefgh")) == "a, b, c, d, e, f and 2 more"
    assert places_text(("a", "b")) == "a, b"
