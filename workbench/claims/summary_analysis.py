"""What is printed of families, compared: Welch from summaries, sources pooled by random effects.

Where sources print both families, each source is compared with itself, so that what it does to both
falls out; else each family is pooled over its own sources first. Intervals over several sources are
those of Hartung and Knapp, never shorter than with the sources' errors taken for known.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeGuard

from workbench.claims.claim import Claim
from workbench.claims.figure_analysis import FigureAnswer, Rival
from workbench.claims.printed_families import KnownFamily, PrintedFamily, ReadFamily
from workbench.errors import Refusal
from workbench.inference.means.welch import Summary
from workbench.inference.results import Difference

if TYPE_CHECKING:
    from workbench.inference.means.pooling import Between, Pooled, Source

STUDENT, LIKELIHOOD = "Student's, one spread for both", "sources pooled by restricted likelihood"
Pair = tuple[KnownFamily, KnownFamily]


@dataclass(frozen=True, slots=True, kw_only=True)
class Scatter:
    """How sources of one figure scatter: the p of 'all have one truth', the share between them."""

    of: str
    sources: int
    p_value: float
    inconsistency: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SummaryAnalysis:
    """What was found of families of which one or both are known from print.

    `figures` are each family's figure, `variances` what its part of the variance is without the
    error of `measuring`; `unused` names sources left out because they print one family only while
    others print both.
    """

    families: Pair
    difference: FigureAnswer
    method: str
    figures: tuple[float, float]
    variances: tuple[float, float]
    measuring: float
    rivals: tuple[Rival, ...] = ()
    scatter: tuple[Scatter, ...] = ()
    unused: tuple[str, ...] = ()
    degrees_of_freedom: float = math.nan


def analyse_summaries(
    claim: Claim, candidate: KnownFamily, reference: KnownFamily
) -> SummaryAnalysis:
    """Answer a claim on a mean or a spread, one family or both being known from print.

    Raises
    ------
    Refusal
        `summary_tells_no_places` for the other figures; `summary_tells_no_error` for a claim on the
        blocks measured; `analysis_needs_readings`; `one_block_no_spread` where one block is to be
        compared and cannot.
    """
    if claim.scope == "block":
        raise Refusal(
            "summary_tells_no_error",
            "A printed mean and deviation do not tell the error of reading those blocks, so a "
            "claim on the blocks measured cannot be judged by them.",
        )
    if claim.figure not in ("mean", "spread"):
        raise Refusal(
            "summary_tells_no_places",
            "A printed mean and deviation of block means do not tell how the places of a block "
            "lie, so neither its thinnest place nor a share below a limit is known.",
        )
    if claim.analysis not in (None, "welch"):
        raise Refusal(
            "analysis_needs_readings",
            f"The analysis asked for ({claim.analysis}) needs readings of both families, and one "
            "is known only from print.",
        )
    pair, unused = _in_common(candidate, reference)
    if claim.figure == "spread":
        return _spread(pair)
    ours, others = pair
    if _several_alike(ours) and _several_alike(others) and ours.sources == others.sources:
        return _source_by_source(ours, others, unused)
    return _means(pair, unused)


def _in_common(candidate: KnownFamily, reference: KnownFamily) -> tuple[Pair, tuple[str, ...]]:
    """Keep to the sources that print both families, in one order, where there are any."""
    if not (isinstance(candidate, PrintedFamily) and isinstance(reference, PrintedFamily)):
        return (candidate, reference), ()
    common = tuple(name for name in candidate.sources if name in reference.sources)
    if not common:
        return (candidate, reference), ()
    lost = dict.fromkeys(
        name for name in (*candidate.sources, *reference.sources) if name not in common
    )
    return (candidate.only(common), reference.only(common)), tuple(lost)


def _several_alike(family: KnownFamily) -> TypeGuard[PrintedFamily]:
    return isinstance(family, PrintedFamily) and len(family.sources) > 1


def _source_by_source(
    candidate: PrintedFamily, reference: PrintedFamily, unused: tuple[str, ...]
) -> SummaryAnalysis:
    """Compare the families within each source, and pool the differences."""
    from workbench.inference.means.pooling import Source

    sources = [
        Source.of_difference(name, own, other)
        for name, own, other in zip(
            candidate.sources, candidate.summaries, reference.summaries, strict=True
        )
    ]
    found, difference = _pooled_answer(sources)
    _, likelihood = _pooled_answer(sources, "reml")
    each = difference.standard_error**2 / 2
    return SummaryAnalysis(
        families=(candidate, reference),
        difference=difference,
        method=difference.method,
        figures=(_value(_known(candidate)), _value(_known(reference))),
        variances=(each, each),
        measuring=0.0,  # a source measured both families alike: its steady error falls out
        rivals=(Rival(name=LIKELIHOOD, answer=likelihood),),
        scatter=(_scatter("the differences", found),),
        unused=unused,
        degrees_of_freedom=difference.degrees_of_freedom,
    )


def _pooled_answer(
    sources: list[Source], between: Between = "paule-mandel"
) -> tuple[Pooled, Difference]:
    from workbench.inference.means.pooling import pool

    found = pool(sources, between=between)
    return found, Difference(
        estimate=found.estimate,
        standard_error=found.adjusted_error,
        degrees_of_freedom=found.degrees_of_freedom,
        method="printed differences pooled over sources, random effects, Hartung-Knapp",
    )


def _means(pair: Pair, unused: tuple[str, ...]) -> SummaryAnalysis:
    known = (_known(pair[0]), _known(pair[1]))
    alone = _apart(*known)
    measuring = _measuring(pair)
    difference = alone.widened(measuring)
    pooled = tuple(
        _scatter(family.family, one)
        for family, one in zip(pair, known, strict=True)
        if _is_pooled(one)
    )
    return SummaryAnalysis(
        families=pair,
        difference=difference,
        method=f"{alone.method}, from printed summaries",
        figures=(_value(known[0]), _value(known[1])),
        variances=_variances(alone, *known),
        measuring=measuring,
        rivals=_students(*known, measuring),
        scatter=pooled,
        unused=unused,
        degrees_of_freedom=difference.degrees_of_freedom,
    )


def _known(family: KnownFamily) -> Pooled | Summary | float:
    """Give a family as a comparison takes it: pooled over sources, summed up, or a single block."""
    if isinstance(family, ReadFamily):
        return float(family.means[0]) if family.blocks == 1 else Summary.of(family.means)
    if len(family.sources) == 1:
        return family.summaries[0]
    from workbench.inference.means.pooling import Source, pool

    return pool(
        [
            Source.of_mean(name, summary)
            for name, summary in zip(family.sources, family.summaries, strict=True)
        ]
    )


def _is_pooled(known: Pooled | Summary | float) -> TypeGuard[Pooled]:
    return not isinstance(known, Summary | float)


def _apart(candidate: Pooled | Summary | float, reference: Pooled | Summary | float) -> Difference:
    """Give candidate minus reference; a single block borrows the other family's spread."""
    from workbench.inference.means.pooled_families import pooled_difference
    from workbench.inference.means.single_case import single_case

    if not isinstance(candidate, float) and not isinstance(reference, float):
        return pooled_difference(candidate, reference)
    block, family = (
        (candidate, reference) if isinstance(candidate, float) else (reference, candidate)
    )
    if not (isinstance(block, float) and isinstance(family, Summary)):
        raise Refusal(
            "one_block_no_spread",
            "One block has no spread of its own, and a family pooled over several sources has none "
            "to lend it.",
        )
    found = single_case(block, family).difference
    sign = 1.0 if isinstance(candidate, float) else -1.0
    return Difference(
        estimate=sign * found.estimate,
        standard_error=found.standard_error,
        degrees_of_freedom=found.degrees_of_freedom,
        method=found.method,
    )


