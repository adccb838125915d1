"""How often tolerance and prediction limits keep what they promise, over designs and spreads.

Run ``python tests/calibration/tolerance_coverage.py`` (some minutes); it writes its table to
``tolerance_coverage.txt`` beside it. Promised: 90 % of blocks (bores, places) with 95 % confidence,
one-sided; predictions with 95 %. Each row draws whole studies anew; the simulation's own
uncertainty is one standard error.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
from scipy import stats
from scipy.special import ndtr

from workbench.inference.nested.squares import nested_squares
from workbench.inference.tolerance.fitted import lognormal_tolerance, weibull_tolerance
from workbench.inference.tolerance.nested import nested_prediction, nested_tolerance
from workbench.inference.tolerance.normal import normal_tolerance
from workbench.inference.tolerance.order_statistics import ranked_tolerance

STUDIES, DRAWS = 1000, 2000
COVERAGE, CONFIDENCE = 0.90, 0.95
# block, bore and place standard deviations; blocks, bores a block, places a bore, share not read
DESIGNS = {
    "demo-like": ((0.20, 0.12, 0.10), (22, 4, 12, 0.02)),
    "few blocks": ((0.20, 0.12, 0.10), (5, 4, 4, 0.0)),
    "uneven": ((0.20, 0.12, 0.10), (8, 3, 4, 0.35)),
    "no block spread": ((0.0, 0.12, 0.10), (8, 3, 4, 0.0)),
    "no bore spread": ((0.20, 0.0, 0.10), (8, 3, 4, 0.0)),
    "places decide": ((0.05, 0.05, 0.30), (8, 3, 4, 0.0)),
}
LEVELS = {"block": 1, "bore": 2, "place": 3}


def study(rng: np.random.Generator, design: str) -> pd.DataFrame:
    (block_sd, bore_sd, place_sd), (blocks, bores, places, lost) = DESIGNS[design]
    bore = np.repeat(np.arange(blocks * bores), places)
    value = (
        block_sd * rng.standard_normal(blocks)[bore // bores]
        + bore_sd * rng.standard_normal(blocks * bores)[bore]
        + place_sd * rng.standard_normal(bore.size)
    )
    table = pd.DataFrame({"block": bore // bores, "bore": bore, "value": value})
    return table[rng.random(len(table)) >= lost]


def nested_rows(design: str) -> list[tuple[str, str, float]]:
    rng = np.random.default_rng(len(design))
    spreads = DESIGNS[design][0]
    held: dict[str, list[bool]] = {}
    for seed in range(STUDIES):
        squares = nested_squares(study(rng, design), place=None)
        for what, levels in LEVELS.items():
            deviation = max(math.sqrt(sum(sd**2 for sd in spreads[:levels])), 1e-12)
            lower = nested_tolerance(
                squares, what, coverage=COVERAGE, confidence=CONFIDENCE, seed=seed, draws=DRAWS
            )
            held.setdefault(f"{what}, tolerance", []).append(
                float(ndtr(-lower.low / deviation)) >= COVERAGE
            )
            following = nested_prediction(
                squares, what, confidence=CONFIDENCE, seed=seed, draws=DRAWS
            )
            held.setdefault(f"{what}, prediction", []).append(
                following.contains(deviation * rng.standard_normal())
            )
    return [(design, name, float(np.mean(kept))) for name, kept in held.items()]


def sample_rows() -> list[tuple[str, str, float]]:
    normal, weibull = stats.norm(4.6, 0.3), stats.weibull_min(3.0, scale=4.0)
    lognormal = stats.lognorm(0.3, scale=4.0)
    methods: dict[str, tuple[object, Callable[[np.ndarray, int], float]]] = {
        "normal": (normal, lambda x, s: normal_tolerance(x, COVERAGE, CONFIDENCE, "lower").low),
        "lognormal": (
            lognormal,
            lambda x, s: lognormal_tolerance(x, COVERAGE, CONFIDENCE, "lower").low,
        ),
        "Weibull": (
            weibull,
            lambda x, s: (
                weibull_tolerance(x, COVERAGE, CONFIDENCE, "lower", seed=s, draws=DRAWS).low
            ),
        ),
        "ranks (Weibull sample)": (
            weibull,
            lambda x, s: ranked_tolerance(x, COVERAGE, CONFIDENCE, "lower").low,
        ),
    }
    rows = []
    for name, (family, low) in methods.items():
        for n in (10, 48):
            if name.startswith("ranks") and n < 29:
                continue
            rng = np.random.default_rng(n)
            kept = [
                family.sf(low(family.rvs(n, random_state=rng), seed)) >= COVERAGE  # type: ignore[attr-defined]
                for seed in range(STUDIES)
            ]
            rows.append((f"{n} blocks", f"{name}, tolerance", float(np.mean(kept))))
    return rows


def main() -> None:
    rows = sample_rows()
    for design in DESIGNS:
        rows += nested_rows(design)
    error = math.sqrt(CONFIDENCE * (1 - CONFIDENCE) / STUDIES)
    lines = [
        f"# {COVERAGE:.0%} with {CONFIDENCE:.0%} confidence, one-sided; {STUDIES} studies a row, "
        f"{DRAWS} draws; standard error {error:.3f}; 2026-11-25",
        f"{'design':<18}{'limit':<36}{'kept':>6}",
        *(f"{design:<18}{name:<36}{kept:>6.3f}" for design, name, kept in rows),
    ]
    text = "\n".join(lines) + "\n"
    print(text, end="")
    Path(__file__).with_suffix(".txt").write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
