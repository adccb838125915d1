"""What measuring costs: the study's own money and hours, for one claim and for each plan."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from workbench.claims.claim import Claim
from workbench.inference.samples import Values
from workbench.worth.claim_study import ClaimStudy
from workbench.worth.measuring_plan import Plans
from workbench.worth.prices import Prices


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuringCosts:
    """What measuring costs: money and hours for each thing done, as in `[worth.measuring]`.

    `candidate_block` and `reference_block` are the money of one more block of the family at hand.
    `hour_costs` is the money of an hour, 0 where hours are only counted. `unstated` names the
    amounts counted as nothing.
    """

    candidate_block: float = 0.0
    reference_block: float = 0.0
    bore: float = 0.0
    place: float = 0.0
    repeat: float = 0.0
    calibration_block: float = 0.0
    hours: Mapping[str, float] = field(default_factory=dict)
    hour_costs: float = 0.0
    unstated: tuple[str, ...] = ()


def measuring_costs(claim: Claim, prices: Prices) -> MeasuringCosts:
    """Gather what measuring costs for the two families of a claim."""
    stated = {name: money.range.mean for name, money in prices.measuring.items()}
    general = stated.get("block")

    def block(family: str) -> float | None:
        known = prices.further_block.get(family)
        return general if known is None else known.range.mean

    blocks = [block(family) for family in (claim.candidate, claim.reference)]
    rest = {name: stated.get(name) for name in ("bore", "place", "repeat", "calibration_block")}
    hour_costs = prices.hour_costs.range.mean if prices.hour_costs else 0.0
    by_the_hour = {name for name, hours in prices.measuring_hours.items() if hours and hour_costs}
    unstated = [n for n, money in rest.items() if money is None and n not in by_the_hour]
    if any(money is None for money in blocks):
        unstated.insert(0, "block")
    return MeasuringCosts(
        candidate_block=blocks[0] or 0.0,
        reference_block=blocks[1] or 0.0,
        bore=rest["bore"] or 0.0,
        place=rest["place"] or 0.0,
        repeat=rest["repeat"] or 0.0,
        calibration_block=rest["calibration_block"] or 0.0,
        hours=prices.measuring_hours,
        hour_costs=hour_costs,
        unstated=tuple(unstated),
    )


def plan_costs(study: ClaimStudy, costs: MeasuringCosts, plans: Plans) -> tuple[Values, Values]:
    """Give the money and the hours of each plan; priced hours are part of the money."""
    blocks = plans.candidate + plans.reference
    bores = blocks * plans.bores
    places = bores * plans.places
    readings_at_hand = study.candidate.readings + study.reference.readings
    repeats = places * (plans.repeats - 1) + plans.again * readings_at_hand
    done = {
        "bore": bores,
        "place": places,
        "repeat": repeats,
        "calibration_block": plans.calibrated,
    }
    money = plans.candidate * costs.candidate_block + plans.reference * costs.reference_block
    hours = blocks * costs.hours.get("block", 0.0)
    for name, times in done.items():
        money = money + times * getattr(costs, name)
        hours = hours + times * costs.hours.get(name, 0.0)
    return money + hours * costs.hour_costs, hours
