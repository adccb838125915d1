import math

import numpy as np
import pytest

from workbench.castings.bores.wall_draws import block_draws
from workbench.castings.bores.wall_map import least_wall
from workbench.castings.cautions import CAUTIONS
from workbench.castings.fitness import fitness_of_block
from workbench.castings.fitness_figures import wall_limits
from workbench.castings.stated_rules import Duty, StationClass
from workbench.errors import Refusal
from workbench.inference.measuring.conformity import decide
from workbench.records.settings import Settings, built_in_quantities

EVERY = Duty(
    note="common practice, no source",
    unit="mm",
    least_wall=3.0,
    least_deck=10.0,
    largest_shift=0.6,
    hardness_low=180,
    hardness_high=230,
)


def judged(inspection, block="W01", duty=EVERY, **given):
    return fitness_of_block(
        inspection, block, duty, name="every", generator=np.random.default_rng(1), **given
    )


def rule(found, name):
    return next(one for one in found.rules if one.rule == name)


def test_a_sound_block_is_fit_for_every_rule(inspected) -> None:
    found = judged(inspected(np.random.default_rng(1)))
    assert found.outcome == "fit"
    assert [one.rule for one in found.rules] == [
        "least_wall",
        "least_deck",
        "largest_shift",
        "hardness",
    ]
    assert {one.outcome for one in found.rules} == {"fit"}
    assert found.cautions == CAUTIONS
    assert (found.label, found.note, found.confidence) == ("every", EVERY.note, 0.95)


def test_margin_and_risk_are_those_of_the_decision_at_a_limit(inspected) -> None:
    for one in judged(inspected(np.random.default_rng(2))).rules:
        figure, limits = one.figure, one.conformity.limits
        known = decide(
            figure.value,
            figure.standard_uncertainty,
            limits,
            degrees_of_freedom=figure.degrees_of_freedom,
        )
        assert one.risk == pytest.approx(1 - known.probability)
        assert one.margin == pytest.approx(
            min(figure.value - limits.lower, limits.upper - figure.value)
        )


@pytest.mark.parametrize(
    ("limit", "outcome"), [(3.0, "fit"), (4.25, "too_close"), (5.0, "not_fit")]
)
def test_three_outcomes_of_the_wall(inspected, limit, outcome) -> None:
    inspection = inspected(np.random.default_rng(3))
    draws = block_draws(
        inspection.of("wall_thickness"),
        inspection.wall_model("works"),
        "W01",
        np.random.default_rng(1),
    )
    duty = Duty(note="x", unit="mm", least_wall=limit)
    if outcome == "too_close":
        duty = Duty(note="x", unit="mm", least_wall=round(least_wall(draws).estimate, 2))
    found = judged(inspection, duty=duty, draws=draws)
    assert found.outcome == outcome
    assert found.deciding == "least_wall"


def test_the_wall_is_asked_for_between_the_places_too(inspected) -> None:
    inspection = inspected(np.random.default_rng(4))
    figure = rule(judged(inspection), "least_wall").figure
    read = inspection.of("wall_thickness").of_block("W01").places["mean"].min()
    assert figure.value < read


def test_inches_decide_as_millimetres_do(inspected) -> None:
    inspection = inspected(np.random.default_rng(5))
    inches = Duty(
        note="x", unit="in", least_wall=3 / 25.4, least_deck=10 / 25.4, largest_shift=0.6 / 25.4
    )
    mm = Duty(note="x", unit="mm", least_wall=3.0, least_deck=10.0, largest_shift=0.6)
    for one, other in zip(
        judged(inspection, duty=mm).rules, judged(inspection, duty=inches).rules, strict=True
    ):
        assert other.margin * 25.4 == pytest.approx(one.margin)
        assert other.risk == pytest.approx(one.risk, abs=1e-9)


def test_classes_of_stations_are_rules_of_their_own(inspected) -> None:
    duty = Duty(
        note="x",
        unit="mm",
        least_wall=3.0,
        station_classes={"thrust_sides": StationClass(stations=["thrust"], least_wall=5.0)},
    )
    inspection = inspected(np.random.default_rng(6))
    found = judged(inspection, duty=duty)
    assert rule(found, "least_wall").outcome == "fit"
    assert rule(found, "least_wall, thrust_sides").outcome == "not_fit"
    assert found.outcome == "not_fit"
    assert found.deciding == "least_wall, thrust_sides"
    limits = wall_limits(duty, inspection)
    assert limits.required(np.array([90.0, 270.0])).tolist() == [5.0, 3.0]


