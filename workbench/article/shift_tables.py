"""Core shifts as tables: families, families compared, the bores of one block in depth."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from workbench.article.block_words import direction_text, shift_text
from workbench.article.names import depth_order
from workbench.article.numbers import estimate_words, p_words, percent
from workbench.article.tables import Table
from workbench.records.rounding import number_text, quantity_text

if TYPE_CHECKING:
    from workbench.castings.bores.bore_shape import BoreShape
    from workbench.castings.bores.out_of_round import OutOfRound
    from workbench.castings.bores.shift_of_family import Directions, FamilyShift, ShiftComparison
    from workbench.inference.directions.components import VectorComponents
    from workbench.inference.directions.vector import VectorEstimate
    from workbench.records.settings import Settings

HUNDRED = 100
DIRECTIONS = "directions"  # a family without any says so in its own cell
LEVELS = (("block", "between blocks"), ("bore", "between bores"), ("residual", "depths, error"))


def family_table(families: Sequence[FamilyShift], settings: Settings, confidence: float) -> Table:
    """Give each family's mean shift, and how far its blocks are off centre one by one."""
    rows = []
    for one in families:
        mean = one.mean
        rows.append(
            (
                settings.family_label(one.family),
                str(len(one.blocks)),
                shift_text(mean, one.unit, confidence),
                "" if mean is None else direction_text(mean.direction),
                "" if mean is None else p_words(mean.p_value()),
                quantity_text(float(one.blocks["size"].mean()), 0.01, one.unit),
            )
        )
    return Table(
        caption="Core shift by family",
        columns=(
            "family",
            "blocks",
            f"mean shift ({percent(confidence)} region)",
            "towards",
            "against no shift",
            "mean size of a block's shift",
        ),
        rows=tuple(rows),
        numeric=(1, 2, 3, 4, 5),
        note="The block is the unit. The mean shift is that of the vectors, the core box's own "
        "error; the mean size also grows with scatter and with the error of measuring.",
    )


def scatter_table(families: Sequence[FamilyShift], settings: Settings) -> Table:
    """Give how the shifts of each family scatter level by level, and which way its blocks point."""
    rows = tuple(
        (
            settings.family_label(one.family),
            *(_scatter(one.components, level, one.unit) for level, _ in LEVELS),
            _directions(one.directions),
        )
        for one in families
    )
    left = " ".join(
        f"{settings.family_label(one.family)}: {why}"
        for one in families
        for why in dict.fromkeys(
            why for name, why in one.not_answered.items() if name != DIRECTIONS
        )
    )
    return Table(
        caption="How core shifts scatter",
        columns=("family", *(label for _, label in LEVELS), "directions of blocks"),
        rows=rows,
        numeric=(1, 2, 3),
        note="A standard deviation along one axis, and its share of the variance. Rayleigh asks "
        f"whether blocks point one way rather than any. {left}".strip(),
    )


def _scatter(components: VectorComponents | None, level: str, unit: str) -> str:
    if components is None or level not in components.covariances:
        return "not told apart"
    sd = components.standard_deviation(level)
    return f"{quantity_text(sd, sd / 10, unit)} ({100 * components.share(level):.0f}%)"


def _directions(found: Directions | None) -> str:
    if found is None:
        return "too few blocks with a direction of their own"
    spread = (
        "" if found.von_mises is None else f", concentration {found.von_mises.concentration:.1f}"
    )
    return (
        f"{direction_text(found.mean.direction)} (Rayleigh {p_words(found.mean.rayleigh)}{spread}; "
        f"{found.determined} of {found.blocks} blocks have one)"
    )


def comparison_table(
    compared: Sequence[ShiftComparison], settings: Settings, confidence: float
) -> Table:
    """Give families held together: mean vector, size of a block's shift, scatter."""
    rows = []
    for one in compared:
        size, ratio, mean = one.size, one.scatter_ratio, one.mean
        ends = None if size is None else size.interval(confidence)
        around = None if ratio is None else ratio.sd_interval(confidence)
        rows.append(
            (
                f"{settings.family_label(one.candidate)} less "
                f"{settings.family_label(one.reference)}",
                shift_text(mean, one.unit, confidence),
                "" if mean is None else p_words(mean.p_value()),
                "not answered"
                if size is None or ends is None
                else estimate_words(
                    size.estimate, ends.low, ends.high, one.unit, uncertainty=size.standard_error
                ),
                "" if size is None else p_words(size.p_value()),
                "not answered"
                if ratio is None or around is None
                else estimate_words(ratio.estimate**0.5, around.low, around.high, "times"),
                "" if one.scatter is None else p_words(one.scatter.p_value),
            )
        )
    left = " ".join(dict.fromkeys(why for one in compared for why in one.not_answered.values()))
    sure = percent(confidence)
    return Table(
        caption="Families compared in core shift",
        columns=(
            "families",
            f"difference of mean shifts ({sure} region)",
            "p",
            f"difference of mean sizes ({sure} interval)",
            "p",
            f"scatter of blocks, ratio ({sure} interval)",
            "p",
        ),
        rows=tuple(rows),
        numeric=(1, 2, 3, 4, 5, 6),
        note="Hotelling for vectors, Welch for sizes, F and Brown-Forsythe for scatter. "
        f"{left}".strip(),
    )


def depth_table(shapes: Sequence[BoreShape], unit: str, confidence: float) -> Table:
    """Give the bores of a block in depth: shift at each depth, lean, and whether out of round."""
    rows = []
    for one in shapes:
        depths = "; ".join(
            f"{name or 'its depth'} {shift_text(vector, unit, confidence)} "
            f"to {direction_text(vector.direction)}"
            for name, vector in ((name, one.depths[name]) for name in depth_order(one.depths))
        )
        lean = one.lean
        out = one.out_of_round
        rows.append(
            (
                one.bore,
                depths or "not determined",
                "not known" if lean is None else _lean(lean, unit),
                "not known" if out is None else _oval(out, unit),
                " ".join(dict.fromkeys(one.not_answered.values())),
            )
        )
    return Table(
        caption="Core shift in depth, and out of round",
        columns=(
            "bore",
            f"shift at each depth ({percent(confidence)} region)",
            "lean, against none",
            "out of round, against none",
            "not answered",
        ),
        rows=tuple(rows),
        note="A lean is the change of the shift with depth; its p is that of a core standing "
        "straight. Out of round is the wall thin on two opposite sides; it needs five angles.",
    )


def _lean(lean: VectorEstimate, unit: str) -> str:
    shift = number_text(HUNDRED * lean.size, 2)
    return f"{shift} {unit} in {HUNDRED} {unit}, {p_words(lean.p_value())}"


def _oval(out: OutOfRound, unit: str) -> str:
    size = quantity_text(out.amplitude, unit=unit, step=0.001)
    return f"{size} at {out.thin_at:.0f}° and {out.thin_at + 180:.0f}°, {p_words(out.p_value)}"
