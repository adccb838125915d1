"""The tables of a block as they stand on its one-page sheet: fewer columns, shorter words."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from workbench.article.block_tables import (
    bore_room_table,
    boring_table,
    fitness_table,
    label_of,
)
from workbench.article.block_words import FITS, chance_text, kept_text, room_text
from workbench.article.tables import Table

if TYPE_CHECKING:
    from workbench.castings.block_report import BlockReport
    from workbench.castings.bores.boring import SizeAllowance

SIZES = 5  # oversizes on a line of the sheet


def fitness_on_sheet(report: BlockReport) -> Table:
    """Give the fitness table with each limit beside its rule, as “least wall 3 mm”."""
    whole = fitness_table(report)
    rows = tuple(
        (duty, f"{rule} {limit.removesuffix(' or more').removesuffix(' or less')}".strip(), *said)
        for duty, rule, limit, *said in ((*row[:2], row[3], row[2], *row[4:]) for row in whole.rows)
    )
    return replace(whole, columns=(*whole.columns[:3], *whole.columns[4:]), rows=rows)


def boring_on_sheet(report: BlockReport) -> Table:
    """Give for each duty the room of all bores and what it says of each oversize of the list."""
    shown = None if report.duty_shown is None else report.boring[report.duty_shown]
    sizes = () if shown is None else shown.sizes
    rows = tuple(
        (
            label_of(report, name),
            kept_text(found.limits),
            _room(found.one_size, found.unit),
            _room(found.central, found.unit),
            found.limiting,
            *(_verdict(size) for size in found.sizes[:SIZES]),
        )
        for name, found in report.boring.items()
    )
    return Table(
        caption="How far it can be bored, all bores at once",
        columns=(
            "duty",
            "wall kept",
            "best centres",
            "own centres",
            "limiting bore",
            *(f"{size.oversize:g} {report.unit} over" for size in sizes[:SIZES]),
        ),
        rows=rows,
        note="On the diameter, from the bore as read; “short” says by how much a wall is so now."
        + (" Further oversizes in the page of this sheet." if len(sizes) > SIZES else "")
        if rows
        else boring_table(report).note,
    )


def bore_room_on_sheet(report: BlockReport) -> Table:
    """Give the room of each bore, the duty it is for below."""
    whole = bore_room_table(report)
    if report.duty_shown is None:
        return whole
    note = f"For the duty “{label_of(report, report.duty_shown)}”."
    return replace(whole, caption="Each bore by itself", note=note)


def _room(overbore: float, unit: str) -> str:
    text = room_text(overbore, unit)
    return text if overbore >= 0 else f"{text.removeprefix('none: wall short by ')} short"


def _verdict(size: SizeAllowance) -> str:
    said = FITS[size.outcome]
    if size.outcome == "too_close":
        said = f"too close ({chance_text(size.probability)})"
    return said if size.cleans_up else f"{said}, does not clean up"
