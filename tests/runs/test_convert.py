"""An executed notebook's page: offline, without scripts, every picture with words."""

from __future__ import annotations

from collections.abc import Callable
from html.parser import HTMLParser
from typing import Any

import pytest

from workbench.runs.convert import notebook_page
from workbench.runs.notebook_libraries import load
from workbench.runs.pages import CAUTIONS

SCRIPT = "<script>alert('study')</script><img src=x onerror=alert(1)>"
PIXEL = "iVBORw0KGgo="


class Page(HTMLParser):
    """What a browser would find on a page."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.text = ""
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.text += data

    def all(self, tag: str) -> list[dict[str, str | None]]:
        return [attributes for name, attributes in self.elements if name == tag]


def page_of(book: Any, **options: Any) -> Page:
    return Page(notebook_page(book, title="Claim", **options))


@pytest.fixture
def shown(notebook: Callable[..., Any]) -> Callable[..., Page]:
    """Give the page of a notebook whose one cell has the outputs."""

    def show(*outputs: Any) -> Page:
        book = notebook("draw(deck)")
        book.cells[1].outputs = [load("nbformat").from_dict(output) for output in outputs]
        return page_of(book)

    return show


def display(metadata: dict[str, Any] | None = None, **data: str) -> dict[str, Any]:
    bundle = {name.replace("_", "/"): text for name, text in data.items()}
    return {"output_type": "display_data", "data": bundle, "metadata": metadata or {}}


def test_the_page_forbids_scripts_and_fetches_nothing(shown: Callable[..., Page]) -> None:
    page = shown(display(text_html="<table><tr><td>5.2</td></tr></table>"))
    (policy,) = [
        meta["content"] or ""
        for meta in page.all("meta")
        if meta.get("http-equiv") == "Content-Security-Policy"
    ]
    assert "default-src 'none'" in policy
    assert "script-src" not in policy
    assert "img-src data:" in policy
    for tag, attributes in page.elements:
        assert tag not in ("script", "link", "iframe", "object", "embed")
        assert not any((attributes.get(name) or "").startswith("http") for name in ("src", "href"))


def test_the_page_can_be_read_without_seeing_it(shown: Callable[..., Page]) -> None:
    page = shown()
    assert page.all("html") == [{"lang": "en"}]
    assert len(page.all("h1")) == 1
    assert len(page.all("main")) == 1
    assert page.all("title")
    assert {"class": "skip", "href": "#main"} in page.all("a")


def test_the_page_carries_the_cautions_once(
    shown: Callable[..., Page], notebook: Callable[..., Any]
) -> None:
    for caution in CAUTIONS:
        assert caution in shown().text
    book = notebook("1")
    text = "**Cautions.** Own words."
    book.cells.append(load("nbformat").v4.new_markdown_cell(text, id="cautions"))
    page = page_of(book)
    assert page.text.count("Cautions") == 1
    assert CAUTIONS[0] not in page.text


@pytest.mark.parametrize(
    "output",
    [
        {"output_type": "stream", "name": "stdout", "text": SCRIPT},
        {"output_type": "error", "ename": SCRIPT, "evalue": SCRIPT, "traceback": [SCRIPT]},
        {"output_type": "error", "ename": SCRIPT, "evalue": SCRIPT, "traceback": []},
        display(text_plain=SCRIPT),
        display(text_html=SCRIPT),
        display(text_markdown=SCRIPT + "\n\n[x](javascript:alert(1))"),
        display(image_png=f'AA"><script>alert(1)</script>{SCRIPT}'),
        display(**{"image_svg+xml": f"<svg>{SCRIPT}</svg>"}),
        display({"image/png": {"alt": SCRIPT + '" onload="alert(1)'}}, image_png=PIXEL),
        display(**{"application_javascript": "alert(1)"}),
    ],
)
def test_text_of_a_study_runs_nothing(output: dict[str, Any], shown: Callable[..., Page]) -> None:
    page = shown(output)
    assert page.all("script") == []
    for image in page.all("img"):
        assert (image["src"] or "").startswith("data:image/")
    for _, attributes in page.elements:
        assert not any(name.startswith("on") for name in attributes)
    for link in page.all("a"):
        assert not (link["href"] or "").startswith("javascript")


def test_source_and_title_are_text(notebook: Callable[..., Any]) -> None:
    book = notebook(f"# {SCRIPT}")
    book.cells.append(load("nbformat").v4.new_markdown_cell(f"# Head\n\n{SCRIPT}", id="m"))
    page = Page(notebook_page(book, title=SCRIPT, failure=SCRIPT))
    assert page.all("script") == page.all("img") == []
    assert page.text.count("alert('study')") >= 4


def test_every_picture_has_words(shown: Callable[..., Page]) -> None:
    page = shown(
        display(image_png=PIXEL),
        display({"image/png": {"alt": "Points of 12 blocks"}}, image_png=PIXEL),
        display(
            text_html=f'<figure><img src="data:image/png;base64,{PIXEL}" alt="Forest"></figure>'
        ),
        display(text_html=f'<img src="data:image/png;base64,{PIXEL}">'),
        display(**{"image_svg+xml": "<svg/>"}),
    )
    words = [image["alt"] for image in page.all("img")]
    drawn = "A figure of cell 2 of “Claim”, drawn by: draw(deck)"
    assert words == [drawn, "Points of 12 blocks", "Forest", drawn, drawn]


def test_the_richest_form_that_runs_nothing_is_shown(shown: Callable[..., Page]) -> None:
    page = shown(display(text_html="<b>html</b>", image_png=PIXEL, text_plain="plain"))
    assert page.all("b")
    assert page.all("img") == []
    assert "plain" not in page.text


def test_colours_of_a_terminal_are_taken_out(shown: Callable[..., Page]) -> None:
    page = shown({"output_type": "stream", "name": "stdout", "text": "\x1b[31mred\x1b[0m"})
    assert "red" in page.text
    assert "\x1b" not in page.text


def test_a_notebook_with_a_heading_keeps_it_as_the_only_one(notebook: Callable[..., Any]) -> None:
    book = notebook("1")
    book.cells.insert(0, load("nbformat").v4.new_markdown_cell("# Deck thickness", id="m"))
    page = page_of(book)
    assert len(page.all("h1")) == 1
    assert "Deck thickness" in page.text


def test_a_failure_is_said_on_the_page(notebook: Callable[..., Any]) -> None:
    page = page_of(notebook("1"), failure="Notebook x failed in cell 2")
    assert "This notebook did not come to its end." in page.text
    assert "Notebook x failed in cell 2" in page.text
