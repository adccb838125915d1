"""Every shipped notebook runs on the demo study, headless, and its page can be read by anybody."""

from __future__ import annotations

import json
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest

from workbench.runs.notebook_libraries import load
from workbench.runs.parameters import check_cell
from workbench.runs.places import shipped
from workbench.runs.plan import Notebook, shipped_notebooks
from workbench.runs.runner import RunSummary, run_study

DEMO = shipped("data") / "demo"


@pytest.fixture(scope="module")
def summary(tmp_path_factory: pytest.TempPathFactory) -> RunSummary:
    return run_study(DEMO, tmp_path_factory.mktemp("demo") / "out", progress=False)


class Page(HTMLParser):
    def __init__(self, path: Path) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.feed(path.read_text(encoding="utf-8"))
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))

    def all(self, tag: str) -> list[dict[str, str | None]]:
        return [attributes for name, attributes in self.elements if name == tag]


def source(book: Notebook) -> Any:
    return load("nbformat").read(book.path, as_version=4)


def test_all_notebooks_of_the_folder_are_known() -> None:
    paths = {book.path for book in shipped_notebooks()}
    assert paths == set(shipped("notebooks").glob("*.ipynb"))


@pytest.mark.parametrize("book", shipped_notebooks(), ids=lambda book: book.name)
def test_the_parameters_cell_agrees_with_the_model(book: Notebook) -> None:
    check_cell(book.name, source(book), book.model)


@pytest.mark.parametrize("book", shipped_notebooks(), ids=lambda book: book.name)
def test_a_notebook_is_thin_and_opens_on_the_demo_as_it_stands(book: Notebook) -> None:
    cells = source(book).cells
    code = [cell for cell in cells if cell.cell_type == "code"]
    assert len(code) <= 10
    assert cells[0].source.startswith("# ")
    assert any("**Cautions.**" in cell.source for cell in cells)
    assert 'study = "../data/demo"' in code[0].source
    assert (book.path.parent / "../data/demo/study.toml").exists()


def test_no_notebook_fails(summary: RunSummary) -> None:
    assert [failure.line() for failure in summary.failed] == []
    claims = len(json.loads(summary.verdicts.read_text())["verdicts"])
    blocks = 3  # one of each family
    assert summary.notebooks == len(shipped_notebooks()) - 2 + claims + blocks


def test_no_notebook_prints_warnings_or_errors(summary: RunSummary) -> None:
    for path in (summary.index.parent / "notebooks").iterdir():
        for cell in load("nbformat").read(path, as_version=4).cells:
            for output in cell.get("outputs", []):
                assert output.get("name") != "stderr", (path.name, output.text)


def test_every_picture_has_words_of_its_own(summary: RunSummary) -> None:
    pictures = 0
    for path in (summary.index.parent / "pages").iterdir():
        for image in Page(path).all("img"):
            pictures += 1
            words = image["alt"] or ""
            assert len(words) > 30
            assert not words.startswith("A figure of cell")
            assert (image["src"] or "").startswith("data:image/png;base64,")
    assert pictures > summary.notebooks


def test_every_table_says_what_its_headings_head(summary: RunSummary) -> None:
    for path in (summary.index, *(summary.index.parent / "pages").iterdir()):
        page = Page(path)
        assert len(page.all("table")) == len(page.all("caption"))
        for heading in page.all("th"):
            assert heading["scope"] in ("row", "col")


def test_no_page_runs_or_fetches_anything(summary: RunSummary) -> None:
    for path in (summary.index, *(summary.index.parent / "pages").iterdir()):
        page = Page(path)
        for tag, attributes in page.elements:
            assert tag not in ("script", "link", "iframe", "object", "embed")
            assert not any(name.startswith("on") for name in attributes)
            for name in ("src", "href"):
                assert "://" not in (attributes.get(name) or "")
