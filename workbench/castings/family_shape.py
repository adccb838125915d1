"""How the readings of a family are distributed: fits, tests of fit, what is odd, and limits.

Readings of a block are alike. Fits describe them all, but what decides whether a shape fits is the
test that draws readings as alike as they are; what is told of the next block comes from the blocks.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np
import pandas as pd

from workbench.castings.answers import Answers
from workbench.castings.family_limits import Limit, family_limits
from workbench.castings.family_places import FamilyPlaces, block_values
from workbench.castings.family_readings import KEPT, FamilyReadings
from workbench.errors import Refusal
from workbench.inference.distributions.catalogue import FAMILIES
from workbench.inference.distributions.compare import Comparison, compare_families
from workbench.inference.distributions.fit import MIXTURE_FEWEST, fit_distribution
from workbench.inference.distributions.goodness import Goodness, goodness_of_fit
from workbench.inference.distributions.grouped_goodness import grouped_goodness
from workbench.inference.distributions.kernel import Kernel, kernel_estimate
from workbench.inference.distributions.nested_normality import LevelNormality, nested_normality
from workbench.inference.distributions.one_step import one_step, within_window
from workbench.inference.distributions.profile import parameter_interval, quantile_interval
from workbench.inference.distributions.readings import EVERYWHERE, Readings
from workbench.inference.distributions.two_peaks import TwoPeaks, two_peaks
from workbench.inference.estimates import Estimate
from workbench.inference.outliers import OutlierReport, Suspect, generalised_esd, grubbs

REPLICATES = 199
MOST_DISTINCT = 120  # intervals a fit is made on; more are joined, which a fit does not notice
MOST_OUTLIERS = 5
FEWEST_ODD = 6  # blocks; among fewer none can be told to be odd
NORMAL, MIXTURE = "normal", "normal-mixture"
THIN, THIN_SHARE = "one in 20 below", 0.05  # the thin end of a fit: its name, and its share


@dataclass(frozen=True, slots=True, kw_only=True)
class FitTested:
    """Whether a family of distributions fits: both tests, and which of them counts.

    `grouped` draws readings as alike as they are in their blocks, `independent` as if they were
    not. `counts` is "grouped", "independent", or "neither" where blocks are too few to tell.
    """

    independent: Goodness
    grouped: Goodness | None
    counts: str
    why: str = ""

    @property
    def deciding(self) -> Goodness | None:
        """The test that counts."""
        return {"grouped": self.grouped, "independent": self.independent}.get(self.counts)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FamilyShape:
    """What is known of the distribution of one family's readings.

    Attributes
    ----------
    readings
        All of them, censored ones included.
    fitted
        The readings the fits were made on, joined to at most about 120 intervals.
    comparison
        Every distribution fitted; None where `refused` says why.
    intervals
        By distribution and parameter, and of `THIN`, the value one reading in 20 lies below, the
        profile interval, or why there is none. Of the best single population and the normal, or
        of all where all were asked for.
    kernel
        A smooth histogram, to look at.
    tested
        By distribution, whether it fits.
    normality
        Whether the effects of blocks, bores and places are normal, by level.
    blocks
        One number a block.
    odd, search
        The block furthest out, and the search for several such.
    peaks
        Two populations of blocks against one.
    limits
        Tolerance and prediction limits.
    refused
        What could not be answered, and why.
    """

    readings: FamilyReadings
    fitted: Readings | None
    comparison: Comparison | None
    intervals: Mapping[str, Mapping[str, Estimate | str]]
    kernel: Kernel | None
    tested: Mapping[str, FitTested]
    normality: Mapping[str, LevelNormality]
    blocks: pd.Series[float]
    odd: Suspect | None
    search: OutlierReport | None
    peaks: TwoPeaks | None
    limits: tuple[Limit, ...]
    refused: Mapping[str, str]


def family_shape(
    readings: FamilyReadings,
    places: FamilyPlaces | None,
    *,
    confidence: float,
    seed: int,
    whole: bool = False,
) -> FamilyShape:
    """Answer how a family's readings are distributed, and what that says of the next block.

    Parameters
    ----------
    readings
        Of one family, from `family_readings.family_readings`.
    places
        Of the same, from `family_places.family_places`; None where it was refused.
    confidence
        Of every interval, band and limit.
    seed
        Of what is drawn.
    whole
        Whether every distribution is tested and gets profile intervals, and not only the best
        single population and the normal.

    Returns
    -------
    FamilyShape
        A question that cannot be answered stands in `refused` with its reason.
    """
    answers = Answers()
    fitted = answers.of("fits", partial(_fitted, readings, seed))
    compared = None if fitted is None else answers.of("fits", partial(compare_families, fitted))
    asked = _asked(compared, whole)
    blocks = pd.Series(dtype=float) if places is None else block_values(places)
    odd = None if places is None else answers.of("outliers", partial(_odd, blocks))
    return FamilyShape(
        readings=readings,
        fitted=fitted,
        comparison=compared,
        intervals={name: _intervals(compared, name, confidence) for name in asked if compared},
        kernel=None if fitted is None else kernel_estimate(fitted),
        tested=_tested(answers, readings, asked, seed),
        normality={}
        if places is None
        else answers.of("normality", partial(_normality, places, confidence, seed)) or {},
        blocks=blocks,
        odd=odd,
        search=None if odd is None else _search(blocks, confidence),
        peaks=None if places is None else answers.of("two peaks", partial(_peaks, blocks, seed)),
        limits=() if places is None else family_limits(places, blocks, confidence, seed),
        refused=answers.refused,
    )


def _fitted(readings: FamilyReadings, seed: int) -> Readings:
    """Give the readings as they stand, or brought to one step and joined where they are many."""
    found = readings.readings
    if len(found.low) <= MOST_DISTINCT:
        return found
    table = readings.table
    rows = table.loc[table.index.repeat(table["n"])]
    keys = KEPT if readings.truncated else []
    windows = rows[keys].to_numpy(float) if keys else np.tile(EVERYWHERE, (len(rows), 1))
    low, high = one_step(rows["low"], rows["high"], np.random.default_rng(seed))
    stay = np.ones(len(rows), dtype=bool)
    for window in np.unique(windows, axis=0):  # each narrowed to whole steps
        mine = np.flatnonzero((windows == window).all(axis=1))
        inside, narrowed = within_window(low[mine], high[mine], (window[0], window[1]))
        stay[mine], windows[mine] = inside, narrowed
    ones = np.ones(int(stay.sum()))
    on_steps = Readings.between(low[stay], high[stay], ones, window=windows[stay])
    return on_steps.merged(MOST_DISTINCT)


def _shared(readings: FamilyReadings, seed: int) -> Readings:
    """Give the readings all could show on one lattice, and of that range whole steps."""
    table, window = readings.shared
    rows = table.loc[table.index.repeat(table["n"])]
    low, high = one_step(rows["low"], rows["high"], np.random.default_rng(seed))
    inside, window = within_window(low, high, window)
    return Readings.between(low[inside], high[inside], np.ones(int(inside.sum())), window=window)


def _asked(compared: Comparison | None, whole: bool) -> Sequence[str]:
    if compared is None:
        return ()
    sound = [fit.family for fit in compared.fits if fit.converged]
    if whole:
        return sound
    # Two populations are asked of the blocks: readings of few blocks clump by themselves.
    single = {name: weight for name, weight in compared.weights.items() if name != MIXTURE}
    best = max(single, key=lambda name: single[name], default=NORMAL)
    return [name for name in dict.fromkeys([best, NORMAL]) if name in sound]


def _intervals(
    compared: Comparison | None, name: str, confidence: float
) -> dict[str, Estimate | str]:
    assert compared is not None
    fit = next(fit for fit in compared.fits if fit.family == name)
    found: dict[str, Estimate | str] = {}
    asked = {
        parameter.name: partial(parameter_interval, fit, parameter.name)
        for parameter in fit.parameters
    }
    for name, interval in (asked | {THIN: partial(quantile_interval, fit, THIN_SHARE)}).items():
        try:
            found[name] = interval(confidence)
        except Refusal as refusal:
            found[name] = str(refusal)
    return found


def _tested(
    answers: Answers, readings: FamilyReadings, asked: Sequence[str], seed: int
) -> dict[str, FitTested]:
    found = {}
    for name in asked:
        label = FAMILIES[name].label
        answer = answers.of(f"test of the {label}", partial(_one_test, readings, name, seed))
        if answer is not None:
            found[name] = answer
    return found


def _one_test(readings: FamilyReadings, name: str, seed: int) -> FitTested:
    why = ""
    if readings.nesting:
        table, window = readings.shared
        try:
            both = grouped_goodness(
                table,
                name,
                seed=seed,
                nesting=readings.nesting,
                replicates=REPLICATES,
                window=window,
            )
        except Refusal as refusal:
            if refusal.code != "too_few_blocks":
                raise
            why = str(refusal)
        else:
            return FitTested(independent=both.independent, grouped=both.grouped, counts=both.counts)
    fit = fit_distribution(_shared(readings, seed), name)
    alone = goodness_of_fit(fit, seed=seed, replicates=REPLICATES)
    counts = "neither" if why else "independent"
    return FitTested(independent=alone, grouped=None, counts=counts, why=why)


def _normality(places: FamilyPlaces, confidence: float, seed: int) -> dict[str, LevelNormality]:
    return nested_normality(
        places.table,
        seed=seed,
        step=places.step,
        replicates=REPLICATES,
        confidence=confidence,
        **places.keys,
    )


def _odd(blocks: pd.Series[float]) -> Suspect:
    if len(blocks) < FEWEST_ODD:
        raise Refusal(
            "too_few_blocks",
            f"Among {len(blocks)} blocks none can be told to be odd; at least {FEWEST_ODD} are "
            "needed.",
        )
    return grubbs(blocks)


def _search(blocks: pd.Series[float], confidence: float) -> OutlierReport:
    most = max(1, min(MOST_OUTLIERS, len(blocks) // 5))
    return generalised_esd(blocks, most, confidence)


def _peaks(blocks: pd.Series[float], seed: int) -> TwoPeaks:
    if len(blocks) < MIXTURE_FEWEST:
        raise Refusal(
            "too_few_blocks",
            f"Two populations cannot be told from {len(blocks)} blocks; at least {MIXTURE_FEWEST} "
            "are needed.",
        )
    return two_peaks(Readings.of(blocks), seed=seed, replicates=REPLICATES)
