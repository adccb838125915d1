"""How rough surfaces are between their places, from the readings of many sheets.

Variance, turn and reach of `surface` by restricted likelihood. Sheets read at the same places share
all but their values, so a family costs little more than one of its bores.

References
----------
Patterson, H. D., Thompson, R. (1971). Recovery of inter-block information. Biometrika 58, 545-554
(restricted likelihood; from memory).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workbench.errors import Refusal
from workbench.inference.directions.surface import (
    Sheet,
    SurfaceModel,
    correlation_along,
    correlation_round,
    free_columns,
)

Values = NDArray[np.float64]

TURNS = (30.0, 45.0, 60.0, 90.0)  # degrees
REACHES = (0.5, 1.0, 2.0, 4.0)  # spacings of the levels read
LADDER = 41
ROUGHEST, SMOOTHEST = 1e4, 1e-4  # of the variance against that of the readings
SHEETS_USED = 200


def surface_model(sheets: Sequence[Sheet]) -> SurfaceModel:
    """Answer how rough surfaces are between their places, from one sheet or many.

    At most `SHEETS_USED` sheets are used, evenly spread over those given. Nothing finer than a turn
    of 30 degrees is looked for: places lie further apart than that, and no reading tells.

    Raises
    ------
    Refusal
        `no_roughness` where no sheet has a reading beyond its free part.
    """
    step = max(1, math.ceil(len(sheets) / SHEETS_USED))
    designs = _designs(sheets[::step])
    if not designs:
        raise Refusal(
            "no_roughness",
            "Every bore was read at just as many places as its mean and shift need; how rough a "
            "wall is between its places cannot be told. A fourth angle would do.",
        )
    spacing = _spacing([design.sheet for design in designs])
    noise = [np.tile(design.sheet.noise, design.count) for design in designs]
    typical = float(np.median(np.concatenate(noise)))
    ladder = typical * np.logspace(math.log10(SMOOTHEST), math.log10(ROUGHEST), LADDER)
    ladder = np.concatenate([[0.0], ladder])
    reaches = REACHES if any(np.ptp(of.sheet.levels) > 0 for of in designs) else (1.0,)
    best, found = -math.inf, SurfaceModel(variance=0, turn=TURNS[0], reach=1, degrees_of_freedom=1)
    df = sum(design.count * design.contrast.shape[1] for design in designs)
    steps = [part * spacing for part in reaches]
    for turn, reach, spectrum in _spectra(_stacked(designs), TURNS, steps):
        variance, top = _refined(ladder, spectrum.likelihood(ladder), spectrum)
        if top > best:
            best = top
            found = SurfaceModel(variance=variance, turn=turn, reach=reach, degrees_of_freedom=df)
    return found


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Design:
    """Sheets read at the same places with the same noise: one of them, and the `values` of all.

    `contrast` has columns orthogonal to the free part.
    """

    sheet: Sheet
    contrast: Values
    values: Values

    @property
    def count(self) -> int:
        return len(self.values)


def _designs(sheets: Sequence[Sheet]) -> list[_Design]:
    """Put sheets read alike together, and leave out those without a reading beyond the free part.

    Most bores of a study are read at the same places, and what takes time is the same for them.
    """
    alike: dict[tuple[bytes, bytes, bytes], list[Sheet]] = {}
    for sheet in sheets:
        key = (sheet.degrees.tobytes(), sheet.levels.tobytes(), sheet.noise.tobytes())
        alike.setdefault(key, []).append(sheet)
    designs, contrasts = [], {}
    for (degrees, levels, _), members in alike.items():
        if (degrees, levels) not in contrasts:
            free = free_columns(members[0])
            contrasts[degrees, levels] = np.linalg.qr(free, mode="complete")[0][:, free.shape[1] :]
        contrast = contrasts[degrees, levels]
        if contrast.shape[1]:
            values = np.array([sheet.values for sheet in members])
            designs.append(_Design(sheet=members[0], contrast=contrast, values=values))
    return designs


def _spacing(sheets: Sequence[Sheet]) -> float:
    """Give the typical distance of neighbouring levels; 1 where there is one level only."""
    gaps = [np.diff(np.unique(sheet.levels)) for sheet in sheets]
    together = np.concatenate(gaps)
    return float(np.median(together)) if together.size else 1.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Spectrum:
    """Independent standardised contrasts: their variance per unit, their squares, how many alike.

    `squares` are summed over the contrasts of one variance.
    """

    spread: Values
    squares: Values
    counts: Values

    def likelihood(self, variances: Values) -> Values:
        """Give the restricted likelihood of each variance of the surface, less a constant."""
        scale = 1 + variances[:, None] * self.spread
        answer: Values = -0.5 * (self.counts * np.log(scale) + self.squares / scale).sum(axis=1)
        return answer


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Stack:
    """Designs of as many places, stacked: where they were read, what was seen, how many of each.

    `half` turns the values of a design into contrasts whose errors of reading are independent, of
    variance 1.
    """

    degrees: Values
    levels: Values
    half: Values
    values: Values
    count: NDArray[np.int64]


def _stacked(designs: Sequence[_Design]) -> list[_Stack]:
    alike: dict[tuple[int, ...], list[_Design]] = {}
    for design in designs:
        alike.setdefault(design.contrast.shape, []).append(design)
    stacks = []
    for members in alike.values():
        degrees, levels, noise = (
            np.array([getattr(design.sheet, name) for design in members])
            for name in ("degrees", "levels", "noise")
        )
        contrast = np.array([design.contrast for design in members])
        across = contrast.transpose(0, 2, 1)
        lower = np.linalg.cholesky(across @ (contrast * noise[:, :, None]))
        stacks.append(
            _Stack(
                degrees=degrees,
                levels=levels,
                half=np.linalg.solve(lower, across).astype(float),
                values=np.concatenate([design.values for design in members]),
                count=np.array([design.count for design in members]),
            )
        )
    return stacks


def _spectra(
    stacks: Sequence[_Stack], turns: Sequence[float], reaches: Sequence[float]
) -> Iterator[tuple[float, float, _Spectrum]]:
    """Give the spectrum of all sheets for each turn and reach."""
    along = {
        reach: [correlation_along(reach, of.levels, of.levels) for of in stacks]
        for reach in reaches
    }
    for turn in turns:
        around = [correlation_round(turn, of.degrees, of.degrees) for of in stacks]
        for reach in reaches:
            own = [one * other for one, other in zip(around, along[reach], strict=True)]
            yield turn, reach, _spectrum(stacks, own)


def _spectrum(stacks: Sequence[_Stack], own: Sequence[Values]) -> _Spectrum:
    """Give the spectrum of all sheets; `own` is the correlation of the places of each stack."""
    spread, squares, counts = [], [], []
    for stack, correlation in zip(stacks, own, strict=True):
        half, count = stack.half, stack.count
        found, axes = np.linalg.eigh(half @ correlation @ half.transpose(0, 2, 1))
        turned = axes.transpose(0, 2, 1) @ half
        each = np.repeat(np.arange(count.size), count)
        seen = (turned[each] @ stack.values[:, :, None])[:, :, 0]
        squares.append(np.add.reduceat(seen**2, np.cumsum(count) - count, axis=0).ravel())
        spread.append(np.maximum(found, 0.0).ravel())
        counts.append(np.repeat(count.astype(float), found.shape[1]))
    return _Spectrum(
        spread=np.concatenate(spread),
        squares=np.concatenate(squares),
        counts=np.concatenate(counts),
    )


def _refined(ladder: Values, likelihood: Values, spectrum: _Spectrum) -> tuple[float, float]:
    """Step to the top of the likelihood between the rungs of the ladder."""
    at = int(likelihood.argmax())
    if at in (0, ladder.size - 1):
        return float(ladder[at]), float(likelihood[at])
    below = max(float(ladder[at - 1]), float(ladder[at]) * SMOOTHEST)
    rungs = np.linspace(math.log(below), math.log(ladder[at + 1]), 41)
    finer = spectrum.likelihood(np.exp(rungs))
    top = int(finer.argmax())
    return float(np.exp(rungs[top])), float(finer[top])