def _variances(
    difference: Difference,
    candidate: Pooled | Summary | float,
    reference: Pooled | Summary | float,
) -> tuple[float, float]:
    """Give the part of each family in the variance of the difference."""
    total = difference.standard_error**2
    if isinstance(candidate, float):
        return total - _variance(reference), _variance(reference)
    own = _variance(candidate)
    return own, total - own


def _variance(known: Pooled | Summary | float) -> float:
    if isinstance(known, Summary):
        return known.sd**2 / known.n
    return known.adjusted_error**2 if _is_pooled(known) else math.nan


def _value(known: Pooled | Summary | float) -> float:
    if isinstance(known, Summary):
        return known.mean
    return known.estimate if _is_pooled(known) else float(known)  # type: ignore[arg-type]


def _scatter(of: str, found: Pooled) -> Scatter:
    return Scatter(
        of=of,
        sources=len(found.sources),
        p_value=found.heterogeneity_p,
        inconsistency=found.inconsistency,
    )


def _students(
    candidate: Pooled | Summary | float, reference: Pooled | Summary | float, measuring: float
) -> tuple[Rival, ...]:
    """Set Student's analysis beside Welch's, where both families are single summaries."""
    if not (isinstance(candidate, Summary) and isinstance(reference, Summary)):
        return ()
    from workbench.inference.means.pooled import pooled

    return (Rival(name=STUDENT, answer=pooled(candidate, reference).widened(measuring)),)


def _measuring(pair: Pair) -> float:
    """Give what measuring leaves in the difference, as far as anybody states it."""
    ours, others = pair
    if (
        isinstance(ours, PrintedFamily)
        and isinstance(others, PrintedFamily)
        and ours.sources == others.sources
    ):
        return 0.0  # one source measured both alike
    return math.hypot(*(_uncertainty(family) for family in pair))


def _uncertainty(family: KnownFamily) -> float:
    if isinstance(family, ReadFamily):
        return family.shared.uncertainty
    # sources measure on their own; all count alike here, as they about do where they differ
    return math.hypot(*family.uncertainties) / len(family.uncertainties)


def _spread(pair: Pair) -> SummaryAnalysis:
    """Compare standard deviations; sources of one family are taken to spread alike within."""
    from workbench.inference.spreads.difference import spread_difference

    for family in pair:
        if family.blocks < 2:
            raise Refusal(
                "one_block_no_spread",
                f"One block of {family.family} shows nothing of how its blocks differ among "
                "themselves.",
            )
    known = [family.means if isinstance(family, ReadFamily) else _within(family) for family in pair]
    found = spread_difference(known[0], known[1])
    freedoms = found.candidate_degrees_of_freedom, found.reference_degrees_of_freedom
    return SummaryAnalysis(
        families=pair,
        difference=found,
        method=f"{found.method}, from printed summaries",
        figures=(found.candidate_sd, found.reference_sd),
        variances=(
            found.candidate_sd**2 / (2 * freedoms[0]),
            found.reference_sd**2 / (2 * freedoms[1]),
        ),
        measuring=0.0,
    )


def _within(family: PrintedFamily) -> Summary:
    """Pool the deviations within the sources of a family, each about its own mean."""
    freedom = sum(summary.n - 1 for summary in family.summaries)
    squares = sum((summary.n - 1) * summary.sd**2 for summary in family.summaries)
    return Summary(n=freedom + 1, mean=0.0, sd=math.sqrt(squares / freedom))
