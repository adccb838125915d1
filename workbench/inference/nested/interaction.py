"""Thicker here, not there: whether the difference of two families changes from place to place.

Every pair of family and place gets a mean of its own. One F test asks whether the difference is the
same everywhere; the differences at each place come with intervals that hold for all places
together. That a difference is shown at one place and not at another does not show that the two
differ: `apart` asks that.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from workbench.errors import Refusal
from workbench.inference.nested.crossed import crossed_effects_fit
from workbench.inference.nested.f_test import FTest, f_test
from workbench.inference.nested.fit import nested_fit
from workbench.inference.nested.result import Method, NestedFit
from workbench.inference.results import Difference, Interval
from workbench.inference.simultaneous import simultaneous_intervals

PAIR = "family and place"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Interaction:
    """Candidate minus reference at each place, and whether it is the same everywhere.

    `test` is that of all differences alike. `left_out` are places not read in both families.
    """

    test: FTest
    differences: dict[str, Difference]
    left_out: tuple[str, ...]
    fit: NestedFit
    method: Method

    def intervals(self, confidence: float = 0.95) -> dict[str, Interval]:
        """Give the intervals that hold at all places together (Sidak)."""
        found = simultaneous_intervals(tuple(self.differences.values()), confidence, "sidak")
        return dict(zip(self.differences, found.intervals, strict=True))

    def p_values(self, margin: float = 0.0) -> dict[str, float]:
        """Give the two-sided p at each place, adjusted for all places (Sidak)."""
        many = len(self.differences)
        return {
            place: float(-np.expm1(many * np.log1p(-one.p_value(margin))))
            for place, one in self.differences.items()
        }

    def sides(self, margin: float = 0.0, confidence: float = 0.95) -> dict[str, str]:
        """Tell at each place where its interval lies: "above" the margin, "below" it or "open"."""
        return {
            place: "above" if ends.low > margin else "below" if ends.high < margin else "open"
            for place, ends in self.intervals(confidence).items()
        }

    def apart(self, place: str, other: str) -> Difference:
        """Give by how much the difference at `place` exceeds that at `other`."""
        for name in (place, other):
            if name not in self.differences:
                raise Refusal(
                    "unknown_level",
                    f"No difference was found at {name!r}; the places are "
                    f"{', '.join(map(repr, self.differences))}.",
                )
        if place == other:
            raise Refusal("same_level", f"{place!r} cannot be compared with itself.")
        return self.fit.combination(_between(self.fit, place, other), self.method)


def nested_interaction(
    data: pd.DataFrame,
    *,
    response: str,
    factor: str,
    candidate: str,
    reference: str,
    by: str,
    fixed: Sequence[str] = (),
    nesting: Sequence[str] = (),
    random: Mapping[str, Sequence[str]] | None = None,
    method: Method = "kenward-roger",
) -> Interaction:
    """Answer whether two families differ more at some places than at others.

    Parameters
    ----------
    data, response
        As for `nested_fit`.
    factor, candidate, reference : str
        The factor of families and two of its levels; other levels are left aside.
    by : str
        The factor of places (stations).
    fixed : sequence of str
        Further fixed factors, alike in both families.
    nesting : sequence of str
        As for `nested_fit`: the places of one block are taken to share its effect and to differ
        beyond it by the residual alone. Where blocks have patterns of their own (their cores lie
        off centre), that error is too small for this question; give `random` then.
    random : mapping, optional
        Instead of `nesting`, as for `crossed_effects_fit`: ``{"block": ["block"], "place":
        ["block", "station"], ...}`` gives each block places of its own.
    method : {"kenward-roger", "satterthwaite"}
        Of the differences; the F test is Kenward and Roger's.

    Returns
    -------
    Interaction
        Places in the order of their text.

    Raises
    ------
    Refusal
        `too_few_places` with fewer than two places read in both families; `unknown_level`; and
        what the fit refuses.
    """
    table, places, left_out = _pairs(data, factor, candidate, reference, by)
    columns = [PAIR, *fixed]
    if random is None:
        fit = nested_fit(table, response=response, fixed=columns, nesting=nesting)
    else:
        fit = crossed_effects_fit(table, response=response, fixed=columns, random=random)
    first = places[0]
    return Interaction(
        test=f_test(fit, [_between(fit, place, first) for place in places[1:]]),
        differences={place: fit.combination(_at(fit, place), method) for place in places},
        left_out=left_out,
        fit=fit,
        method=method,
    )


def _pairs(
    data: pd.DataFrame, factor: str, candidate: str, reference: str, by: str
) -> tuple[pd.DataFrame, tuple[str, ...], tuple[str, ...]]:
    """Keep the places read in both families, and name each pair of family and place."""
    absent = [name for name in (factor, by) if name not in data.columns]
    if absent:
        raise Refusal("no_column", f"The table has no column {', '.join(map(repr, absent))}.")
    if candidate == reference:
        raise Refusal("same_level", f"{candidate!r} cannot be compared with itself.")
    family, place = data[factor].astype(str), data[by].astype(str)
    read = {name: set(place[family == name]) for name in (candidate, reference)}
    for name in (candidate, reference):
        if not read[name]:
            raise Refusal("unknown_level", f"Factor {factor!r} has no level {name!r}.")
    both = sorted(read[candidate] & read[reference])
    if len(both) < 2:
        raise Refusal(
            "too_few_places",
            f"{len(both)} level of {by!r} was read in both families; to compare places two are "
            "needed.",
        )
    left_out = sorted((read[candidate] | read[reference]) - set(both))
    rows = (family.isin([candidate, reference]) & place.isin(both)).to_numpy()
    ours = np.where(family[rows] == candidate, "candidate at ", "reference at ").astype(object)
    named = ours + place[rows].to_numpy(dtype=object)
    return data[rows].assign(**{PAIR: named}), tuple(both), tuple(left_out)


def _at(fit: NestedFit, place: str) -> Mapping[str, float]:
    weights = {}
    for side, weight in (("candidate", 1.0), ("reference", -1.0)):
        name = f"{PAIR}={side} at {place}"
        if name in fit.columns:  # the first level is what the columns compare with
            weights[name] = weight
    return weights


def _between(fit: NestedFit, place: str, other: str) -> Mapping[str, float]:
    first = {name: -weight for name, weight in _at(fit, other).items()}
    return {**_at(fit, place), **first}
