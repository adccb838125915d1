"""The threats that stand with every claim of a ledger, to be said once and not at each."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from workbench.claims.verdict import Threat, Verdict

MANY = 3  # verdicts; of fewer each is told whole


def shared_threats(verdicts: Sequence[Verdict]) -> tuple[Threat, ...]:
    """Give the threats that every one of many verdicts has in the same words; of few, none."""
    if len(verdicts) < MANY:
        return ()
    first, *others = (verdict.warnings for verdict in verdicts)
    return tuple(threat for threat in first if all(threat in warnings for warnings in others))
