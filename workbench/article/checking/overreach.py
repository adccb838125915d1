"""What a draft says beyond the numbers the study prints: of every block, by an end, in words."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from workbench.article.checking.draft import Sentence
from workbench.article.checking.facts import Facts
from workbench.article.checking.finding import Finding
from workbench.article.checking.mentioned import Mention, is_printed, mentioned, rounds_to
from workbench.article.writing.verdict_numbers import VerdictNumbers

COMPARED = re.compile(
    r"\b(?:thick|thinn|hard|soft|heavi|light|strong|deep|great|larg|small|high|low|tough|stiff)er\b"
    r"|\b(?:more|less|fewer|outweighs?|exceeds?)\b",
    re.IGNORECASE,
)
EVERY = re.compile(
    r"\b(?:every|any|each|all(?: the)?) (?:[a-z]+[ -]){0,3}?blocks?\b|\balways\b|\binvariably\b"
    r"|\bwithout exception\b",
    re.IGNORECASE,
)
COUNTS = r"(?:one|two|three|four|five|six|seven|eight|nine|ten|a dozen|half an?|a quarter of an?)"
OTHER_UNITS = (
    "inches",
    "inch",
    "thou",
    "mils",
    "mil",
    "cm",
    "microns",
    "µm",
    "lb",
    "lbs",
    "pounds",
)
TIMES = re.compile(
    rf"\b(?:twice|{COUNTS}(?: and a half)? times|half again) (?:as|the|so)\b"
    r"|\b(?:doubles?|triples?|doubled|tripled)\b",
    re.IGNORECASE,
)


def check_overreach(
    sentence: Sentence, facts: Facts, about: Sequence[VerdictNumbers]
) -> Iterator[Finding]:
    """Find what a sentence on claims of the study says that no number of it says."""
    if not about:
        return

    def found(code: str, text: str, suggestion: str) -> Finding:
        return Finding(
            line=sentence.line, code=code, excerpt=sentence.text, text=text, suggestion=suggestion
        )

    own = sentence.own
    if every := EVERY.search(own):
        yield found(
            "every_block",
            f"“{every[0]}”: the study judges families by their blocks together, not each block.",
            "Say it of the blocks measured, with their number, or of the family's mean.",
        )
    if times := TIMES.search(own):
        yield found(
            "multiple_said",
            f"“{times[0]}”: a multiple in words cannot be held against the study.",
            "Write the difference in figures, with its unit and interval.",
        )
    units = {number.unit for number in facts.numbers if number.unit}
    for spelled in in_words(own, units):
        yield found(
            "number_in_words", f"“{spelled}” cannot be held against the study.",
            "Write it in figures.",
        )  # fmt: skip
    for foreign in in_other_units(own, units):
        yield found(
            "other_unit",
            f"“{foreign}”: the study prints nothing in this unit, so it cannot be held against it.",
            "Write it in the unit of the study; the other may stand beside it in brackets.",
        )
    for mention in mentioned(own, units):
        if end := end_told(mention, about):
            yield found(
                "end_as_effect",
                f"{mention.printed} is told as the difference and is an end of its interval.",
                f"Write {end}, and the interval beside it.",
            )


def in_words(text: str, units: set[str]) -> Iterator[str]:
    """Give the numbers written in words before a unit."""
    named = "|".join(map(re.escape, sorted(units | set(OTHER_UNITS), key=len, reverse=True)))
    for match in re.finditer(rf"\b{COUNTS} (?:{named})(?!\w)", text, re.IGNORECASE):
        yield match[0]


def in_other_units(text: str, units: set[str]) -> Iterator[str]:
    """Give the numbers in a unit the study prints nothing in; “in” only before a comparison."""
    other = "|".join(re.escape(unit) for unit in OTHER_UNITS if unit not in units)
    inches = "(?!)" if "in" in units else rf"in(?=\s+(?:{COMPARED.pattern}))"
    for match in re.finditer(rf"\d[\d.,]*\s*(?:(?:{other})(?!\w)|{inches})", text, re.IGNORECASE):
        yield match[0]


def end_told(mention: Mention, about: Sequence[VerdictNumbers]) -> str:
    """Give the effect in whose place an end of its interval is told; "" where none is."""
    if not re.match(rf"\s*{re.escape(mention.unit)}\s+(?:{COMPARED.pattern})", mention.after):
        return ""
    ours = [of for of in about if of.size is not None and of.size.unit == mention.unit]
    sizes = [number for of in ours for number in (of.size, of.margin) if number is not None]
    if any(is_printed(mention, size) or rounds_to(mention, size) for size in sizes):
        return ""
    for of in ours:
        for end in (of.low, of.high):
            if end is not None and (is_printed(mention, end) or rounds_to(mention, end)):
                return of.size.printed if of.size is not None else ""
    return ""
