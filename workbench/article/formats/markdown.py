"""The write-up as Markdown: whatever stands in it is text, never markup."""

from __future__ import annotations

import re
from pathlib import PurePosixPath

from workbench.article.text import clean
from workbench.article.writing.document import (
    Bibliography,
    Block,
    Bullets,
    Document,
    FigureBlock,
    Heading,
    Pair,
    Paragraph,
    TableBlock,
)
from workbench.article.writing.phrase import Code, Phrase, Strong, plain

LIMIT = 20_000
SIGNS = re.compile(r"[\\`*_{}\[\]<>|~$^@]|&(?=\w|#)|:(?=//)|(?<=www)\.")
BLOCK_START = re.compile(r"^(\d+)([.)])|^([#+=:-])")


def markdown(document: Document, figures: PurePosixPath) -> str:
    """Give the write-up as Markdown; `figures` is the folder its pictures lie in."""
    parts = [f"# {inline(document.title)}"]
    tables = pictures = 0
    for block in document.blocks:
        if isinstance(block, TableBlock):
            tables += 1
            parts.append(table(block, tables))
        elif isinstance(block, FigureBlock):
            pictures += 1
            parts.append(figure(block, pictures, figures))
        else:
            parts.append(written(block))
    return "\n\n".join(parts) + "\n"


def written(block: Block) -> str:
    """Give a block of text."""
    match block:
        case Heading():
            return f"{'#' * block.level} {inline(block.text)}"
        case Paragraph():
            line = started(inline(block.text))
            return f"> {line}" if block.caution else line
        case Pair():
            return (
                f"**In plain words.** {inline(block.plain)}\n\n"
                f"**For the reviewer.** {inline(block.reporting)}"
            )
        case Bullets():
            return "\n".join(f"- {started(inline(item))}" for item in block.items)
        case Bibliography():
            return "\n".join(f"- {started(safe(r.full))}" for r in block.references)
        case _:
            raise TypeError(f"{type(block).__name__} is no block of text")


def inline(phrase: Phrase) -> str:
    """Give a phrase with everything in it escaped."""
    result = []
    for part in phrase:
        if isinstance(part, str):
            result.append(spaced(part))
        elif isinstance(part, Strong):
            result.append(f"**{safe(part.text)}**")
        elif isinstance(part, Code):
            result.append(f"`{coded(part.text)}`")
        else:
            result.append(safe(part.text))
    return "".join(result)


def safe(text: str) -> str:
    """Escape what could begin markup, a link, HTML or mathematics inside a line."""
    return SIGNS.sub(lambda match: f"\\{match[0]}", clean(text, LIMIT))


def started(line: str) -> str:
    """Escape what could begin a list or a heading at the start of a line."""
    return BLOCK_START.sub(
        lambda match: f"{match[1]}\\{match[2]}" if match[1] else f"\\{match[3]}", line
    )


def spaced(text: str) -> str:
    """Escape words and keep the space at their ends."""
    lead = " " if text[:1].isspace() else ""
    tail = " " if text[-1:].isspace() and text.strip() else ""
    return f"{lead}{safe(text)}{tail}"


def coded(text: str) -> str:
    """Keep a name from ending its own code span, and a table its cell."""
    return text.replace("`", "'").replace("|", "¦").replace("\n", " ")


def table(block: TableBlock, number: int) -> str:
    """Give a table with its caption above and its note below."""
    rule = " | ".join("---:" if p in block.numeric else "---" for p in range(len(block.columns)))
    lines = [
        f"**Table {number}. {inline(block.caption)}**",
        "",
        f"| {' | '.join(map(inline, block.columns))} |",
        f"| {rule} |",
        *(f"| {' | '.join(map(inline, row))} |" for row in block.rows),
    ]
    if block.note:
        lines += ["", started(inline(block.note))]
    return "\n".join(lines)


def figure(block: FigureBlock, number: int, folder: PurePosixPath) -> str:
    """Give a picture with the words for those who do not see it, and its caption."""
    alt = safe(plain(block.alt))
    path = folder / f"{block.name}-two-columns.png"
    return f"![{alt}]({path})\n\n**Figure {number}.** {inline(block.caption)}"
