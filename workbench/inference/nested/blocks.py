"""Predicted block means: each block's own mean, drawn towards that of its family.

A block read little, or blocks that hardly differ, say little beyond their family; the prediction
keeps the share of the block's own deviation that is the block's and not chance.

References
----------
Henderson, C. R. (1975). Best linear unbiased estimation and prediction under a selection model.
Biometrics 31, 423-447. Kackar, R. N. and Harville, D. A. (1984). Approximations for standard
errors of estimators of fixed and random effects in mixed linear models. Journal of the American
Statistical Association 79, 853-862. Prasad, N. G. N. and Rao, J. N. K. (1990). The estimation of
the mean squared error of small-area estimators. The same Journal 85, 163-171. All from memory.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from workbench.inference.nested.cells import Floats
from workbench.inference.nested.groups import Bordered, bordered, outer_products
from workbench.inference.nested.kenward_roger import degrees_of_freedom, inverse_information
from workbench.inference.nested.likelihood import Likelihood
from workbench.inference.nested.model import NestedModel, require_converged, require_groups
from workbench.inference.results import Interval, check_confidence


@dataclass(frozen=True, slots=True, kw_only=True)
class BlockPrediction:
    """A block's predicted mean, in the unit of the response.

    `family_mean` is that of the fixed levels the block belongs to, `own_mean` what its own
    readings say; `kept` is the share of the way from the first to the second that the prediction
    goes. `standard_error` is that of prediction, the estimation of the variances counted in.
    """

    block: str
    estimate: float
    standard_error: float
    degrees_of_freedom: float
    family_mean: float
    own_mean: float
    kept: float

    def interval(self, confidence: float = 0.95) -> Interval:
        """Give the interval that holds the block's true mean."""
        from scipy.special import stdtrit

        check_confidence(confidence)
        half = float(stdtrit(self.degrees_of_freedom, (1 + confidence) / 2)) * self.standard_error
        return Interval(low=self.estimate - half, high=self.estimate + half, confidence=confidence)


def predicted_blocks(model: NestedModel) -> tuple[BlockPrediction, ...]:
    """Answer what each outermost group's mean is, had all been read at the same fixed levels.

    Fixed factors that are constant within every block (the family) keep the block's own level; of
    the others all levels weigh alike.

    Parameters
    ----------
    model : NestedModel
        As `nested_model` gives it, with one level of nesting or two.

    Returns
    -------
    tuple of BlockPrediction
        One a block, in the order of `model.labels`. The blocks are predicted each for itself: the
        largest of many predictions is not on that account too large, but their spread is less
        than the blocks'.

    Raises
    ------
    Refusal
        `no_groups`, `not_converged`, or `not_estimable` where the readings cannot tell the mean.
    """
    require_groups(model)
    require_converged(model)
    at, sums, scale, fit = model.maximum.at, model.sums, model.cells.scale, model.fit
    name = model.group_names[0]
    labels = model.labels(name)[name]
    full = footing(model)
    rows = np.array([fit.row(weights) for weights in full])
    theta = float(at.theta[-1])
    products = outer_products(sums, at)
    kept = theta * products.own
    own = products.along / products.own  # what the block's readings say before it is drawn in
    family = rows @ fit.coefficients
    variances, freedom = prediction_errors(at, bordered(sums, at), rows)
    return tuple(
        BlockPrediction(
            block=str(label),
            estimate=float(mean + theta * along * scale),
            standard_error=math.sqrt(variance) * scale,
            degrees_of_freedom=float(df),
            family_mean=float(mean),
            own_mean=float(mean + deviation * scale),
            kept=float(share),
        )
        for label, mean, along, deviation, share, variance, df in zip(
            labels, family, products.along, own, kept, variances, freedom, strict=True
        )
    )


def footing(model: NestedModel) -> Floats:
    """Give for each outermost group the weights of the fixed columns that make its mean."""
    cells = model.cells
    blocks = cells.groups[0]
    count = int(blocks.max()) + 1
    parts = [np.ones((count, 1))]
    for codes, levels in zip(cells.level_codes, cells.levels.values(), strict=True):
        read = np.zeros((count, len(levels)), dtype=bool)
        read[blocks, codes] = True
        constant = bool((read.sum(axis=1) == 1).all())
        weights = read if constant else np.full(read.shape, 1 / len(levels))
        parts.append(weights[:, 1:].astype(float))
    return np.hstack(parts)


def prediction_errors(at: Likelihood, border: Bordered, rows: Floats) -> tuple[Floats, Floats]:
    """Give the variance of the error of row'b + u for each outermost group, and its freedom.

    The predictor is k'(X, z)'W y with k as below; to its error with known variances comes twice
    what it moves when they are estimated, as Kenward and Roger have it for row'b alone.
    """
    phi, theta = at.covariance, float(at.theta[-1])
    wide, many = len(phi), len(at.theta)
    along = border.zero[:, -1, :-1]  # z'WX
    free = border.zero[:, -1, -1] - np.einsum("gi,ij,gj->g", along, phi, along)
    known = (
        np.einsum("gi,ij,gj->g", rows, phi, rows)
        + theta
        - theta**2 * free
        - 2 * theta * np.einsum("gi,ij,gj->g", rows, phi, along)
    )
    k = np.hstack([(rows - theta * along) @ phi, np.full((len(rows), 1), theta)])
    once = np.einsum("grij,gj->gri", border.one, k)  # (X, z)'W V_r W (X, z) k
    moved = -once[..., :wide]
    moved[:, -1] += along
    twice = np.einsum("gi,grsij,gj->grs", k, border.two, k)
    twice -= np.einsum("gri,ij,gsj->grs", moved, phi, moved)
    twice[:, -1, :] -= once[..., -1]
    twice[:, :, -1] -= once[..., -1]
    twice[:, -1, -1] += border.zero[:, -1, -1]
    spread = inverse_information(at.expected, np.ones(many, dtype=bool))
    slopes = np.einsum("gri,gi->gr", once, k)
    slopes[:, -1] += 1 - 2 * np.einsum("gi,gi->g", border.zero[:, -1], k)
    freedom = [
        degrees_of_freedom(float(variance), slope, spread)
        for variance, slope in zip(known, slopes, strict=True)
    ]
    return known + 2 * np.einsum("rs,grs->g", spread, twice), np.array(freedom)
