"""The write-up as one HTML page: self-contained, no script, every number bound to its entry."""

from __future__ import annotations

import base64
from html import escape

from workbench.article.formats.page import STYLE
from workbench.article.tables import SHORT
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
from workbench.article.writing.phrase import Cite, Code, Phrase, Ref, Strong, plain

LIMIT = 20_000
POLICY = (
    "default-src 'none'; img-src data:; style-src 'unsafe-inline'; base-uri 'none'; "
    "form-action 'none'"
)


def html(document: Document) -> str:
    """Give the write-up as a page; each number is a `data` element that names its entry."""
    body = []
    tables = pictures = 0
    for block in document.blocks:
        if isinstance(block, TableBlock):
            tables += 1
            body.append(table(block, tables))
        elif isinstance(block, FigureBlock):
            pictures += 1
            body.append(figure(block, pictures))
        else:
            body.append(written(block))
    title = safe(plain(document.title))
    return (
        f'<!DOCTYPE html>\n<html lang="{safe(document.language)}">\n<head>\n'
        '<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{POLICY}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{title}</title>\n<style>\n{STYLE}</style>\n</head>\n<body>\n"
        f'<a class="skip" href="#main">Skip to the content</a>\n{contents(document)}'
        f'<main id="main">\n<h1>{inline(document.title)}</h1>\n'
        + "\n".join(body)
        + "\n</main>\n</body>\n</html>\n"
    )


def contents(document: Document) -> str:
    """List the sections with links to them."""
    links = "\n".join(
        f'<li><a href="#{safe(block.anchor)}">{safe(plain(block.text))}</a></li>'
        for block in document.blocks
        if isinstance(block, Heading) and block.level == 2
    )
    return f'<nav aria-label="Sections">\n<ul>\n{links}\n</ul>\n</nav>\n'


def written(block: Block) -> str:
    """Give a block of text."""
    match block:
        case Heading():
            tag = f"h{block.level}"
            return f'<{tag} id="{safe(block.anchor)}">{inline(block.text)}</{tag}>'
        case Paragraph():
            kind = ' class="caution"' if block.caution else ""
            return f"<p{kind}>{inline(block.text)}</p>"
        case Pair():
            return (
                '<div class="pair">\n'
                f"<p><strong>In plain words.</strong> {inline(block.plain)}</p>\n"
                f"<p><strong>For the reviewer.</strong> {inline(block.reporting)}</p>\n</div>"
            )
        case Bullets():
            items = "\n".join(f"<li>{inline(item)}</li>" for item in block.items)
            return f"<ul>\n{items}\n</ul>"
        case Bibliography():
            items = "\n".join(
                f'<li id="ref-{safe(r.key)}"><cite>{safe(r.full)}</cite></li>'
                for r in block.references
            )
            return f"<ul>\n{items}\n</ul>"
        case _:
            raise TypeError(f"{type(block).__name__} is no block of text")


def inline(phrase: Phrase) -> str:
    """Give a phrase with everything in it escaped."""
    result = []
    for part in phrase:
        match part:
            case str():
                result.append(spaced(part))
            case Ref():
                value = part.number.value
                result.append(
                    f'<data value="{"" if value is None else repr(value)}" '
                    f'data-number="{safe(part.number.id)}">{safe(part.text)}</data>'
                )
            case Strong():
                result.append(f"<strong>{safe(part.text)}</strong>")
            case Code():
                result.append(f"<code>{safe(part.text)}</code>")
            case Cite():
                result.append(
                    f'<a class="cite" href="#ref-{safe(part.reference.key)}">{safe(part.text)}</a>'
                )
    return "".join(result)


def safe(text: str) -> str:
    """Clean and escape a text, for elements and attributes alike."""
    return escape(clean(text, LIMIT), quote=True)


def spaced(text: str) -> str:
    """Escape words and keep the space at their ends."""
    lead = " " if text[:1].isspace() else ""
    tail = " " if text[-1:].isspace() and text.strip() else ""
    return f"{lead}{safe(text)}{tail}"


def table(block: TableBlock, number: int) -> str:
    """Give a table with a caption and with headings for its columns and rows."""

    def side(place: int, cell: Phrase = ()) -> str:
        numeric = place in block.numeric
        short = 0 < len(plain(cell)) <= SHORT
        kind = " ".join(filter(None, ("number" if numeric else "", "short" if short else "")))
        named = f' class="{kind}"' if kind else ""
        whole = ";white-space:nowrap" if short else ""
        return f'{named} style="text-align:{"right" if numeric else "left"}{whole}"'

    head = "".join(
        f'<th scope="col"{side(place)}>{inline(name)}</th>'
        for place, name in enumerate(block.columns)
    )
    rows = "\n".join(
        f'<tr><th scope="row" style="text-align:left">{inline(row[0])}</th>'
        + "".join(
            f"<td{side(place, cell)}>{inline(cell)}</td>"
            for place, cell in enumerate(row[1:], start=1)
        )
        + "</tr>"
        for row in block.rows
    )
    note = f'\n<p class="note">{inline(block.note)}</p>' if block.note else ""
    return (
        f'<div class="wide" role="group" tabindex="0" aria-label="Table {number}">\n<table>\n'
        f"<caption>Table {number}. {inline(block.caption)}</caption>\n"
        f"<thead><tr>{head}</tr></thead>\n<tbody>\n{rows}\n</tbody>\n</table>\n</div>{note}"
    )


def figure(block: FigureBlock, number: int) -> str:
    """Give a picture, in the page itself, with its words and its caption."""
    code = base64.b64encode(block.wide.png).decode("ascii")
    return (
        f'<figure>\n<img alt="{safe(plain(block.alt))}" src="data:image/png;base64,{code}">\n'
        f"<figcaption><strong>Figure {number}.</strong> {inline(block.caption)}</figcaption>\n"
        "</figure>"
    )
