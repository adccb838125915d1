"""What a fit needs to know of a family: coordinates to search in, and their likelihood.

Coordinates are free numbers of size one: a location in units of the sample's spread, logarithms of
scales, a shape. One row of coordinates is one distribution; functions take many rows at once.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from workbench.inference.distributions.readings import Readings
from workbench.inference.distributions.standard import Standard

Values = NDArray[np.float64]

NARROW, TINY_WIDTH = 1.0, 0.1  # interval widths in scales, for 7 and for 3 nodes


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """Where the sample lies, and how wide, on the scale the family is fitted on.

    `least` is the upper end of the lowest interval, `greatest` the lower end of the highest: the
    ends of a distribution lie outside of these.
    """

    centre: float
    unit: float
    least: float
    greatest: float


class Family(Protocol):
    """A family of distributions with coordinates."""

    @property
    def name(self) -> str:
        """The name it is asked for by."""
        ...

    @property
    def label(self) -> str:
        """The name in words."""
        ...

    @property
    def parameters(self) -> tuple[str, ...]:
        """The names of its natural parameters."""
        ...

    @property
    def logged(self) -> bool:
        """Whether it is fitted on the logarithm, and so needs values above 0."""
        ...

    @property
    def bounds(self) -> tuple[tuple[float, float], ...]:
        """The least and greatest value of each coordinate."""
        ...

    @property
    def at_bound(self) -> dict[tuple[int, int], str]:
        """What it means when coordinate i lies at its lower (0) or upper (1) bound."""
        ...

    def starts(self, readings: Readings, frame: Frame) -> Values:
        """Give rows of coordinates to start from."""
        ...

    def natural(self, rows: Values, frame: Frame) -> Values:
        """Turn rows of coordinates into rows of natural parameters."""
        ...

    def log_density(self, x: Values, rows: Values, frame: Frame) -> Values:
        """Give the density at x, logged where `logged`; one row a row of coordinates."""
        ...

    def tails(self, x: Values, rows: Values, frame: Frame) -> tuple[Values, Values]:
        """Give P(X <= x) and P(X > x)."""
        ...

    def log_mass(self, low: Values, high: Values, rows: Values, frame: Frame) -> Values:
        """Give the logarithm of P(low < X <= high)."""
        ...

    def quantile(self, share: Values, rows: Values, frame: Frame) -> Values:
        """Give x with P(X <= x) = share."""
        ...


def difference_of_tails(low: tuple[Values, Values], high: tuple[Values, Values]) -> Values:
    """Give log(F(high) - F(low)) from the tails at both ends, on the side where it is exact."""
    below = high[0] - low[0]
    above = low[1] - high[1]
    with np.errstate(divide="ignore", invalid="ignore"):
        mass: Values = np.log(np.where(high[0] < 0.5, below, above))
    return np.where(np.isnan(mass), -np.inf, mass)


@dataclass(frozen=True, slots=True, kw_only=True)
class LocationScale:
    """A standard shape moved and stretched, on the values or on their logarithms.

    The coordinates are location (in frames), log scale and, where `shapes` names any starting
    values, the shape; `fixed_scale` leaves the scale out.
    """

    name: str
    label: str
    parameters: tuple[str, ...]
    standard: Standard
    logged: bool = False
    fixed_scale: bool = False
    shapes: tuple[float, ...] = ()
    shape_bounds: tuple[float, float] = (0.0, 0.0)
    shape_at_bound: tuple[str, str] = ("", "")
    scale_at_bound: str = "The scale shrank to nothing beside the spread of the readings."

    @property
    def bounds(self) -> tuple[tuple[float, float], ...]:
        """The least and greatest value of each coordinate."""
        scale = () if self.fixed_scale else ((-7.0, 7.0),)
        return ((-1e3, 1e3), *scale, *((self.shape_bounds,) if self.shapes else ()))

    @property
    def at_bound(self) -> dict[tuple[int, int], str]:
        """What it means when a coordinate lies at its bound."""
        last = len(self.bounds) - 1
        said = {(last, side): text for side, text in enumerate(self.shape_at_bound) if text}
        return said if self.fixed_scale else {(1, 0): self.scale_at_bound, **said}

    def resolve(self, rows: Values, frame: Frame) -> tuple[Values, Values, Values]:
        """Give location, scale and shape as columns."""
        location = frame.centre + frame.unit * rows[:, :1]
        scale = np.ones_like(location) if self.fixed_scale else frame.unit * np.exp(rows[:, 1:2])
        shape = self.shape_of(rows[:, -1:], frame) if self.shapes else np.zeros_like(location)
        return location, scale, shape

    def shape_of(self, coordinate: Values, frame: Frame) -> Values:
        """Turn the last coordinate into the shape."""
        return coordinate

    def natural(self, rows: Values, frame: Frame) -> Values:
        """Give location, scale and, where there is one, shape."""
        location, scale, shape = self.resolve(rows, frame)
        return np.hstack([location, scale, shape] if self.shapes else [location, scale])

    def starts(self, readings: Readings, frame: Frame) -> Values:
        """Match two quartiles of the sample under each starting shape."""
        at, shares = quartiles(readings, logged=self.logged)
        rows = []
        for shape in self.shapes or (0.0,):
            standard = self.shape_of(np.array([[shape]]), frame)
            z = self.standard.quantile(shares, standard[0])
            scale = 1.0 if self.fixed_scale else max((at[1] - at[0]) / (z[1] - z[0]), 1e-12)
            location = (at.mean() - scale * z.mean() - frame.centre) / frame.unit
            log_scale = [] if self.fixed_scale else [np.log(scale / frame.unit)]
            rows.append([location, *log_scale, *([shape] if self.shapes else [])])
        limits = np.array(self.bounds)
        return np.clip(np.array(rows), limits[:, 0], limits[:, 1])

    def log_density(self, x: Values, rows: Values, frame: Frame) -> Values:
        """Give the density on the scale the family is fitted on."""
        location, scale, shape = self.resolve(rows, frame)
        with np.errstate(invalid="ignore"):
            density = self.standard.log_density((x - location) / scale, shape) - np.log(scale)
        return np.where(np.isfinite(x), density, -np.inf)

    def tails(self, x: Values, rows: Values, frame: Frame) -> tuple[Values, Values]:
        """Give both tails."""
        location, scale, shape = self.resolve(rows, frame)
        return self.standard.tails((x - location) / scale, shape)

    def quantile(self, share: Values, rows: Values, frame: Frame) -> Values:
        """Invert, on the scale the family is fitted on."""
        location, scale, shape = self.resolve(rows, frame)
        return location + scale * self.standard.quantile(np.asarray(share, dtype=float), shape)

    def log_mass(self, low: Values, high: Values, rows: Values, frame: Frame) -> Values:
        """Give the logarithm of the probability of intervals."""
        location, scale, shape = self.resolve(rows, frame)
        with np.errstate(invalid="ignore"):
            widths = (high - low).reshape(-1, low.shape[-1]).max(axis=0) / scale.min()
        mass = np.empty(np.broadcast(low, location).shape)
        for chosen, nodes in _by_width(widths, smooth=self.standard.smooth):
            ends = [(end[..., chosen] - location) / scale for end in (low, high)]
            if nodes is None:
                tails = [self.standard.tails(end, shape) for end in ends]
                mass[..., chosen] = difference_of_tails(tails[0], tails[1])
            else:
                mass[..., chosen] = integrated(self.standard, ends[0], ends[1], shape, nodes)
        return mass


Nodes = tuple[float, list[tuple[float, float]]]
STEEPEST = 700.0  # of a logarithm within one interval, so far out that nothing rests on it


def _nodes(count: int) -> Nodes:
    """Give Gauss and Legendre's weight of the middle, and the other places with their weights."""
    places, weights = np.polynomial.legendre.leggauss(count)
    centre = count // 2  # an odd count: the middle is a node
    others = [at for at in range(count) if at != centre]
    return float(weights[centre]), [(float(places[at]), float(weights[at])) for at in others]


