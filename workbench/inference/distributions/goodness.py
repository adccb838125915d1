"""Does the family fit: four distances of the readings from it, judged by drawing from the fit."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workbench.errors import Refusal
from workbench.inference.distributions.cells import laid_out
from workbench.inference.distributions.draws import Grouping, drawn
from workbench.inference.distributions.fit import Fit
from workbench.inference.distributions.refits import model_of, refitted
from workbench.inference.distributions.samples_drawn import TESTS

Values = NDArray[np.float64]

LABELS = {
    "anderson-darling": "Anderson-Darling",
    "cramer-von-mises": "Cramer-von Mises",
    "kolmogorov-smirnov": "Kolmogorov-Smirnov",
    "chi-square": "chi-square on counts",
}
LEAST_REPLICATES = 99


@dataclass(frozen=True, slots=True, kw_only=True)
class FitTest:
    """One distance of the sample from the fitted family; large ones speak against it."""

    name: str
    label: str
    statistic: float
    p_value: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Goodness:
    """How well a family fits.

    `tests` are in the order of `TESTS`; Anderson-Darling, which weighs the tails, is the one to
    look at first. `distance` is the largest difference between the shares below any value in the
    sample and in the fit: with very many readings a fit is rejected for distances nobody minds.
    `replicates` is the number of samples drawn; `grouped` whether they were alike within groups.
    """

    family: str
    tests: tuple[FitTest, ...]
    distance: float
    readings: int
    replicates: int
    grouped: bool

    def test(self, name: str) -> FitTest:
        """Give one of the tests by its name."""
        found = [one for one in self.tests if one.name == name]
        if not found:
            raise Refusal("unknown_test", f"The test is one of {', '.join(TESTS)}, not {name!r}.")
        return found[0]


def goodness_of_fit(fit: Fit, *, seed: int, replicates: int = 2000) -> Goodness:
    """Answer whether independent readings could come from the fitted family.

    Samples of the same size are drawn from the fit, rounded and censored as the readings are, each
    is fitted anew, and its distances from its own fit are compared with those of the readings: that
    parameters were estimated and values rounded is thereby allowed for.

    Parameters
    ----------
    fit : Fit
        Of readings that are independent: one a block. For readings in blocks use
        `grouped_goodness.grouped_goodness`, for this test alarms falsely there.
    seed : int
        Of the drawn samples.
    replicates : int
        How many samples are drawn; p is (1 + those at least as far) / (1 + replicates).

    Raises
    ------
    Refusal
        `not_converged`, `too_few_cells`, `too_few_replicates`.

    References
    ----------
    Stute, W., Gonzales Manteiga, W., Presedo Quindimil, M. (1993). Bootstrap based goodness-of-fit
    tests. Metrika 40, 243-256 (from memory).
    """
    return judged(fit, seed=seed, replicates=replicates, grouping=None)


def judged(fit: Fit, *, seed: int, replicates: int, grouping: Grouping | None) -> Goodness:
    """Compare the readings with samples drawn independently, or alike within groups."""
    check_testable(fit, replicates)
    sample = laid_out(fit)
    model = model_of(fit)
    observed = sample.distances(model.family, model.row[None], model.frame)
    samples = drawn(
        sample,
        model.family,
        model.row,
        model.frame,
        count=replicates,
        generator=np.random.default_rng(seed),
        grouping=grouping,
    )
    rows, reached = refitted(samples, model)
    sound = np.isfinite(reached)
    far = samples.some(sound).distances(model.family, rows[sound], model.frame)
    return Goodness(
        family=fit.family,
        tests=tuple(
            FitTest(
                name=name,
                label=LABELS[name],
                statistic=float(observed[name][0]),
                p_value=share_as_far(observed[name][0], far[name]),
            )
            for name in TESTS
        ),
        distance=float(observed["kolmogorov-smirnov"][0]),
        readings=fit.readings.size,
        replicates=int(sound.sum()),
        grouped=grouping is not None,
    )


def share_as_far(observed: float, drawn_values: Values) -> float:
    """Give the p of a bootstrap: the share at least as far, the sample itself counted in."""
    # Equal counts can differ in the last digit of a statistic.
    as_far = drawn_values >= observed * (1 - 1e-9)
    return float((1 + as_far.sum()) / (1 + drawn_values.size))


def check_testable(fit: Fit, replicates: int) -> None:
    """Refuse a fit without a maximum, and too few replicates for a p."""
    if not fit.converged:
        raise Refusal("not_converged", f"The {fit.label} reached no maximum; there is no fit.")
    if replicates < LEAST_REPLICATES:
        raise Refusal(
            "too_few_replicates",
            f"{replicates} drawn samples give no usable p; at least {LEAST_REPLICATES}.",
        )
