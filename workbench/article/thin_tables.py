"""Thin spots in words and tables: three ways side by side, shares below, where, what it means."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from workbench.article.answer import Answer
from workbench.article.numbers import percent, share_words
from workbench.article.record_tables import MOST_ROWS, shortened
from workbench.article.tables import Table
from workbench.article.text import clean, counted
from workbench.records.rounding import interval_text, p_text, quantity_text

if TYPE_CHECKING:
    from workbench.castings.thin_spots import ThinFamily
    from workbench.inference.estimates import Estimate
    from workbench.inference.extremes.same_place import SamePlace

Families = Mapping[str, "ThinFamily"]
Labels = Mapping[str, str]

CLEARLY = 0.05  # the p below which blocks are said to be thinnest at the same place
HUNDRED = 100


def three_ways_table(found: Families, labels: Labels, confidence: float) -> Table:
    """Set the share of blocks with a place below each limit side by side: three ways to know it."""
    rows = []
    for family, thin in found.items():
        for at, spots in thin.spots.items():
            agree = "they agree" if spots.extreme else "two ways only"
            rows.append(
                (
                    labels[family],
                    quantity_text(at, unit=thin.places.unit),
                    _share(spots.model),
                    _share(spots.extreme) if spots.extreme else f"not given: {_reason(thin, at)}",
                    f"{_share(spots.counted)}, of {counted(thin.minima.size, 'block')}",
                    " ".join(spots.disagreements) or agree,
                )
            )
    return Table(
        caption="Share of blocks with a place below a limit, as the gauge shows it",
        columns=(
            "Family",
            "Limit",
            "Predicted: nested model",
            "Fitted: extreme values of blocks",
            "Counted: blocks seen",
            "Do they agree",
        ),
        rows=tuple(rows[:MOST_ROWS]),
        numeric=(1, 2),
        note=(
            f"Intervals at {percent(confidence)}: by draws, by profile likelihood, and exact "
            "(Clopper-Pearson). Counting assumes no shape; where the three part, believe its "
            "interval. Blocks read at fewer than nine in ten places of the grid are not fitted or "
            "counted: the thinnest of fewer places is thicker. Places hunted for are not in it."
        )
        + shortened(len(rows), MOST_ROWS, "row"),
    )


def shares_table(found: Families, labels: Labels, confidence: float) -> Table:
    """Give the share of places, bores and blocks of the iron with something below each limit."""
    rows = [
        (
            labels[family],
            quantity_text(at, unit=thin.places.unit),
            *(_share(thin.shares[unit].at(place)) for unit in ("place", "bore", "block")),
            _hunted(thin.searched[at]),
        )
        for family, thin in found.items()
        for place, at in enumerate(thin.limits)
    ]
    return Table(
        caption="Share of the iron below a limit: of single places, of bores, of blocks",
        columns=("Family", "Limit", "Places", "Bores", "Blocks", "Hunted for"),
        rows=tuple(rows[:MOST_ROWS]),
        numeric=(1, 2, 3, 4),
        note=(
            f"From the nested model, {percent(confidence)} intervals (simulated at 95%, they held "
            "the true share in 92 to 97 of 100 studies of 5 to 22 blocks). What repeated readings "
            "of a place differ by is taken off, and the error that all readings share widens the "
            "interval, so these are shares of the iron and not of readings. A bore or a block "
            "counts as soon as one of the places read of it lies below. Hunted for are blocks that "
            "only a place looked for because it is thin puts below."
        )
        + shortened(len(rows), MOST_ROWS, "row"),
    )


def where_table(found: Families, labels: Labels) -> Table:
    """Say where blocks are thinnest, and how likely such agreement is by chance."""
    rows = []
    for family, thin in found.items():
        for what, same in thin.same.items():
            name = most_often(same)
            share = same.share(name)
            rows.append(
                (
                    labels[family],
                    what,
                    f"{name or 'not named'}: {same.counts[name]} of {same.blocks} blocks",
                    share_words(share.estimate, share.low, share.high),
                    share_words(same.chances[name]),
                    f"{p_text(same.p_value)} ({'exact' if same.exact else 'drawn'})",
                    "the same from block to block"
                    if same.p_value < CLEARLY
                    else "no pattern shown",
                )
            )
    return Table(
        caption="Where the thinnest place lies",
        columns=(
            "Family",
            "What",
            "Thinnest most often at",
            "Share of blocks",
            "Share of the grid",
            "By chance",
            "So it is",
        ),
        rows=tuple(rows),
        numeric=(3, 4),
        note=(
            "Over blocks and places that make a whole grid: "
            + "; ".join(
                f"{clean(labels[family], 60)} {counted(thin.same_blocks, 'block')} of "
                f"{counted(thin.same_places, 'place')}"
                for family, thin in found.items()
            )
            + ". By chance is how often blocks would agree as much if the thinnest place of each "
            "were anywhere: exact, or by 20,000 draws where places tie or blocks are many. “The "
            "same” points to the core box, no pattern to each casting by itself, or to too few "
            "blocks."
        ),
    )


def meaning(found: Families, labels: Labels, confidence: float) -> Answer:
    """Say for each family what it means for a builder, in counts of blocks."""
    return Answer(
        paragraphs=tuple(
            (labels[family], _meaning(thin, confidence)) for family, thin in found.items()
        )
    )


def not_answered(found: Families, refused: Mapping[str, str], labels: Labels) -> Answer | None:
    """Say what could not be answered, of which family, and what would be enough."""
    said = [
        (labels[family], f"{what}: {why}")
        for family, thin in found.items()
        for what, why in thin.refused.items()
    ]
    said += [(labels.get(family, family), why) for family, why in refused.items()]
    return Answer(paragraphs=tuple(said)) if said else None


def most_often(same: SamePlace) -> str:
    """Name the label most blocks are thinnest at."""
    return max(same.counts, key=lambda name: same.counts[name])


def _meaning(thin: ThinFamily, confidence: float) -> str:
    places, unit = thin.places, thin.places.unit
    next_one = thin.predicted.interval(confidence)
    u = next_one.half_width / 2
    said = [
        f"The thinnest of the places read of the next block is expected at "
        f"{quantity_text(thin.predicted.mean, u, unit, places.step)} and lies, with "
        f"{percent(confidence)} confidence, in "
        f"{interval_text(next_one.low, next_one.high, unit, uncertainty=u, step=places.step)} "
        f"({counted(places.blocks, 'block')} read)."
    ]
    said += [_in_hundred(thin, place, at) for place, at in enumerate(thin.limits)]
    if thin.by_grid is not None:
        fall = thin.by_grid.fall(2)
        said.append(
            "Had twice as many places of each bore been read, the thinnest would be thinner by "
            f"about {quantity_text(fall, fall / 2, unit)} at most."
        )
    said += [_where(same, what) for what, same in thin.same.items() if what in ("station", "depth")]
    if places.censored:
        said.append(
            f"{counted(places.censored, 'place')} known only not to lie above a value: counted as "
            "lying there, and in no prediction, so the real shares are larger."
        )
    if places.lent:
        said.append("With fewer than three blocks, its spread is borrowed from the other families.")
    return " ".join(said)


def _in_hundred(thin: ThinFamily, place: int, at: float) -> str:
    share = thin.shares["block"].at(place)
    low, middle, high = (_count(one) for one in (share.low, share.estimate, share.high))
    span = "" if low == high else f" ({low} to {high})"
    return (
        f"Of {HUNDRED} such blocks expect {middle}{span} with a place below "
        f"{quantity_text(at, unit=thin.places.unit)}."
    )


def _count(share: float) -> str:
    number = HUNDRED * share
    return "fewer than 1" if 0 < number < 0.5 else f"{number:.0f}"


def _where(same: SamePlace, what: str) -> str:
    name = most_often(same)
    if same.p_value < CLEARLY:
        return (
            f"Blocks agree on the {what} where they are thinnest ({name}, {same.counts[name]} of "
            f"{same.blocks}): look there first."
        )
    return f"No {what} can be said to be the thinnest from block to block: look at all."


def _share(of: Estimate) -> str:
    return share_words(of.estimate, of.low, of.high)


def _reason(thin: ThinFamily, at: float) -> str:
    return thin.spots[at].extreme_refused


def _hunted(blocks: int) -> str:
    return f"{counted(blocks, 'block')} more below" if blocks else "none more"
