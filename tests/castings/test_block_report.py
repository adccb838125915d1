"""The report of one block brings its parts together, and says what is not answered."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest

from workbench.castings.block_json import block_values
from workbench.castings.block_report import STATED, block_report
from workbench.castings.bores.boring import boring_allowance
from workbench.castings.bores.core_shift import core_shifts
from workbench.castings.bores.wall_draws import block_draws
from workbench.castings.bores.wall_limits import WallLimits
from workbench.castings.cautions import CAUTIONS
from workbench.castings.fitness import fitness_of_block
from workbench.castings.places import WALL
from workbench.castings.placing import place_block
from workbench.castings.stated_rules import stated_boring, stated_duties
from workbench.errors import Refusal

RULES = {
    "usable": {"note": "common practice, no source", "unit": "mm", "least_wall": 3.0},
    "deep": {"note": "common practice, no source", "unit": "mm", "least_deck": 10.0},
}


@pytest.fixture
def stated(inspected, settings):
    """Inspect planted blocks under stated duties."""

    def make(boring=None, fitness=RULES, **given):
        own = replace(settings, fitness=fitness, boring=boring or {"oversizes": [0.5]})
        return inspected(np.random.default_rng(1), settings=own, **given)

    return make


def reported(inspection, block="W01", **given):
    return block_report(inspection, block, generator=np.random.default_rng(7), **given)


def test_each_part_is_what_it_is_by_itself(stated) -> None:
    inspection = stated()
    found = reported(inspection)
    assert found.placed == place_block(inspection, "W01")
    walls = inspection.of("wall_thickness")
    draws = block_draws(walls, inspection.wall_model("works"), "W01", np.random.default_rng(7))
    duty = stated_duties(inspection.settings)["usable"]
    alone = fitness_of_block(
        inspection, "W01", duty, name="usable", generator=np.random.default_rng(7)
    )
    assert found.fitness[0] == alone
    room = boring_allowance(
        draws,
        WallLimits(unit="mm", everywhere=3.0),
        asked=stated_boring(inspection.settings),
        drawing=inspection.settings.drawing,
        gauge_uncertainty=walls.gauge_uncertainty,
    )
    assert found.boring["usable"].one_size == room.one_size
    assert found.cautions == CAUTIONS
    assert found.duty_shown == "usable"


def test_a_duty_without_a_wall_leaves_boring_out_and_says_so(stated) -> None:
    found = reported(stated())
    assert list(found.boring) == ["usable"]
    assert "No least wall" in found.not_answered["boring, deep"]
    only = reported(stated(), duty="deep")
    assert only.boring == {}
    assert only.duty_shown is None


def test_the_wall_that_boring_states_is_answered_beside_the_duties(stated) -> None:
    found = reported(stated(boring={"least_wall": 4.0}))
    assert set(found.boring) == {"usable", STATED}
    both = [found.boring[name].central for name in ("usable", STATED)]
    assert both[0] - both[1] == pytest.approx(2.0, abs=0.02)


def test_the_duty_shown_is_the_most_demanding_with_room(stated) -> None:
    walls = {f"w{at}": {**RULES["usable"], "least_wall": at} for at in (2.0, 3.0, 4.0, 6.0, 7.0)}
    assert reported(stated(fitness=walls)).duty_shown == "w4.0"
    hopeless = {name: walls[name] for name in ("w6.0", "w7.0")}
    assert reported(stated(fitness=hopeless)).duty_shown == "w6.0"


def test_the_thinnest_place_read_may_be_one_hunted_for(stated) -> None:
    hunted = {"bore": "2", "station": "rear", "depth": "low", "mean": 3.1, "sampling": "search"}
    found = reported(stated(more=[hunted]))
    second = next(bore for bore in found.bores if bore.bore == "2")
    assert second.least_read is not None
    assert (second.least_read.wall, second.least_read.hunted) == (3.1, True)
    assert second.least_read.where == "rear (180°), low"
    assert found.least is not None
    assert found.least.estimate < 3.2


def test_names_that_are_not_there_are_refused_with_the_nearest(stated) -> None:
    inspection = stated()
    with pytest.raises(Refusal, match=r"“W1” here \(did you mean “W01”\?\); 12 blocks were read"):
        reported(inspection, "W1")
    with pytest.raises(Refusal, match=r"no duty “usabel” \(did you mean “usable”\?\)"):
        reported(inspection, duty="usabel")
    with pytest.raises(Refusal, match=r"\[fitness.NAME\] are: none"):
        reported(stated(fitness={}), duty="usable")


def test_a_block_without_walls_is_answered_for_the_rest(stated) -> None:
    found = reported(stated(without=("wall_thickness",)))
    assert found.bores == ()
    assert found.shift is None
    assert {one.name for one in found.placed.figures} == {"deck", "hardness", "mass"}
    assert found.fitness[1].outcome == "fit"
    assert "walls" in found.not_answered
    values = block_values(found)
    assert values["boring"] == {}
    assert values["least_wall"] is None


def test_the_json_holds_no_number_that_json_does_not_know(stated) -> None:
    one_sided = {"hard": {"note": "n", "hardness_low": 180.0, "hardness_unit": "HB"}}
    values = block_values(reported(stated(fitness=RULES | one_sided)))
    text = json.dumps(values, allow_nan=False)
    rule = json.loads(text)["fitness"][2]["rules"][0]
    assert (rule["lower_limit"], rule["upper_limit"]) == (180.0, None)
    assert values["core_shift"]["pattern"] in (
        *("together", "together and apart", "apart", "not shown"),
    )


def test_a_bore_of_the_drawing_nobody_read_is_not_taken_for_sound(stated) -> None:
    """Three of four bores read: never fit, no room for boring; a short wall still speaks."""
    shifty = {"note": "invented", "unit": "mm", "least_wall": 3.0, "largest_shift": 2.0}
    full = stated(fitness={"usable": shifty})
    walls = full.of(WALL)
    gone = (walls.places["block"] == "W01") & (walls.places["bore"] == "3")
    cut = replace(walls, places=walls.places[~gone].reset_index(drop=True))
    lacking = replace(full, places={**full.places, WALL: cut}, shifts=core_shifts(cut))
    assert cut.unread_bores("W01") == {
        "3": "Bore 3 of W01: no wall of it was read at a place with an angle."
    }
    assert cut.unread_bores("W02") == {}
    report = reported(lacking)
    (fitness,) = report.fitness
    assert {rule.outcome for rule in fitness.rules} == {"not_answered"}
    assert all("Bore 3 of W01" in rule.reason for rule in fitness.rules)
    assert report.boring == {}
    assert "Bore 3 of W01" in report.not_answered["boring"]
    assert report.least is None
    known = reported(full)
    assert [one.outcome for one in known.fitness] == ["fit"]
    assert known.boring
    assert replace(cut, bores=None).unread_bores("W01") == {}
