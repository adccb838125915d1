"""Which share of a family is fit for a duty, and which rule decides most often."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cache

import numpy as np
import pandas as pd

from workbench.castings.answers import Answers
from workbench.castings.bores.wall_draws import BlockDraws, WallsToDraw
from workbench.castings.cautions import CAUTIONS
from workbench.castings.fitness import WORST_FIRST, BlockFitness, RuleOutcome, judge_rules
from workbench.castings.gauge_errors import Draw, shift_of_family
from workbench.castings.inspection import Inspection
from workbench.castings.places import WALL
from workbench.castings.stated_rules import Duty
from workbench.errors import Refusal
from workbench.inference.estimates import Estimate
from workbench.inference.shares.count import Count, share_interval
from workbench.inference.shares.passing import DRAWS as SHARES
from workbench.inference.shares.passing import Values, passing_draws, share_of_draws
from workbench.records.units import factor

DRAWS = 200  # a block: a mean and a standard deviation are taken from them


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FamilyFitness:
    """A family held against one duty.

    Attributes
    ----------
    blocks
        Every block judged by itself.
    table
        A row a block: `block`, `outcome`, and for each rule its figure and `margin, RULE`.
    passing, by_count
        Blocks whose every figure is on the right side of its limit, out of those whose every rule
        could be answered; as a count, and as a share of the family with its interval.
    proven
        How many blocks are fit, not fit, too close to call, not answered.
    by_model
        The share of the family that passes, figures taken as jointly normal and what the gauges may
        be out by counted in; None where not answered. `model_draws` are what it was taken from:
        the share as it may be.
    decides
        By rule: how many blocks have their greatest risk in it. `fails` counts those whose figure
        is on the wrong side.
    not_answered
        What could not be answered, and why.
    """

    family: str
    duty: str
    label: str
    note: str
    confidence: float
    blocks: tuple[BlockFitness, ...]
    table: pd.DataFrame
    passing: Count | None
    by_count: Estimate | None
    proven: dict[str, int]
    by_model: Estimate | None
    decides: dict[str, int]
    fails: dict[str, int]
    not_answered: dict[str, str]
    model_draws: Values | None = field(default=None, repr=False)
    cautions: tuple[str, ...] = CAUTIONS

    @property
    def decides_most(self) -> str | None:
        """The rule that decides most often; None where none was answered."""
        if not any(self.decides.values()):
            return None
        return max(self.decides, key=self.decides.__getitem__)


def fitness_of_family(
    inspection: Inspection,
    family: str,
    duty: Duty,
    *,
    name: str,
    generator: np.random.Generator,
    confidence: float | None = None,
    draws: int = DRAWS,
) -> FamilyFitness:
    """Answer which share of a family is fit for a duty.

    Both shares take the blocks as a random sample of the family; blocks brought to an inspector
    because they look thin, or bought because they do not, are none.

    Raises
    ------
    Refusal
        `no_such_family` where no block of it was read; `bad_confidence`.
    """
    found = fitness_for_duties(
        inspection,
        family,
        {name: duty},
        generator=generator,
        confidence=confidence,
        draws=draws,
    )
    return found[name]


def fitness_for_duties(
    inspection: Inspection,
    family: str,
    duties: Mapping[str, Duty],
    *,
    generator: np.random.Generator,
    confidence: float | None = None,
    draws: int = DRAWS,
    errors: Draw | None = None,
) -> dict[str, FamilyFitness]:
    """Answer it for several duties by name, all judged on the same drawn walls of each block.

    `errors` gives the standard normal draws of what a gauge under a calibration is out by: the same
    for every family that is to be compared; left out, they are drawn for this family alone.

    Raises
    ------
    Refusal
        As `fitness_of_family`.
    """
    sure = inspection.settings.confidence if confidence is None else confidence
    names = sorted(block for block, of in inspection.families.items() if of == family)
    if not names:
        raise Refusal("no_such_family", f"There is no block of a family “{family}” here.")
    answers = Answers()
    to_draw = answers.of("walls", lambda: _walls_to_draw(inspection, family))
    why = answers.refused.get("walls", "")
    judged: dict[str, list[BlockFitness]] = {name: [] for name in duties}
    for block in names:
        walls = _walls(to_draw, why, block, generator, draws)
        for name, duty in duties.items():
            judged[name].append(
                judge_rules(inspection, block, duty, name=name, draws=walls, confidence=sure)
            )
    known = errors or cache(lambda gauge, calibration: generator.standard_normal(SHARES))
    return {
        name: _of_family(
            tuple(judged[name]),
            duty,
            generator,
            sure,
            answers.refused,
            lambda rule: _shift(inspection, family, rule, known),
        )
        for name, duty in duties.items()
    }


def _of_family(
    blocks: tuple[BlockFitness, ...],
    duty: Duty,
    generator: np.random.Generator,
    confidence: float,
    refused: Mapping[str, str],
    shift: Callable[[RuleOutcome], Values],
) -> FamilyFitness:
    """Gather the blocks of a family judged for one duty."""
    answers = Answers()
    table = _table(blocks)
    rules = [rule.rule for rule in blocks[0].rules]
    whole = table[[_all_answered(block) for block in blocks]]
    inside = (whole[[f"margin, {rule}" for rule in rules]] >= 0).all(axis=1)
    passing = Count(yes=int(inside.sum()), of=len(whole)) if len(whole) else None
    drawn = answers.of("by_model", lambda: _by_model(whole, blocks, generator, shift))
    return FamilyFitness(
        family=blocks[0].family,
        duty=blocks[0].duty,
        label=blocks[0].label,
        note=duty.note,
        confidence=confidence,
        blocks=blocks,
        table=table,
        passing=passing,
        by_count=None if passing is None else share_interval(passing, confidence),
        proven={out: sum(block.outcome == out for block in blocks) for out in WORST_FIRST},
        by_model=None if drawn is None else share_of_draws(drawn, confidence),
        decides={rule: sum(block.deciding == rule for block in blocks) for rule in rules},
        fails={rule: int((table[f"margin, {rule}"] < 0).sum()) for rule in rules},
        not_answered={**refused, **answers.refused},
        model_draws=drawn,
    )


def _walls_to_draw(inspection: Inspection, family: str) -> WallsToDraw:
    model = inspection.wall_model(family)
    return WallsToDraw(inspection.of(WALL).of_family(family), model)


def _walls(
    to_draw: WallsToDraw | None,
    why_not: str,
    block: str,
    generator: np.random.Generator,
    draws: int,
) -> Callable[[], BlockDraws]:
    """Draw the walls of one block when first asked for, once."""

    @cache
    def drawn() -> BlockDraws:
        if to_draw is None:
            raise Refusal("no_walls", why_not)
        return to_draw.draw(block, generator, draws)

    return drawn


def _table(blocks: tuple[BlockFitness, ...]) -> pd.DataFrame:
    rows = []
    for block in blocks:
        row: dict[str, object] = {"block": block.block, "outcome": block.outcome}
        for rule in block.rules:
            row[rule.rule] = math.nan if rule.figure is None else rule.figure.value
            row[f"margin, {rule.rule}"] = rule.margin
        rows.append(row)
    return pd.DataFrame(rows)


def _all_answered(block: BlockFitness) -> bool:
    return all(rule.figure is not None and not rule.figure.only_against for rule in block.rules)


def _by_model(
    table: pd.DataFrame,
    blocks: tuple[BlockFitness, ...],
    generator: np.random.Generator,
    shift: Callable[[RuleOutcome], Values],
) -> Values:
    answered = next((block for block in blocks if _all_answered(block)), None)
    if answered is None:
        raise Refusal("no_figures", "No block was read for every rule of the duty.")
    limits = [rule.conformity.limits for rule in answered.rules if rule.conformity is not None]
    return passing_draws(
        table[[rule.rule for rule in answered.rules]].to_numpy(float),
        [limit.lower for limit in limits],
        [limit.upper for limit in limits],
        generator=generator,
        shifts=np.column_stack([shift(rule) for rule in answered.rules]),
    )


def _shift(inspection: Inspection, family: str, rule: RuleOutcome, draw: Draw) -> Values:
    """Give draws of what the gauges shift a figure of the family by, in the unit of the rule."""
    if not rule.quantity:
        return np.zeros(SHARES)
    places = inspection.of(rule.quantity)
    shift = shift_of_family(places.errors, family, draw, SHARES)
    return shift * factor(places.unit, rule.unit)
