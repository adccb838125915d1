"""One number of the write-up: its full value, how it is printed, and where it comes from."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Any, Literal

Kind = Literal[
    "estimate", "interval", "p", "statistic", "uncertainty", "count", "stated", "quoted", "setting"
]
# Digits not inside a name: neither “ug1”, nor the 07 of “TR-07”. A sign belongs to its number.
TOKEN = re.compile(r"(?:(?<!\w)[-−])?(?<![A-Za-z0-9_])(?<![A-Za-z][-_.])\d+(?:[.,]\d+)*")


def tokens(text: str) -> list[str]:
    """Give the numbers that stand in a text, as they are written.

    >>> tokens("TR-07, read by ug1: 2.67 mm (-0.15 to 12,000), 95%")
    ['2.67', '-0.15', '12,000', '95']
    """
    return TOKEN.findall(text)


@dataclass(frozen=True, slots=True, kw_only=True)
class Origin:
    """Where numbers come from: a claim, the notebook and cell that show it, the files behind it.

    `cell` is the id of a cell of the notebook.
    """

    claim: str = ""
    notebook: str = ""
    cell: str = ""
    inputs: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Rounding:
    """How a number was rounded for print: the rule, the decimals, and what set them."""

    rule: str
    decimals: int | None = None
    uncertainty: float | None = None
    finest: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Number:
    """One number: `text` as printed without its unit, `value` in full.

    `low` and `high` are the ends of its interval at `confidence`, where it has one. `noun` says
    what a count counts.
    """

    id: str
    kind: Kind
    text: str
    value: float | None
    origin: Origin
    rounding: Rounding
    unit: str = ""
    noun: str = ""
    low: float | None = None
    high: float | None = None
    confidence: float | None = None

    @property
    def digits(self) -> str:
        """The number itself in its text, without “<” or “%”."""
        return tokens(self.text)[0]

    @property
    def printed(self) -> str:
        """The number with its unit."""
        return f"{self.text} {self.unit}".rstrip()

    def to_json(self) -> dict[str, Any]:
        """Give the number as `numbers.json` holds it."""
        return {
            "id": self.id,
            "kind": self.kind,
            "printed": self.printed,
            "text": self.text,
            "value": plain(self.value),
            "unit": self.unit,
            "counts": self.noun,
            "low": plain(self.low),
            "high": plain(self.high),
            "confidence": plain(self.confidence),
            "rounding": {
                "rule": self.rounding.rule,
                "decimals": self.rounding.decimals,
                "uncertainty": plain(self.rounding.uncertainty),
                "finest": plain(self.rounding.finest),
            },
            "claim": self.origin.claim,
            "notebook": self.origin.notebook,
            "cell": self.origin.cell,
            "inputs": list(self.origin.inputs),
        }


def plain(value: float | None) -> float | None:
    """Give None for what JSON cannot hold."""
    return None if value is None or not math.isfinite(value) else value
