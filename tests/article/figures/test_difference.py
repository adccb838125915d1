"""The difference of one claim against its margin."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from workbench.article.figures.difference import difference
from workbench.claims.verdict import Verdict
from workbench.records.settings import Settings

Maker = Callable[..., Verdict]


def test_words_say_the_number_interval_margin_counts_and_rivals(
    verdict_stating: Maker, settings: Settings
) -> None:
    words = difference(verdict_stating(), settings).alt
    assert "claim deck-thicker, supported" in words
    assert "Deck thickness: Trophy minus Works: 2.80 (2.40 to 3.20) mm at 95%" in words
    assert "margin +2 mm" in words
    assert "Candidate: 3 blocks, 144 readings; reference: 48 blocks, 2,304 readings" in words
    assert "Welch on block means 2.75 (1.70 to 3.90) mm, unresolved" in words
    assert "permutation of blocks 2.75 mm, no interval, decides nothing" in words
    assert "a third way" not in words


@pytest.mark.parametrize(
    ("direction", "margin", "named"),
    [
        ("greater", 2.0, ["contradicted", "supported"]),
        ("less", 2.0, ["supported", "contradicted"]),
        ("same", 2.0, ["contradicted", "supported", "contradicted"]),
        ("different", 0.0, ["supported", "supported"]),
        ("different", 2.0, ["supported", "contradicted", "supported"]),
    ],
)
def test_zones_are_named_from_left_to_right(
    verdict_stating: Maker, settings: Settings, direction: str, margin: float, named: list[str]
) -> None:
    picture = difference(verdict_stating(direction=direction, margin=margin), settings)
    axes = picture.figure.axes[0]
    words = [t for t in axes.texts if t.get_fontstyle() == "italic"]
    assert [t.get_text() for t in sorted(words, key=lambda t: t.xy[0])] == named
    dashed = [line for line in axes.get_lines() if line.get_linestyle() == "--"]
    expected = {"greater": [2], "less": [-2], "same": [-2, 2], "different": [-margin, margin]}
    lines = sorted(line.get_xdata()[0] for line in dashed)
    assert lines == sorted(set(expected[direction]))


def test_lines_that_crowd_are_named_together_each_with_its_place(
    verdict_stating: Maker, settings: Settings
) -> None:
    near = verdict_stating(margin=0.2, estimate=1.5, low=0.5, high=2.5)
    words = [text.get_text() for text in difference(near, settings).figure.axes[0].texts]
    assert "no difference at 0; margin +0.2 mm" in words
    apart = [
        text.get_text() for text in difference(verdict_stating(), settings).figure.axes[0].texts
    ]
    assert {"no difference", "margin +2 mm"} <= set(apart)


def test_the_shaded_zone_is_where_the_claim_is_supported(
    verdict_stating: Maker, settings: Settings
) -> None:
    axes = difference(verdict_stating(), settings).figure.axes[0]
    left, right = axes.get_xlim()
    shade = axes.patches[0].get_bbox()
    assert (shade.x0, shade.x1) == (2.0, right)
    assert left < 0


def test_a_claim_of_sameness_shows_the_interval_that_decides(
    verdict_stating: Maker, settings: Settings
) -> None:
    verdict = verdict_stating(
        direction="same",
        margin=0.2,
        estimate=0.0,
        low=-0.1,
        high=0.1,
        inner_low=-0.08,
        inner_high=0.08,
    )
    picture = difference(verdict, settings)
    assert "90% interval" in picture.caption
    assert [-0.08, 0.08] in [list(x.get_xdata()) for x in picture.figure.axes[0].get_lines()]


def test_without_an_estimate_the_sentence_stands_in_its_place(
    verdict_stating: Maker, settings: Settings
) -> None:
    nan = float("nan")
    verdict = verdict_stating(
        outcome="unresolved", estimate=nan, low=nan, high=nan, sentence="Too few readings."
    )
    picture = difference(verdict, settings)
    assert picture.alt.endswith("Too few readings.")
    assert picture.figure.axes[0].texts[0].get_text() == "Too few readings."


def test_a_claim_that_could_not_be_read_is_drawn_as_such(settings: Settings) -> None:
    verdict = Verdict(
        claim="claim 3",
        statement="",
        outcome="unresolved",
        confidence=0.95,
        sentence="The claim could not be read.",
        next_step="Correct it.",
    )
    assert "could not be read" in difference(verdict, settings).alt
