"""Is it worth its money: every family, every pair and the next step, for one duty of a study."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from workbench.errors import Refusal
from workbench.records.columns import did_you_mean
from workbench.records.notice import quoted
from workbench.worth.compare import CostComparison, compare
from workbench.worth.cost import UsableCost, paying_remedies, usable_cost
from workbench.worth.draws import TRIALS, Draws, draw_all
from workbench.worth.family_prices import FamilyPrices
from workbench.worth.fit_share import BASES, FitShare, JudgedShares
from workbench.worth.information import LookingValue, value_of_looking
from workbench.worth.prices import Prices
from workbench.worth.sensitivity import CostSensitivity, cost_sensitivity


@dataclass(frozen=True, slots=True, kw_only=True)
class FamilyAnswer:
    """The cost of a usable block of a family, by each basis there is; or why there is none."""

    family: str
    label: str
    share: FitShare | None
    costs: tuple[UsableCost, ...]
    refusal: Refusal | None


@dataclass(frozen=True, slots=True, kw_only=True)
class PairAnswer:
    """A family against the ordinary one, for a duty and by one basis.

    `sensitivity` is worked out for the duty asked about, by the first basis there is.
    """

    duty: str
    basis: str
    comparison: CostComparison
    sensitivity: CostSensitivity | None


@dataclass(frozen=True, slots=True, kw_only=True)
class WorthAnswer:
    """The whole answer for one duty; `duties` compares the families for every duty judged.

    `looking` says what to do now, by each basis, or why that cannot be said.
    """

    prices: Prices
    judged: JudgedShares
    duty: str
    confidence: float
    seed: int
    trials: int
    families: tuple[FamilyAnswer, ...]
    pairs: tuple[PairAnswer, ...]
    looking: tuple[LookingValue | Refusal, ...]
    duties: tuple[PairAnswer, ...]


def answer_worth(
    prices: Prices,
    judged: JudgedShares,
    *,
    duty: str | None = None,
    confidence: float = 0.95,
    seed: int = 1,
    trials: int = TRIALS,
    jointly: bool = True,
) -> WorthAnswer:
    """Answer whether each family's blocks are worth their money.

    Parameters
    ----------
    prices : Prices
        The money of the study.
    judged : JudgedShares
        How many blocks of each family were judged for each duty, and how many were fit.
    duty : str, optional
        The duty asked about; that of `[worth]`, or the only one judged, where it is left out.
    confidence : float
        Of the intervals shown.
    seed, trials : int
        Of the simulation.
    jointly : bool
        Whether to work out Sobol indices, which takes half a second.

    Raises
    ------
    Refusal
        `no_duty` where none is named and several were judged, `duty_not_judged`.
    """
    chosen = _duty(duty or prices.duty, judged)
    shares = judged.shares[chosen]
    every, prices = prices, prices.for_duty(chosen)
    families = []
    for family in dict.fromkeys((*prices.families, *prices.refused, *shares)):
        why = judged.not_judged.get((chosen, family), "")
        families.append(_family(family, prices, shares, why, seed, trials))
    looking: list[LookingValue | Refusal] = []
    pairs: list[PairAnswer] = []
    for basis in BASES:
        money = _paying(prices, shares, basis)
        found = _draws(money, shares, basis, seed, trials)
        if found is not None:
            pairs += _pairs(money, chosen, found, deeper=not pairs, jointly=jointly)
            looking.append(_looking(money, found))
    duties: list[PairAnswer] = []
    for name, of_duty in judged.shares.items():
        if name == chosen:
            duties += pairs
            continue
        for basis in BASES:
            money = _paying(every.for_duty(name), of_duty, basis)
            found = _draws(money, of_duty, basis, seed, trials)
            duties += _pairs(money, name, found, deeper=False) if found is not None else []
    return WorthAnswer(
        prices=prices,
        judged=judged,
        duty=chosen,
        confidence=confidence,
        seed=seed,
        trials=trials,
        families=tuple(families),
        pairs=tuple(pairs),
        looking=tuple(looking),
        duties=tuple(duties),
    )


def _duty(duty: str | None, judged: JudgedShares) -> str:
    """Give the duty asked about, or refuse one no block was judged for."""
    known = judged.duties
    if duty is None:
        if len(known) == 1:
            return known[0]
        raise Refusal(
            "no_duty",
            f"Name a duty, as “worth.duty” in study.toml or with --duty; {_judged(known)}.",
        )
    if duty not in known:
        hint = did_you_mean(duty, known)
        raise Refusal(
            "duty_not_judged",
            f"No block was judged for the duty “{duty}”{hint}; {_judged(known)}.",
        )
    return duty


def _judged(duties: tuple[str, ...]) -> str:
    if not duties:
        return "no block could be judged for any, as no rule of a duty was read for"
    return f"judged were {quoted(duties)}"


def _family(
    family: str,
    prices: Prices,
    shares: Mapping[str, FitShare],
    why_not: str,
    seed: int,
    trials: int,
) -> FamilyAnswer:
    """Answer one family by each basis it has, or keep the reason why not."""
    share = shares.get(family)
    label = prices.labels.get(family, family)
    try:
        money = prices.of(family)
        if share is None:
            sentence = f"No {label} block was judged for this duty. {why_not}".rstrip()
            raise Refusal("no_block_judged", sentence)
        costs = tuple(
            usable_cost(
                own,
                draw_all([own], shares, basis=basis, seed=seed, trials=trials),
                limit=prices.give_up_after,
                wanted=prices.blocks_wanted,
            )
            for basis in share.bases
            for own in (paying_remedies(money, share.belief(basis)),)
        )
    except Refusal as refusal:
        return FamilyAnswer(family=family, label=label, share=share, costs=(), refusal=refusal)
    return FamilyAnswer(family=family, label=label, share=share, costs=costs, refusal=None)


def _paying(prices: Prices, shares: Mapping[str, FitShare], basis: str) -> Prices:
    """Leave out remedies that do not pay, by what is known of each family's share."""
    families = {
        name: paying_remedies(money, shares[name].belief(basis))
        if name in shares and basis in shares[name].bases
        else money
        for name, money in prices.families.items()
    }
    return replace(prices, families=families)


