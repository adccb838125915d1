"""The register: every number that enters the text is entered here first, with its origin."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from decimal import Decimal

from workbench.article.text import clean
from workbench.article.writing.number import TOKEN, Kind, Number, Origin, Rounding
from workbench.article.writing.phrase import Part, Phrase, Ref, joined, say
from workbench.records.rounding import digits_for, number_text, p_text

TEXT_LIMIT = 2000
BY_UNCERTAINTY = (
    "two significant digits of the standard uncertainty, never finer than the step allows"
)
WHOLE = "counted: not rounded"
AS_STATED = "as stated in the study: not rounded"
AS_WRITTEN = "as written in the text quoted"
P_RULE = "two significant digits, two decimals from a tenth on; below a thousandth as a bound"
DIGITS_OF_STATED = 12


class Register:
    """Collects the numbers of one write-up; each gets an id of its own."""

    def __init__(self) -> None:
        self._numbers: dict[str, Number] = {}

    @property
    def numbers(self) -> tuple[Number, ...]:
        """All numbers entered, in their order."""
        return tuple(self._numbers.values())

    def enter(self, number: Number) -> Number:
        """Enter a number; the same one again is the same entry."""
        if self._numbers.setdefault(number.id, number) != number:
            raise ValueError(f"Two different numbers have the id {number.id}.")
        return number

    def measured(
        self,
        id: str,
        value: float,
        origin: Origin,
        *,
        unit: str = "",
        uncertainty: float = math.nan,
        finest: float = math.nan,
        kind: Kind = "estimate",
        ends: tuple[float, float] | None = None,
        confidence: float | None = None,
    ) -> Number:
        """Enter a number whose standard uncertainty and finest step set its digits."""
        step = finest if math.isfinite(finest) and finest > 0 else None
        decimals = digits_for(uncertainty, step)
        return self.enter(
            Number(
                id=id,
                kind=kind,
                text=number_text(value, decimals),
                value=value,
                unit=unit,
                low=None if ends is None else ends[0],
                high=None if ends is None else ends[1],
                confidence=confidence,
                origin=origin,
                rounding=Rounding(
                    rule=BY_UNCERTAINTY,
                    decimals=decimals,
                    uncertainty=uncertainty,
                    finest=step,
                ),
            )
        )

    def fixed(self, id: str, value: float, decimals: int, origin: Origin, kind: Kind) -> Number:
        """Enter a number printed to so many decimals whatever its uncertainty."""
        return self.enter(
            Number(
                id=id,
                kind=kind,
                text=number_text(value, decimals),
                value=value,
                origin=origin,
                rounding=Rounding(rule="a set number of decimals", decimals=decimals),
            )
        )

    def count(self, id: str, value: int, noun: str, origin: Origin) -> Number:
        """Enter a count of something."""
        return self.enter(
            Number(
                id=id,
                kind="count",
                text=f"{value:,}",
                value=value,
                noun=noun,
                origin=origin,
                rounding=Rounding(rule=WHOLE, decimals=0),
            )
        )

    def p(self, id: str, value: float, origin: Origin) -> Number:
        """Enter a p-value: its text begins with “=”, “<” or “>”."""
        return self.enter(
            Number(
                id=id,
                kind="p",
                text=p_text(value).removeprefix("p "),
                value=value,
                origin=origin,
                rounding=Rounding(rule=P_RULE),
            )
        )

    def stated(self, id: str, value: float, origin: Origin, *, unit: str = "") -> Number:
        """Enter a number the study states."""
        return self.enter(
            Number(
                id=id,
                kind="stated",
                text=plainly(value),
                value=value,
                unit=unit,
                origin=origin,
                rounding=Rounding(rule=AS_STATED),
            )
        )

    def percent(self, id: str, share: float, origin: Origin) -> Number:
        """Enter a share the study or the method states, printed in per cent."""
        return self.enter(
            Number(
                id=id,
                kind="setting",
                text=f"{round(100 * share, 6):g}%",
                value=share,
                origin=origin,
                rounding=Rounding(rule=AS_STATED),
            )
        )

    def quoted(
        self, text: object, place: str, origin: Origin, known: Sequence[Number] = ()
    ) -> Phrase:
        """Quote text that was written elsewhere, as one line.

        A number in it that is one of `known` refers to it; any other is entered as quoted from
        `place`.
        """
        line = clean(text, TEXT_LIMIT)
        parts: list[Part] = []
        end = 0
        for match in TOKEN.finditer(line):
            after = line[match.end() :]
            number = meant(match[0], after, known) or self._quote(match[0], place, origin)
            parts += [line[end : match.start()], Ref(number=number, text=match[0])]
            end = match.end()
        return joined([*parts, line[end:]])

    def say(
        self,
        template: str,
        place: str,
        origin: Origin,
        known: Sequence[Number] = (),
        /,
        **values: Part | Phrase | Number,
    ) -> Phrase:
        """Fill a template; values given as words are a stranger's and are quoted from `place`."""
        quoted = {
            name: self.quoted(value, place, origin, known) if isinstance(value, str) else value
            for name, value in values.items()
        }
        return say(template, **quoted)

    def _quote(self, token: str, place: str, origin: Origin) -> Number:
        value = token.replace("−", "-").replace(",", "")
        return self.enter(
            Number(
                id=f"{place}: {token}",
                kind="quoted",
                text=token,
                value=float(value) if re.fullmatch(r"-?\d+(\.\d+)?", value) else None,
                origin=origin,
                rounding=Rounding(rule=AS_WRITTEN),
            )
        )


def meant(token: str, after: str, known: Sequence[Number]) -> Number | None:
    """Tell which of the known numbers is meant by one that is followed by `after`."""
    same = [number for number in known if number.digits == token]
    for number in same:
        words = number.noun or number.unit
        if words and re.match(rf"\W?\s*(\w+\s+){{0,3}}{re.escape(words)}", after):
            return number
    if re.match(r"\s+(?!to\b|and\b|or\b)[A-Za-z]", after):
        return None  # it measures or counts something else
    plain = [number for number in same if number.kind != "count"]
    return plain[0] if plain else None


def plainly(value: float) -> str:
    """Give a stated number as people write it."""
    return f"{Decimal(f'{value:.{DIGITS_OF_STATED}g}'):f}"