NODES_3, NODES_7 = _nodes(3), _nodes(7)


def _by_width(
    widths: Values, *, smooth: bool
) -> list[tuple[NDArray[np.bool_] | slice, Nodes | None]]:
    """Say which intervals are integrated with how many nodes, and which are differenced."""
    if not smooth:
        return [(slice(None), None)]
    tiny, narrow = widths < TINY_WIDTH, widths < NARROW
    if tiny.all():  # as mostly: nothing is picked out
        return [(slice(None), NODES_3)]
    parts: list[tuple[NDArray[np.bool_], Nodes | None]]
    parts = [(tiny, NODES_3), (narrow & ~tiny, NODES_7), (~narrow, None)]
    return [(chosen, nodes) for chosen, nodes in parts if chosen.any()]


def integrated(
    standard: Standard, low: Values, high: Values, shape: Values, nodes: Nodes
) -> Values:
    """Give the logarithm of the integral of a smooth density over narrow intervals.

    Nothing cancels and nothing underflows, however far out the interval lies.
    """
    middle, half = (low + high) / 2, (high - low) / 2
    centre, others = nodes
    reference = standard.log_density(middle, shape)
    total = np.full(reference.shape, centre)
    with np.errstate(invalid="ignore"):
        for place, weight in others:
            above = standard.log_density(middle + half * place, shape) - reference
            total += weight * np.exp(np.minimum(above, STEEPEST))
        mass = reference + np.log(total * half)
    return np.where(np.isnan(mass), -np.inf, mass)


