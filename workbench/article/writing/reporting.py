"""A verdict in the form statistical reviewers ask for.

The form follows the SAMPL guidelines (Lang and Altman 2015; from memory): the estimate with its
interval and unit first; the test named, with its statistic and degrees of freedom; p to two digits
and never as a bare threshold; the tails; the numbers of units at every level; the smallest
difference held to matter; and how many comparisons were made.
"""

from __future__ import annotations

import math

from workbench.article.writing.phrase import Phrase, bare, joined, listed, say
from workbench.article.writing.sentences import interval
from workbench.article.writing.verdict_numbers import LEDGER, VerdictNumbers
from workbench.records.quantity_table import SHARE

FIGURES = {
    "mean": "mean",
    "spread": "spread of",
    "thinnest": "thinnest",
    "share_below": "share below the threshold of",
}


def reporting(of: VerdictNumbers, claims: int) -> Phrase:
    """Give a verdict in the reporting form; `claims` is the size of the ledger."""
    if not of.verdict.has_numbers:
        return (
            "No estimate could be made; no test was made, and no p-value is given. The claim "
            "counts as asked in the adjustment of the others.",
        )
    parts = (
        effect(of),
        held_against(of),
        sizes(of),
        method(of),
        many(of, claims),
    )
    return joined([*listed([part for part in parts if part]), "."])


def effect(of: VerdictNumbers) -> Phrase:
    """Give the estimate with its interval and its standard error."""
    estimate = of.estimate
    if estimate is None:
        return ()
    spelled = say(
        "{what}, {ours} against {others}: {estimate}, {confidence} interval {interval}",
        what=compared(of),
        ours=of.ours,
        others=of.others,
        estimate=estimate,
        confidence=of.shown_confidence,
        interval=interval(of),
    )
    if of.error is None:
        return spelled
    return joined([*spelled, *say(", standard error {error}", error=of.error)])


def compared(of: VerdictNumbers) -> Phrase:
    """Name what is compared: a difference of means or shares, or another figure."""
    verdict = of.verdict
    if verdict.figure == "mean":
        figure = "share of blocks with" if verdict.unit == SHARE else "mean"
        return joined([f"Difference in {figure} ", *of.quantity])
    return joined([f"Comparison of {FIGURES[verdict.figure]} ", *of.quantity])


def held_against(of: VerdictNumbers) -> Phrase:
    """Give the test against the margin: statistic, degrees of freedom, p and its tails."""
    test = of.test
    against = (
        say("against a margin of {margin}", margin=of.margin)
        if of.margin is not None and of.margin.value
        else ("against no difference",)
    )
    if of.p is None:
        return joined([*against, ": no p-value"])
    if test is None or of.statistic is None:
        return joined([*against, *say(": p {p}, without a t or z statistic", p=of.p)])
    return say(
        "{against}: {letter}{freedom} = {value}, {tails} p {p}",
        against=against,
        letter=test.letter,
        freedom=say("({freedom})", freedom=of.freedom) if of.freedom is not None else "",
        value=of.statistic,
        tails="the larger of two one-sided" if test.tails == 1 else "two-sided",
        p=of.p,
    )


def sizes(of: VerdictNumbers) -> Phrase:
    """Give the numbers of blocks, bores and readings, candidate and reference."""
    verdict = of.verdict
    levels = ["blocks", "readings"]
    if verdict.candidate_bores or verdict.reference_bores:
        levels.insert(1, "bores")
    return listed(
        (
            say(
                "{ours} and {others} {noun}",
                ours=bare(getattr(of.candidate, noun)),
                others=bare(getattr(of.reference, noun)),
                noun=noun,
            )
            for noun in levels
        ),
        ", ",
    )


def method(of: VerdictNumbers) -> Phrase:
    """Name the method."""
    named = of.verdict.method
    return of.quoted(named, "method") if named else ()


def many(of: VerdictNumbers, claims: int) -> Phrase:
    """Give the p-value adjusted over the ledger."""
    if of.adjusted_p is None or math.isnan(of.verdict.adjusted_p):
        return ()
    asked = of.register.count("claims of the ledger", claims, "claims", LEDGER)
    return say("adjusted p {p} (Holm, over {claims} claims)", p=of.adjusted_p, claims=bare(asked))
