"""A table drawn on a printed sheet, for figures that stand alone on a page."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from workbench.article import style
from workbench.article.text import ELLIPSIS, counted, drawable

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes

    from workbench.article.tables import Table

LINE, LINE_GAP = 1.32, 0.2  # a line, of the letters' size; between rows, of a line
POINTS = 72.0  # to the inch
GAP, SLACK = 0.9, 0.01  # between columns and in a cell, of the letters' size
CELL_LINES, NOTE_LINES = 4, 6


def draw_table(
    axes: Axes,
    table: Table,
    keep: Sequence[int],
    *,
    size: float = 7.5,
    most: int = 12,
    note: str = "",
) -> None:
    """Draw a table into axes, which it switches off: caption, headings, rows, note.

    Parameters
    ----------
    axes
        Empty axes.
    table
        The table.
    keep
        Places of the columns drawn.
    size
        Of the letters, in points.
    most
        Rows drawn; how many were left out is said.
    note
        What is said below, in place of the note of the table.
    """
    axes.set_axis_off()
    letters = letters_across(axes, size)
    sheet = axes.get_figure(root=True)
    assert sheet is not None
    line = LINE * size / POINTS / (axes.get_position().height * sheet.get_size_inches()[1])
    heads = [table.columns[at] for at in keep]
    rows = [[row[at] for at in keep] for row in table.rows[:most]]
    if not rows:
        _nothing(axes, table, letters, line, size)
        return
    room = _shared_out(heads, rows, letters)
    starts = [sum(wide + GAP for wide in room[:at]) / letters for at in range(len(room))]
    caption = fitted(table.caption, letters * size / (size + 1), 1, bold=True)
    axes.text(0, 1.0, caption, fontweight="bold", fontsize=size + 1, va="top")
    below = 1.0 - 1.3 * line
    below = _row(axes, heads, starts, room, below, line, size, bold=True)
    axes.plot([0, 1], [below + 0.1 * line] * 2, color=style.SOFT, linewidth=0.6)
    heights = [line * (_lines(row, room) + LINE_GAP) for row in rows]
    whole = len(rows) == len(table.rows) and sum(heights) <= below
    least = 0.0 if whole else line * (1 + LINE_GAP)  # what says how many are left out
    drawn = 0
    for row, height in zip(rows, heights, strict=True):
        if below - height < least:
            break
        below, drawn = _row(axes, row, starts, room, below, line, size), drawn + 1
    if drawn < len(table.rows):
        left = counted(len(table.rows) - drawn, "row")
        note = f"{left} more in the page of this sheet. {note}"
    fitting = min(NOTE_LINES, int((below - LINE_GAP * line) / line))
    if note and fitting > 0:
        text = fitted(note, letters, fitting)
        axes.text(0, below - LINE_GAP * line, text, fontsize=size, va="top", color=style.SOFT)
    axes.set_xlim(0, 1)
    axes.set_ylim(0, 1)


def _nothing(axes: Axes, table: Table, letters: float, line: float, size: float) -> None:
    """Draw the caption of a table without rows, and what its note says of that."""
    caption = fitted(table.caption, letters * size / (size + 1), 1, bold=True)
    axes.text(0, 1.0, caption, fontweight="bold", fontsize=size + 1, va="top")
    said = fitted(table.note or "None.", letters, NOTE_LINES)
    axes.text(0, 1.0 - 1.5 * line, said, fontsize=size, va="top", color=style.SOFT)
    axes.set_xlim(0, 1)
    axes.set_ylim(0, 1)


def letters_across(axes: Axes, size: float) -> float:
    """Give the width of axes on the sheet, in sizes of the letters."""
    sheet = axes.get_figure(root=True)
    assert sheet is not None
    return float(axes.get_position().width * sheet.get_size_inches()[0] * POINTS / size)


def _row(
    axes: Axes,
    cells: Sequence[str],
    starts: Sequence[float],
    room: Sequence[float],
    down: float,
    line: float,
    size: float,
    *,
    bold: bool = False,
) -> float:
    """Draw one row at `down` and give where the next one begins."""
    texts = _fitted(cells, room, bold=bold)
    for text, start in zip(texts, starts, strict=True):
        axes.text(
            start,
            down,
            text,
            fontsize=size,
            va="top",
            linespacing=LINE - 0.12,
            fontweight="bold" if bold else "normal",
        )
    return down - line * (max(text.count("\n") for text in texts) + 1 + LINE_GAP)


def _lines(cells: Sequence[str], room: Sequence[float]) -> int:
    return max(text.count("\n") for text in _fitted(cells, room)) + 1


def _fitted(cells: Sequence[str], room: Sequence[float], *, bold: bool = False) -> list[str]:
    return [
        fitted(cell, wide, CELL_LINES, bold=bold) for cell, wide in zip(cells, room, strict=True)
    ]


def _shared_out(heads: Sequence[str], rows: Sequence[Sequence[str]], letters: float) -> list[float]:
    """Share a width among columns: each has its longest word, then what its longest cell asks."""
    words, whole = [], []
    for at, head in enumerate(heads):
        cells = [(head, True), *((row[at], False) for row in rows)]
        words.append(
            max(_width(word, bold) for text, bold in cells for word in text.split() or [""])
        )
        whole.append(max(_width(text, bold) for text, bold in cells))
    left = letters - GAP * len(heads)
    if sum(words) >= left:
        return [left * wide / sum(words) for wide in words]
    asked = [long - wide for long, wide in zip(whole, words, strict=True)]
    spare = min(1.0, (left - sum(words)) / sum(asked)) if sum(asked) else 0.0
    return [wide + SLACK + spare * more for wide, more in zip(words, asked, strict=True)]


def fitted(text: str, width: float, lines: int, *, bold: bool = False) -> str:
    """Break a text at its words into lines of a width, measured in sizes of its letters.

    A word too wide for a line is broken; what is beyond the last line is left out.
    """
    rows: list[str] = [""]
    for word in drawable(text, 60 * lines * max(1, int(width))).split():
        longer = f"{rows[-1]} {word}".strip()
        if _width(longer, bold) <= width:
            rows[-1] = longer
            continue
        rows += [word] if rows[-1] else []
        rows[-1] = word
        while _width(rows[-1], bold) > width and len(rows[-1]) > 1:
            fitting = next(
                at
                for at in range(len(rows[-1]) - 1, 0, -1)
                if at == 1 or _width(rows[-1][:at], bold) <= width
            )
            rows[-1:] = [rows[-1][:fitting], rows[-1][fitting:]]
    if len(rows) > lines:
        rows = [*rows[: lines - 1], f"{rows[lines - 1][:-1]}{ELLIPSIS}"]
    return "\n".join(rows)


def _width(text: str, bold: bool) -> float:
    return sum(_advance(sign, bold) for sign in text)


@lru_cache(maxsize=4096)
def _advance(sign: str, bold: bool) -> float:
    """Give the width of a sign in the figures' font, in sizes of its letters."""
    from matplotlib import get_data_path
    from matplotlib.font_manager import get_font
    from matplotlib.ft2font import LoadFlags

    name = "DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf"
    font = get_font(str(Path(get_data_path()) / "fonts" / "ttf" / name))
    glyph = font.load_char(ord(sign), flags=LoadFlags.NO_SCALE)
    return float(glyph.horiAdvance / font.units_per_EM)
