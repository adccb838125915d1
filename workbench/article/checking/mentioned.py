"""The numbers of a sentence: what each is followed by, and which number of the study it is."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from workbench.article.writing.number import TOKEN, Number

NOUNS = ("blocks", "bores", "readings")
P_BEFORE = re.compile(r"(?<!\w)p\s*(?:-?value\s*(?:of|is)?)?\s*([<>=≤≥])?\s*$", re.IGNORECASE)
NEXT_END = re.compile(r"\s*(?:to|and|until|[-–,;])\s*[-−]?\d[\d.,]*")


@dataclass(frozen=True, slots=True, kw_only=True)
class Mention:
    """A number of a draft with what it measures: a unit, `%`, `p`, or a noun counted.

    `relation` is the sign before a p-value. `after` is what follows the number.
    """

    token: str
    value: float
    decimals: int
    unit: str = ""
    noun: str = ""
    relation: str = ""
    after: str = ""

    @property
    def printed(self) -> str:
        """The number as it stands in the draft."""
        return f"{self.token} {self.unit or self.noun}".strip()


def mentioned(text: str, units: Iterable[str]) -> Iterator[Mention]:
    """Give the numbers of a text that measure, count or test something."""
    known = sorted({unit for unit in units if unit}, key=len, reverse=True)
    unit_after = re.compile(
        rf"(?:{NEXT_END.pattern})?\s*({'|'.join(map(re.escape, known)) or '(?!)'})(?!\w)"
    )
    for match in TOKEN.finditer(text):
        value = parsed(match[0])
        if value is None:
            continue
        before, after = text[: match.start()], text[match.end() :]
        mention = {
            "token": match[0],
            "value": value,
            "decimals": len(match[0].partition(".")[2]),
            "after": after,
        }
        p = P_BEFORE.search(before)
        unit = unit_after.match(after)
        noun = re.match(r"\s+(?:[\w-]+\s+){0,3}?(block|bore|reading)s?\b", after)
        if p:
            yield Mention(**mention, unit="p", relation=p[1] or "=")  # type: ignore[arg-type]
        elif unit:
            yield Mention(**mention, unit=unit[1])  # type: ignore[arg-type]
        elif re.match(r"\s?(?:%|per ?cent\b)", after):
            yield Mention(**mention, unit="%")  # type: ignore[arg-type]
        elif noun and mention["decimals"] == 0:
            yield Mention(**mention, noun=f"{noun[1]}s")  # type: ignore[arg-type]


def parsed(token: str) -> float | None:
    """Read a number as it is written: a comma parts thousands."""
    plain = token.replace("−", "-").replace(",", "")
    return float(plain) if re.fullmatch(r"-?\d+(\.\d+)?", plain) else None


def same_kind(mention: Mention, number: Number) -> bool:
    """Tell whether a number of the study is in the unit of a mention, or counts the same."""
    if number.value is None:
        return False
    if mention.noun:
        return number.noun == mention.noun
    if mention.unit == "p":
        return number.kind == "p"
    if mention.unit == "%":
        return number.text.endswith("%")
    return number.unit == mention.unit


def is_printed(mention: Mention, number: Number) -> bool:
    """Tell whether a mention is the number as the study prints it, but for its sign."""
    printed = parsed(number.digits)
    return printed is not None and abs(abs(printed) - abs(mention.value)) < 1e-12


def rounds_to(mention: Mention, number: Number) -> bool:
    """Tell whether a number of the study, rounded as the mention is, gives the mention.

    A zero is no rounding of anything: it is a margin, or no difference.
    """
    value = number.value or 0.0
    return mention.value != 0 and round(abs(value), mention.decimals) == abs(mention.value)


def decimals_of(number: Number) -> int:
    """Give the decimals a number is printed with."""
    return len(number.digits.partition(".")[2])
