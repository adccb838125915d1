"""What a verdict rests on: the difference of a claim without single blocks, and place by place."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from workbench.article import style
from workbench.article.figures.difference import Row, draw, margin_words, plotted, what
from workbench.article.numbers import as_shown, percent, verdict_words
from workbench.article.picture import Picture, finish
from workbench.article.text import clean, counted
from workbench.records.rounding import shown_unit

if TYPE_CHECKING:
    from workbench.claims.one_block import BlockByBlock, Spared
    from workbench.claims.place_by_place import PlaceByPlace
    from workbench.claims.verdict import Verdict
    from workbench.records.settings import Settings

ROW = 0.5  # inches a row
MOST_BLOCKS = 8


def rests_on(
    verdict: Verdict,
    blocks: BlockByBlock,
    places: Sequence[PlaceByPlace],
    settings: Settings,
    *,
    footer: str = "",
) -> Picture:
    """Draw the difference of a claim with all blocks, without single ones, and at each place.

    Parameters
    ----------
    verdict
        The verdict on the claim, for its margin and its words.
    blocks
        The claim without each block; those that decide or move most are drawn, at most eight.
    places
        The difference place by place, one entry a kind of place.
    settings
        The study's settings: labels of families and quantities.
    footer
        What a reader needs to make the figure again.
    """
    shown = as_shown(verdict)
    times = shown_unit(verdict.unit)[0]
    rows = [
        _whole(shown),
        *(
            row
            for one in blocks.most(MOST_BLOCKS)[:MOST_BLOCKS]
            for row in _spared(blocks, one, times)
        ),
        *(row for of in places for row in _places(of, times)),
    ]
    with style.drawing():
        figure = style.sheet(
            1.75 + ROW * len(rows),
            title=f"{verdict.claim}: what the verdict rests on",
            footer=footer,
        )
        axes = figure.add_subplot()
        draw(axes, rows, shown, style.with_unit(what(shown, settings), shown.unit))
        return finish(
            figure,
            alt=_alternative(shown, blocks, rows, settings),
            caption=_caption(shown, blocks, places),
            data=plotted(rows, shown),
        )


def _whole(verdict: Verdict) -> Row:
    return Row(
        name="all blocks",
        outcome=verdict.outcome,
        estimate=verdict.estimate,
        low=verdict.low,
        high=verdict.high,
        inner=None,
        main=True,
    )


def _spared(blocks: BlockByBlock, one: Spared, times: float) -> list[Row]:
    """Give the row of one block; none where the claim cannot be judged without it."""
    if one.decision is None or one.estimate is None:
        return []
    interval = one.decision.interval
    return [
        Row(
            name=f"without {clean(one.block, 30)}",
            outcome=blocks.outcome_of(one),
            estimate=times * one.estimate,
            low=times * interval.low,
            high=times * interval.high,
            inner=None,
            main=False,
        )
    ]


def _places(of: PlaceByPlace, times: float) -> list[Row]:
    return [
        Row(
            name=f"{of.by} {clean(place, 30)} alone",
            outcome=None,
            estimate=times * found.estimate,
            low=times * of.intervals[place].low,
            high=times * of.intervals[place].high,
            inner=None,
            main=False,
        )
        for place, found in of.differences.items()
    ]


def deciding_words(blocks: BlockByBlock, settings: Settings, most: int = MOST_BLOCKS) -> str:
    """Say without which blocks the verdict is another, or that no single block changes it."""
    deciding = blocks.deciding
    if not deciding:
        return (
            f"No single block of the {blocks.blocks} changes the verdict: without any of them it "
            f"is {blocks.whole.outcome}."
        )
    names = ", ".join(
        f"{clean(settings.family_label(one.family), 30)} {clean(one.block, 30)}"
        for one in deciding[:most]
    )
    more = f" and {len(deciding) - most} more" if len(deciding) > most else ""
    rests = counted(len(deciding), "single block")
    others = sorted({blocks.outcome_of(one) for one in deciding})
    return (
        f"The verdict, {blocks.whole.outcome} with all {blocks.blocks} blocks, rests on "
        f"{rests}: without {names}{more} it would be {' or '.join(others)}."
    )


def _alternative(
    verdict: Verdict, blocks: BlockByBlock, rows: Sequence[Row], settings: Settings
) -> str:
    told = "; ".join(f"{row.name} {verdict_words(row, verdict)}" for row in rows[1:])
    return (
        f"Interval plot of the claim {clean(verdict.claim, 80)} without single blocks and at "
        f"single places. {what(verdict, settings)}: {verdict_words(verdict, verdict)} at "
        f"{percent(verdict.confidence)} with all blocks; {margin_words(verdict)}. "
        f"{deciding_words(blocks, settings)} {told}."
    )


def _caption(verdict: Verdict, blocks: BlockByBlock, places: Sequence[PlaceByPlace]) -> str:
    words = (
        f"The same analysis without one block at a time, of {blocks.blocks}: those that "
        f"change the verdict, then those that move the difference most. Bars are "
        f"{percent(verdict.confidence)} intervals, the dashed line is the {margin_words(verdict)}."
    )
    if places:
        words += (
            " Below them the difference at single places; these bars hold together for all "
            f"places of their kind at {percent(verdict.confidence)}."
        )
    return words
