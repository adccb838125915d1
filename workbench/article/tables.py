"""A small table for a notebook or an article: accessible HTML, Markdown and plain text."""

from __future__ import annotations

import re
from dataclasses import dataclass

from workbench.article.text import clean, html_text, in_notebook, markdown_text

CELL_LIMIT = 300
SHORT, LONG = 14, 45  # signs of a cell that is kept on one line, and of one that is given room


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """Rows of text under headings, the first cell of a row naming it; all text is a stranger's.

    `numeric` lists the places of the columns that are set to the right; `note` stands below.
    """

    caption: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numeric: tuple[int, ...] = ()
    note: str = ""

    def __post_init__(self) -> None:
        """Refuse a row that does not fit the headings."""
        for number, row in enumerate(self.rows, start=1):
            if len(row) != len(self.columns):
                raise ValueError(
                    f"Row {number} of the table “{self.caption}” has {len(row)} cells under "
                    f"{len(self.columns)} headings."
                )

    def html(self) -> str:
        """Give the table with a caption and with headings for its columns and rows; escaped.

        One without rows is its caption and its note, which says why.
        """
        head = "".join(
            f'<th scope="col"{self._side(place)}>{html_text(name)}</th>'
            for place, name in enumerate(self.columns)
        )
        body = "".join(
            f'<tr><th scope="row" style="text-align:left">{html_text(row[0], CELL_LIMIT)}</th>'
            + "".join(
                f"<td{self._side(place, cell)}>{with_code(html_text(cell, CELL_LIMIT))}</td>"
                for place, cell in enumerate(row[1:], start=1)
            )
            + "</tr>"
            for row in self.rows
        )
        note = f"<p>{with_code(html_text(self.note, 1000))}</p>" if self.note else ""
        if not self.rows:
            return f"<p><strong>{html_text(self.caption)}</strong></p>{note}"
        return (
            f"<table><caption>{html_text(self.caption)}</caption><thead><tr>{head}</tr></thead>"
            f"<tbody>{body}</tbody></table>{note}"
        )

    def markdown(self) -> str:
        """Give the table as Markdown, with its caption above and its note below; escaped."""
        rule = " | ".join("---:" if p in self.numeric else "---" for p in range(len(self.columns)))
        lines = [
            f"**{markdown_text(self.caption)}**",
            "",
            f"| {' | '.join(map(markdown_text, self.columns))} |",
            f"| {rule} |",
            *(
                f"| {' | '.join(markdown_text(cell, CELL_LIMIT) for cell in row)} |"
                for row in self.rows
            ),
        ]
        if self.note:
            lines += ["", markdown_text(self.note, 1000)]
        return "\n".join(lines) + "\n"

    def plain(self) -> str:
        """Give the table as lines of text, each cell with its heading: good to listen to."""
        lines = [clean(self.caption)]
        for row in self.rows:
            cells = zip(self.columns, row, strict=True)
            lines.append("; ".join(f"{clean(n)}: {clean(c, CELL_LIMIT)}" for n, c in cells))
        return "\n".join([*lines, clean(self.note, 1000)] if self.note else lines)

    def _repr_mimebundle_(self, include: object = None, exclude: object = None) -> dict[str, str]:
        """Show the table in a notebook."""
        return {"text/html": in_notebook(self.html()), "text/plain": self.plain()}

    def _side(self, place: int, cell: str = "") -> str:
        numeric = place in self.numeric
        width = "short" if 0 < len(cell) <= SHORT else "long" if len(cell) > LONG else ""
        kind = " ".join(filter(None, ("number" if numeric else "", width)))
        named = f' class="{kind}"' if kind else ""
        whole = ";white-space:nowrap" if width == "short" else ""  # a notebook has no style of ours
        return f'{named} style="text-align:{"right" if numeric else "left"}{whole}"'


def with_code(escaped: str) -> str:
    """Set what stands between backticks in escaped text as code."""
    return re.sub("`([^`]+)`", r"<code>\1</code>", escaped)
