"""Features seen by eye: what each block shows, and whether those who looked agree.

A block shows a yes/no feature when more than half of what was seen on it says yes; one that is
seen half and half is tied, and counts on neither side. A graded one has the mean of its grades.
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
from workbench.records.settings import Quantity, Settings

PLACE = ["block", "bore", "station", "depth"]
HALF = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class FamilyShare:
    """How many blocks of a family show a feature, with both intervals; `tied` blocks are neither.

    `tied` names them. Both intervals are None where no block is left.
    """

    quantity: str
    family: str
    count: Count | None
    wilson: Estimate | None
    clopper_pearson: Estimate | None
    tied: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ObserverAgreement:
    """Agreement of those who looked at the same places: kappa, or why there is none."""

    quantity: str
    observers: tuple[str, ...]
    kappa: Kappa | None = None
    why: str = ""
    disagreeing: tuple[str, ...] = field(default=())


def sound_looks(cells: pd.DataFrame, quantity: str) -> pd.DataFrame:
    """Give the cells of a feature that count: grid places, good contact, the grade as `mean`."""
    mine = cells[(cells["quantity"] == quantity) & (cells["sampling"] == "grid")]
    mine = mine[(mine["contact"] == "good") & (mine["n"] > 0)]
    return mine.assign(mean=mine["s1"] * mine["step"] / mine["n"])


def block_grades(looks: pd.DataFrame) -> pd.DataFrame:
    """Give the mean grade of each block, every look counting alike: `family, block, grade`."""
    weighed = looks.assign(total=looks["mean"] * looks["n"])
    blocks = weighed.groupby(["family", "block"], as_index=False)[["total", "n"]].sum()
    return blocks.assign(grade=blocks["total"] / blocks["n"])[["family", "block", "grade"]]


def share_with(
    blocks: pd.DataFrame,
    known: Quantity,
    family: str,
    confidence: float,
    below: float | None = None,
) -> FamilyShare:
    """Count the blocks of a family that show a feature, or are graded below `below`.

    Parameters
    ----------
    blocks
        From `block_grades`.
    known
        The feature; `below` is needed for one with grades.
    family, confidence
        Whose blocks; of the intervals.
    below
        A grade: the blocks whose mean grade lies under it are counted.
    """
    mine = blocks[blocks["family"] == family]
    grade = mine["grade"].to_numpy(float)
    tied = np.isclose(grade, HALF) if below is None else np.zeros(len(mine), dtype=bool)
    yes = grade > HALF if below is None else grade < below
    left = ~tied
    count = Count(yes=int((yes & left).sum()), of=int(left.sum())) if left.any() else None
    return FamilyShare(
        quantity=known.name,
        family=family,
        count=count,
        wilson=None if count is None else share_interval(count, confidence),
        clopper_pearson=None
        if count is None
        else share_interval(count, confidence, "clopper-pearson"),
        tied=tuple(sorted(mine["block"][tied])),
    )


def observer_agreement(looks: pd.DataFrame, known: Quantity) -> ObserverAgreement:
    """Answer whether those who looked at the same places agree beyond chance.

    Of several observers, those who looked at every place that any two shared; otherwise the two
    with most places in common. Grades with an order are weighed linearly. A look repeated by one
    observer counts when it came out the same each time.
    """
    steady = looks[(looks["kmin"] == looks["kmax"]) & (looks["operator"] != "")]
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
    common = (seen.T @ seen).to_numpy()
    np.fill_diagonal(common, 0)
    first, second = np.unravel_index(int(common.argmax()), common.shape)
    return table.iloc[:, [int(first), int(second)]].dropna()


def _kappa(grades: Sequence[Sequence[float]], known: Quantity) -> Kappa:
    if len(grades) > 2:
        return several_observers(grades)
    return two_observers(*grades, weights="none" if known.yes_no else "linear")


def feature_shares(cells: pd.DataFrame, settings: Settings) -> tuple[FamilyShare, ...]:
    """Give the share of blocks of every family that show each yes/no feature."""
    found = []
    for name, known in settings.quantities.items():
        if known.kind != "feature" or not known.yes_no:
            continue
        blocks = block_grades(sound_looks(cells, name))
        found += [
            share_with(blocks, known, family, settings.confidence)
            for family in dict.fromkeys([*settings.families, *blocks["family"]])
            if (blocks["family"] == family).any()
        ]
    return tuple(found)


def feature_agreements(cells: pd.DataFrame, settings: Settings) -> tuple[ObserverAgreement, ...]:
    """Give the agreement of observers on every feature that was looked at."""
    met = set(cells["quantity"])
    return tuple(
        observer_agreement(sound_looks(cells, name), known)
        for name, known in settings.quantities.items()
        if known.kind == "feature" and name in met
    )
