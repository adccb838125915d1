"""What the terminal shows of one block: the tables of its report, then the cautions."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.text import Text

from workbench.article.block_tables import block_tables
from workbench.article.block_words import family_words
from workbench.runs.terminal import CAUTION, console, print_doubts, safe, table

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.console import Console

    from workbench.article.tables import Table
    from workbench.castings.block_report import BlockReport
    from workbench.records.notice import Notice
    from workbench.records.settings import Settings


def print_block(report: BlockReport, settings: Settings, doubts: Sequence[Notice] = ()) -> None:
    """Print where a block stands, its bores, its fitness and its room for boring."""
    out = console()
    out.print(safe(settings.title))
    out.print(Text.assemble(("Block ", "bold"), safe(family_words(report, settings))))
    print_doubts(out, doubts)
    for made in block_tables(report):
        _print_table(out, made)
    for what, why in report.not_answered.items():
        out.print(safe(f"not answered  {what.replace('_', ' ')}: {why}"))
    out.print()
    out.print(Text(CAUTION, style="italic"))


def _print_table(out: Console, made: Table) -> None:
    if made.rows:
        shown = table(title=made.caption)
        for place, heading in enumerate(made.columns):
            right = place in made.numeric
            shown.add_column(heading, overflow="fold", justify="right" if right else "left")
        for row in made.rows:
            shown.add_row(*(safe(cell) for cell in row))
        out.print(shown)
    else:
        out.print(Text(made.caption, style="bold"))
    if made.note:
        out.print(safe(made.note))
    out.print()
