"""Figures at print size: their width, resolution, fonts and grey values, read from the files."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from functools import cache

import matplotlib.colors
import pytest
from PIL import Image

from workbench.article import print_style, style
from workbench.article.print_style import BODY, DPI, ONE_COLUMN, SMALL, TWO_COLUMNS, Width
from workbench.article.writing.document import Document, FigureBlock

MM = 25.4


@pytest.fixture(scope="module", params=("verdicts", "claim-1"))
def figure(request: pytest.FixtureRequest, demo_document: Document) -> FigureBlock:
    return next(block for block in demo_document.figures if block.name == request.param)


@pytest.fixture(scope="module")
def encoded(figure: FigureBlock) -> Callable[[str, str], bytes]:
    """Give the bytes of a side of the figure in a format, each made once."""
    return cache(lambda side, form: getattr(figure, side).encoded(form))


@pytest.mark.parametrize("side", ["narrow", "wide"])
def test_a_picture_has_its_width_in_print(encoded: Callable[[str, str], bytes], side: str) -> None:
    wanted = {"narrow": ONE_COLUMN, "wide": TWO_COLUMNS}[side].mm
    image = Image.open(io.BytesIO(encoded(side, "png")))
    assert image.width == pytest.approx(wanted / MM * DPI, abs=1)
    assert image.info["dpi"][0] == pytest.approx(DPI, abs=0.1)
    svg = encoded(side, "svg").decode()
    width = re.search(r'<svg[^>]*\swidth="([\d.]+)pt"', svg)
    assert width is not None
    assert float(width[1]) / 72 * MM == pytest.approx(wanted, abs=0.05)
    box = re.search(rb"/MediaBox \[ ?0 0 ([\d.]+) ", encoded(side, "pdf"))
    assert box is not None
    assert float(box[1]) / 72 * MM == pytest.approx(wanted, abs=0.05)


@pytest.mark.parametrize("side", ["narrow", "wide"])
def test_fonts_are_in_the_file(encoded: Callable[[str, str], bytes], side: str) -> None:
    svg = encoded(side, "svg").decode()
    assert "<text" not in svg  # glyphs are drawn as outlines, so that no font is needed
    assert 'id="DejaVuSans-' in svg
    pdf = encoded(side, "pdf")
    assert b"/FontFile2" in pdf  # embedded as TrueType
    assert b"/Type3" not in pdf


@pytest.mark.parametrize("side", ["narrow", "wide"])
def test_no_letter_is_smaller_than_can_be_read(figure: FigureBlock, side: str) -> None:
    from matplotlib.text import Text

    texts = [t for t in getattr(figure, side).figure.findobj(Text) if t.get_text().strip()]
    assert texts
    assert min(text.get_fontsize() for text in texts) >= SMALL
    assert SMALL >= 6
    assert BODY <= 8


def test_figures_can_be_told_apart_in_grey() -> None:
    # Outcomes and families have a marker each; every ink keeps 3:1 on white (WCAG 2.1, 1.4.11).
    assert len({look.marker for look in style.OUTCOMES.values()}) == len(style.OUTCOMES)
    assert len(set(style.MARKERS)) == len(style.MARKERS)
    for colour in (*(look.colour for look in style.OUTCOMES.values()), style.INK, style.SOFT):
        channels = [
            c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4
            for c in matplotlib.colors.to_rgb(colour)
        ]
        grey = 0.2126 * channels[0] + 0.7152 * channels[1] + 0.0722 * channels[2]
        assert 1.05 / (grey + 0.05) >= 3, colour


def test_labels_stand_at_their_marks_and_no_legend_is_needed(figure: FigureBlock) -> None:
    from matplotlib.legend import Legend

    assert figure.narrow.figure.findobj(Legend) == []
    assert figure.wide.figure.findobj(Legend) == []


def test_the_words_begin_with_the_finding(demo_document: Document) -> None:
    block = next(block for block in demo_document.figures if block.name == "claim-1")
    alt = block.wide.alt
    assert alt.index("2.67") < alt.index("A line")
    assert "supported" in alt


@pytest.mark.parametrize(("width", "panels"), [(ONE_COLUMN, 1), (TWO_COLUMNS, 1), (TWO_COLUMNS, 2)])
def test_a_long_label_of_an_axis_stays_on_the_sheet(width: Width, panels: int) -> None:
    with print_style.drawing():
        figure = print_style.sheet(width, 60)
        for axes in figure.subplots(1, panels, squeeze=False)[0]:
            label = "Wall thickness, share below the threshold: Trophy minus Works (points)"
            print_style.value_axis(axes, label)
            figure.canvas.draw()
            ends = axes.xaxis.label.get_window_extent()
            assert ends.x0 >= 0
            assert ends.x1 <= figure.bbox.width
            assert axes.get_xlabel().replace("\n", " ") == label
