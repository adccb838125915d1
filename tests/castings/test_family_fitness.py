from dataclasses import replace

import numpy as np
import pytest

from workbench.castings.cautions import CAUTIONS
from workbench.castings.family_fitness import fitness_of_family
from workbench.castings.stated_rules import Duty
from workbench.errors import Refusal
from workbench.inference.shares.count import share_interval

WALL = Duty(note="x", unit="mm", least_wall=4.1)
THREE = Duty(note="x", unit="mm", least_wall=3.0, least_deck=11.4, largest_shift=2.0)


def judged(inspection, duty, family="works"):
    return fitness_of_family(
        inspection, family, duty, name="duty", generator=np.random.default_rng(1), draws=200
    )


def test_share_is_the_count_with_its_interval_and_the_model_beside_it(inspected) -> None:
    found = judged(inspected(np.random.default_rng(1), blocks=20), THREE)
    inside = (found.table[[f"margin, {rule}" for rule in found.decides]] >= 0).all(axis=1)
    assert (found.passing.yes, found.passing.of) == (inside.sum(), 20)
    known = share_interval(found.passing, 0.95)
    assert (found.by_count.low, found.by_count.high) == (known.low, known.high)
    assert found.by_model.low < found.passing.share < found.by_model.high
    assert sum(found.proven.values()) == 20
    assert found.cautions == CAUTIONS


def test_the_rule_that_decides_is_the_one_that_is_near(inspected) -> None:
    found = judged(inspected(np.random.default_rng(2)), THREE)
    assert found.decides_most == "least_deck"
    assert sum(found.decides.values()) == 12
    assert found.fails["least_wall"] == found.fails["largest_shift"] == 0
    assert found.fails["least_deck"] == 12 - found.passing.yes


def test_planted_share_is_covered_by_the_model(inspected) -> None:
    """Decks of blocks are 11.6 with a spread of 0.3; the least of eight lies 0.14 below."""
    duty = Duty(note="x", unit="mm", least_deck=11.4)
    hits = 0
    for seed in range(15):
        found = judged(inspected(np.random.default_rng(100 + seed)), duty)
        hits += found.by_model.contains(0.574)
    assert hits >= 12


def test_blocks_not_answered_are_counted_apart(inspected) -> None:
    inspection = inspected(np.random.default_rng(3), blocks=6)
    deck = inspection.places["deck_thickness"]
    kept = deck.places[deck.places["block"] != "W03"].reset_index(drop=True)
    places = {**inspection.places, "deck_thickness": replace(deck, places=kept)}
    found = judged(replace(inspection, places=places), THREE)
    assert found.passing.of == 5
    assert found.proven["not_answered"] == 1


def test_too_few_blocks_leave_the_model_out_and_say_so(inspected) -> None:
    found = judged(inspected(np.random.default_rng(4), blocks=3), THREE)
    assert found.by_model is None
    assert "too few" in found.not_answered["by_model"]
    assert found.by_count is not None


def test_no_angles_leave_the_share_of_walls_open(inspected) -> None:
    two = {"front": 0.0, "rear": 180.0}
    found = judged(inspected(np.random.default_rng(5), angles=two, blocks=5), WALL)
    assert found.passing is None
    assert found.by_count is None
    assert found.proven["fit"] == 0
    assert "walls" in found.not_answered
    assert "No block" in found.not_answered["by_model"]


def test_a_duty_nobody_can_be_judged_for_decides_nothing(inspected) -> None:
    inspection = inspected(np.random.default_rng(6), blocks=3, without=["deck_thickness"])
    found = judged(inspection, Duty(note="x", unit="mm", least_deck=10.0))
    assert found.decides_most is None


def test_refusals(inspected) -> None:
    with pytest.raises(Refusal, match="family “trophy”"):
        judged(inspected(np.random.default_rng(7), blocks=2), WALL, family="trophy")
