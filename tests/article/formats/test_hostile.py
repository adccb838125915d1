"""What strangers write comes out as text in every format: no markup, no link, no formula."""

from __future__ import annotations

import csv
import io
from pathlib import Path, PurePosixPath

import docx
import openpyxl
import pytest
from lxml import html as reader
from markdown_it import MarkdownIt

from workbench.article.formats.html import html
from workbench.article.formats.markdown import markdown
from workbench.article.formats.spreadsheets import csv_table, workbook
from workbench.article.formats.word import word
from workbench.article.writing.document import Document
from workbench.article.writing.write_up import write_up
from workbench.study import open_study

LINE = "<script>alert('x')</script> <img src=x onerror=alert(1)> &lt;b&gt;"
MARKS = "**bold** _it_ `code` [link](http://evil.test) ![pic](x.png) ~~no~~ | cell | # head"
LATEX = r"$\frac{1}{0}$ \write18{rm} \(x\) $$y$$ %comment"
FORMULA = "=HYPERLINK(1) +1 -1 @SUM(A1)"
BARE = "see http://evil.test and www.evil.test or a@evil.test"
HOSTILE = (LINE, MARKS, LATEX, FORMULA, BARE)

STUDY = f"""\
title = '''=1+1 {LINE.replace("'", "’")} {MARKS}'''

[families.works]
label = '''{FORMULA}'''

[families.trophy]
label = '''{LATEX}'''
"""
CLAIM = """\
[[claim]]
id = "c{number}"
statement = '''{text}'''
heard_from = '''{text}'''
quantity = "mass"
candidate = "trophy"
reference = "works"
direction = "greater"
unit = "kg"
"""


@pytest.fixture(scope="module")
def document(tmp_path_factory: pytest.TempPathFactory) -> Document:
    folder = tmp_path_factory.mktemp("hostile")
    rows = ["block,family,quantity,value,unit"]
    rows += [f"W{n},works,mass,{40 + n % 5}.{n},kg" for n in range(9)]
    rows += [f"T{n},trophy,mass,{44 + n % 3}.{n},kg" for n in range(6)]
    (folder / "readings.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    (folder / "study.toml").write_text(STUDY, encoding="utf-8")
    claims = (CLAIM.format(number=n, text=text.replace("'", "’")) for n, text in enumerate(HOSTILE))
    (folder / "claims.toml").write_text("\n".join(claims), encoding="utf-8")
    study = open_study(folder)
    return write_up(study, study.judge())


def squeezed(text: str) -> str:
    return " ".join(text.split())


@pytest.fixture(params=HOSTILE, ids=("html", "markdown", "latex", "formula", "links"))
def said(request: pytest.FixtureRequest) -> str:
    return str(request.param).replace("'", "’")


@pytest.fixture(scope="module")
def page(document: Document) -> reader.HtmlElement:
    return reader.document_fromstring(html(document))


@pytest.fixture(scope="module")
def word_file(document: Document) -> bytes:
    return word(document)


@pytest.fixture(scope="module")
def sheets_file(document: Document) -> bytes:
    return workbook(document)


def test_in_html_it_is_text(page: reader.HtmlElement, said: str) -> None:
    assert said in squeezed(page.text_content())
    assert page.xpath("//script | //iframe | //object | //embed | //form | //b | //i") == []
    for element in page.iter():
        if isinstance(element.tag, str):
            assert not any(name.startswith("on") for name in element.attrib)
            for name in ("src", "href"):
                value = element.get(name, "#")
                assert value.startswith(("#", "data:image/png;base64,"))


def test_in_markdown_it_is_text(document: Document, said: str) -> None:
    text = markdown(document, PurePosixPath("figures"))
    parser = MarkdownIt("gfm-like", {"html": True, "linkify": False})
    tokens = [t for block in parser.parse(text) for t in (block, *(block.children or ()))]
    kinds = {token.type for token in tokens}
    assert not kinds & {"html_block", "html_inline", "link_open", "em_open", "s_open", "fence"}
    assert {str(t.attrs["src"]).split("/")[0] for t in tokens if t.type == "image"} == {"figures"}
    whole = squeezed("".join(t.content for t in tokens if t.type in ("text", "text_special")))
    assert said.replace(" ", "") in whole.replace(" ", "")
    for bare in ("http://evil", "www.evil", "a@evil", "$"):  # a stricter reader would link these
        assert bare not in text.replace(f"\\{bare}", "").replace("\\$", "")


def test_in_word_it_is_text(word_file: bytes, said: str) -> None:
    opened = docx.Document(io.BytesIO(word_file))
    cells = (cell.text for table in opened.tables for row in table.rows for cell in row.cells)
    text = squeezed(" ".join([*(p.text for p in opened.paragraphs), *cells]))
    assert said in text
    instructions = opened.element.body.xpath(".//w:fldSimple/@w:instr")
    assert all(i.strip().startswith("SEQ ") for i in instructions)
    assert opened.element.body.xpath(".//w:hyperlink | .//w:instrText") == []


def test_in_tables_it_is_text(document: Document, sheets_file: bytes, said: str) -> None:
    sheets = openpyxl.load_workbook(io.BytesIO(sheets_file))
    cells = [c for sheet in sheets for row in sheet.iter_rows() for c in row if c.value is not None]
    assert {cell.data_type for cell in cells} <= {"s", "n"}
    assert any(squeezed(str(cell.value)) == said for cell in cells)
    for block in document.tables:
        for row in csv.reader(io.StringIO(csv_table(block))):
            assert not any(cell.startswith(("=", "+", "-", "@", "\t")) for cell in row)


def test_names_of_files_are_ours(document: Document, tmp_path: Path) -> None:
    for block in (*document.tables, *document.figures):
        assert (tmp_path / block.name).parent == tmp_path
        assert block.name.replace("-", "").isalnum()
