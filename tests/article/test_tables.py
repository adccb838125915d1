"""Tables are accessible and hold no markup of a stranger's."""

from __future__ import annotations

import lxml.html
import pytest

from workbench.article.tables import Table
from workbench.article.text import in_notebook
from workbench.runs.clean_html import clean_html

HOSTILE = "<script>alert(1)</script> | `x` $y$\n[z](javascript:alert(1))"


@pytest.fixture
def table() -> Table:
    return Table(
        caption=f"Caption {HOSTILE}",
        columns=("Name", f"Count {HOSTILE}"),
        rows=((HOSTILE, "1"), ("b", "2")),
        numeric=(1,),
        note=HOSTILE,
    )


def test_html_has_caption_and_scoped_headings(table: Table) -> None:
    page = lxml.html.fromstring(f"<div>{table.html()}</div>")
    assert len(page.xpath("//caption")) == 1
    assert [h.get("scope") for h in page.xpath("//thead//th")] == ["col", "col"]
    assert [h.get("scope") for h in page.xpath("//tbody//th")] == ["row", "row"]
    assert [cell.text for cell in page.xpath("//td[contains(@class, 'number')]")] == ["1", "2"]


def test_html_shows_the_text_and_runs_nothing(table: Table) -> None:
    page = lxml.html.fromstring(f"<div>{table.html()}</div>")
    assert not page.xpath("//script | //a | //img")
    assert page.xpath("//tbody//th")[0].text == HOSTILE.replace("\n", " ")


def test_markdown_keeps_its_shape_and_holds_no_markup(table: Table) -> None:
    mistune = pytest.importorskip("nbconvert.filters.markdown_mistune")
    page = lxml.html.fromstring(f"<div>{mistune.markdown2html_mistune(table.markdown())}</div>")
    assert [len(row.xpath("./td | ./th")) for row in page.xpath("//tr")] == [2, 2, 2]
    assert not page.xpath("//script | //a | //img | //code")
    assert page.xpath("//tbody/tr/td")[0].text_content() == HOSTILE.replace("\n", " ")


def test_plain_text_names_each_cell(table: Table) -> None:
    assert table.plain().splitlines()[2].startswith("Name: b; Count <script>")


def test_a_notebook_gets_html_and_plain_text(table: Table) -> None:
    shown = table._repr_mimebundle_()
    assert shown == {"text/html": in_notebook(table.html()), "text/plain": table.plain()}


def test_a_long_cell_is_bounded() -> None:
    table = Table(caption="c", columns=("a",), rows=(("x" * 10**6,),))
    assert len(table.html()) < 1000


def test_rows_must_fit_the_headings() -> None:
    with pytest.raises(ValueError, match="Row 2 of the table “c” has 1 cells under 2 headings"):
        Table(caption="c", columns=("a", "b"), rows=(("1", "2"), ("1",)))


def test_a_short_cell_stays_on_one_line_where_a_page_has_no_style_of_ours() -> None:
    row = ("Deep deck", "p = 0.95", "0.018 (-0.119 to 0.154) mm")
    page = Table(caption="c", columns=("a", "b", "c"), rows=(row,)).html()
    cells = lxml.html.fromstring(page).xpath("//td")
    assert [cell.get("style") for cell in cells] == [
        "text-align:left;white-space:nowrap",
        "text-align:left",
    ]
    assert 'style="text-align:left;white-space:nowrap"' in clean_html(page, alt="")


def test_a_table_without_rows_is_its_caption_and_the_reason() -> None:
    page = Table(caption="Limits", columns=("a",), rows=(), note="No wall was read.").html()
    assert page == "<p><strong>Limits</strong></p><p>No wall was read.</p>"
