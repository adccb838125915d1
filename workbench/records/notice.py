"""What a reader of the records should know that is no fault; names quoted in a sentence."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

NAMES_SHOWN = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Notice:
    """Something a reader of the records should know that is no fault."""

    file: str
    code: str
    sentence: str

    def line(self) -> str:
        """Give the notice as one line for a terminal."""
        return f"{self.file}: {self.sentence} [{self.code}]"


def quoted(names: Sequence[str]) -> str:
    """Give names in quotation marks, the first of them when there are many.

    >>> quoted(["C1", "C2"])
    '“C1”, “C2”'
    """
    shown = ", ".join(f"“{name}”" for name in names[:NAMES_SHOWN])
    return shown if len(names) <= NAMES_SHOWN else f"{shown} and {len(names) - NAMES_SHOWN} more"


def readings_that(n: int, gauge: str, verb: str) -> str:
    """Begin the sentence of a notice on so many readings by one gauge.

    >>> readings_that(1, "ug1", "name"), readings_that(2, "", "name")
    ('1 reading by “ug1” names', '2 readings by a gauge not named name')
    """
    by = f"“{gauge}”" if gauge else "a gauge not named"
    return f"1 reading by {by} {verb}s" if n == 1 else f"{n} readings by {by} {verb}"
