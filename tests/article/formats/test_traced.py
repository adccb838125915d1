"""No number stands in the text that is not in `numbers.json`; each one is there as it stands."""

from __future__ import annotations

import json
from pathlib import PurePosixPath

import pytest
from lxml import html as reader
from markdown_it import MarkdownIt

from workbench.article.formats.html import html
from workbench.article.formats.markdown import markdown
from workbench.article.formats.numbers_json import numbers_json
from workbench.article.writing.document import Document, phrases
from workbench.article.writing.number import tokens
from workbench.article.writing.phrase import numbers_in
from workbench.study import Study


@pytest.fixture(scope="module")
def entries(demo_document: Document, demo_study: Study) -> dict[str, dict[str, object]]:
    content = json.loads(numbers_json(demo_document, demo_study.digests))
    return {entry["id"]: entry for entry in content["numbers"]}


def texts_of(entries: dict[str, dict[str, object]]) -> set[str]:
    return {token for entry in entries.values() for token in tokens(str(entry["text"]))}


def test_every_number_of_the_page_is_bound_to_its_entry(
    demo_document: Document, entries: dict[str, dict[str, object]]
) -> None:
    page = reader.document_fromstring(html(demo_document))
    bound = page.xpath("//data")
    assert len(bound) > 500
    for element in bound:
        entry = entries[element.get("data-number")]
        assert tokens(element.text) == tokens(str(entry["text"]))
        if entry["value"] is not None:
            assert float(element.get("value")) == entry["value"]


def test_the_page_holds_no_number_outside_an_entry(
    demo_document: Document, entries: dict[str, dict[str, object]]
) -> None:
    page = reader.document_fromstring(html(demo_document))
    for path in ("//style", "//data", "//code", "//cite", "//a[@class='cite']", "//title"):
        for element in page.xpath(path):
            element.text = ""
    for label in page.xpath("//caption | //figcaption/strong"):  # “Table 3.”, “Figure 2.”
        kind, _, rest = (label.text or "").partition(" ")
        assert kind in ("Table", "Figure")
        label.text = rest.partition(".")[2]
    assert tokens(page.text_content()) == []
    known = texts_of(entries)
    for image in page.xpath("//img"):
        assert set(tokens(image.get("alt"))) <= known


def test_the_markdown_holds_no_number_outside_the_entries(
    demo_document: Document, entries: dict[str, dict[str, object]]
) -> None:
    text = markdown(demo_document, PurePosixPath("figures"))
    known = texts_of(entries)
    known |= {token for work in demo_document.references for token in tokens(work.full)}
    known |= {token for work in demo_document.references for token in tokens(work.short)}
    known |= {str(n) for n in range(1, 1 + len(demo_document.tables))}  # “Table 3.”
    parser = MarkdownIt("commonmark", {"html": False}).enable("table")
    said: list[str] = []
    for block in parser.parse(text):
        for part in block.children or ():
            if part.type in ("text", "image"):
                said += tokens(part.content)
    assert len(said) > 500
    assert set(said) <= known


def test_every_entry_is_used_and_tells_where_it_comes_from(
    demo_document: Document, entries: dict[str, dict[str, object]], demo_study: Study
) -> None:
    estimates = [e for e in entries.values() if e["kind"] in ("estimate", "interval", "p")]
    assert len(estimates) > 60
    for entry in estimates:
        assert entry["claim"] in demo_study.ledger.ids or entry["notebook"] == "intervals"
        assert entry["notebook"]
        assert entry["cell"]
        assert entry["inputs"]
        assert entry["rounding"]["rule"]  # type: ignore[index]
    used = {
        number.id for block in demo_document.blocks for phrase in phrases(block)
        for number in numbers_in(phrase)
    }  # fmt: skip
    unused = [e["id"] for e in estimates if e["id"] not in used and "estimate" not in str(e["id"])]
    assert [name for name in unused if not str(name).endswith(".size")] == []


def test_words_without_a_reference_may_hold_no_number() -> None:
    from workbench.article.writing.phrase import say

    with pytest.raises(ValueError, match=r"The number 3 of .* refers to nothing"):
        say("On 3 blocks.")
