"""A section of the write-up as a notebook shows it, and the table of its numbers."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import count
from pathlib import PurePosixPath

from workbench.article.formats import html, markdown
from workbench.article.tables import Table
from workbench.article.text import in_notebook
from workbench.article.writing.document import Block, Document, FigureBlock, Heading, TableBlock

KINDS = ("estimate", "interval", "p", "statistic", "uncertainty")
MOST = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """Some blocks of a write-up; whatever stands in them is text."""

    blocks: tuple[Block, ...]

    def html(self) -> str:
        """Give the blocks as HTML."""
        tables, figures = count(1), count(1)
        parts = []
        for block in self.blocks:
            if isinstance(block, TableBlock):
                parts.append(html.table(block, next(tables)))
            elif isinstance(block, FigureBlock):
                parts.append(html.figure(block, next(figures)))
            else:
                parts.append(html.written(block))
        return "\n".join(parts)

    def plain(self) -> str:
        """Give the blocks as Markdown, which reads as text."""
        tables, figures = count(1), count(1)
        parts = []
        for block in self.blocks:
            if isinstance(block, TableBlock):
                parts.append(markdown.table(block, next(tables)))
            elif isinstance(block, FigureBlock):
                parts.append(markdown.figure(block, next(figures), PurePosixPath("figures")))
            else:
                parts.append(markdown.written(block))
        return "\n\n".join(parts)

    def _repr_mimebundle_(self, include: object = None, exclude: object = None) -> dict[str, str]:
        """Show the blocks in a notebook."""
        return {"text/html": in_notebook(self.html()), "text/plain": self.plain()}


def section(document: Document, anchor: str) -> Shown:
    """Give what stands under the heading of the second level with this anchor.

    Raises
    ------
    ValueError
        When no such heading is there.
    """
    return Shown(blocks=tuple(under(document, anchor)))


def under(document: Document, anchor: str) -> Iterator[Block]:
    """Give the blocks between a heading of the second level and the next."""
    anchors = [b.anchor for b in document.blocks if isinstance(b, Heading) and b.level == 2]
    if anchor not in anchors:
        raise ValueError(f"No section is called {anchor!r}; there are {', '.join(anchors)}.")
    inside = False
    for block in document.blocks:
        if isinstance(block, Heading) and block.level == 2:
            inside = block.anchor == anchor
        elif inside:
            yield block


def numbers_table(document: Document) -> Table:
    """List the numbers that were estimated, with where each comes from."""
    estimated = [number for number in document.numbers if number.kind in KINDS]
    more = len(estimated) - MOST
    return Table(
        caption="Numbers of the text and where they come from",
        columns=("Number", "Printed", "Full value", "Claim", "Notebook and cell"),
        rows=tuple(
            (
                number.id,
                number.printed,
                repr(number.value),
                number.origin.claim,
                f"{number.origin.notebook}, {number.origin.cell}",
            )
            for number in estimated[:MOST]
        ),
        numeric=(2,),
        note=f"{len(document.numbers):,} numbers in all, counts and quoted ones among them; "
        "`numbers.json` of the article holds each."
        + (f" {more:,} more of these kinds are not shown." if more > 0 else ""),
    )
