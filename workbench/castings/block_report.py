"""All that is told of one block: its place in its family, its bores, its fitness, its boring."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import partial

import numpy as np

from workbench.castings.answers import Answers
from workbench.castings.bore_reports import BoreReport, bore_reports, least_known, open_walls
from workbench.castings.bores.boring import BoringAllowance, boring_allowance, walls_laid_out
from workbench.castings.bores.boring_room import RoundWalls
from workbench.castings.bores.shift_of_block import BlockShift, shift_of_block
from workbench.castings.bores.wall_draws import BlockDraws, block_draws
from workbench.castings.bores.wall_limits import WallLimits
from workbench.castings.bores.wall_model import WallModel
from workbench.castings.cautions import CAUTIONS
from workbench.castings.fitness import BlockFitness, judge_rules
from workbench.castings.fitness_figures import wall_limits
from workbench.castings.inspection import Inspection
from workbench.castings.places import WALL
from workbench.castings.placing import PlacedBlock, place_block
from workbench.castings.stated_rules import Boring, Duty, stated_boring, stated_duties
from workbench.errors import Refusal
from workbench.inference.estimates import Estimate
from workbench.records.columns import did_you_mean

STATED = "boring"  # the name under which `[boring] least_wall` is answered


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BlockReport:
    """One block in full; lengths of walls and shifts in `unit`, read in steps of `step`.

    Attributes
    ----------
    placed
        Where it stands in its family.
    bores
        Each bore that was read.
    least
        The least wall anywhere in the block.
    shift
        The shift of its bores together.
    fitness
        It against each duty asked about.
    boring
        By duty: the room for boring that leaves its walls; under `STATED`, that of `[boring]`.
    not_answered
        What could not be answered, and why.
    draws, model
        The walls as they may be, and the roughness they stand on: for maps and figures.
    """

    block: str
    family: str
    unit: str
    step: float
    confidence: float
    placed: PlacedBlock
    bores: tuple[BoreReport, ...]
    least: Estimate | None
    shift: BlockShift | None
    fitness: tuple[BlockFitness, ...]
    boring: Mapping[str, BoringAllowance]
    not_answered: Mapping[str, str]
    draws: BlockDraws | None = field(repr=False)
    model: WallModel | None = field(repr=False)
    cautions: tuple[str, ...] = CAUTIONS

    @property
    def duty_shown(self) -> str | None:
        """The duty whose boring is laid out bore by bore: the most demanding one with room.

        Where none leaves room, the least demanding; None where boring was not answered.
        """
        by_room = sorted(self.boring, key=lambda name: self.boring[name].one_size)
        with_room = [name for name in by_room if self.boring[name].one_size > 0]
        return next(iter(with_room or by_room[::-1]), None)


def block_report(
    inspection: Inspection,
    block: str,
    *,
    generator: np.random.Generator,
    duty: str | None = None,
) -> BlockReport:
    """Answer all that the workbench can tell of one block.

    Parameters
    ----------
    inspection
        What was read in the study.
    block
        The block asked about.
    generator
        Source of the drawn walls.
    duty
        One duty of the study; all of them where left out.

    Raises
    ------
    Refusal
        `no_such_block`, `no_such_duty`: with the nearest name there is.
    FaultsError
        Where `[fitness]` or `[boring]` of the study have faults.
    """
    family = _family(inspection, block)
    duties = _asked(stated_duties(inspection.settings), duty)
    answers = Answers()
    model = answers.of("walls", lambda: inspection.wall_model(family))
    draws = None
    if model is not None:
        drawing = partial(block_draws, inspection.of(WALL), model, block, generator)
        draws = answers.of("walls", drawing)
    shift = answers.of("core_shift", lambda: shift_of_block(inspection.core_shifts(), block))
    return BlockReport(
        block=block,
        family=family,
        unit=inspection.places[WALL].unit if WALL in inspection.places else "",
        step=inspection.places[WALL].step if WALL in inspection.places else math.nan,
        confidence=inspection.settings.confidence,
        placed=place_block(inspection, block),
        bores=bore_reports(inspection, block, draws, shift),
        least=None if draws is None else least_known(draws, None, inspection.settings.confidence),
        shift=shift,
        fitness=_fitness(inspection, block, duties, draws, answers.refused.get("walls", "")),
        boring=_boring(inspection, duties, draws, duty, answers),
        not_answered=answers.refused | _of_bores(draws, shift),
        draws=draws,
        model=model,
    )


def _family(inspection: Inspection, block: str) -> str:
    try:
        return inspection.family(block)
    except Refusal as refusal:
        near = nearest_block(block, tuple(inspection.families))
        sentence = f"{str(refusal).rstrip('.')}{near}; {len(inspection.families)} blocks were read."
        raise Refusal(refusal.code, sentence) from None


def nearest_block(block: str, names: tuple[str, ...]) -> str:
    """Ask whether a block of nearly the name was meant; W5 is W05 before it is W45."""
    same = [name for name in names if _without_zeros(name) == _without_zeros(block)]
    return f" (did you mean “{same[0]}”?)" if same else did_you_mean(block, names)


def _without_zeros(name: str) -> str:
    return re.sub(r"(?<!\d)0+(?=\d)", "", name).casefold()


def _asked(duties: dict[str, Duty], duty: str | None) -> dict[str, Duty]:
    if duty is None:
        return duties
    if duty not in duties:
        near = did_you_mean(duty, tuple(duties))
        there = ", ".join(f"“{name}”" for name in duties) or "none"
        raise Refusal(
            "no_such_duty",
            f"study.toml states no duty “{duty}”{near}; [fitness.NAME] are: {there}.",
        )
    return {duty: duties[duty]}


def _fitness(
    inspection: Inspection,
    block: str,
    duties: dict[str, Duty],
    draws: BlockDraws | None,
    why_not: str,
) -> tuple[BlockFitness, ...]:
    def drawn() -> BlockDraws:
        if draws is None:
            raise Refusal("no_walls", why_not)
        return draws

    return tuple(
        judge_rules(
            inspection,
            block,
            duty,
            name=name,
            draws=drawn,
            confidence=inspection.settings.confidence,
        )
        for name, duty in duties.items()
    )


def _boring(
    inspection: Inspection,
    duties: dict[str, Duty],
    draws: BlockDraws | None,
    duty: str | None,
    answers: Answers,
) -> dict[str, BoringAllowance]:
    """Ask for the room each duty leaves, and for that of `[boring]` where no duty is asked for."""
    asked = stated_boring(inspection.settings)
    limits = {
        name: limit
        for name, own in duties.items()
        if (limit := answers.of(f"boring, {name}", partial(wall_limits, own, inspection)))
    }
    if duty is None and asked.least_wall is not None:
        limits[STATED] = WallLimits(unit=asked.unit, everywhere=asked.least_wall)
    if draws is None:
        return {}
    shared, sure = inspection.of(WALL).gauge_uncertainty, inspection.settings.confidence
    laid = walls_laid_out(draws, shared, sure) if limits else {}
    found: dict[str, BoringAllowance | None] = {}
    for name, limit in limits.items():
        alike = [other for other in found if limits[other] == limit]
        found[name] = (
            found[alike[0]]
            if alike
            else answers.of("boring", partial(_room, inspection, draws, limit, asked, laid))
        )
    return {name: room for name, room in found.items() if room is not None}


def _room(
    inspection: Inspection,
    draws: BlockDraws,
    limits: WallLimits,
    asked: Boring,
    laid: Mapping[str, RoundWalls],
) -> BoringAllowance:
    return boring_allowance(
        draws,
        limits,
        asked=asked,
        drawing=inspection.settings.drawing,
        confidence=inspection.settings.confidence,
        laid=laid,
    )


def _of_bores(draws: BlockDraws | None, shift: BlockShift | None) -> dict[str, str]:
    """Give what single bores could not be asked for, by their names."""
    walls = {} if draws is None else open_walls(draws)
    moved = {} if shift is None else shift.not_answered
    return {f"bore {name}, walls": why for name, why in walls.items()} | {
        f"bore {name}, core_shift" if name != "of_core" else "core_shift of the block": why
        for name, why in moved.items()
    }
