"""The Word file, opened by python-docx and by a second library (mammoth), holds what it should."""

from __future__ import annotations

import io
import re
import zipfile

import docx
import mammoth
import pytest
from lxml import etree
from lxml import html as reader

from workbench.article.formats.word import word
from workbench.article.writing.document import Bibliography, Document, Heading, phrases
from workbench.article.writing.number import tokens
from workbench.article.writing.phrase import Code, plain


@pytest.fixture(scope="module")
def made(demo_document: Document) -> bytes:
    return word(demo_document)


@pytest.fixture(scope="module")
def page(made: bytes) -> reader.HtmlElement:
    return reader.document_fromstring(mammoth.convert_to_html(io.BytesIO(made)).value)


def test_headings_are_real_and_in_order(page: reader.HtmlElement, demo_document: Document) -> None:
    wanted = [plain(b.text) for b in demo_document.blocks if isinstance(b, Heading)]
    found = [element.text_content() for element in page.xpath("//h1 | //h2 | //h3")]
    assert found == wanted
    assert page.xpath("//p")[0].text_content() == plain(demo_document.title)


def test_the_hour_it_was_made_leaves_no_trace(made: bytes, demo_document: Document) -> None:
    with zipfile.ZipFile(io.BytesIO(made)) as archive:
        assert {entry.date_time for entry in archive.infolist()} == {(2000, 1, 1, 0, 0, 0)}
        assert archive.testzip() is None
    assert word(demo_document) == made


def test_tables_are_tables_with_a_repeated_head(made: bytes, demo_document: Document) -> None:
    opened = docx.Document(io.BytesIO(made))
    assert len(opened.tables) == len(demo_document.tables)
    for table, block in zip(opened.tables, demo_document.tables, strict=True):
        assert [cell.text for cell in table.rows[0].cells] == [plain(c) for c in block.columns]
        assert len(table.rows) == 1 + len(block.rows)
        assert table.rows[0]._tr.xpath("./w:trPr/w:tblHeader")


def test_every_picture_has_its_words_and_a_counted_caption(
    made: bytes, page: reader.HtmlElement, demo_document: Document
) -> None:
    assert [image.get("alt") for image in page.xpath("//img")] == [
        plain(figure.alt) for figure in demo_document.figures
    ]
    fields = docx.Document(io.BytesIO(made)).element.body.xpath(".//w:fldSimple/@w:instr")
    assert sum("SEQ Figure" in field for field in fields) == len(demo_document.figures)
    assert sum("SEQ Table" in field for field in fields) == len(demo_document.tables)


def test_no_number_is_there_that_is_not_among_the_entries(
    page: reader.HtmlElement, demo_document: Document
) -> None:
    known = {token for n in demo_document.numbers for token in tokens(n.text)}
    known |= {t for w in demo_document.references for t in tokens(f"{w.full} {w.short}")}
    known |= {str(n) for n in range(1, 1 + len(demo_document.tables))}
    codes = {
        part.text
        for block in demo_document.blocks
        if not isinstance(block, Bibliography)
        for phrase in phrases(block)
        for part in phrase
        if isinstance(part, Code)
    }
    text = "\n".join(p.text_content() for p in page.xpath("//p | //li | //h1 | //h2 | //h3"))
    for code in sorted(codes, key=len, reverse=True):
        text = text.replace(code, "")
    said = tokens(text)
    assert len(said) > 500
    assert set(said) <= known


def test_the_parts_are_sound_xml_and_name_nobody(made: bytes) -> None:
    with zipfile.ZipFile(io.BytesIO(made)) as archive:
        for name in archive.namelist():
            if name.endswith((".xml", ".rels")):
                etree.fromstring(archive.read(name))
        core = archive.read("docProps/core.xml").decode()
    assert re.search(r"<dc:creator(/>|></dc:creator>)", core)
