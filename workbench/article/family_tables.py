"""Tables of several families at once: intervals, whether they differ, whether they vary alike.

All take one number a block, its mean as read. The analyses are those of `inference`; nothing is
worked out here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from itertools import combinations
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from workbench.article.numbers import estimate_words, p_words, percent, share_words, why_not
from workbench.article.tables import Table
from workbench.article.text import clean
from workbench.errors import Refusal
from workbench.inference.means.intervals import (
    coefficient_of_variation_interval,
    next_value_interval,
    sd_interval,
)
from workbench.inference.means.pairwise import (
    RangePair,
    ReferencePair,
    dunnett,
    games_howell,
    tukey,
)
from workbench.inference.means.several_families import OneWay, one_way, welch_one_way
from workbench.inference.ranks.quantiles import median_interval
from workbench.inference.ranks.several import RankPair, dunn, kruskal_wallis
from workbench.inference.resampling.few_blocks import ENOUGH_BLOCKS
from workbench.inference.resampling.quantiles import bootstrap_quantile
from workbench.inference.spreads.equality import brown_forsythe, fligner_killeen, variance_ratio
from workbench.inference.spreads.ratio import spread_ratio

if TYPE_CHECKING:
    from workbench.article.sample import Sample
    from workbench.inference.estimates import Estimate

Means = Mapping[str, np.ndarray]
Compared = TypeVar("Compared", RangePair, ReferencePair, RankPair)
LEAST = 2
MOST_FAMILIES = 8
HEADINGS = (
    "Median",
    "Median, blocks drawn anew",
    "Standard deviation",
    "As a share of the mean",
    "Next block",
)
SINGLE = "Left out, having one block: {names}."


def block_means_of(sample: Sample, least: int = 1) -> dict[str, np.ndarray]:
    """Give the block means of every family that has at least `least` blocks."""
    found = {
        family: sample.blocks.loc[sample.blocks["family"] == family, "mean"].to_numpy()
        for family in sample.families
    }
    return {family: means for family, means in found.items() if means.size >= least}


def intervals_table(sample: Sample) -> Table:
    """Give median, spread and the next block of each family, each with its interval."""
    confidence = sample.confidence
    asked: tuple[Callable[[np.ndarray, float], Estimate], ...] = (median_interval, sd_interval)
    rows = []
    for family, means in block_means_of(sample, LEAST).items():
        median, spread = (_figure(sample, figure, means, confidence) for figure in asked)
        cells = [median, _drawn_median(sample, means), spread]
        try:
            share = coefficient_of_variation_interval(means, confidence)
            cells.append(share_words(share.estimate, share.low, min(share.high, 1.0)))
        except Refusal as refusal:
            cells.append(why_not(refusal))
        rows.append((_name(sample, family), f"{means.size:,}", *cells, _next(sample, means)))
    return Table(
        caption=f"{sample.label}: spread of blocks, and the next one ({percent(confidence)} "
        "intervals)",
        columns=("Family", "Blocks", *HEADINGS),
        rows=tuple(rows),
        numeric=(1,),
        note="Median by ranks, without a shape assumed: no interval where the blocks are too few "
        "for one. Blocks drawn anew: the BCa interval of the median that ever more draws of the "
        f"blocks would settle at; it misses about as often as it says from {ENOUGH_BLOCKS} blocks "
        "up. The others take block means as normal. The next block: where it falls, not where "
        f"the mean lies. {_single(sample)}".strip(),
    )


def families_table(sample: Sample) -> Table:
    """Ask of all families at once whether their means, or their places by rank, differ."""
    means = block_means_of(sample, LEAST)
    asked = (
        ("One-way after Welch (spreads may differ)", lambda: _of_f(welch_one_way(means))),
        ("One-way, spreads alike", lambda: _of_f(one_way(means))),
        ("Kruskal-Wallis, by ranks", lambda: _of_h(means)),
    )
    return Table(
        caption=f"{sample.label}: do the families differ at all?",
        columns=("Test", "Statistic", "Degrees of freedom", "p"),
        rows=tuple((name, *_told(made)) for name, made in asked) if len(means) >= LEAST else (),
        numeric=(1, 2),
        note=_note(
            sample,
            means,
            "One number a block. A large p shows no sameness; with fewer than five blocks of a "
            "family the analysis with spreads of their own is too ready to see a difference.",
        ),
    )


def pairs_table(sample: Sample) -> Table:
    """Compare the families two by two, one error rate for all comparisons of a column."""
    means = block_means_of(sample, LEAST)
    reference = max(means, key=lambda family: means[family].size, default="")
    rows = list(_pairs(sample, means, reference)) if LEAST <= len(means) <= MOST_FAMILIES else []
    note = (
        "The first named less the second. Intervals and p of a column hold for all its comparisons "
        "together: Games-Howell with spreads of their own, Dunnett against the family with most "
        "blocks and one spread for all, Tukey likewise for every pair, Dunn by ranks and Holm. "
        "The question of a claim, with its margin, places and gauges, has a notebook of its own."
    )
    return Table(
        caption=f"{sample.label}: which families differ ({percent(sample.confidence)} intervals)",
        columns=(
            *("Families", "Games-Howell", "p", "Dunnett", "p", "Tukey", "p"),
            "p by ranks (Dunn)",
        ),
        rows=tuple(rows),
        note=_note(sample, means, note),
    )


def equality_table(sample: Sample, *, seed: int) -> Table:
    """Ask whether the blocks of the families vary alike, and by how much not."""
    means = block_means_of(sample, LEAST)
    rows = []
    if LEAST <= len(means) <= MOST_FAMILIES:
        for test in (brown_forsythe, fligner_killeen):
            name = {"brown_forsythe": "Brown-Forsythe", "fligner_killeen": "Fligner-Killeen"}
            try:
                words = p_words(test(means).p_value)
            except Refusal as refusal:
                words = why_not(refusal)
            rows.append((f"all families, {name[test.__name__]}", "", "", words))
        for first, second in combinations(means, 2):
            rows.append(
                (
                    f"{_name(sample, second)} / {_name(sample, first)}",
                    *_ratio(means[second], means[first], sample.confidence, seed),
                )
            )
    return Table(
        caption=f"{sample.label}: do blocks of the families vary alike?",
        columns=("Families", "Ratio of spreads, normal", "Ratio, blocks drawn anew", "p of equal"),
        rows=tuple(rows),
        note=_note(
            sample,
            means,
            "Two tests of whether all families vary alike, then ratios of the standard deviations "
            "between block means. The normal interval is by F; the other needs five blocks of each "
            "family and no shape. The p of a ratio is that of F.",
        ),
    )


def _pairs(sample: Sample, means: Means, reference: str) -> Iterator[tuple[str, ...]]:
    spans = _by_pair(lambda: games_howell(means))
    against = _by_pair(lambda: dunnett(means, reference))
    alike = _by_pair(lambda: tukey(means))
    ranks = _by_pair(lambda: dunn(means))
    for first, second in combinations(means, 2):
        pair = frozenset((first, second))
        cells = [f"{_name(sample, second)} less {_name(sample, first)}"]
        for one in (spans.get(pair), against.get(pair), alike.get(pair)):
            if one is None:
                cells += ["", ""]
                continue
            sign = 1 if one.candidate == second else -1
            interval = one.interval(sample.confidence)
            low, high = sorted((sign * interval.low, sign * interval.high))
            cells += [_words(sample, sign * one.estimate, low, high), p_words(one.p_value())]
        cells.append(p_words(ranks[pair].adjusted) if pair in ranks else "")
        yield tuple(cells)


def _by_pair(made: Callable[[], tuple[Compared, ...]]) -> dict[frozenset[str], Compared]:
    """Give comparisons by their two families; none where they cannot be made."""
    try:
        return {frozenset((one.candidate, one.reference)): one for one in made()}
    except Refusal:
        return {}


def _ratio(
    candidate: np.ndarray, reference: np.ndarray, confidence: float, seed: int
) -> tuple[str, str, str]:
    try:
        normal = variance_ratio(candidate, reference)
    except Refusal as refusal:
        return why_not(refusal), "", ""
    ends = normal.sd_interval(confidence)
    words = estimate_words(float(np.sqrt(normal.estimate)), ends.low, ends.high, "")
    try:
        drawn = spread_ratio(candidate, reference, seed=seed)
        found = drawn.interval(confidence)
        other = estimate_words(drawn.estimate, found.low, found.high, "")
    except Refusal:
        other = "too few blocks"
    return words, other, p_words(normal.p_value())


def _of_f(found: OneWay) -> tuple[str, str, float]:
    between, within = found.between_degrees_of_freedom, found.within_degrees_of_freedom
    return f"F = {found.statistic:.2f}", f"{between:g}, {within:.1f}", found.p_value


def _of_h(means: Means) -> tuple[str, str, float]:
    found = kruskal_wallis(means)
    return f"H = {found.statistic:.2f}", f"{found.degrees_of_freedom}", found.p_value


def _told(made: Callable[[], tuple[str, str, float]]) -> tuple[str, str, str]:
    try:
        statistic, degrees, p_value = made()
    except Refusal as refusal:
        return why_not(refusal), "", ""
    return statistic, degrees, p_words(p_value)


def _figure(
    sample: Sample,
    figure: Callable[[np.ndarray, float], Estimate],
    means: np.ndarray,
    confidence: float,
) -> str:
    try:
        found = figure(means, confidence)
    except Refusal as refusal:
        return why_not(refusal)
    if not np.isfinite([found.low, found.high]).all():
        return _words(sample, found.estimate, None, None)
    return _words(sample, found.estimate, found.low, found.high)


def _drawn_median(sample: Sample, means: np.ndarray) -> str:
    try:
        found = bootstrap_quantile(means)
    except Refusal as refusal:
        return why_not(refusal)
    ends = found.interval(sample.confidence)
    return _words(sample, found.estimate, ends.low, ends.high)


def _next(sample: Sample, means: np.ndarray) -> str:
    try:
        found = next_value_interval(means, sample.confidence)
    except Refusal as refusal:
        return why_not(refusal)
    return _words(sample, found.estimate, found.low, found.high)


def _words(sample: Sample, estimate: float, low: float | None, high: float | None) -> str:
    return estimate_words(estimate, low, high, sample.unit, step=sample.step / 10)


def _name(sample: Sample, family: str) -> str:
    return clean(sample.labels.get(family, family), 60)


def _single(sample: Sample) -> str:
    alone = [
        _name(sample, family) for family in sample.families if sample.means[family].blocks < LEAST
    ]
    return SINGLE.format(names=", ".join(alone)) if alone else ""


def _note(sample: Sample, means: Means, words: str) -> str:
    if len(means) < LEAST:
        return f"Two families of two blocks or more are needed. {_single(sample)}".strip()
    if len(means) > MOST_FAMILIES:
        words = f"{len(means)} families are too many to set beside each other. {words}"
    return f"{words} {_single(sample)}".strip()
