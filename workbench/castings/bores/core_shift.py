"""Core shift: how far, and which way, the core of a bore lay off centre when the block was cast.

Sign convention, for all of the workbench: the shift is the vector by which the bore lies off the
centre of its wall. It points to where the wall is thinnest, x towards 0 degrees (the front), y
towards 90, degrees clockwise as seen from the deck:

    wall(angle) = mean - x cos(angle) - y sin(angle)

A round bore of radius r moved by s within a round wall of outer radius R, read radially from the
bore, shows R - r - s cos(angle) - s^2 sin^2(angle) / (2 R) to the second order: only even harmonics
come in beside the first. So from an even number of equally spaced angles the shift is exact, from
three it is off by s^2 / (4 R) at most (0.003 mm for 0.75 mm of shift in a wall of 50 mm outer
radius), and the mean wall is too small by the same.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from workbench.castings.bores.shift_scatter import Scatter, angles_of_bores, scatter_of_places
from workbench.castings.places import Places
from workbench.errors import Refusal
from workbench.inference.directions.many_harmonics import Circles, Stacks, fit_circles, fit_stacks
from workbench.inference.directions.vector import VectorEstimate
from workbench.inference.grouping import group_codes

Values = NDArray[np.float64]
Codes = NDArray[np.int64]

CIRCLE = ("family", "block", "bore", "depth")
BORE = ("family", "block", "bore")
METHOD = "first harmonic of the wall, scatter of places pooled"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CoreShifts:
    """The shift of every bore and of every bore at every depth, in `unit`.

    Attributes
    ----------
    depths
        A row a bore and depth: `family, block, bore, depth, down`, the mean `wall`, the shift
        `x, y` with its covariance `vxx, vxy, vyy`, how many `places` it was found from, and
        `reason` where it is not determined ("" where it is).
    bores
        A row a bore: the shift it has at all depths together, likewise; `lean_x, lean_y`, its
        change for a unit of depth, with `lean_vxx, lean_vxy, lean_vyy` and `lean_reason`.
    scatter
        By family: how far a place lies off the harmonic.
    step
        The finest step the walls were read with.
    """

    unit: str
    step: float
    depths: pd.DataFrame
    bores: pd.DataFrame
    scatter: Mapping[str, Scatter]

    def bore(self, block: str, bore: str) -> VectorEstimate:
        """Give the shift of a bore over all its depths, or refuse it with the reason."""
        row = _one(self.bores, {"block": block, "bore": bore})
        return self._vector(row, "", f"bore {bore} of {block}", whole=True)

    def depth(self, block: str, bore: str, depth: str) -> VectorEstimate:
        """Give the shift of a bore at one depth, or refuse it with the reason."""
        row = _one(self.depths, {"block": block, "bore": bore, "depth": depth})
        return self._vector(row, "", f"bore {bore} of {block} at {depth or 'its one depth'}")

    def tilt(self, block: str, bore: str) -> VectorEstimate:
        """Give the change of a bore's shift for a unit of depth down from the deck.

        Raises
        ------
        Refusal
            `one_depth`, `depth_not_known` or the reason the shift itself is not determined.
        """
        row = _one(self.bores, {"block": block, "bore": bore})
        return self._vector(row, "lean_", f"bore {bore} of {block}")

    def of_family(self, family: str) -> CoreShifts:
        """Give the shifts of one family."""
        return self._only("family", family)

    def of_block(self, block: str) -> CoreShifts:
        """Give the shifts of one block."""
        return self._only("block", block)

    def _only(self, column: str, name: str) -> CoreShifts:
        depths, bores = (
            frame[frame[column] == name].reset_index(drop=True)
            for frame in (self.depths, self.bores)
        )
        return replace(self, depths=depths, bores=bores)

    def _vector(
        self, row: pd.Series, start: str, where: str, *, whole: bool = False
    ) -> VectorEstimate:
        reason = str(row[f"{start}reason"])
        if reason:
            raise Refusal(reason, f"The core shift of {where}: {SENTENCES[reason]}")
        scatter = self.scatter[str(row["family"])]
        if scatter.degrees_of_freedom < 1:
            raise Refusal("no_scatter", f"The core shift of {where}: {SENTENCES['no_scatter']}")
        return VectorEstimate(
            x=float(row[f"{start}x"]),
            y=float(row[f"{start}y"]),
            vxx=float(row[f"{start}vxx"]),
            vxy=float(row[f"{start}vxy"]),
            vyy=float(row[f"{start}vyy"]),
            degrees_of_freedom=scatter.of_bores if whole else scatter.degrees_of_freedom,
            whole_matrix=False,
            method=METHOD,
        )


SENTENCES = {
    "too_few_angles": "fewer than three angles were read; a shift needs three.",
    "angles_too_near": "the angles lie so near each other that they do not determine it.",
    "one_depth": "it was read at one depth only; how it leans needs two.",
    "depth_not_known": "how far below the deck its depths lie is not known; say so in "
    "[drawing.depths], or write depths as numbers.",
    "no_scatter": "no reading is left to judge the scatter by (three angles everywhere); a fourth "
    "angle in some bores would do.",
}


def core_shifts(walls: Places) -> CoreShifts:
    """Answer how far each core lay off centre, and which way, from the walls round its bore.

    At each depth a mean and a first harmonic are fitted by least squares; over a bore, one harmonic
    with a mean for each depth, and one that changes in a straight line with depth. Angles may be
    spaced unequally and places may be missing. Readings of one place are one place: its weight
    grows with them only as far as a place is known better by repeating. What all blocks of a family
    show beyond the harmonic at the same place is taken off first, and how far places scatter is
    pooled over the family. Where places of one angle are alike from top to bottom, further depths
    make a bore's shift less certain than as many further angles would, and its lean more so. An
    error that all readings share drops out.

    Parameters
    ----------
    walls : Places
        Of a study, a family or a block. The scatter is that of all blocks in it.

    Raises
    ------
    Refusal
        `no_angles` where no wall reading has a bore and an angle.
    """
    places = walls.round_bores
    if places.empty:
        raise Refusal(
            "no_angles",
            "No wall reading has a bore and an angle: name the stations in [drawing.stations], or "
            "write stations as degrees.",
        )
    circle, first = group_codes(places, CIRCLE)
    depths = places.iloc[first][[*CIRCLE, "down"]].reset_index(drop=True)
    stack, bore_first = group_codes(depths, BORE)
    found = scatter_of_places(places, circle, walls.reading_variance, stack)
    degrees = places["angle"].to_numpy(float)
    circles = fit_circles(circle, degrees, found.freed, found.weights, len(first))
    stacks = fit_stacks(circles, stack, depths["down"].to_numpy(float), len(bore_first))
    family, names = pd.factorize(depths["family"])
    variance = np.array([found.scatter[str(name)].variance for name in names])[family]
    along = np.array([found.scatter[str(name)].along for name in names])[family][bore_first]
    deep = 1 + (_depths_of_angles(circle, stack, degrees) - 1) * along
    read = np.bincount(circle, minlength=len(first))
    return CoreShifts(
        unit=walls.unit,
        step=walls.step,
        depths=_depth_table(depths, circles, variance, read),
        bores=_bore_table(
            depths,
            stack,
            bore_first,
            stacks,
            (variance[bore_first] * deep, variance[bore_first] * (1 - along)),
            read,
        ),
        scatter=found.scatter,
    )


def _depth_table(
    depths: pd.DataFrame, circles: Circles, variance: Values, read: Codes
) -> pd.DataFrame:
    reason = np.where(read < 3, "too_few_angles", "angles_too_near")
    return depths.assign(
        wall=circles.mean,
        x=-circles.cosine,
        y=-circles.sine,
        **_covariance(circles.unscaled, variance),
        places=read,
        reason=np.where(circles.determined, "", reason),
    )


def _bore_table(
    depths: pd.DataFrame,
    stack: Codes,
    first: Codes,
    stacks: Stacks,
    variances: tuple[Values, Values],
    read: Codes,
) -> pd.DataFrame:
    """Lay out the bores; `variances` are those of a place as the shift and the lean see it."""
    count = len(first)
    variance, leaning = variances
    places = np.bincount(stack, weights=read, minlength=count).astype(np.int64)
    most = np.zeros(count, dtype=np.int64)
    np.maximum.at(most, stack, read)
    down = depths["down"].to_numpy(float)
    known = np.bincount(stack, weights=np.isnan(down), minlength=count) == 0
    lowest, highest = np.full(count, np.inf), np.full(count, -np.inf)
    np.minimum.at(lowest, stack, np.where(np.isnan(down), np.inf, down))
    np.maximum.at(highest, stack, np.where(np.isnan(down), -np.inf, down))
    why = np.where(most < 3, "too_few_angles", "angles_too_near")
    leans = np.isfinite(stacks.lean[:, 0])
    why_no_lean = np.where(~known, "depth_not_known", np.where(lowest < highest, why, "one_depth"))
    several = np.bincount(stack, minlength=count) > 1
    why_no_lean = np.where(several, why_no_lean, "one_depth")
    why_no_lean = np.where(stacks.determined, why_no_lean, why)
    bores = depths.iloc[first][list(BORE)].reset_index(drop=True)
    return bores.assign(
        x=-stacks.cosine,
        y=-stacks.sine,
        **_covariance(stacks.unscaled, variance),
        places=places,
        depths=np.bincount(stack, minlength=count),
        reason=np.where(stacks.determined, "", why),
        lean_x=-stacks.lean[:, 0],
        lean_y=-stacks.lean[:, 1],
        **_covariance(stacks.lean_unscaled, leaning, "lean_"),
        lean_reason=np.where(leans, "", why_no_lean),
    )


def _depths_of_angles(circle: Codes, stack: Codes, degrees: Values) -> Values:
    """Give at how many depths an angle of each bore was read, each place counted alike."""
    column, bore = angles_of_bores(circle, stack, degrees), stack[circle]
    depths: Values = np.bincount(bore, weights=np.bincount(column)[column]) / np.bincount(bore)
    return depths


def _covariance(unscaled: Values, variance: Values, start: str = "") -> dict[str, Values]:
    scaled = unscaled * variance[:, None, None]
    ends = {"vxx": scaled[:, 0, 0], "vxy": scaled[:, 0, 1], "vyy": scaled[:, 1, 1]}
    return {f"{start}{name}": values for name, values in ends.items()}


def _one(frame: pd.DataFrame, where: dict[str, str]) -> pd.Series:
    """Give the row of one bore, or refuse it as never read."""
    kept = np.ones(len(frame), dtype=bool)
    for column, name in where.items():
        kept &= (frame[column] == name).to_numpy()
    at = np.flatnonzero(kept)
    if not at.size:
        place = ", ".join(f"{column} “{name}”" for column, name in where.items())
        raise Refusal("not_read", f"There is no wall reading with an angle for {place}.")
    return frame.iloc[int(at[0])]
