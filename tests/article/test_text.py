"""Text from strangers, made fit to show."""

from __future__ import annotations

import html

import pytest

from workbench.article.text import (
    UNKNOWN_GLYPH,
    clean,
    counted,
    distinct_labels,
    drawable,
    html_text,
    in_notebook,
    markdown_text,
    shorten,
    wrapped,
)


def test_clean_leaves_one_line_without_control_or_direction_signs() -> None:
    assert clean(" a\n\tb\x07\x00c \u202egnirts\u2066 \ud800") == "a b c gnirts"


def test_clean_is_bounded_however_long_the_text() -> None:
    assert len(clean("x" * 1_000_000, limit=50)) == 50


def test_shorten_keeps_both_ends() -> None:
    assert shorten("a-long-name-number-17", 12) == "a-long-n…-17"
    assert shorten("short", 12) == "short"


def test_signs_the_font_lacks_are_shown_as_such() -> None:
    assert drawable("Ø 86 鋳 ±µ°") == f"Ø 86 {UNKNOWN_GLYPH} ±µ°"


@pytest.mark.parametrize("text", ["word " * 60, "x" * 400, "a bc def ghij " * 30, ""])
def test_wrapped_never_exceeds_its_box(text: str) -> None:
    rows = wrapped(text, 22, 3).split("\n")
    assert len(rows) <= 3
    assert max(map(len, rows)) <= 22


def test_labels_that_read_alike_are_kept_apart() -> None:
    labels = distinct_labels(["a" * 500, "a" * 600, "b", ""], 10, 2)
    assert len(set(labels)) == 4
    assert labels[3] == "(no name)"


@pytest.mark.parametrize("text", ["<script>alert(1)</script>", "\" onload='x'", "a & b"])
def test_html_text_shows_the_text_and_is_no_markup(text: str) -> None:
    shown = html_text(text)
    assert not set("<>\"'") & set(shown)
    assert html.unescape(shown) == text


def test_markdown_text_holds_no_markup_link_or_mathematics() -> None:
    nbconvert = pytest.importorskip("nbconvert.filters.markdown_mistune")
    text = "*a* [b](javascript:alert(1)) <img src=x> $\\alpha$ `c` | d # e ![f](g) http://h.example"
    page = nbconvert.markdown2html_mistune(markdown_text(text))
    assert page.strip() == f"<p>{html.escape(text, quote=False)}</p>"


def test_counts_agree_with_their_noun() -> None:
    assert counted(1, "block") == "1 block"
    assert counted(2304, "reading") == "2,304 readings"


def test_what_a_notebook_is_given_is_no_mathematics() -> None:
    """MathJax leaves what is of this class alone (its documentation, ignoreHtmlClass)."""
    shown = in_notebook("<p>between $900 and $1100</p>")
    assert shown == '<div class="mathjax_ignore"><p>between $900 and $1100</p></div>'
