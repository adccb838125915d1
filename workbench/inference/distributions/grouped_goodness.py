"""Does the family fit readings that lie in bores of blocks, and so are alike."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.special import ndtri

from workbench.errors import Refusal
from workbench.inference.distributions.draws import Grouping
from workbench.inference.distributions.fit import Fit, fit_distribution
from workbench.inference.distributions.goodness import Goodness, judged
from workbench.inference.distributions.one_step import one_step, within_window
from workbench.inference.distributions.readings import EVERYWHERE, Readings, Window
from workbench.inference.nested.fit import nested_fit

Values = NDArray[np.float64]

MOST_READINGS = 20_000
FEWEST_BLOCKS = 5


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GroupedGoodness:
    """Both tests of a family on the same readings, and which of them counts.

    `independent` takes readings for independent and rejects far too often where they are alike;
    `grouped` draws them as alike as they are. `alike` is the share of variance of each nesting
    level. `counts` is "grouped", or "independent" where no level has any variance. `blocks` and
    `of_blocks` say how many blocks the tests used.
    """

    fit: Fit
    independent: Goodness
    grouped: Goodness
    alike: dict[str, float]
    blocks: int
    of_blocks: int

    @property
    def counts(self) -> str:
        """Which of the two tests counts."""
        return "grouped" if sum(self.alike.values()) > 0 else "independent"

    @property
    def deciding(self) -> Goodness:
        """The test that counts."""
        return self.grouped if self.counts == "grouped" else self.independent


def grouped_goodness(
    data: pd.DataFrame,
    family: str,
    *,
    step: float | None = None,
    seed: int,
    nesting: Sequence[str] = ("block", "bore"),
    replicates: int = 2000,
    window: Window = EVERYWHERE,
) -> GroupedGoodness:
    """Answer whether readings in blocks could come from a family, as alike as they are.

    The family is fitted to all readings. How alike readings are is estimated on their normal
    scores, by the nested model; samples are drawn with the same blocks and bores, their normal
    scores alike to the same degree (for a normal family: block and bore effects plus residual),
    then rounded and fitted as the readings are.

    Parameters
    ----------
    data : DataFrame
        One row a distinct value of a group: `value`, `n` (its count), and the columns of `nesting`;
        without `step`, in place of `value` the ends `low` and `high` of what it stands for (minus
        infinity for a reading known only not to lie above `high`).
    family : str
        A name of `catalogue.FAMILIES`.
    step : float, optional
        The gauge's step; 0 for values that were not rounded. Left out, intervals of several steps
        are brought to one: see `one_step.one_step`.
    seed : int
    nesting : sequence of str
        One or two columns, outermost first.
    replicates : int
    window : (float, float)
        Truncation: readings outside would not have been kept. It is narrowed to whole steps.

    Returns
    -------
    GroupedGoodness
        Of more than `MOST_READINGS` readings, whole blocks are drawn by the seed for both tests.

    Raises
    ------
    Refusal
        `no_column`, `too_few_blocks`; and as the fit and the nested model refuse.

    References
    ----------
    The parametric bootstrap of `goodness_of_fit` with a Gaussian copula for the grouping; no page
    is followed. Its error rate is held by simulation in the tests.
    """
    _check(data, nesting, step)
    chosen, of_blocks = _some_blocks(data, nesting[0], seed)
    chosen = _with_ends(chosen, step, seed)
    inside, window = within_window(chosen["low"], chosen["high"], window)
    chosen = chosen[inside]
    readings = Readings.between(chosen["low"], chosen["high"], chosen["n"], window=window)
    fit = fit_distribution(readings, family)
    grouping = grouping_of(chosen, fit, nesting)
    return GroupedGoodness(
        fit=fit,
        independent=judged(fit, seed=seed, replicates=replicates, grouping=None),
        grouped=judged(fit, seed=seed, replicates=replicates, grouping=grouping),
        alike=dict(zip(nesting, grouping.alike, strict=True)),
        blocks=chosen[nesting[0]].nunique(),
        of_blocks=of_blocks,
    )


def _some_blocks(data: pd.DataFrame, block: str, seed: int) -> tuple[pd.DataFrame, int]:
    """Take all blocks, or as many by lot as hold about `MOST_READINGS` readings."""
    sizes = data.groupby(block, observed=True)["n"].sum()
    if sizes.sum() <= MOST_READINGS:
        return data, len(sizes)
    order = np.random.default_rng(seed).permutation(len(sizes))
    within = np.cumsum(sizes.to_numpy()[order]) <= MOST_READINGS
    taken = sizes.index[order[: max(FEWEST_BLOCKS, int(within.sum()))]]
    return data[data[block].isin(taken)], len(sizes)


def _with_ends(data: pd.DataFrame, step: float | None, seed: int) -> pd.DataFrame:
    """Give the ends of each value; of intervals of several steps a row a reading, on one step."""
    if step is not None:
        if not (step >= 0 and np.isfinite(step)):
            raise Refusal("bad_step", f"A gauge's step is 0 or more and finite, not {step}.")
        return data.assign(low=data["value"] - step / 2, high=data["value"] + step / 2)
    rows = data.loc[data.index.repeat(data["n"].astype(int))].assign(n=1)
    low, high = one_step(rows["low"], rows["high"], np.random.default_rng(seed))
    return rows.assign(low=low, high=high)


def grouping_of(data: pd.DataFrame, fit: Fit, nesting: Sequence[str]) -> Grouping:
    """Give every reading the numbers of its groups, and how alike readings are in them.

    `data` has the columns of `nesting`, `n`, `low` and `high`; `fit` is one of its readings.
    """
    times = data["n"].to_numpy(dtype=int)
    codes = [
        np.repeat(
            data.groupby(list(nesting[: depth + 1]), observed=True, sort=False).ngroup(), times
        )
        for depth in range(len(nesting))
    ]
    alike = _alike(data, fit, nesting)
    return Grouping(
        codes=tuple(np.asarray(code, dtype=np.int64) for code in codes),
        alike=tuple(alike[name] for name in nesting),
    )


def _alike(data: pd.DataFrame, fit: Fit, nesting: Sequence[str]) -> dict[str, float]:
    """Give each level's share of the variance of normal scores."""
    low, high = data["low"].to_numpy(dtype=float), data["high"].to_numpy(dtype=float)
    known = np.isfinite(low) & np.isfinite(high)
    below = np.where(
        known,
        fit.share_of_seen_below(np.where(known, (low + high) / 2, 0.0)),
        # Half way into the tail a censored reading lies in.
        (_share(fit, low, 0.0) + _share(fit, high, 1.0)) / 2,
    )
    cells = data[list(nesting)].assign(
        n=data["n"].to_numpy(), mean=ndtri(np.clip(below, 1e-12, 1 - 1e-12)), ss=0.0
    )
    parts = nested_fit(cells, response="mean", fixed=[], nesting=list(nesting)).variance_components
    total = sum(parts.values())
    return {name: parts.get(name, 0.0) / total for name in nesting}


def _share(fit: Fit, ends: Values, beyond: float) -> Values:
    """Give the share below each end; `beyond` for one that is infinite."""
    finite = np.isfinite(ends)
    return np.where(finite, fit.share_of_seen_below(np.where(finite, ends, 0.0)), beyond)


def _check(data: pd.DataFrame, nesting: Sequence[str], step: float | None) -> None:
    if not 1 <= len(nesting) <= 2:
        raise Refusal("bad_nesting", f"One or two nesting columns are named, not {len(nesting)}.")
    needed = ("low", "high") if step is None else ("value",)
    absent = [name for name in (*needed, "n", *nesting) if name not in data.columns]
    if absent:
        raise Refusal("no_column", f"The table has no column {', '.join(map(repr, absent))}.")
    blocks = data[nesting[0]].nunique()
    if blocks < FEWEST_BLOCKS:
        raise Refusal(
            "too_few_blocks",
            f"How alike readings of a block are cannot be told from {blocks} blocks; at least "
            f"{FEWEST_BLOCKS} are needed.",
        )
