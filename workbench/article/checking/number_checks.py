"""Numbers of a draft that differ from the study's, or are rounded into a stronger claim."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from workbench.article.checking.draft import Sentence
from workbench.article.checking.facts import Facts
from workbench.article.checking.finding import Finding
from workbench.article.checking.mentioned import (
    Mention,
    decimals_of,
    is_printed,
    mentioned,
    rounds_to,
    same_kind,
)
from workbench.article.writing.number import Number
from workbench.article.writing.verdict_numbers import VerdictNumbers


def check_numbers(
    sentence: Sentence, facts: Facts, about: Sequence[VerdictNumbers]
) -> Iterator[Finding]:
    """Hold every number of a sentence against those of the claims it is about, or of all."""
    units = {number.unit for number in facts.numbers}
    claims = {of.verdict.claim for of in about}
    near = [number for number in facts.numbers if number.origin.claim in claims]
    for mention in mentioned(sentence.text, units):
        mine = [number for number in near if same_kind(mention, number)]
        every = [number for number in facts.numbers if same_kind(mention, number)]
        if any(n.kind == "quoted" and is_printed(mention, n) for n in near or facts.numbers):
            continue  # the study's own text says it
        if mention.noun and about:
            mine = of_family(mention, mine, facts, about) or mine
        finding = judged(
            mention, mine or every, every if not mention.noun else mine or every, facts
        )
        if finding is not None:
            code, text, suggestion = finding
            yield Finding(
                line=sentence.line,
                code=code,
                excerpt=sentence.text,
                text=text,
                suggestion=suggestion,
            )


def of_family(
    mention: Mention, counts: Sequence[Number], facts: Facts, about: Sequence[VerdictNumbers]
) -> list[Number]:
    """Keep the counts of the family named between a number and its noun."""
    words = mention.after.partition(mention.noun.removesuffix("s"))[0]
    families = facts.families(words)
    sides = {
        (of.place, side)
        for of in about
        for side, family in (
            ("candidate", of.verdict.candidate),
            ("reference", of.verdict.reference),
        )
        if family in families
    }
    return [
        number
        for number in counts
        if any(number.id.startswith(f"{place}.{side} ") for place, side in sides)
    ]


def judged(
    mention: Mention, near: Sequence[Number], every: Sequence[Number], facts: Facts
) -> tuple[str, str, str] | None:
    """Judge one number: as printed, coarser, finer, or another; None where it may stand."""
    if any(is_printed(mention, number) for number in (*near, *every)):
        return bound_for_value(mention, near)
    rounded = [number for number in near if rounds_to(mention, number)]
    if not rounded:
        return unlike(mention, near)
    number = min(rounded, key=lambda one: abs(decimals_of(one) - mention.decimals))
    where = f"{number.printed} ({number.id})"
    if mention.decimals > decimals_of(number):
        return (
            "too_fine",
            f"{mention.printed} has more digits than the uncertainty of {where} allows.",
            f"Write {number.printed}.",
        )
    if stronger(mention, number, facts):
        return (
            "rounded_stronger",
            f"{mention.printed} is rounded in favour of the claim: the study has {where}.",
            f"Write {number.printed}.",
        )
    return None


def bound_for_value(mention: Mention, near: Sequence[Number]) -> tuple[str, str, str] | None:
    """Tell where a p-value is told by another relation than the study's."""
    if mention.unit != "p":
        return None
    same = [number for number in near if is_printed(mention, number)]
    if not same or any(number.text[0] == mention.relation for number in same):
        return None
    return (
        "p_as_threshold",
        f"The study has p {same[0].text}, not p {mention.relation} {mention.token}.",
        f"Write p {same[0].text}.",
    )


def unlike(mention: Mention, near: Sequence[Number]) -> tuple[str, str, str] | None:
    """Say that a number is not the study's, and which the study has."""
    if mention.unit == "p":
        return p_unlike(mention, near)
    if not near:
        return (
            "number_unknown",
            f"{mention.printed} stands nowhere in the study.",
            "Give its source, or take a number from numbers.json.",
        )
    closest = min(near, key=lambda number: abs(abs(number.value or 0.0) - abs(mention.value)))
    return (
        "number_differs",
        f"{mention.printed} is not the study's; the nearest it has is {shown(closest)} "
        f"({closest.id}).",
        f"Write {shown(closest)}, or give the source of {mention.printed}.",
    )


def p_unlike(mention: Mention, near: Sequence[Number]) -> tuple[str, str, str] | None:
    """Say that a p-value is told as a bound, or is another."""
    if not near:
        return ("number_unknown", "The study has no such p-value.", "Leave it out.")
    fits = [
        number
        for number in near
        if number.value is not None
        and (number.value < mention.value) == (mention.relation in ("<", "≤"))
    ]
    if mention.relation in ("<", "≤", ">", "≥") and fits:
        return (
            "p_as_threshold",
            f"p {mention.relation} {mention.token} is a bound where the study has p "
            f"{fits[0].text}.",
            f"Write p {fits[0].text}.",
        )
    closest = min(near, key=lambda number: abs((number.value or 0.0) - mention.value))
    return (
        "number_differs",
        f"p {mention.relation} {mention.token} is not the study's: it has p {closest.text} "
        f"({closest.id}).",
        f"Write p {closest.text}.",
    )


def stronger(mention: Mention, number: Number, facts: Facts) -> bool:
    """Tell whether rounding moved a number in favour of its claim.

    A smaller p is stronger; so is an effect that is larger, or for sameness smaller, by more than
    half its standard uncertainty; so is the end of an interval nearer to no difference once it is
    moved away from it, and for sameness either end moved towards it.
    """
    value = abs(number.value or 0.0)
    moved = mention.value - value if mention.value >= 0 else -mention.value - value
    if number.kind == "p":
        return moved < 0
    same = facts.direction(number.origin.claim) == "same"
    gained = -moved if same else moved
    if number.kind == "interval":
        return gained > 0 and (same or nearest_zero(number, facts))
    return gained > (number.rounding.uncertainty or 0.0) / 2


def nearest_zero(number: Number, facts: Facts) -> bool:
    """Tell whether an end is the one of its interval nearer to no difference."""
    ends = [
        abs(end.value or 0.0)
        for of in facts.verdicts
        if of.place == number.origin.claim
        for end in (of.low, of.high)
        if end is not None
    ]
    return not ends or abs(number.value or 0.0) == min(ends)


def shown(number: Number) -> str:
    """Give a number as the draft should have it."""
    return f"{number.text} {number.noun}".strip() if number.noun else number.printed
