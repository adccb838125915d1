"""An executed notebook as one HTML page: offline, without scripts, each picture with its words."""

from __future__ import annotations

import base64
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from markdown_it import MarkdownIt
from markupsafe import Markup, escape

from workbench.runs.clean_html import clean_html
from workbench.runs.execute import COLOURS, first_line
from workbench.runs.pages import CAUTIONS, page

BASE64_PICTURES = ("image/png", "image/jpeg")


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """One cell as the template takes it; `html` and `outputs` are harmless already."""

    kind: str
    number: int
    source: str
    html: Markup
    outputs: tuple[Markup, ...]


def notebook_page(notebook: Any, *, title: str, failure: str = "") -> str:
    """Give the page of an executed notebook; `failure` says why it did not come to its end."""
    cells = [
        convert_cell(cell, number, title)
        for number, cell in enumerate(notebook.cells, start=1)
        if cell.source.strip()
    ]
    return page(
        "notebook.html",
        title=title,
        failure=failure,
        headed=any("<h1>" in cell.html for cell in cells),
        cautions=() if any(cautions_said(cell) for cell in notebook.cells) else CAUTIONS,
        cells=cells,
    )


def cautions_said(cell: Any) -> bool:
    """Tell whether a cell of text holds the cautions already."""
    return cell.cell_type == "markdown" and "**Cautions.**" in cell.source


def convert_cell(cell: Any, number: int, title: str) -> Cell:
    """Convert one cell."""
    markdown = cell.cell_type == "markdown"
    alt = f"A figure of cell {number} of “{title}”, drawn by: {first_line(cell.source)}"
    return Cell(
        kind="markdown" if markdown else "code",
        number=number,
        source=cell.source,
        html=rendered_markdown(cell.source, alt) if markdown else Markup(),
        outputs=tuple(convert_output(output, alt) for output in cell.get("outputs", [])),
    )


def convert_output(output: Any, alt: str) -> Markup:
    """Convert one output by the richest of its forms that can be shown without a script."""
    if output.output_type == "stream":
        return preformatted(output.text)
    if output.output_type == "error":
        return preformatted("\n".join(output.traceback) or f"{output.ename}: {output.evalue}")
    data = output.get("data", {})
    for kind in BASE64_PICTURES:
        if kind in data and "text/html" not in data:
            words = output.get("metadata", {}).get(kind, {}).get("alt") or alt
            return picture(kind, "".join(data[kind].split()), words)
    for kind, convert in FORMS.items():
        if kind in data:
            return convert(data[kind], alt)
    return Markup()


def rendered_html(text: str, alt: str) -> Markup:
    """Show HTML, cleaned; a table may be wider than the page."""
    cleaned = clean_html(text, alt=alt)
    wide = '<div class="wide" role="group" tabindex="0" aria-label="table">{}</div>'
    kept = wide.format(cleaned) if "<table" in cleaned else cleaned
    return Markup(kept)  # noqa: S704  cleaned


def rendered_markdown(text: str, alt: str) -> Markup:
    """Show Markdown; HTML in it is shown as text."""
    html = MarkdownIt("commonmark", {"html": False}).enable("table").render(text)
    return Markup(clean_html(html, alt=alt))  # noqa: S704  cleaned


def rendered_svg(text: str, alt: str) -> Markup:
    """Show a drawing as a picture: what stands in it can then run nothing."""
    return picture("image/svg+xml", base64.b64encode(text.encode()).decode(), alt)


def preformatted(text: str, alt: str = "") -> Markup:
    """Show text as it is printed in a terminal, without its colours."""
    return Markup("<pre>{}</pre>").format(COLOURS.sub("", text).rstrip("\n"))


def picture(kind: str, code: str, alt: str) -> Markup:
    """Show a picture from its base64 code."""
    return Markup('<figure><img alt="{}" src="data:{};base64,{}"></figure>').format(
        alt, kind, escape(code)
    )


FORMS: dict[str, Callable[[str, str], Markup]] = {
    "text/html": rendered_html,
    "image/svg+xml": rendered_svg,
    "text/markdown": rendered_markdown,
    "text/plain": preformatted,
}
