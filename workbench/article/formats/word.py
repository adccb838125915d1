"""The write-up as a Word file: real headings, captions, tables and alternative texts."""

from __future__ import annotations

import datetime
import io
import zipfile
from typing import TYPE_CHECKING, Any

import docx
from docx.enum.table import WD_TABLE_ALIGNMENT
from docx.enum.text import WD_ALIGN_PARAGRAPH
from docx.oxml import OxmlElement
from docx.oxml.ns import qn
from docx.shared import Mm, Pt, RGBColor

from workbench.article.print_style import TWO_COLUMNS
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

if TYPE_CHECKING:
    from docx.document import Document as WordDocument
    from docx.text.paragraph import Paragraph as WordParagraph

LIMIT = 20_000
INK = RGBColor(0x1A, 0x1A, 0x1A)
FONTS = {"Normal": ("Liberation Serif", 10.5), "Caption": ("Liberation Sans", 9)}
HEADINGS = {"Title": 20, "Heading 1": 14, "Heading 2": 11.5, "Heading 3": 10.5}
CELL_SIZE = Pt(8.5)
NARROWEST, WIDEST = 8, 45  # signs
MARGIN = (210 - TWO_COLUMNS.mm) / 2  # of an A4 page
EPOCH = datetime.datetime(2000, 1, 1)


def word(document: Document) -> bytes:
    """Give the write-up as the bytes of a .docx file."""
    made = docx.Document()
    set_up(made, plain(document.title), document.language)
    made.add_paragraph(safe(plain(document.title)), style="Title")
    for block in document.blocks:
        add(made, block)
    stream = io.BytesIO()
    made.save(stream)
    return timeless(stream)


def timeless(packed: io.BytesIO) -> bytes:
    """Give an archive with the hour taken out of its entries: one write-up is one file."""
    stream = io.BytesIO()
    with zipfile.ZipFile(packed) as old, zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as new:
        for entry in old.infolist():
            same = zipfile.ZipInfo(entry.filename, EPOCH.timetuple()[:6])
            same.compress_type = zipfile.ZIP_DEFLATED
            new.writestr(same, old.read(entry))
    return stream.getvalue()


def set_up(made: WordDocument, title: str, language: str) -> None:
    """Set the page, the fonts and the properties; no name of a person, no time."""
    for section in made.sections:
        section.page_width, section.page_height = Mm(210), Mm(297)
        section.left_margin = section.right_margin = Mm(MARGIN)
        section.top_margin = section.bottom_margin = Mm(20)
    for name, (font, size) in FONTS.items():
        style_font(made, name, font, size)
    made.styles["Caption"].font.bold = False
    for name, size in HEADINGS.items():
        style_font(made, name, "Liberation Sans", size)
    made.styles["Normal"].element.get_or_add_rPr().append(element("w:lang", {"w:val": language}))
    known = made.core_properties
    known.title, known.author, known.comments = safe(title)[:255], "", ""
    known.created = known.modified = EPOCH
    known.language = language


def style_font(made: WordDocument, name: str, font: str, size: float) -> None:
    """Give a style its font, size and ink."""
    style: Any = made.styles[name]
    style.font.name, style.font.size, style.font.color.rgb = font, Pt(size), INK
    fonts = style.element.get_or_add_rPr().get_or_add_rFonts()
    for place in ("w:asciiTheme", "w:hAnsiTheme", "w:eastAsiaTheme", "w:cstheme"):
        fonts.attrib.pop(qn(place), None)  # a theme's font would go before ours
    for place in ("w:hAnsi", "w:eastAsia", "w:cs"):
        fonts.set(qn(place), font)


def add(made: WordDocument, block: Block) -> None:
    """Add one block."""
    match block:
        case Heading():
            runs(made.add_paragraph(style=f"Heading {block.level - 1}"), block.text)
        case Paragraph():
            paragraph = made.add_paragraph()
            if block.caution:
                paragraph._p.get_or_add_pPr().append(borders("w:pBdr", ("left",), 24))
                paragraph.paragraph_format.left_indent = Mm(3)
            runs(paragraph, block.text)
        case Pair():
            for lead, phrase in (
                ("In plain words. ", block.plain),
                ("For the reviewer. ", block.reporting),
            ):
                runs(made.add_paragraph(), (Strong(lead), *phrase))
        case Bullets():
            for item in block.items:
                runs(made.add_paragraph(style="List Bullet"), item)
        case Bibliography():
            for work in block.references:
                made.add_paragraph(safe(work.full), style="List Bullet")
        case TableBlock():
            add_table(made, block)
        case FigureBlock():
            add_figure(made, block)


def runs(paragraph: WordParagraph, phrase: Phrase, size: Pt | None = None) -> None:
    """Write a phrase into a paragraph; what stands in it is text."""
    for part in phrase:
        text = part if isinstance(part, str) else part.text
        run = paragraph.add_run(safe(text))
        run.bold = True if isinstance(part, Strong) else None
        if isinstance(part, Code):
            run.font.name = "Liberation Mono"
            run.font.size = Pt(8)
        elif size is not None:
            run.font.size = size


