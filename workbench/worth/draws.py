"""Draws of all that is uncertain in a purchase, made once and shared by all questions asked of it.

A stream of random numbers belongs to a name, not to an order of calls: the draws of a family are
the same whichever families are asked about with it, and differences between families are taken
draw by draw.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from workbench.errors import Refusal
from workbench.inference.decision.uncertain_share import UncertainShare
from workbench.inference.samples import Values
from workbench.worth.family_prices import FamilyPrices
from workbench.worth.fit_share import MODELLED, FitShare

Codes = NDArray[np.int64]

TRIALS = 50_000
LEAST_TRIALS = 10_000


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Draws:
    """Draws of every amount (by key) and of every family's fit share, in equal number.

    `beliefs` are the distributions the shares were drawn from; `basis` says whether they rest on
    the count of blocks or on the model. `joint` are the model's own draws, those at the same place
    belonging together; empty for a count. `places` say which of them each draw took, None for a
    count, whose draws are all new.
    """

    seed: int
    size: int
    basis: str
    amounts: Mapping[str, float | Values] = field(repr=False)
    shares: Mapping[str, Values] = field(repr=False)
    beliefs: Mapping[str, UncertainShare] = field(repr=False)
    joint: Mapping[str, Values] = field(repr=False)
    places: Codes | None = field(default=None, repr=False)

    def stream(self, *names: str) -> np.random.Generator:
        """Give the random numbers that belong to these names."""
        return stream(self.seed, *names)


def simulated_error(draws: Values, places: Codes | None) -> float:
    """Give the standard error a simulation leaves a mean, by what was drawn independently.

    Draws that took the same place of a model share its share: what they add up to is one draw.
    """
    apart = draws - draws.mean()
    if places is not None:
        apart = np.bincount(places, weights=apart)
    return float(np.sqrt(np.square(apart).sum())) / draws.size


def stream(seed: int, *names: str) -> np.random.Generator:
    """Give a generator for a seed and names; other names give independent numbers."""
    key = tuple("\n".join(names).encode())
    return np.random.default_rng(np.random.SeedSequence(seed, spawn_key=key))


def draw_all(
    families: Sequence[FamilyPrices],
    shares: Mapping[str, FitShare],
    *,
    basis: str,
    seed: int,
    trials: int = TRIALS,
) -> Draws:
    """Draw the amounts and the fit shares of these families.

    Modelled shares of equal number are taken as joint draws of one model; counted ones are
    independent.

    Raises
    ------
    Refusal
        `too_few_trials`, `no_block_judged` where a family has no share, `not_modelled`.
    """
    if trials < LEAST_TRIALS:
        raise Refusal("too_few_trials", f"At least {LEAST_TRIALS} trials are needed, not {trials}.")
    stated = {money.key: money for prices in families for money in prices.amounts}
    amounts = {
        key: money.range.likely
        if money.range.known
        else money.range.draw(stream(seed, "amount", key), trials)
        for key, money in stated.items()
    }
    beliefs: dict[str, UncertainShare] = {}
    drawn: dict[str, Values] = {}
    places: Codes | None = None
    for prices in families:
        found = shares.get(prices.family)
        if found is None:
            raise Refusal("no_block_judged", f"No {prices.label} block was judged for this duty.")
        beliefs[prices.family] = found.belief(basis)
        if basis == MODELLED and found.draws is not None:
            # the same places for families of equal number: their draws belong together
            lot = stream(seed, "model", str(found.draws.size))
            places = lot.integers(found.draws.size, size=trials)
            drawn[prices.family] = found.draws[places]
        else:
            of_family = stream(seed, "share", prices.family)
            drawn[prices.family] = beliefs[prices.family].draw(of_family, trials)
    return Draws(
        seed=seed,
        size=trials,
        basis=basis,
        amounts=amounts,
        shares=drawn,
        beliefs=beliefs,
        joint=_joint(shares, drawn) if basis == MODELLED else {},
        places=places,
    )


def _joint(shares: Mapping[str, FitShare], drawn: Mapping[str, Values]) -> Mapping[str, Values]:
    """Give the model's own draws; those of unequal number are no joint draws and are resampled."""
    own = {name: np.asarray(shares[name].draws, dtype=float) for name in drawn}
    return own if len({row.size for row in own.values()}) == 1 else drawn
