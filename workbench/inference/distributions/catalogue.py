"""The families offered, by name."""

from __future__ import annotations

import math

from workbench.errors import Refusal
from workbench.inference.distributions.extreme import ExtremeValue, WeibullWithEnd
from workbench.inference.distributions.family import (
    Family,
    Gamma,
    LocationScale,
    LogScaled,
    WeibullOnLogs,
)
from workbench.inference.distributions.mixture import NormalMixture
from workbench.inference.distributions.standard import (
    GumbelMinima,
    LogGamma,
    Logistic,
    Normal,
    SkewNormal,
    StudentT,
)

FAMILIES: dict[str, Family] = {
    family.name: family
    for family in (
        LocationScale(name="normal", label="normal", parameters=("mean", "sd"), standard=Normal()),
        LocationScale(
            name="lognormal",
            label="lognormal",
            parameters=("mean_log", "sd_log"),
            standard=Normal(),
            logged=True,
        ),
        WeibullOnLogs(
            name="weibull-2",
            label="Weibull of two parameters",
            parameters=("shape", "scale"),
            standard=GumbelMinima(),
            logged=True,
        ),
        WeibullWithEnd(
            name="weibull-3",
            label="Weibull of three parameters",
            parameters=("shape", "scale", "lower_end"),
        ),
        Gamma(
            name="gamma",
            label="gamma",
            parameters=("shape", "scale"),
            standard=LogGamma(),
            logged=True,
            fixed_scale=True,
            shapes=(0.0, -0.7, 0.7),
            shape_bounds=(-7.0, 7.0),
        ),
        LocationScale(
            name="logistic",
            label="logistic",
            parameters=("location", "scale"),
            standard=Logistic(),
        ),
        LogScaled(
            name="student-t",
            label="Student t",
            parameters=("location", "scale", "degrees_of_freedom"),
            standard=StudentT(),
            shapes=(math.log(4.0), math.log(20.0), math.log(1.5)),
            shape_bounds=(math.log(0.5), math.log(1000.0)),
            shape_at_bound=(
                "The degrees of freedom fell to their bound of 0.5: tails too heavy for a fit.",
                "The degrees of freedom rose to their bound of 1000: the tails cannot be told from "
                "those of a normal.",
            ),
        ),
        LocationScale(
            name="skew-normal",
            label="skew-normal",
            parameters=("location", "scale", "slant"),
            standard=SkewNormal(),
            shapes=(1.5, -1.5, 4.0, -4.0),
            shape_bounds=(-50.0, 50.0),
            shape_at_bound=(
                "The slant ran to its bound of -50: the readings look like half a normal, cut off "
                "above; a known fault of this likelihood in small samples.",
                "The slant ran to its bound of 50: the readings look like half a normal, cut off "
                "below; a known fault of this likelihood in small samples.",
            ),
        ),
        LocationScale(
            name="gumbel-minima",
            label="Gumbel for minima",
            parameters=("location", "scale"),
            standard=GumbelMinima(),
        ),
        ExtremeValue(
            name="gev-minima",
            label="generalised extreme value for minima",
            parameters=("location", "scale", "shape"),
        ),
        NormalMixture(),
    )
}


def family_named(name: str) -> Family:
    """Give the family of this name.

    Raises
    ------
    Refusal
        `unknown_family`, with the names there are.
    """
    if name not in FAMILIES:
        raise Refusal(
            "unknown_family", f"{name!r} is no family of this room; it has {', '.join(FAMILIES)}."
        )
    return FAMILIES[name]
