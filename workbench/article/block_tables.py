"""The tables of one block: its place in its family, its bores, its fitness, its boring."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbench.article.block_words import (
    FITS,
    OUTCOMES,
    boring_words,
    chance_text,
    kept_text,
    limit_text,
    offset_text,
    percentile_text,
    room_text,
    rule_text,
    shift_text,
    shift_words,
    towards_text,
    unusual_words,
)
from workbench.article.numbers import estimate_words, percent
from workbench.article.tables import Table
from workbench.records.rounding import quantity_text

if TYPE_CHECKING:
    from workbench.castings.block_report import BlockReport
    from workbench.castings.bores.boring import BoringAllowance, SizeAllowance
    from workbench.castings.fitness import RuleOutcome


def place_table(report: BlockReport) -> Table:
    """Give each figure of the block with its percentile in the family."""
    sure = percent(report.confidence)
    rows = []
    for one in report.placed.figures:
        ends = one.percentile_interval(report.confidence)
        rows.append(
            (
                one.label,
                quantity_text(one.value, one.case.family.sd, one.unit),
                percentile_text(one.percentile),
                f"{percentile_text(ends.low)} to {percentile_text(ends.high)}",
                quantity_text(one.case.family.mean, one.case.family.sd, one.unit),
                str(one.case.family.n),
            )
        )
    left = " ".join(dict.fromkeys(report.placed.not_answered.values()))
    return Table(
        caption="Where it stands in its family",
        columns=(
            "figure",
            "this block",
            "percentile",
            f"{sure} interval",
            "mean of the others",
            "other blocks",
        ),
        rows=tuple(rows),
        numeric=(1, 2, 3, 4, 5),
        note=" ".join(filter(None, (unusual_words(report), *report.placed.too_high, left))),
    )


def bores_table(report: BlockReport) -> Table:
    """Give each bore: its thinnest place read, the least wall anywhere, its core shift."""
    sure = report.confidence
    rows = []
    for bore in report.bores:
        read, least = bore.least_read, bore.least
        rows.append(
            (
                bore.bore,
                ""
                if read is None
                else ("at most " if read.at_most else "")
                + quantity_text(read.wall, 0.0, report.unit, step=report.step),
                ""
                if read is None
                else ", ".join(filter(None, (read.where, "hunted for" if read.hunted else ""))),
                "not known"
                if least is None
                else estimate_words(least.estimate, least.low, least.high, report.unit),
                shift_text(bore.shift, report.unit, sure),
                towards_text(bore.shift, sure),
            )
        )
    return Table(
        caption="Its bores",
        columns=(
            "bore",
            "thinnest read",
            "where",
            f"least wall anywhere ({percent(sure)} interval)",
            f"core shift ({percent(sure)} region)",
            "towards",
        ),
        rows=tuple(rows),
        numeric=(1,),
        note=f"{shift_words(report)} Directions are degrees clockwise seen from the deck, 0 at the "
        "front; a shift points to where the wall is thinnest.".strip(),
    )


def fitness_table(report: BlockReport) -> Table:
    """Give every rule of every duty: what was found, its margin, its risk, the outcome."""
    rows = [
        (duty.label, *_rule(rule), OUTCOMES[rule.outcome])
        for duty in report.fitness
        for rule in duty.rules
    ]
    notes = dict.fromkeys(f"{duty.label}: {duty.note}." for duty in report.fitness)
    reasons = dict.fromkeys(
        rule.reason for duty in report.fitness for rule in duty.rules if rule.reason
    )
    outcomes = "; ".join(f"{duty.label}: {OUTCOMES[duty.outcome]}" for duty in report.fitness)
    return Table(
        caption="Is it fit?",
        columns=("duty", "rule", "found", "limit", "margin", "risk", "outcome"),
        rows=tuple(rows),
        numeric=(2, 3, 4, 5),
        note=f"{outcomes or 'study.toml states no [fitness.NAME]'}. The risk is the chance that "
        "the rule is not kept; u is the standard uncertainty. Limits: "
        f"{' '.join(notes)} {' '.join(reasons)}".strip(),
    )


def _rule(rule: RuleOutcome) -> tuple[str, str, str, str, str]:
    figure = rule.figure
    if figure is None:
        return rule_text(rule.rule), "not known", limit_text(rule), "", ""
    u = figure.standard_uncertainty
    return (
        rule_text(rule.rule),
        f"{quantity_text(figure.value, u, rule.unit)} (u {quantity_text(u, u, rule.unit)})",
        limit_text(rule),
        quantity_text(rule.margin, u, rule.unit),
        "" if figure.only_against and rule.outcome == "not_answered" else chance_text(rule.risk),
    )


def boring_table(report: BlockReport) -> Table:
    """Give the room for boring that each duty leaves, one size for all bores."""
    rows = [
        (
            label_of(report, name),
            kept_text(found.limits),
            room_text(found.one_size, found.unit),
            room_text(found.central, found.unit),
            found.limiting,
            "" if found.mass_removed is None else f"{found.mass_removed:.2f} kg",
        )
        for name, found in report.boring.items()
    ]
    why = report.not_answered.get("boring", "") or report.not_answered.get("walls", "")
    return Table(
        caption="How far it can be bored",
        columns=(
            "duty",
            "wall kept",
            "all bores, best centres",
            "all bores, own centres",
            "limiting bore",
            "iron removed",
        ),
        rows=tuple(rows),
        numeric=(1, 2, 3, 5),
        note=_boring_note(report) if rows else f"Not answered. {why}".strip(),
    )


def _boring_note(report: BlockReport) -> str:
    shown = report.duty_shown
    said = "" if shown is None else boring_words(report.boring[shown], report.confidence)
    return (
        f"{said} Overbore is on the diameter, from the bore as read, and holds for all bores at "
        f"once with {percent(report.confidence)} confidence, round every bore from the first depth "
        "read to the last; above and below nothing is known."
    )


def sizes_table(report: BlockReport) -> Table:
    """Give each oversize of the study's list: the wall it leaves, and whether each duty allows it.

    The wall left is that about the centres best for the duty laid out bore by bore.
    """
    shown = report.duty_shown
    main = () if shown is None else report.boring[shown].sizes
    rows = tuple(
        (
            f"{size.oversize:g} {report.unit}",
            estimate_words(
                size.least_wall.estimate, size.least_wall.low, size.least_wall.high, report.unit
            )
            + (", may cut through" if size.cuts_through else ""),
            size.limiting,
            *(_allowed(found.sizes[at]) for found in report.boring.values()),
        )
        for at, size in enumerate(main)
    )
    return Table(
        caption="Oversizes of the list",
        columns=(
            "oversize",
            "least wall left",
            "limiting bore",
            *(label_of(report, name) for name in report.boring),
        ),
        rows=rows,
        numeric=(0, 1),
        note="The chances are those that the wall asked for stays everywhere in every bore."
        if rows
        else "Not answered."
        if shown is None
        else "study.toml lists no oversizes under [boring].",
    )


def _allowed(size: SizeAllowance) -> str:
    short = "" if size.cleans_up else ", does not clean up"
    return f"{FITS[size.outcome]} ({chance_text(size.probability)}){short}"


def bore_room_table(report: BlockReport) -> Table:
    """Give the room of each bore for one duty, with the offset of its centre and sleeving."""
    name = report.duty_shown
    found = None if name is None else report.boring[name]
    rows = () if found is None else tuple(_bore_room(found, bore) for bore in found.bores)
    why = "" if found is None else " ".join(dict.fromkeys(found.not_answered.values()))
    label = "" if name is None else f", {label_of(report, name).lower()}"
    return Table(
        caption=f"Each bore by itself{label}",
        columns=(
            "bore",
            "own centre",
            "best centre",
            "centre moved by",
            "the others, if it is sleeved",
            "metal to the next bore",
        ),
        rows=rows,
        numeric=(1, 2, 4, 5),
        note="What a sleeve itself needs is not in it. Metal to the next bore is that left by the "
        f"one size for all bores, from the drawing. {why}".strip()
        if rows
        else "Not answered.",
    )


def _bore_room(found: BoringAllowance, bore: str) -> tuple[str, str, str, str, str, str]:
    own, unit = found.bores[bore], found.unit
    sleeved = found.if_sleeved.get(bore)
    bridge = found.bridges.get(bore)
    return (
        bore,
        room_text(own.central.overbore, unit),
        room_text(own.best.overbore, unit),
        offset_text(own.best.offset, unit),
        "" if sleeved is None else room_text(sleeved, unit),
        "" if bridge is None else f"{bridge:.1f} {unit}",
    )


def label_of(report: BlockReport, duty: str) -> str:
    """Give the label of a duty."""
    return next((one.label for one in report.fitness if one.duty == duty), "asked by [boring]")


def block_tables(report: BlockReport) -> tuple[Table, ...]:
    """Give all tables of a block, in the order a reader takes them."""
    return (
        place_table(report),
        bores_table(report),
        fitness_table(report),
        boring_table(report),
        sizes_table(report),
        bore_room_table(report),
    )
