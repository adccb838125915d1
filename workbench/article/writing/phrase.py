"""A phrase: words and references to numbers, from a template whose own words hold no number."""

from __future__ import annotations

import string
from collections.abc import Iterable
from dataclasses import dataclass

from workbench.article.writing.number import Number, tokens
from workbench.article.writing.references import Reference


@dataclass(frozen=True, slots=True, kw_only=True)
class Ref:
    """A number as it stands at one place: with its unit, or without where that follows later."""

    number: Number
    text: str


@dataclass(frozen=True, slots=True)
class Strong:
    """Words that lead a paragraph in."""

    text: str


@dataclass(frozen=True, slots=True)
class Code:
    """A name a machine reads, such as a file or a digest; its digits are no numbers."""

    text: str


@dataclass(frozen=True, slots=True)
class Cite:
    """A work referred to; its year is no number of the study."""

    reference: Reference

    @property
    def text(self) -> str:
        """Author and year."""
        return self.reference.short


Part = str | Ref | Strong | Code | Cite
Phrase = tuple[Part, ...]


def printed(number: Number) -> Ref:
    """Refer to a number with its unit."""
    return Ref(number=number, text=number.printed)


def bare(number: Number) -> Ref:
    """Refer to a number without its unit."""
    return Ref(number=number, text=number.text)


def say(template: str, /, **values: Part | Phrase | Number) -> Phrase:
    """Fill a template: a `Number` with its unit, phrases and parts as they are.

    Raises
    ------
    ValueError
        When words of the template or a value given as words hold a number without a reference.

    >>> say("Nothing was read of {what}.", what="webs")
    ('Nothing was read of webs.',)
    """
    parts: list[Part] = []
    for words, name, _, _ in string.Formatter().parse(template):
        parts.append(words)
        if name is None:
            continue
        value = values[name]
        if isinstance(value, tuple):
            parts += value
        else:
            parts.append(printed(value) if isinstance(value, Number) else value)
    return joined(parts)


def joined(parts: Iterable[Part]) -> Phrase:
    """Join neighbouring words into one part, and refuse words that hold a number."""
    result: list[Part] = []
    for part in parts:
        if isinstance(part, str):
            if found := tokens(part):
                raise ValueError(f"The number {found[0]} of “{part}” refers to nothing.")
            if not part:
                continue
            if result and isinstance(result[-1], str):
                result[-1] += part
                continue
        result.append(part)
    return tuple(result)


def listed(phrases: Iterable[Phrase], separator: str = "; ") -> Phrase:
    """Set phrases one after another."""
    parts: list[Part] = []
    for number, phrase in enumerate(phrases):
        if number:
            parts.append(separator)
        parts += phrase
    return joined(parts)


def plain(phrase: Phrase) -> str:
    """Give a phrase as plain text."""
    return "".join(part if isinstance(part, str) else part.text for part in phrase)


def numbers_in(phrase: Phrase) -> list[Number]:
    """Give the numbers a phrase refers to."""
    return [part.number for part in phrase if isinstance(part, Ref)]
