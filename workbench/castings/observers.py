"""Features seen by eye: what each block shows, and whether those who looked agree.

A block shows a yes/no feature when more than half of the looks at it say yes, and is graded below a
level when more than half of them put it below. One that is seen half and half is tied, and counts
on neither side.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from workbench.errors import Refusal
from workbench.inference.estimates import Estimate
from workbench.inference.measuring.kappa import Kappa, several_observers, two_observers
from workbench.inference.shares.count import Count, share_interval
from workbench.records.reduction import moments
from workbench.records.settings import Quantity, Settings

PLACE = ["block", "bore", "station", "depth"]
HALF = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class FamilyShare:
    """How many blocks of a family show a feature, with both intervals; `tied` blocks are neither.

    `below` is the grade the blocks counted lie under, None of a yes/no feature; `tied` names the
    blocks. Both intervals are None where no block is left.
    """

    quantity: str
    family: str
    count: Count | None
    wilson: Estimate | None
    clopper_pearson: Estimate | None
    below: float | None = None
    tied: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ObserverAgreement:
    """Agreement of those who looked at the same places: kappa, or why there is none."""

    quantity: str
    observers: tuple[str, ...]
    kappa: Kappa | None = None
    why: str = ""
    disagreeing: tuple[str, ...] = field(default=())


def sound_looks(cells: pd.DataFrame, known: Quantity) -> pd.DataFrame:
    """Give the moments of the looks that count: at grid places, with good contact."""
    mine = cells[(cells["quantity"] == known.name) & (cells["sampling"] == "grid")]
    return moments(mine[(mine["contact"] == "good") & (mine["n"] > 0)], known.unit)


def share_with(
    looks: pd.DataFrame,
    known: Quantity,
    family: str,
    confidence: float,
    below: float | None = None,
) -> FamilyShare:
    """Count the blocks of a family that show a feature, or are graded below `below`.

    Parameters
    ----------
    looks
        `family`, `block`, `n` and `mean`, a row what one observer saw at one place; every look
        counts alike.
    known
        The feature; `below` is needed for one with grades.
    family, confidence
        Whose blocks; of the intervals.
    below
        A grade, counted from 0.

    Raises
    ------
    Refusal
        `bad_threshold` for a grade that all or no looks can lie under; `graded_feature` without one
        for a feature with grades.
    """
    if below is None and not known.yes_no:
        raise Refusal(
            "graded_feature",
            f"The grades of {known.label} have an order and no size, so they have no mean; the "
            "share of blocks graded below a level can be asked for.",
        )
    top = len(known.levels) - 1
    if below is not None and not 0 < below <= top:
        raise Refusal(
            "bad_threshold",
            f"The grades of {known.label} go from 0 to {top}, so a threshold lies above 0 and at "
            f"{top} at most, not at {below:g}.",
        )
    mine = looks[looks["family"] == family]
    shows = mine["mean"] if below is None else (mine["mean"] < below).astype(float)
    sums = mine.assign(shows=shows * mine["n"]).groupby("block")[["shows", "n"]].sum()
    share = (sums["shows"] / sums["n"]).to_numpy(float)
    tied = np.isclose(share, HALF)
    of = int((~tied).sum())
    counted = Count(yes=int((share[~tied] > HALF).sum()), of=of) if of else None
    return FamilyShare(
        quantity=known.name,
        family=family,
        count=counted,
        wilson=share_interval(counted, confidence) if counted else None,
        clopper_pearson=share_interval(counted, confidence, "clopper-pearson") if counted else None,
        below=below,
        tied=tuple(sorted(sums.index[tied])),
    )


def level_name(known: Quantity, grade: float) -> str:
    """Name a grade by its level, or give its number where it lies between two."""
    return f"“{known.levels[int(grade)]}”" if grade == int(grade) else f"{grade:g}"


def observer_agreement(looks: pd.DataFrame, known: Quantity) -> ObserverAgreement:
    """Answer whether those who looked at the same places agree beyond chance.

    Of several observers, those who looked at every place that any two shared; otherwise the two
    with most places in common. Grades with an order are weighed linearly. A look repeated by one
    observer counts when it came out the same each time.
    """
    steady = looks[(looks["low"] == looks["high"]) & (looks["operator"] != "")]
    table = steady.pivot_table(index=PLACE, columns="operator", values="mean")
    table = table[table.notna().sum(axis=1) > 1]
    bare = ObserverAgreement(
        quantity=known.name,
        observers=tuple(sorted(steady["operator"].unique())),
        why="no place was looked at by two observers",
    )
    if table.empty:
        return bare
    full = table.dropna(axis="columns")
    if full.shape[1] < 2:
        full = _most_shared(table)
    names = tuple(str(name) for name in full.columns)
    apart = full[full.min(axis=1) < full.max(axis=1)].index
    blocks = tuple(dict.fromkeys(str(place[0]) for place in apart))
    grades = [full[name].to_numpy(float).tolist() for name in full.columns]
    try:
        kappa = _kappa(grades, known)
    except Refusal as refusal:
        return ObserverAgreement(
            quantity=known.name,
            observers=names,
            why=str(refusal).rstrip("."),
            disagreeing=blocks,
        )
    return ObserverAgreement(quantity=known.name, observers=names, kappa=kappa, disagreeing=blocks)


def _most_shared(table: pd.DataFrame) -> pd.DataFrame:
    """Give the two observers with most places in common, on those places."""
    seen = table.notna().astype(int)
    common = (seen.T @ seen).to_numpy(copy=True)
    np.fill_diagonal(common, 0)
    first, second = np.unravel_index(int(common.argmax()), common.shape)
    return table.iloc[:, [int(first), int(second)]].dropna()


def _kappa(grades: Sequence[Sequence[float]], known: Quantity) -> Kappa:
    if len(grades) > 2:
        return several_observers(grades)
    if known.yes_no:
        return two_observers(*grades)
    return two_observers(*grades, weights="linear", levels=range(len(known.levels)))


def feature_shares(cells: pd.DataFrame, settings: Settings) -> tuple[FamilyShare, ...]:
    """Give the share of blocks of every family that show each feature, or lie below each grade."""
    found = []
    for known in settings.quantities.values():
        if known.kind != "feature":
            continue
        looks = sound_looks(cells, known)
        there = set(looks["family"])
        found += [
            share_with(looks, known, family, settings.confidence, below)
            for below in ((None,) if known.yes_no else range(1, len(known.levels)))
            for family in dict.fromkeys([*settings.families, *sorted(there)])
            if family in there
        ]
    return tuple(found)


def feature_agreements(cells: pd.DataFrame, settings: Settings) -> tuple[ObserverAgreement, ...]:
    """Give the agreement of observers on every feature that was looked at."""
    met = set(cells["quantity"])
    return tuple(
        observer_agreement(sound_looks(cells, known), known)
        for name, known in settings.quantities.items()
        if known.kind == "feature" and name in met
    )
