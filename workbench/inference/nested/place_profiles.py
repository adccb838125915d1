"""Thicker here, not there, told block by block: whether families differ more at some places.

Each block gives one number a place: by how much it lies above the block's own mean there. Families
are compared place by place in those numbers, blocks being the evidence, so patterns that blocks
have of their own (cores off centre) count as chance. Its cost grows with blocks alone; the model
with all its parts is `nested_interaction`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from workbench.errors import Refusal
from workbench.inference.grouping import group_codes
from workbench.inference.means.pooled import pooled
from workbench.inference.means.welch import Summary, welch
from workbench.inference.results import Difference

LEAST_PLACES = 2
LEAST_BLOCKS = 3
LEAST_OWN = 5  # blocks of each family, for spreads of their own


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceProfiles:
    """Candidate less reference at each place, `apart`, and less that over all places, `beyond`.

    `blocks` are those read at every place, which alone enter.
    """

    apart: dict[str, float]
    beyond: dict[str, Difference]
    blocks: tuple[int, int]

    @property
    def p_values(self) -> dict[str, float]:
        """Two-sided p of each place's own difference, for all places asked at once (Sidak)."""
        many = max(len(self.beyond) - 1, 1)  # they add up to nothing, so one is no further question
        p_values = {place: one.p_value() for place, one in self.beyond.items()}
        return {
            place: 1.0 if p >= 1 else float(-np.expm1(many * np.log1p(-p)))
            for place, p in p_values.items()
        }

    @property
    def p_value(self) -> float:
        """The chance of so uneven a difference were it the same at every place."""
        return min(self.p_values.values())

    @property
    def most(self) -> str:
        """The place where the candidate exceeds the reference most."""
        return max(self.apart, key=lambda place: self.apart[place])

    @property
    def least(self) -> str:
        """The place where the candidate exceeds the reference least."""
        return min(self.apart, key=lambda place: self.apart[place])


def place_profiles(
    data: pd.DataFrame,
    *,
    candidate: str,
    reference: str,
    by: str,
    value: str = "value",
    family: str = "family",
    block: str = "block",
) -> PlaceProfiles:
    """Answer whether two families differ more at some places than at others.

    Parameters
    ----------
    data : DataFrame
        One row a reading or a mean of readings; rows of one block and place are averaged.
    candidate, reference : str
        The two families.
    by, value, family, block : str
        Columns: the places, the numbers, families, and blocks (unique over both families).

    Raises
    ------
    Refusal
        `too_few_places` below two places read in both families; `too_few_blocks` where fewer than
        three blocks, or none of a family, were read at all of them; `zero_spread` where their
        patterns do not vary.

    References
    ----------
    Morrison, D. F. (1976). Multivariate Statistical Methods, section 4.6, parallel profiles (from
    memory); here place by place with Sidak's adjustment, so that the place can be named.
    """
    asked = data[family].isin([candidate, reference])
    rows = data if asked.all() else data[asked]
    names, of_block, means = _laid_out(rows, [family, block], by, value)
    there = [of_block == name for name in (candidate, reference)]
    both = np.all([np.isfinite(means[mine]).any(axis=0) for mine in there], axis=0)
    if both.sum() < LEAST_PLACES:
        raise Refusal(
            "too_few_places", f"{both.sum()} place was read in both families; two are needed."
        )
    names, means = names[both], means[:, both]
    whole = np.isfinite(means).all(axis=1)
    ours, others = (means[mine & whole] for mine in there)
    if min(len(ours), len(others)) < 1 or len(ours) + len(others) < LEAST_BLOCKS:
        raise Refusal(
            "too_few_blocks",
            f"{len(ours)} and {len(others)} blocks were read at all {len(names)} places; one of "
            f"each family and {LEAST_BLOCKS} in all are needed.",
        )
    centred = [part - part.mean(axis=1, keepdims=True) for part in (ours, others)]
    return PlaceProfiles(
        apart=dict(
            zip(map(str, names), (ours.mean(axis=0) - others.mean(axis=0)).tolist(), strict=True)
        ),
        beyond={
            str(place): _compared(centred[0][:, at], centred[1][:, at])
            for at, place in enumerate(names)
        },
        blocks=(len(ours), len(others)),
    )


def _laid_out(
    rows: pd.DataFrame, block: list[str], by: str, value: str
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Give the places, each block's family, and the mean of each block (row) at each place."""
    places, names = pd.factorize(rows[by], sort=True)
    codes, first = group_codes(rows, block)
    families = rows[block[0]].iloc[first].to_numpy()
    known = rows[value].notna().to_numpy() & (places >= 0)
    at = codes[known] * len(names) + places[known]
    size = len(families) * len(names)
    counts = np.bincount(at, minlength=size)
    with np.errstate(invalid="ignore"):
        means = np.bincount(at, rows[value].to_numpy(float)[known], size) / counts
    return np.asarray(names), families, means.reshape(len(families), len(names))


def _compared(ours: np.ndarray, others: np.ndarray) -> Difference:
    if min(len(ours), len(others)) >= LEAST_OWN:
        return welch(Summary.of(ours), Summary.of(others))
    return pooled(
        *(Summary.of(row) if len(row) > 1 else Summary(n=1, mean=float(row[0]), sd=0.0)
          for row in (ours, others))
    )  # fmt: skip
