"""How often claims on spread, thinnest place and share below are decided wrongly at their margin.

Run ``python tests/calibration/figure_errors.py`` (about ten minutes on one core); it writes its
table to ``figure_errors.txt`` beside it. The margin is put at the true difference, so that a
verdict either way is a false alarm; at 95 % five in a hundred are promised. One standard error of
the simulation stands beside. Blocks of 4 bores of 4 places; a figure a cell that was not defined (a
family of equal blocks) counts as no alarm.
"""

from __future__ import annotations

import math
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd

from workbench.claims.choosing import OWN_FROM
from workbench.claims.grid import Grid
from workbench.claims.place_spreads import place_spreads
from workbench.errors import Refusal
from workbench.inference.extremes.comparison import thinnest_difference
from workbench.inference.shares.in_blocks import shares_in_blocks
from workbench.inference.spreads.difference import spread_difference

STUDIES, DRAWS, TRUTH = 300, 399, 200_000
BORES, PATTERN = 4, np.array([0.05, -0.05, 0.05, -0.05])
CONFIDENCE = 0.95
SPREADS = (0.20, 0.12, 0.10)
SHAPES = ("normal", "skewed")


@dataclass(frozen=True, slots=True, kw_only=True)
class Design:
    """Blocks of candidate and reference, the candidate's spreads in the reference's, the shape."""

    candidate: int
    reference: int
    wider: float = 1.0
    shape: str = "normal"

    @property
    def words(self) -> str:
        """The design as a row of the table is headed."""
        spread = "equal" if self.wider == 1 else f"{self.wider:g} times"
        return f"{self.candidate:>3} {self.reference:>4}  {spread:<8} {self.shape:<7}"


DESIGNS = (
    *(Design(candidate=n, reference=m) for n, m in ((1, 12), (2, 12), (3, 12), (3, 50), (5, 12))),
    *(Design(candidate=n, reference=m) for n, m in ((10, 10), (10, 50), (30, 30))),
    *(
        Design(candidate=n, reference=m, wider=2.0)
        for n, m in ((2, 12), (3, 12), (5, 12), (10, 50))
    ),
    *(Design(candidate=n, reference=m, wider=0.5) for n, m in ((3, 12), (5, 12), (10, 50))),
    *(
        Design(candidate=n, reference=m, shape="skewed")
        for n, m in ((3, 12), (5, 12), (10, 50), (30, 30))
    ),
)


def blocks(rng: np.random.Generator, count: int, wider: float, shape: str) -> np.ndarray:
    """Draw blocks: one number a block, bore and place; skewed: block means of gamma shape 4."""
    sd = [wider * one for one in SPREADS]
    heights = rng.standard_normal(count)
    if shape == "skewed":
        heights = (rng.gamma(4.0, size=count) - 4) / 2
    found = 4.6 + sd[0] * heights[:, None, None]
    found = found + sd[1] * rng.standard_normal((count, BORES, 1))
    return found + PATTERN + sd[2] * rng.standard_normal((count, BORES, PATTERN.size))


def truths(design: Design, limit: float) -> dict[str, float]:
    """Give the true differences, by many blocks of either family."""
    rng = np.random.default_rng(11)
    both = [blocks(rng, TRUTH, wider, design.shape) for wider in (design.wider, 1.0)]
    of_means = math.sqrt(SPREADS[0] ** 2 + SPREADS[1] ** 2 / BORES + SPREADS[2] ** 2 / 16)
    return {
        "spread": (design.wider - 1) * of_means,
        "thinnest": float(both[0].min(axis=(1, 2)).mean() - both[1].min(axis=(1, 2)).mean()),
        "share_below": float((both[0] < limit).mean() - (both[1] < limit).mean()),
    }


def missed(ours: np.ndarray, others: np.ndarray, truth: dict[str, float], limit: float, seed: int):
    """Tell for each figure whether its interval misses the truth; None where it is refused."""
    found: dict[str, bool | None] = dict.fromkeys(truth)
    for figure in truth:
        try:
            if figure == "spread":
                answer = spread_difference(*(b.mean(axis=(1, 2)) for b in (ours, others)))
            elif figure == "share_below":
                answer = shares_in_blocks(
                    *((b < limit).mean(axis=(1, 2)) for b in (ours, others)), places=(16, 16)
                )
            else:
                spreads = place_spreads(laid_out(ours, others), "a", "b")
                answer = thinnest_difference(
                    spreads.candidate, spreads.reference, bores=BORES, seed=seed, draws=DRAWS
                )
        except Refusal:
            continue
        found[figure] = not answer.interval(CONFIDENCE).contains(truth[figure])
    return found


def laid_out(ours: np.ndarray, others: np.ndarray) -> Grid:
    """Lay two families out as places of a grid."""
    tables = []
    for family, drawn in (("a", ours), ("b", others)):
        block, bore, place = (at.ravel().astype(str) for at in np.indices(drawn.shape))
        tables.append(
            pd.DataFrame(
                {
                    "family": family,
                    "block": np.char.add(family, block),
                    "bore": bore,
                    "place": place,
                    "value": drawn.ravel(),
                    "n": 1,
                }
            )
        )
    return Grid(places=pd.concat(tables, ignore_index=True), bores=BORES, points=PATTERN.size)


def rates(design: Design, studies: int, limit: float = 4.3) -> dict[str, float]:
    """Give the false alarms of each figure under one design, as shares of the studies."""
    truth = truths(design, limit)
    alarms = dict.fromkeys(truth, 0)
    answered = dict.fromkeys(truth, 0)
    for study in range(studies):
        rng = np.random.default_rng([study, design.candidate, design.reference])
        ours = blocks(rng, design.candidate, design.wider, design.shape)
        others = blocks(rng, design.reference, 1.0, design.shape)
        for figure, miss in missed(ours, others, truth, limit, study).items():
            answered[figure] += miss is not None
            alarms[figure] += bool(miss)
    return {f: alarms[f] / studies if answered[f] else math.nan for f in truth}


def table(studies: int) -> str:
    """Give the table of all designs."""
    error = 100 * math.sqrt(0.05 * 0.95 / studies)
    lines = [
        f"False alarms in 100 at the margin, nominal 5; {studies} studies a row, one standard "
        f"error {error:.1f}.",
        f"Blocks of candidate and reference, the candidate's spreads, the shape of block means; "
        f"own spreads from {OWN_FROM} blocks of each on.",
        "",
        "                              spread  thinnest  share below",
    ]
    with ProcessPoolExecutor() as pool:
        every = list(pool.map(rates, DESIGNS, [studies] * len(DESIGNS)))
    for design, found in zip(DESIGNS, every, strict=True):
        cells = "  ".join(
            f"{'refused' if math.isnan(rate) else f'{100 * rate:.1f}':>8}"
            for rate in found.values()
        )
        lines.append(f"{design.words}  {cells}")
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    found = table(STUDIES)
    Path(__file__).with_suffix(".txt").write_text(found, "utf-8")
    print(found)
