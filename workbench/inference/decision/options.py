"""What can be chosen when a share is uncertain, and what it is worth to know more first.

An option pays what it pays given one uncertain share (or given none). Choosing now takes the
option of the best expectation. Perfect information lets every share be known first; sample
information lets some further trials be seen first. Each is worth how much better the choice
becomes on average: never less than nothing, and a sample never more than all there is to know.
What looking costs is not taken off.

References
----------
Raiffa, H., Schlaifer, R. (1961). Applied Statistical Decision Theory. Harvard (from memory).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from workbench.errors import Refusal
from workbench.inference.decision.trial_costs import TrialCosts
from workbench.inference.decision.uncertain_share import UncertainShare
from workbench.inference.samples import Values

TIE = 1e-12


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """Something that can be chosen.

    `payoff` gives what it pays for each known share, `expected` its expectation over what is known
    of the share; minus infinity is allowed, and never chosen where there is another. `share` names
    the share it depends on, None for an option that pays the same whatever the shares.
    """

    name: str
    share: str | None
    payoff: Callable[[Values], Values]
    expected: Callable[[UncertainShare], float]


@dataclass(frozen=True, slots=True, kw_only=True)
class InformationValue:
    """What knowing more is worth, in the unit of the payoffs.

    `error` is the standard error of a simulation, 0 for an exact answer. `best_now` is the option
    to choose without it, `value_now` what that pays on average. `chance_of_change` is how likely
    knowing more would lead to another choice; None where it was not worked out.
    """

    value: float
    error: float
    best_now: str
    value_now: float
    chance_of_change: float | None
    method: str


def certain(name: str, value: float) -> Option:
    """Give an option that pays `value` for certain, such as walking away for nothing."""
    return Option(
        name=name,
        share=None,
        payoff=lambda share: np.full_like(share, value),
        expected=lambda share: value,
    )


def trying(
    name: str, share: str, costs: TrialCosts, *, value: float = 0.0, limit: int | None = None
) -> Option:
    """Give the option to try until one passes, or `limit` have failed; a success pays `value`."""
    return Option(
        name=name,
        share=share,
        payoff=lambda known: costs.worth_it(known, value, limit),
        expected=lambda belief: costs.expected_worth(belief, value, limit),
    )


def check_options(options: Sequence[Option], shares: Iterable[str]) -> None:
    """Refuse no options (`no_option`), or one on a share nothing is known of (`unknown_share`)."""
    if not options:
        raise Refusal("no_option", "There is nothing to choose from.")
    known = list(shares)
    for option in options:
        if option.share is not None and option.share not in known:
            raise Refusal("unknown_share", f"Nothing is known of the share “{option.share}”.")


def expectations(options: Sequence[Option], beliefs: Mapping[str, UncertainShare]) -> list[float]:
    """Give what each option pays on average."""
    any_share = next(iter(beliefs.values()))
    return [
        option.expected(any_share if option.share is None else beliefs[option.share])
        for option in options
    ]


def best_of(values: Sequence[float], *, keep: int | None = None) -> int:
    """Give the place of the greatest value; `keep` where it is as good, but for rounding.

    Raises
    ------
    Refusal
        `no_finite_value` where every option is expected to lose without bound.
    """
    best = int(np.argmax(values))
    if values[best] == -math.inf:
        raise Refusal(
            "no_finite_value",
            "Every option is expected to lose without bound; a limit to the trials, or the option "
            "to walk away, would bound it.",
        )
    if keep is not None and values[best] - values[keep] <= TIE * max(1.0, abs(values[best])):
        return keep
    return best
