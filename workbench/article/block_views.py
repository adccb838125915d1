"""What a notebook and a sheet show of one block: its maps, figures and tables."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

import numpy as np

from workbench.article.answer import Answer
from workbench.article.block_tables import (
    bore_room_table,
    bores_table,
    boring_table,
    fitness_table,
    place_table,
    sizes_table,
)
from workbench.article.block_words import family_words
from workbench.article.figures.block_plan import block_plan
from workbench.article.figures.bore_map import bore_map
from workbench.article.figures.overbore import overbore
from workbench.article.figures.wall_ring import wall_ring
from workbench.article.shift_tables import depth_table
from workbench.castings.block_report import block_report
from workbench.castings.blocks_to_show import thinnest_blocks
from workbench.castings.bores.bore_shape import bore_shapes
from workbench.castings.bores.wall_map import WallMap, wall_map
from workbench.castings.places import WALL
from workbench.errors import Refusal

if TYPE_CHECKING:
    from workbench.article.picture import Picture
    from workbench.article.tables import Table
    from workbench.castings.block_report import BlockReport
    from workbench.castings.inspection import Inspection
    from workbench.records.settings import Settings

    Shown = Table | Picture | Answer


def asked(inspection: Inspection, block: str, seed: int) -> BlockReport:
    """Give the report of a block; where none is named, that of the first a run would show.

    Raises
    ------
    Refusal
        `no_such_block`, with the nearest name.
    """
    name = block or thinnest_blocks(inspection)[0]
    return block_report(inspection, name, generator=np.random.default_rng(seed))


def maps_of(inspection: Inspection, report: BlockReport) -> dict[str, WallMap]:
    """Give the map of every bore of a block that has one."""
    if report.draws is None or report.model is None:
        return {}
    walls, drawing = inspection.of(WALL), inspection.settings.drawing
    return {
        bore: wall_map(walls, report.model, report.block, bore, drawing)
        for bore in report.draws.bores
    }


def named(report: BlockReport, settings: Settings) -> Answer:
    """Name a block and its family."""
    return Answer(paragraphs=(("Block", family_words(report, settings)),))


def place_shown(report: BlockReport) -> Iterator[Shown]:
    """Give where a block stands in its family."""
    yield place_table(report)


def fitness_shown(report: BlockReport) -> Iterator[Shown]:
    """Give whether a block is fit for each duty."""
    yield fitness_table(report)


def plan_shown(
    inspection: Inspection, report: BlockReport, maps: Mapping[str, WallMap], footer: str
) -> Iterator[Shown]:
    """Give the plan of a block and the table of its bores; in words where there is no plan."""
    try:
        yield block_plan(report, maps, inspection.settings.drawing, footer=footer)
    except Refusal as refusal:
        yield Answer(paragraphs=(("No plan", str(refusal)),))
    yield bores_table(report)


def bores_shown(
    inspection: Inspection, report: BlockReport, maps: Mapping[str, WallMap], footer: str
) -> Iterator[Shown]:
    """Give the bores in depth, and the map and ring of each; in words where there is none."""
    if report.shift is not None:
        shapes = bore_shapes(inspection.of(WALL), inspection.core_shifts(), report.block)
        yield depth_table(shapes, report.unit, report.confidence)
    drawing = inspection.settings.drawing
    stations = drawing.stations if drawing else {}
    shifts = {bore.bore: bore.shift for bore in report.bores}
    for name, found in maps.items():
        yield bore_map(found, stations, step=report.step, footer=footer)
        yield wall_ring(
            found, shifts.get(name), stations, confidence=report.confidence, footer=footer
        )
    if not maps:
        why = report.not_answered.get("walls", "No wall of it was read.")
        yield Answer(paragraphs=(("No map", why),))


def boring_shown(report: BlockReport, footer: str) -> Iterator[Shown]:
    """Give the room for boring as tables and as a curve; in words where it is not known."""
    yield boring_table(report)
    try:
        yield overbore(report, footer=footer)
    except Refusal as refusal:
        yield Answer(paragraphs=(("No curve", str(refusal)),))
        return
    yield sizes_table(report)
    yield bore_room_table(report)