def _answerable(prices: Prices, shares: Mapping[str, FitShare], basis: str) -> list[FamilyPrices]:
    return [
        money
        for name, money in prices.families.items()
        if name in shares and basis in shares[name].bases
    ]


def _draws(
    prices: Prices, shares: Mapping[str, FitShare], basis: str, seed: int, trials: int
) -> Draws | None:
    families = _answerable(prices, shares, basis)
    if not families:
        return None
    return draw_all(families, shares, basis=basis, seed=seed, trials=trials)


def _pairs(
    prices: Prices, duty: str, draws: Draws, *, deeper: bool, jointly: bool = False
) -> list[PairAnswer]:
    """Compare every other family with the ordinary one, where both can be answered."""
    if prices.ordinary is None or prices.ordinary not in draws.shares:
        return []
    ordinary = prices.families[prices.ordinary]
    known = usable_cost(ordinary, draws)
    found = []
    for name in draws.shares:
        if name == ordinary.family:
            continue
        premium = prices.families[name]
        comparison = compare(premium, ordinary, draws, known=known)
        found.append(
            PairAnswer(
                duty=duty,
                basis=draws.basis,
                comparison=comparison,
                sensitivity=cost_sensitivity(premium, ordinary, draws, comparison, jointly=jointly)
                if deeper
                else None,
            )
        )
    return found


def _looking(prices: Prices, draws: Draws) -> LookingValue | Refusal:
    families = [prices.families[name] for name in draws.shares]
    worth = prices.usable_block
    try:
        return value_of_looking(
            families,
            draws,
            usable_block=None if worth is None else worth.range.mean,
            limit=prices.give_up_after,
            wanted=prices.blocks_wanted,
        )
    except Refusal as refusal:
        return refusal
