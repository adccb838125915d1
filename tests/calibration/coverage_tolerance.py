"""How often limits for the next block keep what they promise, over shapes, designs and spreads.

Run ``python tests/calibration/coverage_tolerance.py`` (ten minutes of one processor); it writes
``coverage_tolerance.csv`` beside it. Each row draws whole studies anew from a known truth and asks
of every limit whether it kept its promise: a tolerance limit 90 % of blocks, bores or places with
95 % confidence, a prediction the next one with 95 %, an interval of a share the true share with
95 %. ``kept`` is the share of studies in which it did, ``error`` its own standard error.
"""

from __future__ import annotations

import csv
import math
import sys
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import astuple, dataclass, fields
from pathlib import Path

import numpy as np
import pandas as pd
from scipy import stats
from scipy.special import ndtr

from workbench.inference.extremes.block_minimum import predicted_minimum
from workbench.inference.extremes.nested_integral import Parameters, shares_below
from workbench.inference.extremes.share_below import UNITS, share_below
from workbench.inference.means.intervals import next_value_interval
from workbench.inference.nested.nested_study import NestedSquares
from workbench.inference.nested.squares import nested_squares
from workbench.inference.tolerance.fitted import lognormal_tolerance, weibull_tolerance
from workbench.inference.tolerance.limits import ToleranceInterval
from workbench.inference.tolerance.nested import nested_prediction, nested_tolerance
from workbench.inference.tolerance.normal import normal_tolerance
from workbench.inference.tolerance.order_statistics import blocks_needed, ranked_tolerance

STUDIES, DRAWS = 600, 1000
OF_SHARES = 0.4  # of the draws, for shares take longest
COVERAGE, CONFIDENCE = 0.90, 0.95
SIDES = ("lower", "both")
BLOCK_COUNTS = (10, 48)
PATTERN = np.array([0.12, -0.02, -0.10, 0.0])
LIMIT_SHARE = 0.05  # of blocks truly below the limit that shares are asked about


@dataclass(frozen=True, slots=True, kw_only=True)
class Design:
    """A nested study: what varies, and what is read; `lost` is the share of places not read."""

    spreads: tuple[float, float, float]
    blocks: int
    bores: int
    lost: float = 0.0


DESIGNS = {
    "22 blocks, 4 bores": Design(spreads=(0.20, 0.12, 0.10), blocks=22, bores=4, lost=0.02),
    "5 blocks, 4 bores": Design(spreads=(0.20, 0.12, 0.10), blocks=5, bores=4),
    "8 blocks, uneven": Design(spreads=(0.20, 0.12, 0.10), blocks=8, bores=3, lost=0.35),
    "8 blocks, no block spread": Design(spreads=(0.0, 0.12, 0.10), blocks=8, bores=3),
    "8 blocks, no bore spread": Design(spreads=(0.20, 0.0, 0.10), blocks=8, bores=3),
    "8 blocks, places decide": Design(spreads=(0.05, 0.05, 0.30), blocks=8, bores=3),
}
LEVELS = {"block": 1, "bore": 2, "place": 3}


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """How often one limit was kept in one design."""

    design: str
    limit: str
    promised: float
    kept: float
    error: float
    studies: int


def row(design: str, limit: str, promised: float, kept: list[bool]) -> Row:
    share = float(np.mean(kept))
    error = math.sqrt(max(share * (1 - share), 0.01) / len(kept))
    return Row(
        design=design,
        limit=limit,
        promised=promised,
        kept=round(share, 4),
        error=round(error, 4),
        studies=len(kept),
    )