def safe(text: str) -> str:
    """Clean a text, keeping one space at its ends where it has some."""
    lead = " " if text[:1].isspace() else ""
    tail = " " if text[-1:].isspace() and text.strip() else ""
    return f"{lead}{clean(text, LIMIT)}{tail}"


def caption(made: WordDocument, kind: str, text: Phrase, *, above: bool) -> None:
    """Write a caption whose number Word counts itself."""
    paragraph = made.add_paragraph(style="Caption")
    paragraph.paragraph_format.keep_with_next = above
    paragraph.add_run(f"{kind} ").bold = True
    field = element("w:fldSimple", {"w:instr": f" SEQ {kind} \\* ARABIC "})
    number = paragraph.add_run(str(counted(made, kind)))
    paragraph._p.append(field)
    field.append(number._r)
    number.bold = True
    paragraph.add_run(". ").bold = True
    runs(paragraph, text)


def counted(made: WordDocument, kind: str) -> int:
    """Count the captions of a kind so far, and this one."""
    fields = made.element.body.iter(qn("w:fldSimple"))
    return 1 + sum(f" SEQ {kind} " in field.get(qn("w:instr")) for field in fields)


def add_table(made: WordDocument, block: TableBlock) -> None:
    """Add a table: its caption above, its head repeated on each page, rules above and below."""
    caption(made, "Table", block.caption, above=True)
    table = made.add_table(rows=1 + len(block.rows), cols=len(block.columns))
    table.alignment = WD_TABLE_ALIGNMENT.LEFT
    table.autofit = False
    for column, width in zip(table.columns, widths(block), strict=True):
        column.width = width
        for cell in column.cells:
            cell.width = width
    properties = table._tbl.tblPr
    properties.append(element("w:tblCaption", {"w:val": safe(plain(block.caption))}))
    properties.append(borders("w:tblBorders", ("top", "bottom"), 8))
    rows = (block.columns, *block.rows)
    for place, (row, phrases) in enumerate(zip(table.rows, rows, strict=True)):
        row_properties = row._tr.get_or_add_trPr()
        row_properties.append(element("w:cantSplit", {}))
        if place == 0:
            row_properties.append(element("w:tblHeader", {}))
        for column, (cell, phrase) in enumerate(zip(row.cells, phrases, strict=True)):
            paragraph = cell.paragraphs[0]
            paragraph.paragraph_format.space_after = Pt(1)
            lead = place == 0 or column == 0
            runs(paragraph, tuple(map(strong, phrase)) if lead else phrase, CELL_SIZE)
            if column in block.numeric:
                paragraph.alignment = WD_ALIGN_PARAGRAPH.RIGHT
            if place == 0:
                cell._tc.get_or_add_tcPr().append(borders("w:tcBorders", ("bottom",), 4))
    note = made.add_paragraph()
    runs(note, block.note, CELL_SIZE)


def widths(block: TableBlock) -> list[Mm]:
    """Share the width of the page among the columns by what stands in them."""
    columns = zip(block.columns, *block.rows, strict=True)
    needs = []
    for column in columns:
        texts = [plain(cell) for cell in column]
        mean = sum(map(len, texts)) / len(texts)
        word_length = max(len(word) for text in texts for word in (text.split() or [""]))
        needs.append(min(max(mean, word_length + 3, NARROWEST), WIDEST))
    return [Mm(TWO_COLUMNS.mm * need / sum(needs)) for need in needs]


def strong(part: Any) -> Any:
    """Give words and numbers in bold; names a machine reads stay as they are."""
    if isinstance(part, Code | Strong):
        return part
    return Strong(part if isinstance(part, str) else part.text)


def add_figure(made: WordDocument, block: FigureBlock) -> None:
    """Add a picture with its alternative text, its caption below."""
    paragraph = made.add_paragraph()
    paragraph.paragraph_format.keep_with_next = True
    shape = paragraph.add_run().add_picture(io.BytesIO(block.wide.png), width=Mm(TWO_COLUMNS.mm))
    shape._inline.docPr.set("descr", safe(plain(block.alt)))
    caption(made, "Figure", block.caption, above=False)


def element(name: str, attributes: dict[str, str]) -> Any:
    """Give an element of Word's own markup."""
    made = OxmlElement(name)
    for key, value in attributes.items():
        made.set(qn(key), value)
    return made


def borders(name: str, sides: tuple[str, ...], eighths: int) -> Any:
    """Give rules on some sides, so many eighths of a point thick."""
    made = element(name, {})
    for side in sides:
        made.append(
            element(f"w:{side}", {"w:val": "single", "w:sz": str(eighths), "w:color": "1A1A1A"})
        )
    return made
