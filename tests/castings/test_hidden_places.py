"""Places that may be missing because what they show was never kept are never taken as sound."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from workbench.castings.bores.wall_draws import block_draws
from workbench.castings.fitness import BlockFitness, fitness_of_block
from workbench.castings.hidden_places import hidden_places
from workbench.castings.places import WALL
from workbench.castings.placing import place_block
from workbench.castings.stated_rules import Duty
from workbench.castings.walls_at_limits import walls_at_limits
from workbench.records.truncation_table import Truncation
from workbench.study import Study, open_study

HEAD = "block,family,quantity,value,unit,bore,station,depth,gauge"
SETTINGS = """
title = "T"
[drawing]
bores = 2
bore_diameter = 86.0
bore_spacing = 96.0
bore_length = 130
[drawing.stations]
front = 0
thrust = 90
rear = 180
counter = 270
[drawing.depths]
top = 15
bottom = 115
[gauges.ug1]
unit = "mm"
uncertainty = 0.05
[fitness.use]
note = "common practice, no source"
unit = "mm"
least_wall = 1.5
least_deck = 5.0
hardness_low = 150
largest_shift = 2.0
"""
ENTRY = """
[[truncation]]
quantity = "wall_thickness"
gauge = "ug1"
kept_from = 2.0
unit = "mm"
note = "the display stays blank"
"""
DECK = ENTRY.replace("wall_thickness", "deck_thickness")
HARD = ENTRY.replace("wall_thickness", "hardness").replace("2.0", "100").replace('"mm"', '"HB"')
Write = Callable[..., Study]


@pytest.fixture
def write(tmp_path: Path) -> Write:
    """Write six blocks read at every place but those of B1 that are left out, and open them."""

    def study(entry: str, *lacking: tuple[str, str, str, str]) -> Study:
        rng = np.random.default_rng(3)
        rows = [HEAD]
        for at in range(1, 7):
            places = [
                (WALL, bore, station, depth)
                for bore in "12"
                for station in ("front", "thrust", "rear", "counter")
                for depth in ("top", "bottom")
            ]
            places += [("deck_thickness", "1", name, "") for name in ("front", "rear")]
            places += [("hardness", "", name, "") for name in ("front", "rear")]
            middle = {WALL: (4.5, 0.1), "deck_thickness": (10.0, 0.1), "hardness": (200, 2)}
            for quantity, bore, station, depth in places:
                value = middle[quantity][0] + middle[quantity][1] * rng.standard_normal()
                if at == 1 and (quantity, bore, station, depth) in lacking:
                    continue
                unit = "HB" if quantity == "hardness" else "mm"
                rows.append(
                    f"B{at},works,{quantity},{value:.2f},{unit},{bore},{station},{depth},ug1"
                )
        (tmp_path / "study.toml").write_text(SETTINGS + entry, "utf-8")
        (tmp_path / "readings.csv").write_text("\n".join(rows) + "\n", "utf-8")
        return open_study(tmp_path)

    return study


DUTY = Duty(
    note="x", unit="mm", least_wall=1.5, least_deck=5.0, hardness_low=150, largest_shift=2.0
)


def judged(study: Study, block: str, duty: Duty = DUTY) -> BlockFitness:
    generator = np.random.default_rng(1)
    return fitness_of_block(study.inspect(), block, duty, name="use", generator=generator)


GONE = (WALL, "2", "thrust", "bottom")


def test_a_block_whole_or_with_nothing_cut_off_is_fit(write: Write) -> None:
    assert judged(write("", GONE), "B1").outcome == "fit"
    study = write(ENTRY, GONE)
    assert judged(study, "B2").outcome == "fit"
    assert judged(write(ENTRY), "B1").outcome == "fit"
    assert judged(write(ENTRY.replace("ug1", "ug2"), GONE), "B1").outcome == "fit"


def test_a_block_that_lacks_a_place_is_not_called_fit_by_its_walls(write: Write) -> None:
    found = judged(write(ENTRY, GONE), "B1")
    assert found.outcome == "not_answered"
    by_rule = {rule.rule: rule for rule in found.rules}
    assert by_rule["least_wall"].outcome == by_rule["largest_shift"].outcome == "not_answered"
    assert by_rule["least_deck"].outcome == by_rule["hardness"].outcome == "fit"
    assert (
        "Bore 2 of B1: 1 place read elsewhere is not in the records (thrust bottom), and no "
        "reading below 2 mm by “ug1” was kept (the display stays blank): what is there is not known"
    ) in by_rule["least_wall"].reason


def test_it_can_still_be_found_unfit(write: Write) -> None:
    found = judged(write(ENTRY, GONE), "B1", Duty(note="x", unit="mm", least_wall=4.9))
    assert found.outcome == "not_fit"


def test_it_is_given_no_room_for_boring(write: Write) -> None:
    inspection = write(ENTRY, GONE).inspect()
    walls = inspection.of(WALL)
    draws = block_draws(walls, inspection.wall_model("works"), "B1", np.random.default_rng(1))
    assert list(draws.bores) == ["1"]
    assert "thrust bottom" in draws.not_answered["2"]
    assert not draws.all_round


@pytest.mark.parametrize(
    ("entry", "gone", "rule"),
    [
        (DECK, ("deck_thickness", "1", "rear", ""), "least_deck"),
        (HARD, ("hardness", "", "rear", ""), "hardness"),
    ],
)
def test_decks_and_hardness_likewise(write: Write, entry: str, gone, rule: str) -> None:  # type: ignore[no-untyped-def]
    found = {one.rule: one for one in judged(write(entry, gone), "B1").rules}
    assert found[rule].outcome == "not_answered"
    assert "rear" in found[rule].reason
    assert found["least_wall"].outcome == "fit"
    assert {one.rule: one.outcome for one in judged(write(entry), "B1").rules}[rule] == "fit"


def test_walls_at_the_limits_are_at_most_what_was_read(write: Write) -> None:
    study = write(ENTRY, GONE)
    (held,) = walls_at_limits(study.records, study.settings, study.calibrations)
    outcomes = {block: found.outcome for block, _, found in held.blocks}
    assert outcomes["B1"] == "too_close"
    assert outcomes["B2"] == "conforming"


def test_placing_says_what_its_figures_are_of(write: Write) -> None:
    placed = place_block(write(ENTRY, GONE).inspect(), "B1")
    assert any(
        said.startswith("No reading below 2 mm by “ug1” was kept") for said in placed.too_high
    )
    assert place_block(write("", GONE).inspect(), "B1").too_high == ()


def rows(*places: tuple[str, str, str, str, str]) -> pd.DataFrame:
    frame = pd.DataFrame(places, columns=["family", "block", "bore", "station", "sampling"])
    return frame.assign(depth="", gauge="ug1", n=1)


def entry(**given: object) -> Truncation:
    keys = {"quantity": WALL, "unit": "mm", "note": "x", "kept_from": 2.0}
    return Truncation.model_validate(keys | given)


def test_places_are_those_of_any_bore_and_any_family_chosen_before_looking() -> None:
    shown = rows(
        ("works", "W1", "1", "front", "grid"),
        ("works", "W1", "2", "rear", "grid"),
        ("trophy", "T1", "1", "side", "grid"),
        ("trophy", "T1", "1", "hole", "search"),
    )
    found = hidden_places(shown, [entry(family="works")], WALL)
    assert set(found) == {("W1", "1"), ("W1", "2")}
    assert "2 places read elsewhere are not in the records (rear; side)" in found["W1", "1"]
    assert "hole" not in "".join(found.values())


def test_nothing_is_hidden_where_blocks_were_sorted_or_another_quantity_cut_off() -> None:
    shown = rows(("works", "W1", "1", "front", "grid"), ("works", "W2", "1", "rear", "grid"))
    assert hidden_places(shown, [entry(of="blocks")], WALL) == {}
    assert hidden_places(shown, [entry(quantity="mass", unit="kg")], WALL) == {}
    assert hidden_places(shown, [], WALL) == {}