def study(rng: np.random.Generator, design: Design) -> pd.DataFrame:
    """Draw a study about a mean of 0."""
    bores = design.blocks * design.bores
    bore, place = np.repeat(np.arange(bores), PATTERN.size), np.tile(np.arange(PATTERN.size), bores)
    of_block, of_bore, of_place = design.spreads
    value = (
        of_block * rng.standard_normal(design.blocks)[bore // design.bores]
        + of_bore * rng.standard_normal(bores)[bore]
        + of_place * rng.standard_normal(bore.size)
        + PATTERN[place]
    )
    table = pd.DataFrame(
        {"block": bore // design.bores, "bore": bore, "place": place, "value": value}
    )
    return table[rng.random(len(table)) >= design.lost]


class Truth:
    """What is true of a design: shares of blocks, bores and places, and the next of each."""

    def __init__(self, design: Design) -> None:
        self.design = design
        deviations = {what: math.hypot(*design.spreads[:n]) for what, n in LEVELS.items()}
        self.deviations = {what: max(sd, 1e-12) for what, sd in deviations.items()}
        self.parameters = Parameters(
            mean=np.zeros(1),
            pattern=PATTERN[None],
            block=np.array([design.spreads[0]]),
            bore=np.array([design.spreads[1]]),
            place=np.array([design.spreads[2]]),
        )
        grid = np.linspace(-3, 1, 2001)
        below = shares_below(self.parameters, {"block": grid}, design.bores)["block"][0]
        self.limit = float(np.interp(LIMIT_SHARE, below, grid))

    def share_below(self, unit: str) -> float:
        at = np.array([self.limit])
        return float(shares_below(self.parameters, {unit: at}, self.design.bores)[unit][0, 0])

    def within(self, what: str, low: float, high: float) -> float:
        middles = PATTERN if what == "place" else np.zeros(1)
        sd = self.deviations[what]
        return float((ndtr((high - middles) / sd) - ndtr((low - middles) / sd)).mean())

    def following(self, what: str, rng: np.random.Generator) -> float:
        middle = rng.choice(PATTERN) if what == "place" else 0.0
        return float(middle + self.deviations[what] * rng.standard_normal())

    def thinnest(self, rng: np.random.Generator) -> float:
        of_block, of_bore, of_place = self.design.spreads
        bores = of_bore * rng.standard_normal((self.design.bores, 1))
        places = of_place * rng.standard_normal((self.design.bores, PATTERN.size)) + PATTERN
        return float((of_block * rng.standard_normal() + bores + places).min())


def nested_rows(name: str, studies: int = STUDIES, draws: int = DRAWS) -> list[Row]:
    """Ask all limits of the nested model in one design."""
    design = DESIGNS[name]
    truth, rng = Truth(design), np.random.default_rng(len(name))
    held: dict[tuple[str, float], list[bool]] = {}
    for seed in range(studies):
        squares = nested_squares(study(rng, design))
        for limit, promised, kept in nested_answers(squares, truth, rng, seed, draws):
            held.setdefault((limit, promised), []).append(kept)
    return [row(name, limit, promised, kept) for (limit, promised), kept in held.items()]


def nested_answers(
    squares: NestedSquares, truth: Truth, rng: np.random.Generator, seed: int, draws: int
) -> Iterator[tuple[str, float, bool]]:
    """Give of one study each limit's name, its promise, and whether it was kept."""
    for what in LEVELS:
        for side in SIDES:
            limits = nested_tolerance(
                squares,
                what,
                coverage=COVERAGE,
                confidence=CONFIDENCE,
                side=side,
                seed=seed,
                draws=draws,
            )
            kept = truth.within(what, limits.low, limits.high) >= COVERAGE
            yield f"{what}, tolerance, {side}", CONFIDENCE, kept
        following = nested_prediction(squares, what, confidence=CONFIDENCE, seed=seed, draws=draws)
        yield f"{what}, prediction", CONFIDENCE, following.contains(truth.following(what, rng))
    bores = truth.design.bores
    thinnest = predicted_minimum(squares, bores=bores, seed=seed, blocks=draws)
    kept = thinnest.interval(CONFIDENCE).contains(truth.thinnest(rng))
    yield "thinnest place, prediction", CONFIDENCE, kept
    few = round(OF_SHARES * draws)
    for unit in UNITS:
        share = share_below(squares, truth.limit, unit, bores=bores, seed=seed, draws=few)
        yield f"share of {unit}s below", CONFIDENCE, share.at(0).contains(truth.share_below(unit))


Ask = Callable[..., ToleranceInterval]


def sample_methods(draws: int) -> dict[str, tuple[object, Ask]]:
    """Give for each method the distribution it is asked about."""
    weibull = stats.weibull_min(3.0, scale=4.0)

    def by_weibull(values: np.ndarray, side: str, seed: int) -> ToleranceInterval:
        return weibull_tolerance(values, COVERAGE, CONFIDENCE, side, seed=seed, draws=draws)

    return {
        "normal": (stats.norm(4.6, 0.3), lambda x, s, _: normal_tolerance(x, COVERAGE, 0.95, s)),
        "lognormal": (
            stats.lognorm(0.3, scale=4.0),
            lambda x, s, _: lognormal_tolerance(x, COVERAGE, CONFIDENCE, s),
        ),
        "Weibull": (weibull, by_weibull),
        "ranks, of a Weibull": (
            weibull,
            lambda x, s, _: ranked_tolerance(x, COVERAGE, CONFIDENCE, s),
        ),
    }


def sample_rows(count: int, studies: int = STUDIES, draws: int = DRAWS) -> list[Row]:
    """Ask the limits made from one number a block."""
    rows = []
    for method, (family, ask) in sample_methods(draws).items():
        for side in SIDES:
            if method.startswith("ranks") and count < blocks_needed(COVERAGE, CONFIDENCE, side):
                continue
            rng, kept = np.random.default_rng(count), []
            for seed in range(studies):
                limits = ask(family.rvs(count, random_state=rng), side, seed)  # type: ignore[attr-defined]
                share = family.cdf(limits.high) - family.cdf(limits.low)  # type: ignore[attr-defined]
                kept.append(bool(share >= COVERAGE))
            rows.append(row(f"{count} blocks", f"{method}, tolerance, {side}", CONFIDENCE, kept))
    rng = np.random.default_rng(count)
    kept = [
        next_value_interval(rng.normal(4.6, 0.3, count), CONFIDENCE).contains(rng.normal(4.6, 0.3))
        for _ in range(studies)
    ]
    rows.append(row(f"{count} blocks", "normal, prediction", CONFIDENCE, kept))
    return rows


def main() -> int:
    with ProcessPoolExecutor() as pool:
        samples = pool.map(sample_rows, BLOCK_COUNTS)
        nested = pool.map(nested_rows, DESIGNS)
        rows = [one for part in (*samples, *nested) for one in part]
    names = [field.name for field in fields(Row)]
    with Path(__file__).with_suffix(".csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(names)
        writer.writerows(astuple(one) for one in rows)
    for one in rows:
        print(f"{one.design:<28}{one.limit:<34}{one.kept:>7.3f} ± {one.error:.3f}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
