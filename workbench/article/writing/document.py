"""The write-up as blocks of text, tables and figures, from which every format is rendered."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from workbench.article.writing.number import Number
from workbench.article.writing.phrase import Cite, Phrase
from workbench.article.writing.references import Reference

if TYPE_CHECKING:
    from workbench.article.picture import Picture


@dataclass(frozen=True, slots=True, kw_only=True)
class Heading:
    """A heading of level 2 to 4; `anchor` is its address, of letters, digits and hyphens."""

    level: int
    text: Phrase
    anchor: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Paragraph:
    """A paragraph; a caution is set apart."""

    text: Phrase
    caution: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """The same finding for every reader and, beside it, for a statistical reviewer."""

    plain: Phrase
    reporting: Phrase


@dataclass(frozen=True, slots=True, kw_only=True)
class Bullets:
    """A list of points."""

    items: tuple[Phrase, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class TableBlock:
    """A table with its caption; `name` is that of its files, `numeric` the columns set right."""

    name: str
    caption: Phrase
    columns: tuple[Phrase, ...]
    rows: tuple[tuple[Phrase, ...], ...]
    numeric: tuple[int, ...] = ()
    note: Phrase = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class FigureBlock:
    """A figure at two widths with its caption and the words for those who do not see it."""

    name: str
    caption: Phrase
    alt: Phrase
    narrow: Picture = field(repr=False)
    wide: Picture = field(repr=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bibliography:
    """The list of the works referred to."""

    references: tuple[Reference, ...]


Block = Heading | Paragraph | Pair | Bullets | TableBlock | FigureBlock | Bibliography


@dataclass(frozen=True, slots=True, kw_only=True)
class Document:
    """A write-up: its title, its blocks, and every number its text refers to."""

    title: Phrase
    language: str
    blocks: tuple[Block, ...]
    numbers: tuple[Number, ...]

    @property
    def references(self) -> tuple[Reference, ...]:
        """The works listed."""
        lists = (block for block in self.blocks if isinstance(block, Bibliography))
        return tuple(reference for block in lists for reference in block.references)

    @property
    def tables(self) -> tuple[TableBlock, ...]:
        """The tables, in their order."""
        return tuple(block for block in self.blocks if isinstance(block, TableBlock))

    @property
    def figures(self) -> tuple[FigureBlock, ...]:
        """The figures, in their order."""
        return tuple(block for block in self.blocks if isinstance(block, FigureBlock))


def phrases(block: Block) -> Iterator[Phrase]:
    """Give every phrase of a block."""
    match block:
        case Heading() | Paragraph():
            yield block.text
        case Pair():
            yield from (block.plain, block.reporting)
        case Bullets():
            yield from block.items
        case TableBlock():
            yield from (block.caption, *block.columns, block.note)
            for row in block.rows:
                yield from row
        case FigureBlock():
            yield from (block.caption, block.alt)


def cited(blocks: tuple[Block, ...]) -> tuple[Reference, ...]:
    """Give the works referred to in some blocks, in the order of their authors and years."""
    found = {
        part.reference.key: part.reference
        for block in blocks
        for phrase in phrases(block)
        for part in phrase
        if isinstance(part, Cite)
    }
    return tuple(sorted(found.values(), key=lambda reference: (reference.short, reference.key)))
