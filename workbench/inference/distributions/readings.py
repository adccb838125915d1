"""Readings as intervals with counts: rounded to a step, beyond a limit, or seen through a window.

A gauge with steps of 0.01 that shows 4.57 says "between 4.565 and 4.575". A distinct value is
therefore an interval and a count; a reading known only to lie beyond a limit is an interval with
one open end; a value without a step is an interval of no width.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from workbench.errors import Refusal
from workbench.inference.samples import clean_values

Values = NDArray[np.float64]
Window = tuple[float, float]

FEWEST = 5
FEWEST_DISTINCT = 3
EVERYWHERE: Window = (-math.inf, math.inf)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Readings:
    """Intervals in rising order, each with the count of readings that lie in it.

    `low` and `high` are the ends (equal for a value without a step, infinite beyond a limit).
    `window` is the range outside of which nothing would have been recorded at all: a truncated
    sample, whose likelihood is that of readings known to lie within. Where readings were seen
    through several, as by two gauges, `windows` has that of each interval (n, 2), and `window`
    spans them all.
    """

    low: Values
    high: Values
    counts: Values
    window: Window = EVERYWHERE
    windows: Values | None = None

    def __post_init__(self) -> None:
        """Refuse readings no distribution can be fitted to, saying what would be enough."""
        _check_window(self)
        _check_enough(self)

    @classmethod
    def of(
        cls,
        values: ArrayLike,
        counts: ArrayLike | None = None,
        *,
        step: float = 0.0,
        below: Mapping[float, int] | None = None,
        above: Mapping[float, int] | None = None,
        window: Window = EVERYWHERE,
    ) -> Readings:
        """Take values with their counts.

        Parameters
        ----------
        values : array_like
            Readings, or distinct values when `counts` is given.
        counts : array_like, optional
            How often each value was read.
        step : float
            The gauge's step: a value stands for itself plus or minus half of it. 0 for values that
            were not rounded.
        below, above : mapping of float to int, optional
            Censored readings: how many are known only to lie below, or above, each limit.
        window : (float, float)
            Truncation: readings outside would not have been recorded.

        Raises
        ------
        Refusal
            `bad_step`, `bad_count`, `not_finite`, `outside_window`, and `too_few`, `all_censored`,
            `zero_spread`, `too_few_values` where there is too little to fit a distribution to.

        Examples
        --------
        >>> known = Readings.of([4.1, 4.2, 4.2, 4.3, 4.5], step=0.1, below={4.0: 2})
        >>> known.size, known.censored
        (7, 2)
        """
        if not (step >= 0 and math.isfinite(step)):
            raise Refusal("bad_step", f"A gauge's step is 0 or more and finite, not {step}.")
        points = clean_values(values, least=0, name="the readings")
        numbers = _whole(np.ones(points.size) if counts is None else counts, points.size)
        ends = [(points - step / 2, points + step / 2, numbers)]
        for limits, side in ((below or {}, 0), (above or {}, 1)):
            at = clean_values(list(limits), least=0, name="the limits")
            open_end = np.full(at.size, (-math.inf, math.inf)[side])
            pair = (open_end, at) if side == 0 else (at, open_end)
            ends.append((*pair, _whole(list(limits.values()), at.size)))
        low, high, numbers = (np.concatenate(parts) for parts in zip(*ends, strict=True))
        return cls.between(low, high, numbers, window=window)

    @classmethod
    def of_steps(cls, k: ArrayLike, n: ArrayLike, step: float) -> Readings:
        """Take whole steps `k` (value / step) with their counts `n`, as a reduction keeps them."""
        whole = clean_values(k, least=0, name="the steps")
        if not (step > 0 and math.isfinite(step)):
            raise Refusal("bad_step", f"A step is above 0 and finite, not {step}.")
        # Written so that neighbours share their edge to the last bit.
        return cls.between((2 * whole - 1) * (step / 2), (2 * whole + 1) * (step / 2), n)

    @classmethod
    def between(
        cls,
        low: ArrayLike,
        high: ArrayLike,
        counts: ArrayLike,
        *,
        window: Window | Values = EVERYWHERE,
    ) -> Readings:
        """Take intervals with counts; an end may be infinite, both ends may be equal.

        `window` is one for all of them, or that of each, (n, 2).
        """
        bottom, top = np.asarray(low, dtype=float), np.asarray(high, dtype=float)
        numbers = _whole(counts, bottom.size)
        if bottom.shape != top.shape or np.isnan(bottom).any() or np.isnan(top).any():
            raise Refusal("not_finite", "Every interval needs a lower and an upper end.")
        if (bottom > top).any():
            place = int(np.flatnonzero(bottom > top)[0])
            raise Refusal(
                "bad_interval",
                f"The interval at place {place + 1} runs from {bottom[place]} down to "
                f"{top[place]}.",
            )
        several = np.asarray(window, dtype=float)
        if several.ndim == 2 and len(several) and (several == several[0]).all():
            several = several[0]
        columns = [bottom, top] if several.ndim == 1 else [bottom, top, *several.T]
        ends, index = np.unique(np.column_stack(columns), axis=0, return_inverse=True)
        one = several if several.ndim == 1 else [several[:, 0].min(), several[:, 1].max()]
        return cls(
            low=ends[:, 0],
            high=ends[:, 1],
            counts=np.bincount(index.ravel(), numbers, minlength=len(ends)).astype(float),
            window=(float(one[0]), float(one[1])),
            windows=None if several.ndim == 1 else ends[:, 2:],
        )

    def together(self, other: Readings) -> Readings:
        """Join readings of another step or another window, as of a second gauge."""
        return Readings.between(
            np.concatenate([self.low, other.low]),
            np.concatenate([self.high, other.high]),
            np.concatenate([self.counts, other.counts]),
            window=np.concatenate([self.window_of_each, other.window_of_each]),
        )

    @property
    def window_of_each(self) -> Values:
        """The window each interval was seen through, (n, 2)."""
        return np.tile(self.window, (len(self.low), 1)) if self.windows is None else self.windows

    @property
    def by_window(self) -> tuple[Readings, ...]:
        """The readings of each window by themselves, unchecked for how many they are."""
        if self.windows is None:
            return (self,)
        each, which = np.unique(self.windows, axis=0, return_inverse=True)
        return tuple(
            _Part(
                low=self.low[mine],
                high=self.high[mine],
                counts=self.counts[mine],
                window=(float(window[0]), float(window[1])),
            )
            for window, mine in (
                (window, which.ravel() == place) for place, window in enumerate(each)
            )
        )

    @property
    def size(self) -> int:
        """The number of readings, censored ones included."""
        return round(float(self.counts.sum()))

    @property
    def known(self) -> NDArray[np.bool_]:
        """Which intervals have two finite ends."""
        return np.isfinite(self.low) & np.isfinite(self.high)

    @property
    def exact(self) -> NDArray[np.bool_]:
        """Which intervals are values without a step."""
        same: NDArray[np.bool_] = self.low == self.high
        return same

    @property
    def censored(self) -> int:
        """The number of readings known only to lie beyond a limit."""
        return round(float(self.counts[~self.known].sum()))

    @property
    def middle(self) -> Values:
        """The middle of each interval; the finite end of a censored one."""
        low = np.where(np.isfinite(self.low), self.low, self.high)
        high = np.where(np.isfinite(self.high), self.high, self.low)
        return (low + high) / 2

    def merged(self, most: int) -> Readings:
        """Join neighbouring intervals until at most about `most` are left.

        The likelihood of the joined readings is exact as well, for a coarser gauge. Intervals that
        overlap, as those of two gauges, are left as they are; those of several windows are joined
        within each.
        """
        if self.windows is not None:
            parts = self.by_window
            joined = [part.merged(max(1, most // len(parts))) for part in parts]
            return Readings.between(
                *(
                    np.concatenate([getattr(part, name) for part in joined])
                    for name in ("low", "high", "counts")
                ),
                window=np.concatenate([part.window_of_each for part in joined]),
            )
        known, middle = self.known, self.middle
        low, high = self.low[known], self.high[known]
        if len(self.low) <= most or (high[:-1] > low[1:]).any():
            return self
        wide = (high[-1] - low[0]) / most
        number = np.floor((middle[known] - low[0]) / wide).astype(int)
        first = np.flatnonzero(np.diff(number, prepend=-1))
        last = np.append(first[1:], len(low)) - 1
        ends = low[first], high[last]
        if (self.exact & known).any():  # a value without a step is joined into a whole interval
            ends = low[0] + wide * number[first], low[0] + wide * (number[first] + 1)
        return Readings.between(
            np.concatenate([ends[0], self.low[~known]]),
            np.concatenate([ends[1], self.high[~known]]),
            np.concatenate([np.add.reduceat(self.counts[known], first), self.counts[~known]]),
            window=self.window,
        )


class _Part(Readings):
    """Some of the readings, of which the whole was checked."""

    __slots__ = ()

    def __post_init__(self) -> None:
        """Check nothing: a part may be too small for a shape of its own."""


def _whole(counts: ArrayLike, size: int) -> Values:
    numbers = clean_values(counts, least=0, name="the counts")
    if numbers.size != size:
        raise Refusal("bad_count", f"{numbers.size} counts were given for {size} values.")
    bad = np.flatnonzero((numbers < 1) | (numbers != np.floor(numbers)))
    if bad.size:
        raise Refusal(
            "bad_count",
            f"The count at place {bad[0] + 1} is {numbers[bad[0]]:g}; it must be a whole number, "
            "1 or more.",
        )
    return numbers


def _check_window(readings: Readings) -> None:
    low, high = readings.window
    each = readings.window_of_each
    if not low < high or not (each[:, 0] < each[:, 1]).all():
        raise Refusal("bad_window", f"A window runs upwards, not from {low:g} to {high:g}.")
    outside = (readings.middle < each[:, 0]) | (readings.middle > each[:, 1])
    if outside.any():
        worst = readings.middle[outside][0]
        low, high = each[outside][0]
        count = round(float(readings.counts[outside].sum()))
        raise Refusal(
            "outside_window",
            f"{count} of the readings, the first {worst:g}, lie outside the window from {low:g} to "
            f"{high:g} within which readings would have been recorded.",
        )


def _check_enough(readings: Readings) -> None:
    enough = f"at least {FEWEST} readings of at least {FEWEST_DISTINCT} different values"
    if readings.size < FEWEST:
        said = f"{readings.size} reading{' tells' if readings.size == 1 else 's tell'}"
        raise Refusal("too_few", f"{said} no shape: {enough} are needed.")
    known = readings.known
    if not known.any():
        raise Refusal(
            "all_censored",
            f"All {readings.size} readings are known only to lie beyond a limit; {enough} are "
            "needed.",
        )
    values = np.unique(readings.middle[known])
    if len(values) == 1:
        raise Refusal(
            "zero_spread",
            f"All {int(readings.counts[known].sum())} readings equal {values[0]:g}: a constant has "
            f"no shape; {enough} are needed.",
        )
    if len(values) < FEWEST_DISTINCT:
        raise Refusal(
            "too_few_values",
            f"The readings take two values only, {values[0]:g} and {values[1]:g}: {enough} are "
            "needed, or a gauge with a finer step.",
        )
