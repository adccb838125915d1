"""Tables of distributions: fits, tests of fit, what is odd, and limits."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

from workbench.article.kept_words import LEFT, kept_words
from workbench.article.numbers import percent, share_text
from workbench.article.tables import Table
from workbench.article.text import counted
from workbench.castings.family_limits import COVERAGE
from workbench.castings.family_shape import REPLICATES
from workbench.inference.distributions.catalogue import FAMILIES
from workbench.inference.distributions.goodness import LABELS
from workbench.inference.tolerance.fitted import FEWEST
from workbench.inference.tolerance.order_statistics import blocks_needed
from workbench.records.rounding import interval_text, p_text, quantity_text

if TYPE_CHECKING:
    from workbench.castings.family_limits import Limit
    from workbench.castings.family_shape import FamilyShape, FitTested
    from workbench.inference.distributions.fit import Fit
    from workbench.inference.results import Interval

Shapes = Mapping[str, "FamilyShape"]
Labels = Mapping[str, str]

LEVELS = {"block": "blocks", "bore": "bores in their block", "place": "places in their bore"}
COUNTS = {
    "grouped": "as alike as they are",
    "independent": "as if independent",
    "neither": "neither: too few blocks",
}
NOT_GIVEN = "not given"
UNSEEN = 5e-4  # of a distribution: less of it beyond what was kept is not worth a remark


def fits_table(shape: FamilyShape, label: str, confidence: float) -> Table:
    """List every distribution fitted to a family: parameters, criteria, weight, what to know."""
    compared = shape.comparison
    assert compared is not None
    least_bic = min(fit.bic for fit in compared.fits)
    least_aicc = min(fit.aicc for fit in compared.fits)
    rows = [
        (
            fit.label,
            ", ".join(_parameter(p.name, p.estimate, p.standard_error) for p in fit.parameters),
            _intervals(shape, fit),
            f"{fit.aicc - least_aicc:.1f}",
            f"{fit.bic - least_bic:.1f}",
            share_text(compared.weights[fit.family]),
            _remarks(fit),
        )
        for fit in compared.fits
    ]
    rows += [
        (FAMILIES[name].label, "", "", "", "", "", why) for name, why in compared.refused.items()
    ]
    of, readings = shape.readings, shape.readings.size
    among = "one in 20, kept or not," if of.truncated else "one reading in 20"
    censored = (
        f" {counted(of.censored, 'reading')} only known not to lie above a value entered as such."
        if of.censored
        else ""
    )
    return Table(
        caption=f"Distributions fitted to the readings: {label}",
        columns=(
            "Distribution",
            "Parameters ± standard error",
            f"{percent(confidence)} profile intervals",
            "AICc above the least",
            "BIC above the least",
            "Weight",
            "What to know",
        ),
        rows=tuple(rows),
        numeric=(3, 4, 5),
        note=(
            f"{counted(readings, 'reading')} of {counted(of.blocks, 'block')}, in "
            f"{of.unit or 'no unit'}, corrected, each the interval its gauge left it "
            f"({quantity_text(of.step, of.step, of.unit)} at the widest).{censored} AICc and "
            "BIC set the fit against the number of parameters, and the less the better; the weight "
            "shares out 100% among the distributions by AICc. Errors, "
            "intervals, criteria and weights are those of as many independent readings; readings "
            "of a block are alike, so they are too sure, and clumps of single blocks look like a "
            f"second population. One in 20 below: where the value lies that {among} stays below. "
            f"Whether a distribution fits is decided by the test below.{kept_words(of)}"
        ),
    )


def goodness_table(shapes: Shapes, labels: Labels) -> Table:
    """Give every test of fit twice, as if readings were independent and as alike as they are."""
    rows = []
    for family, shape in shapes.items():
        for name, tested in shape.tested.items():
            rows += _tested_rows(labels[family], label_of(shape, name), tested)
    return Table(
        caption="Does the distribution fit",
        columns=("Family", "Distribution", "Drawn", *LABELS.values(), "Largest gap", "Counts"),
        rows=tuple(rows),
        numeric=(3, 4, 5, 6, 7),
        note=(
            f"p by {REPLICATES} samples drawn from the fit, rounded and fitted anew as the "
            "readings are. Drawn as if independent, readings in blocks alarm falsely; drawn as "
            "alike as they are in their blocks and bores they do not: that line counts. The gap is "
            "the largest between the shares below any value; with very many readings a fit is "
            "rejected for gaps nobody minds. A large p is no proof."
        ),
    )


def normality_table(shapes: Shapes, labels: Labels) -> Table:
    """Say whether effects of blocks, bores and places are normal, which the nested model takes."""
    rows = []
    for family, shape in shapes.items():
        for level, found in shape.normality.items():
            values = (
                f"{found.plot.n:,}"
                if found.of == found.plot.n
                else f"the first {found.plot.n:,} of {found.of:,}"
            )
            rows.append(
                (
                    labels[family],
                    LEVELS[level],
                    values,
                    *(p_text(test.p_value) for test in found.tests),
                    counted(found.plot.outside, "point"),
                )
            )
    return Table(
        caption="Are the effects of blocks, bores and places normal",
        columns=("Family", "Of", "Values", *list(LABELS.values())[:3], "Outside the band"),
        rows=tuple(rows),
        numeric=(2, 3, 4, 5),
        note=(
            f"p by {REPLICATES} normal samples with the same groups, taken apart as the readings "
            "are. Levels of fewer than eight values are left out."
            f"{_takes_as_kept(shapes.values())}"
        ),
    )


def oddities_table(shapes: Shapes, labels: Labels, confidence: float) -> Table:
    """Report the block furthest out, the search for several, and one population against two."""
    rows = []
    for family, shape in shapes.items():
        odd, search, peaks = shape.odd, shape.search, shape.peaks
        furthest, grubbs, several = (NOT_GIVEN,) * 3
        if odd is not None and search is not None:
            furthest = (
                f"{shape.blocks.index[odd.place]}, "
                f"{quantity_text(odd.value, unit=shape.readings.unit, step=shape.readings.step)}, "
                f"{odd.statistic:.1f} standard deviations out"
            )
            grubbs = p_text(odd.p_value)
            several = ", ".join(str(shape.blocks.index[at]) for at in search.suspects) or "none"
        rows.append(
            (
                labels[family],
                counted(len(shape.blocks), "block"),
                furthest,
                grubbs,
                several,
                NOT_GIVEN
                if peaks is None
                else f"{p_text(peaks.p_value)}, {counted(peaks.peaks, 'peak')} in the mixture",
            )
        )
    return Table(
        caption="Odd blocks, and one population of blocks or two",
        columns=(
            "Family",
            "Blocks",
            "Furthest out",
            "Grubbs",
            f"Generalised ESD at {percent(confidence)}",
            "Two populations against one",
        ),
        rows=tuple(rows),
        note=(
            "Of block means, each about the places it was read at. Nothing was dropped: a far "
            "block may be a slip of the gauge or the most interesting casting. Both tests take a "
            "normal family. The last column compares two normal populations with one by "
            f"{REPLICATES} drawn samples: a small p with two peaks may be two pours, or two core "
            "boxes, under one name; a skewed family does that as well."
            f"{_takes_as_kept(shapes.values())}"
        ),
    )


def limits_table(shape: FamilyShape, label: str, confidence: float) -> Table:
    """Give what a share of blocks, bores and places keeps, and where the next one falls."""
    unit, step = shape.readings.unit, shape.readings.step
    share = percent(COVERAGE)
    return Table(
        caption=f"Limits for the next block: {label}",
        columns=(
            "Of",
            "How",
            f"{share} of them lie above",
            f"{share} of them lie within",
            f"The next one lies within ({percent(confidence)})",
        ),
        rows=tuple(_limit_row(limit, unit, step) for limit in shape.limits),
        numeric=(2, 3, 4),
        note=(
            f"The limits in the third and fourth column hold for {share} of all such blocks, bores "
            f"or places with {percent(confidence)} confidence. By ranks no shape is taken, and "
            f"{blocks_needed(COVERAGE, confidence, 'lower')} blocks are needed for one side, "
            f"{blocks_needed(COVERAGE, confidence, 'both')} for both; a lognormal or Weibull shape "
            f"is asked of {FEWEST} blocks at least. The nested model gives them "
            "for the iron: what repeated readings differ by is taken off places."
            f"{_takes_as_kept([shape])}"
        ),
    )


def label_of(shape: FamilyShape, name: str) -> str:
    """Give what a distribution that was fitted is called."""
    assert shape.comparison is not None
    return next(fit.label for fit in shape.comparison.fits if fit.family == name)


def _parameter(name: str, estimate: float, error: float) -> str:
    words = name.replace("_", " ")
    if not error > 0:
        return f"{words} {estimate:.4g}"
    return f"{words} {quantity_text(estimate, error)} ± {quantity_text(error, error)}"


def _intervals(shape: FamilyShape, fit: Fit) -> str:
    found = shape.intervals.get(fit.family, {})
    return (
        "; ".join(f"{name.replace('_', ' ')} {span_words(of)}" for name, of in found.items())
        or NOT_GIVEN
    )


def span_words(of: Interval | str, unit: str = "", step: float | None = None) -> str:
    """Give an interval as it is printed, or the reason why there is none."""
    return of if isinstance(of, str) else interval_text(of.low, of.high, unit, step=step)


def _remarks(fit: Fit) -> str:
    notes = fit.notes
    if fit.seen < 1 - UNSEEN:
        notes = (
            f"{share_text(1 - fit.seen)} of it lies where nothing was kept, told by its shape "
            "alone.",
            *notes,
        )
    return " ".join(notes) or "nothing"


def _takes_as_kept(shapes: Iterable[FamilyShape]) -> str:
    """Say of a table that it takes no account of what was not kept."""
    none = not any(shape.readings.why for shape in shapes)
    return "" if none else f" It takes no account of what was never kept: {LEFT}."


def _tested_rows(label: str, distribution: str, tested: FitTested) -> list[tuple[str, ...]]:
    rows = [("as if independent", tested.independent, tested.counts == "independent")]
    if tested.grouped is not None:
        rows.append(("as alike as they are", tested.grouped, tested.counts == "grouped"))
    return [
        (
            label,
            distribution,
            how,
            *(p_text(found.test(name).p_value) for name in LABELS),
            share_text(found.distance),
            "counts" if counts else "does not count",
        )
        for how, found, counts in rows
    ]


def _limit_row(limit: Limit, unit: str, step: float) -> tuple[str, ...]:
    following = limit.following
    return (
        limit.what,
        limit.how,
        span_words(limit.above, unit, step),
        span_words(limit.within, unit, step),
        NOT_GIVEN if following is None else span_words(following, unit, step),
    )
