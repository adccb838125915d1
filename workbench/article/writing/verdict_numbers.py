"""The numbers of one verdict, entered in the register, and the names of what it compares."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from workbench.article.writing.number import Number, Origin
from workbench.article.writing.phrase import Phrase
from workbench.article.writing.register import Register
from workbench.article.writing.statistic import Statistic, statistic_of
from workbench.records.quantity_table import SHARE
from workbench.records.rounding import shown_unit

if TYPE_CHECKING:
    from workbench.claims.verdict import Verdict
    from workbench.records.settings import Settings

OWN_WORDS = ("threats", "next step")
CHECK = "`workbench check`"
MANY_FREEDOMS = 100.0  # from here on tenths of a degree of freedom move nothing
NOUNS = ("blocks", "bores", "readings")
LEDGER = Origin(notebook="summary", cell="verdicts", inputs=("claims.toml",))


@dataclass(frozen=True, slots=True, kw_only=True)
class Counts:
    """How much of one family a verdict rests on."""

    blocks: Number
    bores: Number
    readings: Number


@dataclass(frozen=True, slots=True, kw_only=True)
class VerdictNumbers:
    """A verdict with its numbers as references; None where it has no such number.

    `place` is what the ids of its numbers begin with. `size` is the estimate without its sign.
    `low` and `high` are the ends of the interval a sentence shows: at `confidence`, or for sameness
    that at `shown_confidence` which decides it.
    `boundary` is the margin as it stands on the line of differences, below zero for a claim of
    `less`; `statistic` is the test statistic against it.
    """

    verdict: Verdict
    place: str
    register: Register
    origin: Origin
    quantity: Phrase
    ours: Phrase
    others: Phrase
    confidence: Number
    shown_confidence: Number
    candidate: Counts
    reference: Counts
    margin: Number | None = None
    boundary: Number | None = None
    threshold: Number | None = None
    estimate: Number | None = None
    size: Number | None = None
    low: Number | None = None
    high: Number | None = None
    error: Number | None = None
    p: Number | None = None
    adjusted_p: Number | None = None
    freedom: Number | None = None
    statistic: Number | None = None

    @property
    def test(self) -> Statistic | None:
        """The test against the margin, where it has a statistic."""
        return statistic_of(self.verdict)

    @property
    def known(self) -> tuple[Number, ...]:
        """The numbers a sentence on this verdict may mean, the most likely first."""
        counts = (
            getattr(side, noun) for side in (self.candidate, self.reference) for noun in NOUNS
        )
        found = (
            *(self.size, self.estimate, self.low, self.high, self.margin, self.boundary),
            self.threshold,
            *(self.p, self.confidence, self.shown_confidence, self.adjusted_p, self.error),
            *counts,
        )
        return tuple(number for number in found if number is not None)

    def quoted(self, text: str, part: str) -> Phrase:
        """Quote a text about this verdict; its numbers are told again where they are known.

        In what the workbench itself says, a command stands between typographic quotes.
        """
        if part in OWN_WORDS:
            text = text.replace(CHECK, "“workbench check”")
        return self.register.quoted(text, f"{self.place}.{part}", self.origin, self.known)


def verdict_numbers(
    register: Register, verdict: Verdict, settings: Settings, name: str, inputs: tuple[str, ...]
) -> VerdictNumbers:
    """Enter the numbers of a verdict under `name`; `inputs` are the files it rests on."""
    origin = Origin(claim=verdict.claim, notebook="claim", cell="answer", inputs=inputs)
    known = settings.quantities.get(verdict.quantity)
    shown = shown_interval(verdict)
    scale, unit = shown_unit(verdict.unit)
    return VerdictNumbers(
        verdict=verdict,
        place=name,
        register=register,
        origin=origin,
        quantity=register.quoted(
            known.label if known else verdict.quantity, f"{name}.quantity", origin
        ),
        ours=register.quoted(settings.family_label(verdict.candidate), f"{name}.candidate", origin),
        others=register.quoted(
            settings.family_label(verdict.reference), f"{name}.reference", origin
        ),
        confidence=register.percent("confidence", verdict.confidence, Origin()),
        shown_confidence=register.percent(f"{name}.confidence shown", shown[2], origin),
        candidate=counts_of(register, verdict, name, "candidate", origin),
        reference=counts_of(register, verdict, name, "reference", origin),
        margin=register.stated(f"{name}.margin", scale * abs(verdict.margin), origin, unit=unit)
        if verdict.direction
        else None,
        boundary=register.stated(
            f"{name}.boundary",
            scale * (verdict.margin if verdict.direction != "less" else 0.0 - verdict.margin),
            origin,
            unit=unit,
        )
        if verdict.direction
        else None,
        threshold=None
        if verdict.threshold is None
        else register.stated(
            f"{name}.threshold",
            verdict.threshold,
            origin,
            unit=known.unit if known is not None and verdict.unit == SHARE else verdict.unit,
        ),
        **(estimates(register, verdict, name, origin, shown) if verdict.has_numbers else {}),
    )


def shown_interval(verdict: Verdict) -> tuple[float, float, float]:
    """Give the ends and the confidence of the interval a sentence shows."""
    if math.isfinite(verdict.inner_low) and verdict.outcome != "contradicted":
        return verdict.inner_low, verdict.inner_high, 2 * verdict.confidence - 1
    return verdict.low, verdict.high, verdict.confidence


def counts_of(register: Register, verdict: Verdict, name: str, side: str, origin: Origin) -> Counts:
    """Enter how much of one family a verdict rests on."""
    return Counts(
        **{
            noun: register.count(
                f"{name}.{side} {noun}",
                getattr(verdict, f"{side}_{noun}"),
                noun,
                origin,
            )
            for noun in NOUNS
        }
    )


def estimates(
    register: Register,
    verdict: Verdict,
    name: str,
    origin: Origin,
    shown: tuple[float, float, float],
) -> dict[str, Number | None]:
    """Enter the estimate, what goes with it, and how it lies to the margin."""
    ends = shown[:2]

    scale, unit = shown_unit(verdict.unit)
    known = math.isfinite(verdict.standard_error) and verdict.standard_error > 0
    error = verdict.standard_error if known else (shown[1] - shown[0]) / 4

    def number(part: str, value: float, *, interval: bool = False) -> Number | None:
        if not math.isfinite(value):
            return None
        return register.measured(
            f"{name}.{part}",
            scale * value,
            origin,
            unit=unit,
            uncertainty=scale * error,
            finest=scale * verdict.finest,
            kind="interval" if interval else "estimate",
            ends=None if interval else (scale * ends[0], scale * ends[1]),
            confidence=None if interval else shown[2],
        )

    def p_of(part: str, value: float) -> Number | None:
        return register.p(f"{name}.{part}", value, origin) if math.isfinite(value) else None

    found: dict[str, Number | None] = {
        "estimate": number("estimate", verdict.estimate),
        "size": number("size", abs(verdict.estimate)),
        "low": number("low", shown[0], interval=True),
        "high": number("high", shown[1], interval=True),
        "p": p_of("p", verdict.told_p),
        "adjusted_p": p_of("p after Holm", verdict.adjusted_p),
    }
    if known:
        found["error"] = register.measured(
            f"{name}.standard error",
            scale * error,
            origin,
            unit=unit,
            uncertainty=scale * error,
            kind="uncertainty",
        )
    test = statistic_of(verdict)
    if test is not None:
        found["statistic"] = register.fixed(
            f"{name}.{test.letter}", test.value, 2, origin, "statistic"
        )
        if math.isfinite(test.degrees_of_freedom):
            found["freedom"] = register.fixed(
                f"{name}.degrees of freedom",
                test.degrees_of_freedom,
                1 if test.degrees_of_freedom < MANY_FREEDOMS else 0,
                origin,
                "statistic",
            )
    return found