@dataclass(frozen=True, slots=True, kw_only=True)
class LogScaled(LocationScale):
    """A family whose last coordinate is the logarithm of its shape."""

    def shape_of(self, coordinate: Values, frame: Frame) -> Values:
        """Give the exponential."""
        return np.exp(coordinate)


@dataclass(frozen=True, slots=True, kw_only=True)
class WeibullOnLogs(LocationScale):
    """The two-parameter Weibull: its logarithm is a Gumbel minimum."""

    def natural(self, rows: Values, frame: Frame) -> Values:
        """Give shape and scale."""
        location, scale, _ = self.resolve(rows, frame)
        return np.hstack([1 / scale, np.exp(location)])


@dataclass(frozen=True, slots=True, kw_only=True)
class Gamma(LocationScale):
    """The gamma: coordinates are the logarithms of its mean and of its shape."""

    def shape_of(self, coordinate: Values, frame: Frame) -> Values:
        """Give the shape; at coordinate 0 the logarithm's spread is about that of the sample."""
        return np.exp(coordinate) / frame.unit**2

    def natural(self, rows: Values, frame: Frame) -> Values:
        """Give shape and scale."""
        location, _, shape = self.resolve(rows, frame)
        return np.hstack([shape, np.exp(location) / shape])


def quartiles(readings: Readings, *, logged: bool) -> tuple[Values, Values]:
    """Give two quantiles of the readings whose values are known, and the shares below them."""
    known, counts = readings.known, readings.counts
    low, high = (end[known] for end in (readings.low, readings.high))
    if logged:
        low, high = np.log(np.maximum(low, 0.5 * high)), np.log(high)
    before = float(counts[~known & ~np.isfinite(readings.low)].sum())
    rising = np.cumsum(counts[known])
    total = readings.size
    for first, second in ((0.25, 0.75), (0.05, 0.95), (0.0, 1.0)):
        # Within its interval a count is spread evenly.
        knots = np.column_stack([rising - counts[known], rising]).ravel()
        ends = np.column_stack([low, high]).ravel()
        wanted = np.array([first, second]) * rising[-1]
        at = np.interp(wanted, knots, np.maximum.accumulate(ends))
        if at[1] > at[0]:
            break
    shares = np.clip((before + wanted) / total, 0.5 / total, 1 - 0.5 / total)
    return at, shares


def frame_of(readings: Readings, *, logged: bool) -> Frame:
    """Give the middle of the readings and the normal spread their quartiles stand for."""
    at, shares = quartiles(readings, logged=logged)
    z = ndtri(shares)
    unit = float((at[1] - at[0]) / (z[1] - z[0]))
    return Frame(
        centre=float(at.mean()),
        unit=unit,
        least=float(readings.high.min()),
        greatest=float(readings.low.max()),
    )
