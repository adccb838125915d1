"""Degrees of freedom and adjusted covariance for fixed effects of a mixed model.

Both methods ask how well the variance of a contrast is itself known, and give the degrees of
freedom of the chi-square with the same mean and variance. Kenward and Roger also add the part of
the variance that comes from estimating the variances.

References
----------
Satterthwaite, F. E. (1946). An approximate distribution of estimates of variance components.
Biometrics Bulletin 2, 110-114.
Kenward, M. G. and Roger, J. H. (1997). Small sample inference for fixed effects from restricted
maximum likelihood. Biometrics 53, 983-997.
Halekoh, U. and Højsgaard, S. (2014). A Kenward-Roger approximation and parametric bootstrap
methods for tests in linear mixed models. Journal of Statistical Software 59(9).
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from workbench.inference.nested.cells import Floats
from workbench.inference.nested.likelihood import Likelihood


def covariance_slopes(at: Likelihood) -> Floats:
    """Give the derivative of (X'WX)^-1 by each variance: one matrix a component."""
    phi = at.covariance
    slopes: Floats = phi @ at.products.one[:, :-1, :-1] @ phi
    return slopes


def adjusted_covariance(at: Likelihood, variance_of_components: Floats) -> Floats:
    """Give the covariance of the fixed effects with the estimation of the variances counted in.

    The model's covariance takes the variances for known and is too small twice over: the
    estimates scatter, and the plug-in is biased down. Kenward and Roger (1997), equation for
    Phi_A, with a covariance structure linear in its parameters.
    """
    phi = at.covariance
    one, two = at.products.one[:, :-1, :-1], at.products.two[..., :-1, :-1]
    scatter = two - np.einsum("rij,jk,skl->rsil", one, phi, one)
    added: Floats = np.einsum("rs,rsij->ij", variance_of_components, scatter)
    adjusted: Floats = phi + phi @ (added + added.T) @ phi
    return adjusted


def degrees_of_freedom(variance: float, slopes: Floats, variance_of_components: Floats) -> float:
    """Match a chi-square to the estimated variance of a contrast.

    `slopes` are the derivatives of `variance` by the components, `variance_of_components` the
    covariance matrix of their estimates.
    """
    spread = float(slopes @ variance_of_components @ slopes)
    return 2 * variance**2 / spread


def inverse_information(information: Floats, free: npt.NDArray[np.bool_]) -> Floats:
    """Invert an information matrix over the components marked in `free`; zeros elsewhere."""
    inverse = np.zeros_like(information)
    places = np.flatnonzero(free)
    inverse[np.ix_(places, places)] = np.linalg.inv(information[np.ix_(places, places)])
    return inverse
