"""What it is worth to see some further trials before choosing, exactly (preposterior analysis)."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence

from workbench.errors import Refusal
from workbench.inference.decision.options import (
    InformationValue,
    Option,
    best_of,
    check_options,
    expectations,
)
from workbench.inference.decision.trials import check_trials
from workbench.inference.decision.uncertain_share import UncertainShare
from workbench.inference.shares.count import Count


def sample_information(
    options: Sequence[Option],
    beliefs: Mapping[str, UncertainShare],
    sample: Mapping[str, int],
) -> InformationValue:
    """Answer what seeing some further trials first is worth.

    The sum runs over all counts the trials can give: the chance of a count, times how much better
    the option then best is than the one best now.

    Parameters
    ----------
    options : sequence of Option
        What can be chosen.
    beliefs : mapping
        What is known of each share, by name; the shares are taken as independent.
    sample : mapping
        How many further trials of which share are seen; 0 is the same as left out.

    Raises
    ------
    Refusal
        `no_option`, `unknown_share`, `bad_count`, and `no_finite_value` where every option is
        expected to lose without bound.

    Examples
    --------
    A lot is screened for 1500, or used as it is at 15 000 times its share of defectives; that
    share is 0.05 in 8 of 10 lots, else 0.25. One item looked at beforehand is worth:

    >>> import numpy as np
    >>> from workbench.inference.decision.options import certain
    >>> from workbench.inference.decision.uncertain_share import WeightedShare
    >>> lot = WeightedShare(values=np.array([0.95, 0.75]), weights=np.array([0.8, 0.2]))
    >>> use = Option(name="use", share="sound", payoff=lambda sound: 15_000 * (sound - 1),
    ...              expected=lambda sound: 15_000 * (sound.mean - 1))
    >>> found = sample_information([certain("screen", -1500), use], {"sound": lot}, {"sound": 1})
    >>> found.best_now, round(found.value, 2)
    ('use', 82.5)
    """
    check_options(options, beliefs)
    looked_at = check_sample(sample, beliefs)
    now = expectations(options, beliefs)
    best = best_of(now)
    value = changed = 0.0
    outcomes = [enumerate(beliefs[name].outcome_chances(n)) for name, n in looked_at.items()]
    for outcome in itertools.product(*outcomes):
        chance = math.prod(float(weight) for _, weight in outcome)
        if chance == 0:
            continue
        after = dict(beliefs)
        for (name, n), (passed, _) in zip(looked_at.items(), outcome, strict=True):
            after[name] = beliefs[name].after(Count(yes=passed, of=n))
        then = expectations(options, after)
        chosen = best_of(then, keep=best)
        if chosen != best:
            value += chance * (then[chosen] - then[best])
            changed += chance
    return InformationValue(
        value=value,
        error=0.0,
        best_now=options[best].name,
        value_now=now[best],
        chance_of_change=changed,
        method="exact sum over the counts",
    )


def check_sample(sample: Mapping[str, int], shares: Mapping[str, object]) -> dict[str, int]:
    """Give the sample without its noughts, or refuse it (`bad_count`, `unknown_share`)."""
    for name, trials in sample.items():
        if name not in shares:
            raise Refusal("unknown_share", f"Nothing is known of the share “{name}”.")
        if trials != 0:
            check_trials(name, trials)
    return {name: trials for name, trials in sample.items() if trials != 0}
