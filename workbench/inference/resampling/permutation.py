"""Blocks dealt anew: how often chance alone would set two families this far apart."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain, combinations
from typing import Any

import numpy as np
from numpy.typing import NDArray

from workbench.errors import Refusal
from workbench.inference.results import Interval, check_confidence

EXACT_UP_TO = 50_000
TURNED = 20_000  # arrangements looked at, where few can be made many by turning
MOST_TURNED = 5_000  # blocks that are dealt so
RESAMPLES = 9_999
FEWEST_RESAMPLES = 999
MOST_DRAWN = 100_000_000  # blocks times arrangements; beyond it fewer arrangements are drawn
TIE = 1e-11
CHUNK = 1_000_000

Values = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Permutation:
    """Every dealing of the blocks that was looked at; it answers p and interval for any margin.

    `estimate` is candidate minus reference. `exact` tells that all `resamples` arrangements were
    enumerated; otherwise they were drawn at random and p is (b + 1) / (m + 1).

    The statistic of an arrangement under a shift d is `sums - d * overlaps`: the candidate group's
    sum less its expectation, a straight line in d. `observed_sum` and `observed_overlap` are the
    line of the arrangement that was measured.
    """

    estimate: float
    exact: bool
    resamples: int
    sums: Values
    overlaps: Values
    observed_sum: float
    observed_overlap: float
    tie: float

    def p_value(self, margin: float = 0.0) -> float:
        """Give the two-sided p of the boundary `margin`: dealings as far out as the real one."""
        seen, dealt = self._at(margin)
        return self._share(np.count_nonzero(np.abs(dealt) >= abs(seen) - self.tie))

    def p_above(self, margin: float) -> float:
        """Give the one-sided p against 'the difference is `margin` or less'."""
        seen, dealt = self._at(margin)
        return self._share(np.count_nonzero(dealt >= seen - self.tie))

    def p_below(self, margin: float) -> float:
        """Give the one-sided p against 'the difference is `margin` or more'."""
        seen, dealt = self._at(margin)
        return self._share(np.count_nonzero(dealt <= seen + self.tie))

    @property
    def smallest_p(self) -> float:
        """The least two-sided p these blocks could ever give; below the level, or no answer."""
        far = np.abs(self.overlaps) >= abs(self.observed_overlap) * (1 - TIE)
        return self._share(np.count_nonzero(far))

    def interval(self, confidence: float = 0.95) -> Interval:
        """Give the margins the two-sided test does not refuse at `confidence`.

        An end is infinite where the blocks are too few for the test ever to refuse.
        """
        check_confidence(confidence)
        level = 1 - confidence
        return Interval(low=self._end(level, -1), high=self._end(level, +1), confidence=confidence)

    def _at(self, margin: float) -> tuple[float, Values]:
        seen = self.observed_sum - margin * self.observed_overlap
        return seen, self.sums - margin * self.overlaps

    def _share(self, extreme: np.integer[Any] | int) -> float:
        count = int(extreme)
        return count / self.resamples if self.exact else (count + 1) / (self.resamples + 1)

    def _end(self, level: float, sign: int) -> float:
        """Give the margin up to which so many dealings lie as far out that p is above the level.

        Each dealing lies as far out as the real one up to a margin of its own, on the side where
        the two are of one sign or on the other.
        """
        if self.smallest_p > level:
            return sign * math.inf
        up_to = np.full(self.sums.size, -math.inf)
        for side in (1, -1):
            over = sign * (self.observed_sum + side * self.sums) + self.tie
            under = self.observed_overlap + side * self.overlaps
            flat = under <= TIE * self.observed_overlap
            ends = np.where(over >= 0, math.inf, -math.inf)
            up_to = np.maximum(up_to, np.divide(over, under, out=ends, where=~flat))
        many = math.floor(level * self.resamples)
        while self._share(many) <= level:
            many += 1
        return sign * float(np.partition(up_to, -many)[-many])


def permute_blocks(
    candidate: Sequence[float] | Values,
    reference: Sequence[float] | Values,
    *,
    strata: tuple[Sequence[str], Sequence[str]] | None = None,
    seed: int | Sequence[int],
) -> Permutation:
    """Answer whether chance alone, dealing the blocks into families, would set them this far apart.

    Assumes nothing of the shape of the values, only that, but for a shift, blocks of both families
    could be exchanged. All arrangements are enumerated when there are at most 50 000 (3 blocks
    against 48: 20 825), else about 20 000 are drawn with `seed`: random dealings, each turned
    round a circle of the blocks in all ways. With strata, or more than 5 000 blocks, 9 999 are
    drawn one by one (fewer, never below 999, for more than ten thousand blocks).

    Parameters
    ----------
    candidate, reference : sequence of float
        One value a block, in one unit.
    strata : pair of sequences of str, optional
        A label for each candidate and each reference block (its gauge, say): blocks are dealt only
        within a stratum, and the estimate is the difference within strata, each weighted by
        n1 n2 / (n1 + n2). Strata with one family tell nothing and drop out.
    seed : int or sequence of int
        Seed of the generator; without effect when all arrangements are enumerated.

    Returns
    -------
    Permutation
        `p_value(margin)`, `p_above(margin)`, `p_below(margin)`, `interval(confidence)`.

    Raises
    ------
    Refusal
        `too_few_values` with an empty family or no stratum that holds both; `bad_values` for NaN,
        infinities, or labels that do not match the blocks.

    References
    ----------
    Box, G. E. P., Hunter, W. G., Hunter, J. S. (1978). Statistics for Experimenters, 94-97 (from
    memory). Phipson, B., Smyth, G. K. (2010). Permutation p-values should never be zero.
    Statistical Applications in Genetics and Molecular Biology 9, 39. Hemerik, J., Goeman, J.
    (2018). Exact testing with random permutations. Test 27, 811-825 (dealings that form cosets
    of a group). Both from memory.

    Examples
    --------
    >>> dealt = permute_blocks([12.1, 12.4, 12.2], [10.0, 10.3, 9.8, 10.1], seed=1)
    >>> dealt.exact, dealt.resamples, round(dealt.p_value(), 4)
    (True, 35, 0.0286)
    """
    layers = _layers(candidate, reference, strata)
    values, ours = zip(*layers, strict=True)
    arrangements = math.prod(math.comb(len(v), int(o.sum())) for v, o in layers)
    if arrangements <= EXACT_UP_TO:
        sums, overlaps = _enumerate(layers)
    elif len(layers) == 1 and values[0].size <= MOST_TURNED:
        sums, overlaps = _turn(*layers[0], np.random.default_rng(seed))
    else:
        sums, overlaps = _draw(layers, np.random.default_rng(seed))
    observed = float(sum(v[o].sum() for v, o in layers))
    weight = float(sum(o.sum() * (~o).sum() / o.size for o in ours))
    return Permutation(
        estimate=observed / weight,
        exact=arrangements <= EXACT_UP_TO,
        resamples=sums.size,
        sums=sums,
        overlaps=overlaps,
        observed_sum=observed,
        observed_overlap=weight,
        tie=TIE * float(sum(np.abs(v).sum() for v in values)),
    )


def _layers(
    candidate: Sequence[float] | Values,
    reference: Sequence[float] | Values,
    strata: tuple[Sequence[str], Sequence[str]] | None,
) -> list[tuple[Values, NDArray[np.bool_]]]:
    """Give each stratum's values, centred on their mean, and which of them are the candidate's."""
    ours, others = (np.asarray(v, dtype=float).ravel() for v in (candidate, reference))
    for name, values in (("candidate", ours), ("reference", others)):
        if values.size == 0:
            raise Refusal("too_few_values", f"The {name} has no block to deal.")
        if not np.isfinite(values).all():
            raise Refusal("bad_values", f"The {name} holds a value that is not a finite number.")
    everything = np.concatenate([ours, others])
    mine = np.arange(everything.size) < ours.size
    if strata is None:
        labels = np.zeros(everything.size, dtype=int)
    else:
        if (len(strata[0]), len(strata[1])) != (ours.size, others.size):
            raise Refusal(
                "bad_values",
                f"Strata need one label a block: {ours.size} and {others.size}, "
                f"not {len(strata[0])} and {len(strata[1])}.",
            )
        labels = np.unique([*strata[0], *strata[1]], return_inverse=True)[1]
    layers = []
    for label in np.unique(labels):
        values, own = everything[labels == label], mine[labels == label]
        if 0 < own.sum() < own.size:
            layers.append((values - values.mean(), own))
    if not layers:
        raise Refusal("too_few_values", "No stratum holds blocks of both families.")
    return layers


def _lines(own: NDArray[np.bool_]) -> Values:
    """Give what a shift of the candidate by 1 adds to each block, centred like the values."""
    return own.astype(float) - float(own.mean())


def _enumerate(layers: list[tuple[Values, NDArray[np.bool_]]]) -> tuple[Values, Values]:
    """Give the lines of all arrangements; dealing the smaller group names the larger one too."""
    sums, overlaps = np.zeros(1), np.zeros(1)
    for values, own in layers:
        fewer, sign = _smaller(own)
        chosen = np.fromiter(
            chain.from_iterable(combinations(range(own.size), fewer)), dtype=np.int64
        ).reshape(-1, fewer)
        sums = np.add.outer(sums, sign * values[chosen].sum(axis=1)).ravel()
        overlaps = np.add.outer(overlaps, sign * _lines(own)[chosen].sum(axis=1)).ravel()
    return sums, overlaps


def _turn(
    values: Values, own: NDArray[np.bool_], generator: np.random.Generator
) -> tuple[Values, Values]:
    """Draw dealings and turn each in all ways round a circle of the blocks in a random order.

    The dealing that was measured is turned as well. With the families alike it is any one of all
    these, each as likely, so p counts it among them and keeps its level exactly, though the turns
    of one dealing are not independent. The sums of all turns are one circular correlation.
    """
    order = generator.permutation(own.size)
    rest = max(1, math.ceil(TURNED / own.size) - 1)
    dealt = np.zeros((rest + 1, own.size))
    dealt[0] = own[order]
    fewer, _ = _smaller(own)
    mine = int(own.sum())
    chosen = _subsets(generator, rest, own.size, fewer)
    dealt[1:] = float(mine > fewer)
    np.put_along_axis(dealt[1:], chosen, float(mine == fewer), axis=1)
    turned = np.conj(np.fft.rfft(dealt))
    sums = np.fft.irfft(turned * np.fft.rfft(values[order]), own.size)
    met = np.rint(np.fft.irfft(turned * np.fft.rfft(dealt[0]), own.size))
    return sums.ravel()[1:], met.ravel()[1:] - mine**2 / own.size


def _draw(
    layers: list[tuple[Values, NDArray[np.bool_]]], generator: np.random.Generator
) -> tuple[Values, Values]:
    blocks = sum(own.size for _, own in layers)
    resamples = min(RESAMPLES, max(FEWEST_RESAMPLES, MOST_DRAWN // blocks))
    sums, overlaps = np.zeros(resamples), np.zeros(resamples)
    for values, own in layers:
        fewer, sign = _smaller(own)
        shift = _lines(own)
        rows = max(1, CHUNK // own.size)
        for start in range(0, resamples, rows):
            part = slice(start, min(start + rows, resamples))
            chosen = _subsets(generator, part.stop - start, own.size, fewer)
            sums[part] += sign * values[chosen].sum(axis=1)
            overlaps[part] += sign * shift[chosen].sum(axis=1)
    return sums, overlaps


def _smaller(own: NDArray[np.bool_]) -> tuple[int, int]:
    """Give the size of the smaller group, and the sign that turns its sum into the candidate's."""
    mine, others = int(own.sum()), int((~own).sum())
    return (mine, 1) if mine <= others else (others, -1)


def _subsets(
    generator: np.random.Generator, rows: int, size: int, chosen: int
) -> NDArray[np.int64]:
    """Draw `rows` subsets of `chosen` out of `size` places, each as likely as any other."""
    if chosen**2 * 4 > size:
        keys = generator.random((rows, size))
        return np.argpartition(keys, chosen - 1, axis=1)[:, :chosen]
    drawn = generator.integers(size, size=(rows, chosen))
    while True:  # few of many: draw freely, and again where a place came twice
        ordered = np.sort(drawn, axis=1)
        twice = (ordered[:, 1:] == ordered[:, :-1]).any(axis=1)
        if not twice.any():
            return drawn
        drawn[twice] = generator.integers(size, size=(int(twice.sum()), chosen))
