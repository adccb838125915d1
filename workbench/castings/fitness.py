"""Whether one block is fit for a duty: rule by rule, with margin and risk."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Literal

import numpy as np

from workbench.castings.bores.wall_draws import DRAWS, BlockDraws, block_draws
from workbench.castings.cautions import CAUTIONS
from workbench.castings.fitness_figures import Figure, Rule, rules_of
from workbench.castings.inspection import Inspection
from workbench.castings.places import WALL
from workbench.castings.stated_rules import Duty
from workbench.errors import Refusal
from workbench.inference.measuring.conformity import Conformity, decide

Outcome = Literal["fit", "not_fit", "too_close", "not_answered"]

TINY = 1e-9  # of a value: the least uncertainty taken, so that exact figures can be decided
WORST_FIRST: tuple[Outcome, ...] = ("not_fit", "not_answered", "too_close", "fit")
OUTCOMES: dict[str, Outcome] = {
    "conforming": "fit",
    "not_conforming": "not_fit",
    "too_close": "too_close",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleOutcome:
    """One rule answered for one block, in `unit`.

    Attributes
    ----------
    outcome
        "fit", "not_fit", "too_close", or "not_answered" with its `reason`.
    figure
        What the block shows; None where nothing is known.
    margin
        How far inside the nearer limit the figure lies; below 0 outside. NaN without a figure.
    conformity
        Probability, guard band and limits; None without a figure.
    quantity
        What an error of the gauge shifts the figure with, "" for a core shift.
    """

    rule: str
    quantity: str
    unit: str
    outcome: Outcome
    figure: Figure | None
    margin: float
    conformity: Conformity | None
    reason: str

    @property
    def risk(self) -> float:
        """The chance that the rule is not kept, given the figure and its uncertainty."""
        return math.nan if self.conformity is None else 1 - self.conformity.probability


@dataclass(frozen=True, slots=True, kw_only=True)
class BlockFitness:
    """One block held against one duty.

    Attributes
    ----------
    duty, label, note
        Name and label of the duty, and where its limits come from.
    outcome
        "not_fit" where any rule is not kept; "not_answered" where one could not be answered;
        "fit" where all are kept; else "too_close".
    deciding
        The rule with the greatest risk.
    """

    block: str
    family: str
    duty: str
    label: str
    note: str
    confidence: float
    rules: tuple[RuleOutcome, ...]
    outcome: Outcome
    deciding: str | None
    cautions: tuple[str, ...] = CAUTIONS


def fitness_of_block(
    inspection: Inspection,
    block: str,
    duty: Duty,
    *,
    name: str,
    generator: np.random.Generator,
    draws: BlockDraws | None = None,
    confidence: float | None = None,
    count: int = DRAWS,
) -> BlockFitness:
    """Answer whether a block is fit for a duty.

    The wall must hold anywhere between the places read, not at them alone; a wall known at some
    places only can fail a block and never pass it.

    Parameters
    ----------
    inspection, block
        What was read, and the block asked about.
    duty, name
        The rules, and their name in `[fitness.NAME]`.
    generator, count
        Source and number of the drawn walls.
    draws
        The block's walls where they are drawn already.
    confidence
        To decide at; the study's where left out.

    Raises
    ------
    Refusal
        `no_such_block`; `bad_confidence`.
    """
    family = inspection.family(block)
    sure = inspection.settings.confidence if confidence is None else confidence

    @cache
    def drawn() -> BlockDraws:
        if draws is not None:
            return draws
        model = inspection.wall_model(family)
        return block_draws(inspection.of(WALL), model, block, generator, draws=count)

    return judge_rules(inspection, block, duty, name=name, draws=drawn, confidence=sure)


def judge_rules(
    inspection: Inspection,
    block: str,
    duty: Duty,
    *,
    name: str,
    draws: Callable[[], BlockDraws],
    confidence: float,
) -> BlockFitness:
    """Judge every rule of a duty; `draws` gives the walls of the block or refuses them."""
    rules = tuple(_judged(rule, confidence) for rule in rules_of(duty, inspection, block, draws))
    answered = [rule for rule in rules if rule.conformity is not None]
    outcomes = [rule.outcome for rule in rules]
    return BlockFitness(
        block=block,
        family=inspection.family(block),
        duty=name,
        label=duty.label or name.replace("_", " "),
        note=duty.note,
        confidence=confidence,
        rules=rules,
        outcome=next((worst for worst in WORST_FIRST if worst in outcomes), "not_answered"),
        deciding=max(answered, key=_risk_then_margin).rule if answered else None,
    )


def _judged(rule: Rule, confidence: float) -> RuleOutcome:
    try:
        figure = rule.figure()
    except Refusal as refusal:
        return RuleOutcome(
            rule=rule.name,
            quantity=rule.quantity,
            unit=rule.unit,
            outcome="not_answered",
            figure=None,
            margin=math.nan,
            conformity=None,
            reason=str(refusal),
        )
    found = decide(
        figure.value,
        max(figure.standard_uncertainty, TINY * max(abs(figure.value), TINY)),
        rule.limits,
        confidence=confidence,
        degrees_of_freedom=figure.degrees_of_freedom,
    )
    outcome = OUTCOMES[found.outcome]
    if figure.only_against and outcome != "not_fit":
        outcome = "not_answered"
    return RuleOutcome(
        rule=rule.name,
        quantity=rule.quantity,
        unit=rule.unit,
        outcome=outcome,
        figure=figure,
        margin=min(figure.value - rule.limits.lower, rule.limits.upper - figure.value),
        conformity=found,
        reason=figure.reason,
    )


def _risk_then_margin(rule: RuleOutcome) -> tuple[float, float]:
    """Order rules by risk; where that is 0 or 1 for several, by margin in uncertainties."""
    assert rule.conformity is not None
    return rule.risk, -rule.margin / rule.conformity.standard_uncertainty