def test_a_hunted_thin_place_fails_a_block_and_a_thick_one_does_nothing(inspected) -> None:
    hunted = {"block": "W01", "bore": "2", "sampling": "search", "station": ""}
    thin = inspected(np.random.default_rng(7), more=[{**hunted, "mean": 2.5}])
    thick = inspected(np.random.default_rng(7), more=[{**hunted, "mean": 9.0}])
    plain = inspected(np.random.default_rng(7))
    assert judged(thin).outcome == "not_fit"
    assert rule(judged(thin), "least_wall").figure.where.endswith("bore 2")
    values = [rule(judged(one), "least_wall").figure.value for one in (thick, plain)]
    assert values[0] == pytest.approx(values[1], abs=0.02)


def test_a_wall_known_in_places_only_can_fail_but_not_pass(inspected) -> None:
    two_angles = {"front": 0.0, "rear": 180.0}
    inspection = inspected(np.random.default_rng(8), angles=two_angles)
    found = rule(judged(inspection, duty=Duty(note="x", unit="mm", least_wall=3.0)), "least_wall")
    assert found.outcome == "not_answered"
    assert found.margin > 0
    assert "Known at the places read only" in found.reason
    short = judged(inspection, duty=Duty(note="x", unit="mm", least_wall=6.0))
    assert short.outcome == "not_fit"


def test_a_block_without_a_drawing_is_answered_in_the_rest(inspected) -> None:
    bare = Settings(title="Invented", quantities=built_in_quantities())
    found = judged(inspected(np.random.default_rng(9), settings=bare))
    assert {one.rule: one.outcome for one in found.rules} == {
        "least_wall": "not_answered",
        "least_deck": "fit",
        "largest_shift": "not_answered",
        "hardness": "fit",
    }
    assert found.outcome == "not_answered"
    assert "name the stations" in rule(found, "largest_shift").reason


def test_a_rule_without_readings_is_not_answered(inspected) -> None:
    inspection = inspected(np.random.default_rng(10), without=["deck_thickness", "hardness"])
    found = judged(inspection)
    for name in ("least_deck", "hardness"):
        one = rule(found, name)
        assert (one.outcome, one.figure) == ("not_answered", None)
        assert math.isnan(one.margin)
        assert math.isnan(one.risk)
    assert found.outcome == "not_answered"


def test_hardness_is_known_by_the_scatter_of_its_places(inspected) -> None:
    inspection = inspected(np.random.default_rng(11))
    figure = rule(judged(inspection), "hardness").figure
    own = inspection.of("hardness").of_block("W01").places["mean"]
    assert figure.value == pytest.approx(own.mean())
    assert figure.standard_uncertainty == pytest.approx(own.std() / 2, rel=1e-6)
    assert figure.degrees_of_freedom == 3


def test_refusals(inspected) -> None:
    inspection = inspected(np.random.default_rng(12), blocks=2)
    with pytest.raises(Refusal, match="block “X”"):
        judged(inspection, block="X")
    with pytest.raises(Refusal, match="Confidence"):
        judged(inspection, confidence=0.4)


@pytest.mark.parametrize(
    ("most", "outcome"), [(None, "fit"), (4.0, "not_answered"), (2.0, "not_fit")]
)
def test_a_wall_known_only_from_above_speaks_against_a_block_alone(
    inspected, most, outcome
) -> None:
    """Its true wall may be anything below: above the limit it leaves the block unanswered."""
    place = {"block": "W01", "bore": "1", "station": "45", "depth": "middle", "contact": "below"}
    more = () if most is None else ({**place, "mean": most},)
    found = judged(
        inspected(np.random.default_rng(4), more=more),
        duty=Duty(note="common practice, no source", unit="mm", least_wall=3.0),
    )
    assert rule(found, "least_wall").outcome == outcome
    assert ("only as not above a value" in rule(found, "least_wall").reason) == bool(more)


def test_a_mean_too_high_by_a_reading_known_only_from_above_is_refused(inspected) -> None:
    place = {"block": "W01", "quantity": "hardness", "unit": "HB", "gauge": "bt1", "bore": "",
             "station": "thrust", "depth": "", "contact": "below", "mean": 150.0}  # fmt: skip
    found = judged(inspected(np.random.default_rng(4), more=(place,)))
    assert rule(found, "hardness").outcome == "not_answered"
    assert "only as not above a value" in rule(found, "hardness").reason
