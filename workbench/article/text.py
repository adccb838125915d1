"""Text from a stranger made fit to show: cleaned, shortened, wrapped, and escaped."""

from __future__ import annotations

import textwrap
import unicodedata
from collections.abc import Iterable
from functools import lru_cache
from html import escape
from pathlib import Path

UNKNOWN_GLYPH = "\N{REPLACEMENT CHARACTER}"
ELLIPSIS = "…"
MARKDOWN_SIGNS = "\\`*_{}[]()#+-.!|~$^=:"


def clean(text: object, limit: int = 400) -> str:
    """Give `text` as one line without control or direction signs, at most `limit` signs long.

    A control sign could break an SVG file; a direction override could make a figure read backwards.
    """
    kept = str(text)[: 4 * limit]
    if not kept.isprintable():  # which every text without those signs and separators is
        kept = "".join(
            " " if unicodedata.category(sign) in ("Cc", "Zl", "Zp", "Zs") else sign
            for sign in kept
            if unicodedata.category(sign) not in ("Cf", "Cs", "Co", "Cn")
        )
    return shorten(" ".join(kept.split()), limit)


def shorten(text: str, limit: int) -> str:
    """Cut the middle out of a text longer than `limit`: names often differ in their ends."""
    if len(text) <= limit:
        return text
    tail = (limit - 1) // 3
    return text[: limit - 1 - tail] + ELLIPSIS + text[len(text) - tail :]


def drawable(text: object, limit: int = 400) -> str:
    """Give `text` cleaned, with each sign the figures' font lacks shown as a replacement sign."""
    known = glyphs()
    return "".join(s if ord(s) in known else UNKNOWN_GLYPH for s in clean(text, limit))


@lru_cache(maxsize=1)
def glyphs() -> frozenset[int]:
    """Give the code points that the font of the figures can draw."""
    from matplotlib import get_data_path
    from matplotlib.font_manager import get_font

    font = get_font(str(Path(get_data_path()) / "fonts" / "ttf" / "DejaVuSans.ttf"))
    return frozenset(font.get_charmap())


def wrapped(text: object, width: int, lines: int = 3) -> str:
    """Give `text` in at most `lines` lines of `width` signs, fit to be drawn."""
    limit = width * lines
    rows = textwrap.wrap(drawable(text, limit), width)
    while len(rows) > lines:  # words leave lines short, so less text fits
        limit -= 1 + (len(rows) - lines - 1) * width
        rows = textwrap.wrap(drawable(text, limit), width)
    return "\n".join(rows)


def distinct_labels(labels: Iterable[object], width: int, lines: int = 2) -> tuple[str, ...]:
    """Wrap each label; those that read the same once wrapped are numbered, to keep them apart."""
    seen: dict[str, int] = {}
    result = []
    for label in labels:
        text = wrapped(label, width, lines) or "(no name)"
        seen[text] = seen.get(text, 0) + 1
        again = seen[text] > 1
        result.append(wrapped(f"({seen[text]}) {label}", width, lines) if again else text)
    return tuple(result)


def html_text(text: object, limit: int = 400) -> str:
    """Give `text` cleaned and escaped for HTML, inside elements and attributes alike."""
    return escape(clean(text, limit), quote=True)


def in_notebook(html: str) -> str:
    """Wrap HTML for a notebook, which would take what stands between dollar signs as a formula.

    The class is MathJax's own for what it is to leave alone. A formula could carry a link that
    runs a script, and an amount in dollars is none.
    """
    return f'<div class="mathjax_ignore">{html}</div>'


def markdown_text(text: object, limit: int = 400) -> str:
    """Give `text` cleaned and escaped for Markdown: no markup, no link, no HTML, no mathematics."""
    backslashed = "".join(
        "\\" + sign if sign in MARKDOWN_SIGNS else sign for sign in clean(text, limit)
    )
    return backslashed.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def counted(number: int, noun: str, plural: str | None = None) -> str:
    """Give a count with its noun: `1 block`, `3 blocks`, `12,000 readings`."""
    word = noun if number == 1 else plural or f"{noun}s"
    return f"{number:,} {word}"
