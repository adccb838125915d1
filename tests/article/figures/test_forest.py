"""All claims on their own axes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from workbench.article.figures.forest import MOST, forest
from workbench.claims.judgement import Judgement
from workbench.claims.verdict import Verdict
from workbench.records.settings import Settings

Maker = Callable[..., Verdict]


def test_words_count_the_outcomes_and_say_each_number(
    judgement: Judgement, settings: Settings
) -> None:
    words = forest(judgement, settings).alt
    assert "Forest plot of 7 claims: 3 supported, 1 contradicted, 3 unresolved" in words
    assert "deck-thicker supported: 2.80 (2.40 to 3.20) mm" in words
    assert "iron-differs unresolved: -3.1 (-9.0 to 2.8) HB" in words


def test_quantities_are_not_mixed_on_an_axis(judgement: Judgement, settings: Settings) -> None:
    axes = forest(judgement, settings).figure.axes
    assert [len(panel.get_yticks()) for panel in axes] == [3, 1, 1, 1]
    assert [panel.get_xlabel().split(":")[0] for panel in axes] == [
        "Deck thickness",
        "Wall thickness",
        "Hardness",
        "Mass",
    ]


def test_what_falls_to_adjustment_is_said(verdict_stating: Maker, settings: Settings) -> None:
    verdict = verdict_stating(stands_after_adjustment=False)
    ledger = Judgement(study="s", confidence=0.95, seed=1, verdicts=(verdict,))
    texts = [text.get_text() for text in forest(ledger, settings).figure.axes[0].texts]
    assert texts == ["supported, not after adjustment\n2.80 (2.40 to 3.20) mm"]


def test_what_is_not_drawn_is_named(
    judgement: Judgement, verdict_stating: Maker, settings: Settings
) -> None:
    assert "not drawn: spread" in forest(judgement, settings).caption
    many = replace(
        judgement, verdicts=tuple(verdict_stating(claim=f"c{i}") for i in range(MOST + 9))
    )
    picture = forest(many, settings)
    assert f"first {MOST} of {MOST + 9} claims" in picture.caption
    assert len(picture.figure.axes[0].get_yticks()) == MOST


def test_an_empty_ledger_says_so(settings: Settings) -> None:
    empty = Judgement(study="s", confidence=0.95, seed=1, verdicts=())
    picture = forest(empty, settings)
    assert "0 claims" in picture.alt
    assert picture.figure.axes[0].texts[0].get_text() == "No claim has an estimate."
