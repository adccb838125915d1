"""A small write-up rendered, beside files written by hand that can be read."""

from __future__ import annotations

from pathlib import Path, PurePosixPath

import pytest

from workbench.article.formats.html import html
from workbench.article.formats.markdown import markdown
from workbench.article.writing.document import (
    Bibliography,
    Bullets,
    Document,
    Heading,
    Pair,
    Paragraph,
    TableBlock,
)
from workbench.article.writing.number import Origin
from workbench.article.writing.phrase import Cite, Code, bare, say
from workbench.article.writing.references import WORKS
from workbench.article.writing.register import Register

EXPECTED = Path(__file__).parent / "expected"


@pytest.fixture
def document() -> Document:
    register = Register()
    here = Origin(claim="decks", notebook="claim", cell="answer")
    size = register.measured("size", 2.672, here, unit="mm", uncertainty=0.125, finest=0.001)
    blocks = register.count("blocks", 48, "blocks", here)
    holm = WORKS["holm1979"]
    return Document(
        title=("Decks & walls <of> *two* blocks",),
        language="en",
        numbers=register.numbers,
        blocks=(
            Heading(level=2, text=("What was found",), anchor="found"),
            Paragraph(text=say("The deck is {size} thicker ({holm}).", size=size, holm=Cite(holm))),
            Paragraph(text=("Measure the block in hand.",), caution=True),
            Pair(plain=("Plain words.",), reporting=say("n = {n} blocks.", n=bare(blocks))),
            Bullets(items=(("first_point",), ("- second",))),
            TableBlock(
                name="counts",
                caption=("Counts",),
                columns=(("Family",), ("Blocks",)),
                rows=((("a | b",), (bare(blocks),)),),
                numeric=(1,),
                note=(Code("numbers.json"), " holds them."),
            ),
            Bibliography(references=(holm,)),
        ),
    )


def test_markdown_is_as_written_by_hand(document: Document) -> None:
    expected = (EXPECTED / "article.md").read_text(encoding="utf-8")
    assert markdown(document, PurePosixPath("figures")) == expected


def test_html_is_as_written_by_hand(document: Document) -> None:
    body = html(document).partition("<body>\n")[2]
    assert body == (EXPECTED / "article-body.html").read_text(encoding="utf-8")
