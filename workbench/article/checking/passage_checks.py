"""What a paragraph of a draft lacks: the interval of an effect, the blocks it rests on."""

from __future__ import annotations

from collections.abc import Iterator

from workbench.article.checking.draft import Passage
from workbench.article.checking.facts import Facts
from workbench.article.checking.finding import Finding
from workbench.article.checking.mentioned import (
    Mention,
    is_printed,
    mentioned,
    rounds_to,
    same_kind,
)
from workbench.article.writing.number import Number
from workbench.article.writing.phrase import plain
from workbench.article.writing.sentences import interval
from workbench.article.writing.verdict_numbers import VerdictNumbers


def check_passage(passage: Passage, facts: Facts) -> Iterator[Finding]:
    """Find effects told without their interval or without the number of blocks."""
    about = facts.about(passage.text)
    mentions = list(mentioned(passage.text, {number.unit for number in facts.numbers}))
    told: dict[str, list[VerdictNumbers]] = {}
    for mention in mentions:
        for of in effects(mention, about):
            sharing = told.setdefault(of.size.printed if of.size is not None else "", [])
            if of not in sharing:
                sharing.append(of)
    for sharing in told.values():  # several claims may share one effect
        yield from lacking(passage, sharing, mentions)


def effects(mention: Mention, about: tuple[VerdictNumbers, ...]) -> list[VerdictNumbers]:
    """Give the claims whose effect a mention is: as printed, or where there is none, rounded."""
    met = [
        of
        for of in about
        if of.size is not None
        and of.estimate is not None
        and is_number(mention, (of.size, of.estimate))
    ]
    exact = [of for of in met if of.size is not None and is_printed(mention, of.size)]
    another = any(
        is_printed(mention, number) and same_kind(mention, number)
        for of in about
        for number in of.known
    )
    return exact or ([] if another else met)


def lacking(
    passage: Passage, sharing: list[VerdictNumbers], mentions: list[Mention]
) -> Iterator[Finding]:
    """Say what is missing beside one effect; the interval of any claim that shares it will do."""
    of = sharing[0]
    size = of.size.printed if of.size is not None else ""
    if not any(has_interval(one, mentions) for one in sharing):
        yield Finding(
            line=passage.line,
            code="no_interval",
            excerpt=passage.text,
            text=f"{size} stands without its interval.",
            suggestion=f"Add: {of.shown_confidence.text} interval {plain(interval(of))}.",
        )
    if not any(mention.noun == "blocks" for mention in mentions):
        yield Finding(
            line=passage.line,
            code="no_counts",
            excerpt=passage.text,
            text=f"{size} stands without the number of blocks it rests on.",
            suggestion=f"Add: {of.candidate.blocks.text} {plain(of.ours)} and "
            f"{of.reference.blocks.text} {plain(of.others)} blocks.",
        )


def has_interval(of: VerdictNumbers, mentions: list[Mention]) -> bool:
    """Tell whether every finite end of an interval is told."""
    ends = (number for number in (of.low, of.high) if number is not None)
    return all(any(is_number(mention, (end,)) for mention in mentions) for end in ends)


def is_number(mention: Mention, numbers: tuple[Number, ...]) -> bool:
    """Tell whether a mention is one of some numbers, as printed or rounded, with their sign."""
    return any(
        (mention.value >= 0 or (number.value or 0.0) < 0)
        and (mention.unit == number.unit or same_kind(mention, number))
        and (is_printed(mention, number) or rounds_to(mention, number))
        for number in numbers
    )
