import pytest
from matplotlib.textpath import TextPath

from workbench.article import style
from workbench.article.printed_table import draw_table, fitted
from workbench.article.tables import Table

LONG = "a cell with many words and averyveryverylongwordthatmustbebroken at its end"


@pytest.mark.parametrize("bold", [False, True])
@pytest.mark.parametrize("width", [3.0, 8.0, 20.0])
def test_lines_keep_the_width_by_the_font_itself(width: float, bold: bool) -> None:
    """Measured by matplotlib's own outlines of the text, at a size of 1 for each unit of width."""
    properties = {"family": "DejaVu Sans", "weight": "bold" if bold else "normal"}
    for line in fitted(LONG, width, 40, bold=bold).splitlines():
        box = TextPath((0, 0), line, size=100, prop=properties).get_extents()
        assert box.width <= 100 * width + 2


def test_all_words_are_kept_where_lines_allow_and_the_rest_is_marked() -> None:
    assert "".join(fitted(LONG, 6.0, 40).split()) == "".join(LONG.split())
    cut = fitted(LONG, 6.0, 2)
    assert cut.count("\n") == 1
    assert cut.endswith("…")
    assert fitted("", 5.0, 2) == ""


def test_rows_beyond_the_room_are_counted_in_words() -> None:
    table = Table(caption="t", columns=("a", "b"), rows=tuple((str(at), "x") for at in range(9)))
    with style.drawing():
        axes = style.sheet(4, title="t").add_subplot()
        draw_table(axes, table, (0, 1), most=4)
        texts = [text.get_text() for text in axes.texts]
    assert "3" in texts
    assert "4" not in texts
    assert any("5 rows more" in text for text in texts)


def test_what_does_not_fit_the_height_is_counted_too() -> None:
    words = "some words that take several lines of a narrow cell " * 3
    rows = tuple((str(at), words) for at in range(40))
    table = Table(caption="t", columns=("a", "b"), rows=rows)
    with style.drawing():
        axes = style.sheet(2, title="t", width=3).add_subplot()
        draw_table(axes, table, (0, 1), most=40)
        texts = [text.get_text() for text in axes.texts]
        lowest = min(text.get_window_extent().y0 for text in axes.texts)
    shown = sum(text.isdigit() for text in texts)
    assert 0 < shown < 40
    assert any(f"{40 - shown} rows more" in " ".join(text.split()) for text in texts)
    assert lowest >= axes.get_window_extent().y0 - 2


def test_a_table_without_rows_says_its_note_in_their_place() -> None:
    table = Table(caption="t", columns=("a", "b"), rows=(), note="Not answered. No wall was read.")
    with style.drawing():
        axes = style.sheet(4, title="t").add_subplot()
        draw_table(axes, table, (0, 1), note="Another.")
        texts = [text.get_text() for text in axes.texts]
    assert texts == ["t", "Not answered. No wall was read."]
