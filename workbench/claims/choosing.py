"""Which analysis a claim on a mean gets, and why, in one sentence.

Error rates decide, simulated on block means at a nominal 5 % (DEVELOPERS.md has the table). Spreads
of their own for both families keep 4 to 6 % from five blocks a family up, whether the families
vary alike or not. With two to four blocks of a family no rule does: own spreads make up to 12 %
where the families vary alike, common spreads up to 45 % where the smaller family varies three
times as much. There common spreads are taken unless the block means themselves point to that
danger, and the verdict carries a warning.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import fdtrc

from workbench.claims.claim import Analyses, Scope
from workbench.errors import Refusal

OWN_FROM = 5  # blocks of each family, from which on each is judged by its own spread
DANGER = 0.3  # p of equal spread below which, with fewer, the wider own spread is taken
LEAST_OWN = 2
OF_FAMILIES: tuple[Analyses, ...] = (
    "common_spreads",
    "own_spreads",
    "welch",
    "pooled",
    "single_case",
    "permutation",
    "ranks",
    "relative_effect",
    "bootstrap",
    "bores_bootstrap",
    "crossed",
)
OF_BLOCKS: tuple[Analyses, ...] = ("measured_blocks", "paired_places", "signed_ranks", "signs")
OF_SHARES: tuple[Analyses, ...] = ("exact_shares", "score_test", "fisher")
FEWEST_BLOCKS: dict[Analyses, int] = {
    "own_spreads": LEAST_OWN,
    "welch": LEAST_OWN,
    "relative_effect": 10,
    "bootstrap": 5,
    "bores_bootstrap": 5,
}

Values = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """The analysis a claim gets, by name, and the reason; `asked` tells that the claim named it."""

    name: Analyses
    why: str
    asked: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class SpreadRatio:
    """How many times as much the blocks of the family `wider` (0 or 1) vary, and how surely.

    `times` is infinite where the other family does not vary at all; `p_value` is two-sided, by F.
    """

    wider: int
    times: float
    p_value: float


def choose(
    scope: Scope,
    ours: Values,
    others: Values,
    *,
    asked: Analyses | None = None,
    names: Sequence[str] = ("candidate", "reference"),
) -> Choice:
    """Choose the analysis of a claim on a mean from its scope and its block means.

    Parameters
    ----------
    scope
        `family` or `block`.
    ours, others
        One number a block: candidate, reference.
    asked
        The analysis the claim names, if it does.
    names
        What the families are called, candidate first.

    Raises
    ------
    Refusal
        `analysis_does_not_fit` where the one asked for cannot answer this claim.
    """
    default = _of_blocks() if scope == "block" else _of_families(ours, others, names)
    if asked is None or asked == default.name:
        return default if asked is None else Choice(name=asked, why=default.why, asked=True)
    _check(asked, scope, min(ours.size, others.size))
    return Choice(
        name=asked,
        why=f"The claim asks for this analysis by name. Left to itself it would be "
        f"{default.name}: {default.why[0].lower()}{default.why[1:]}",
        asked=True,
    )


def compare_spreads(ours: Values, others: Values) -> SpreadRatio | None:
    """Answer how differently blocks of two families vary; None where nothing can be said."""
    if min(ours.size, others.size) < LEAST_OWN:
        return None
    variances = [float(means.var(ddof=1)) for means in (ours, others)]
    wider = int(variances[1] > variances[0])
    wide, narrow = variances[wider], variances[1 - wider]
    if wide == 0:
        return None
    degrees = [means.size - 1 for means in (ours, others)]
    ratio = wide / narrow if narrow > 0 else float("inf")
    tail = float(fdtrc(degrees[wider], degrees[1 - wider], ratio)) if narrow > 0 else 0.0
    return SpreadRatio(wider=wider, times=ratio**0.5, p_value=min(1.0, 2 * tail))


def _of_blocks() -> Choice:
    return Choice(
        name="measured_blocks",
        why="The claim is on the blocks measured alone, so how blocks differ does not count, only "
        "how well these were read.",
    )


def _of_families(ours: Values, others: Values, names: Sequence[str]) -> Choice:
    counts = ours.size, others.size
    few = int(counts[1] < counts[0])
    if counts[few] == 1:
        return Choice(
            name="single_case",
            why=f"One {names[few]} block shows no spread of its own: it is held against the "
            f"{names[1 - few]} blocks as a single case, and their spread is lent to it.",
        )
    if counts[few] >= OWN_FROM:
        return Choice(
            name="own_spreads",
            why=f"With {OWN_FROM} blocks or more of each family each is judged by its own spread, "
            "which is right whether or not the families vary alike.",
        )
    found = compare_spreads(ours, others)
    if found and found.wider == few and counts[0] != counts[1] and found.p_value < DANGER:
        return Choice(
            name="own_spreads",
            why=f"The few {names[few]} blocks vary {_times(found)} {names[1 - few]} blocks, so "
            "each family is judged by its own spread.",
        )
    return Choice(
        name="common_spreads",
        why=f"{counts[few]} {names[few]} blocks are too few to be judged by their own spread, and "
        f"they do not stand out as varying more than {names[1 - few]} blocks, so one spread is "
        "taken for both families.",
    )


def _times(found: SpreadRatio) -> str:
    return "while not at all" if np.isinf(found.times) else f"{found.times:.1f} times as much as"


def _check(asked: Analyses, scope: Scope, fewest: int) -> None:
    fitting = OF_BLOCKS if scope == "block" else OF_FAMILIES
    why = ""
    if asked not in fitting:
        why = f"a claim of scope “{scope}” may ask for {', '.join(fitting)}"
    elif asked == "single_case" and fewest > 1:
        why = "it is for a family of which one block was measured"
    elif scope == "family" and fewest < FEWEST_BLOCKS.get(asked, 1):
        why = f"it needs {FEWEST_BLOCKS[asked]} blocks of each family"
    if why:
        raise does_not_fit(asked, why)


def does_not_fit(asked: Analyses, why: str) -> Refusal:
    """Say that an analysis asked for by name cannot answer a claim, and why."""
    return Refusal(
        "analysis_does_not_fit", f"The analysis “{asked}” cannot answer this claim: {why}."
    )
