"""Out of round: the wall that is thin on two opposite sides, the second harmonic of a bore."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy.special import fdtrc

from workbench.castings.places import Places
from workbench.errors import Refusal
from workbench.inference.directions.harmonics import harmonic_columns
from workbench.inference.directions.vector import direction_of

ANGLES = 5
EXPLAINED = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class OutOfRound:
    """The second harmonic of one bore, one for all its depths, in the unit of the walls.

    Attributes
    ----------
    amplitude
        By how much the wall falls below its mean on two opposite sides; errors make it too large.
    thin_at
        The first of the two directions, in degrees, 0 to 180.
    statistic, degrees_of_freedom, p_value
        F against 'the bore is round', 2 degrees above; the scatter is that of the bore itself.
    """

    amplitude: float
    thin_at: float
    statistic: float
    degrees_of_freedom: int
    p_value: float
    unit: str


def out_of_round(walls: Places, block: str, bore: str) -> OutOfRound:
    """Answer whether a wall is out of round, from five angles or more.

    A mean for each depth, one first and one second harmonic for all, by least squares over places.

    Raises
    ------
    Refusal
        `not_read`; `too_few_angles` below five different angles; `no_residual` where no place is
        left to judge the scatter by; `no_scatter` where the places lie on the curve exactly.
    """
    places = _bore(walls, block, bore)
    degrees = places["angle"].to_numpy(float)
    distinct = np.unique(degrees).size
    if distinct < ANGLES:
        raise Refusal(
            "too_few_angles",
            f"Bore {bore} of {block} was read at {distinct} angles; out of round needs {ANGLES}.",
        )
    depth, _ = pd.factorize(places["depth"])
    own = (depth[:, None] == np.arange(depth.max() + 1)).astype(float)
    harmonics = harmonic_columns(degrees, 2)[:, 1:]
    columns, y = np.hstack([own, harmonics]), places["mean"].to_numpy(float)
    df = y.size - int(np.linalg.matrix_rank(columns))
    if df < 1 or np.linalg.matrix_rank(columns) < columns.shape[1]:
        raise Refusal(
            "no_residual",
            f"The {y.size} places of bore {bore} of {block} are just enough for the curve: none is "
            "left to judge the scatter by.",
        )
    coefficients = np.linalg.lstsq(columns, y, rcond=None)[0]
    with_it = float(((y - columns @ coefficients) ** 2).sum())
    round_fit = np.linalg.lstsq(columns[:, :-2], y, rcond=None)[0]
    without = float(((y - columns[:, :-2] @ round_fit) ** 2).sum())
    if with_it <= EXPLAINED**2 * float(y @ y):
        raise Refusal(
            "no_scatter", f"The places of bore {bore} of {block} lie on the curve exactly."
        )
    statistic = (without - with_it) / 2 / (with_it / df)
    cosine, sine = coefficients[-2:]
    return OutOfRound(
        amplitude=float(np.hypot(cosine, sine)),
        thin_at=direction_of(-float(cosine), -float(sine)) / 2,
        statistic=statistic,
        degrees_of_freedom=df,
        p_value=float(fdtrc(2, df, statistic)),
        unit=walls.unit,
    )


def _bore(walls: Places, block: str, bore: str) -> pd.DataFrame:
    places = walls.round_bores
    found = places[(places["block"] == block) & (places["bore"] == bore)]
    if found.empty:
        raise Refusal(
            "not_read", f"There is no wall reading with an angle for bore {bore} of {block}."
        )
    return found
