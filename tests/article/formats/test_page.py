"""The page: sound HTML, a heading order, words for every picture, contrast, nothing fetched."""

from __future__ import annotations

import re
from itertools import pairwise

import pytest
import tinyhtml5
from coloraide import Color
from lxml import html as reader

from workbench.article.formats.html import html
from workbench.article.formats.page import STYLE
from workbench.article.writing.document import Document

VOID = ("meta", "img", "br", "link", "hr")


@pytest.fixture(scope="module")
def text(demo_document: Document) -> str:
    return html(demo_document)


@pytest.fixture(scope="module")
def page(text: str) -> reader.HtmlElement:
    return reader.document_fromstring(text)


def test_the_page_is_parsed_as_it_is_written(text: str) -> None:
    # A parser by the WHATWG rules mends what is wrong; where nothing is, nothing moves.
    tree = tinyhtml5.parse(text, namespace_html_elements=False)
    parsed = [element.tag for element in tree.iter() if isinstance(element.tag, str)]
    written = re.findall(
        r"<([a-z][a-z0-9]*)[\s>]", re.sub(r"(?s)<style>.*?</style>", "<style>", text)
    )
    assert parsed == written
    for tag in set(written) - set(VOID):
        assert text.count(f"</{tag}>") == len(re.findall(rf"<{tag}[\s>]", text)), tag


def test_ids_are_unique_and_links_lead_somewhere(page: reader.HtmlElement) -> None:
    ids = page.xpath("//@id")
    assert len(ids) == len(set(ids))
    assert {link.removeprefix("#") for link in page.xpath("//a/@href")} <= set(ids)


def test_headings_go_down_one_level_at_a_time(page: reader.HtmlElement) -> None:
    levels = [int(element.tag[1]) for element in page.xpath("//h1 | //h2 | //h3 | //h4")]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))


def test_the_sections_are_those_of_the_layout(page: reader.HtmlElement) -> None:
    assert [element.text_content() for element in page.xpath("//h2")] == [
        "In short",
        "What was claimed, and by whom",
        "What was measured, and how",
        "The verdicts",
        "Claim by claim",
        "What stays open",
        "What it means for a builder",
        "Threats and limits",
        "Cautions",
        "Methods",
        "Data",
        "Versions and seed",
        "References",
    ]


def test_pictures_say_the_finding_and_are_in_the_page(page: reader.HtmlElement) -> None:
    images = page.xpath("//img")
    assert images
    for image in images:
        assert len(image.get("alt")) > 60
        assert re.search(r"supported|contradicted|unresolved", image.get("alt"))
        assert image.get("src").startswith("data:image/png;base64,")
    assert len({image.get("alt") for image in images}) == len(images)


def test_tables_have_captions_and_headings(page: reader.HtmlElement) -> None:
    for table in page.xpath("//table"):
        assert table.xpath("./caption")[0].text_content().startswith("Table ")
        assert all(cell.get("scope") == "col" for cell in table.xpath("./thead//th"))
        assert all(cell.get("scope") == "row" for cell in table.xpath("./tbody//th"))


def test_nothing_is_fetched_or_run(page: reader.HtmlElement, text: str) -> None:
    assert page.xpath("//script | //link | //iframe | //form") == []
    assert "default-src 'none'" in text
    assert "url(" not in text


def test_every_ink_stands_out_from_its_ground() -> None:
    # WCAG 2.1, success criterion 1.4.3: at least 4.5 to 1 for text.
    inks = re.findall(r"(?<!-)color: (#[0-9a-f]{6})", STYLE)
    grounds = re.findall(r"background-color: (#[0-9a-f]{6})", STYLE)
    assert set(grounds) == {"#ffffff"}
    assert len(inks) >= 3
    for ink in inks:
        assert Color(ink).contrast("#ffffff", method="wcag21") >= 4.5, ink


def test_the_page_is_the_same_each_time(demo_document: Document, text: str) -> None:
    assert html(demo_document) == text
