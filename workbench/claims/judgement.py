"""The verdicts on a whole ledger, and what they were reached with."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from workbench.claims.together import DECIDING
from workbench.claims.verdict import Verdict
from workbench.records.settings import Settings


@dataclass(frozen=True, slots=True, kw_only=True)
class Judgement:
    """The verdicts on a ledger, in its order, and what they were reached with.

    `asked` names every entry of the ledger: the family of claims the adjustment is made over, also
    where one verdict alone is given.
    """

    study: str
    confidence: float
    seed: int
    verdicts: tuple[Verdict, ...]
    asked: tuple[str, ...] = ()

    def to_json(self) -> dict[str, Any]:
        """Give the judgement as JSON takes it."""
        return {
            "study": self.study,
            "confidence": self.confidence,
            "seed": self.seed,
            "adjustment": {"method": DECIDING, "claims": list(self.asked)},
            "verdicts": [verdict.to_json() for verdict in self.verdicts],
        }


def nothing_claimed(settings: Settings, *, seed: int) -> Judgement:
    """Give the judgement on a ledger that states no claim."""
    return Judgement(study=settings.title, confidence=settings.confidence, seed=seed, verdicts=())
