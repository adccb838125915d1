"""The look: published colours, enough contrast, never colour alone."""

from __future__ import annotations

import pytest

from workbench.article import style

# Okabe, M., Ito, K. (2008). Color Universal Design: how to make figures and presentations that
# are friendly to colorblind people, the table of eight colours in 8-bit RGB (from memory).
OKABE_ITO = {
    "orange": (230, 159, 0),
    "sky blue": (86, 180, 233),
    "bluish green": (0, 158, 115),
    "blue": (0, 114, 178),
    "vermillion": (213, 94, 0),
    "reddish purple": (204, 121, 167),
}


def rgb(colour: str) -> tuple[int, ...]:
    return tuple(int(colour[place : place + 2], 16) for place in (1, 3, 5))


def luminance(colour: str) -> float:
    """WCAG 2.2, definition of relative luminance."""
    parts = [part / 255 for part in rgb(colour)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(first: str, second: str) -> float:
    """WCAG 2.2, definition of contrast ratio."""
    light, dark = sorted((luminance(first), luminance(second)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_colours_are_the_published_ones() -> None:
    names = ("blue", "vermillion", "bluish green", "orange", "sky blue", "reddish purple")
    assert tuple(map(rgb, style.COLOURS)) == tuple(OKABE_ITO[name] for name in names)


@pytest.mark.parametrize("colour", style.COLOURS[:3])
def test_marks_of_the_first_three_families_reach_3_to_1_on_white(colour: str) -> None:
    """WCAG 2.2, success criterion 1.4.11."""
    assert contrast(colour, "#FFFFFF") >= 3


@pytest.mark.parametrize("colour", [style.INK, style.SOFT])
@pytest.mark.parametrize("ground", ["#FFFFFF", style.SHADE])
def test_text_reaches_4_5_to_1(colour: str, ground: str) -> None:
    """WCAG 2.2, success criterion 1.4.3."""
    assert contrast(colour, ground) >= 4.5


def test_families_differ_by_marker_and_label_too() -> None:
    looks = style.looks(("a", "b", "c", "d", "e"), {"a": "Same", "b": "Same"})
    assert len({look.marker for look in looks.values()}) == 5
    assert len({look.label for look in looks.values()}) == 5
    assert list(looks) == ["a", "b", "c", "d", "e"]


def test_outcomes_differ_by_marker_and_word() -> None:
    assert len({look.marker for look in style.OUTCOMES.values()}) == 3
    assert all(look.label == outcome for outcome, look in style.OUTCOMES.items())


def test_axis_labels_name_their_unit() -> None:
    assert style.with_unit("Mass", "kg") == "Mass (kg)"
    assert style.with_unit("Ratio", "") == "Ratio (no unit)"


def test_a_family_looks_alike_whichever_are_drawn_beside_it() -> None:
    labels = {"a": "A", "b": "B", "c": "C"}
    everyone = style.looks(("a", "b", "c"), labels)
    assert style.looks(("c", "a"), labels) == {"c": everyone["c"], "a": everyone["a"]}
    stranger = style.looks(("z", "b"), labels)
    assert stranger["b"] == everyone["b"]
    assert stranger["z"].marker not in {look.marker for look in everyone.values()}
