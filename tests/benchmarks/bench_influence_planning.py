"""What follows a fit, on 70 blocks: leaving each out, effects, intervals, plans, looks.

Run ``python tests/benchmarks/bench_influence_planning.py``. Two families of 10 and 60 blocks, six
bores, four stations, four readings: 6 720 readings, invented. Leaving out is compared with fitting
the table of readings again without each block; the answers are compared before anything is timed.
Best of three.
"""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np
import pandas as pd

from workbench.inference.nested.blocks import predicted_blocks
from workbench.inference.nested.components import component_interval, share_interval
from workbench.inference.nested.fit import nested_fit
from workbench.inference.nested.influence import influence
from workbench.inference.nested.interaction import nested_interaction
from workbench.inference.nested.model import nested_model
from workbench.inference.nested.residuals import residual_checks
from workbench.inference.nested.unequal import unequal_model
from workbench.inference.planning.aims import Aim
from workbench.inference.planning.blocks import fewest_blocks
from workbench.inference.planning.layouts import Spreads
from workbench.inference.planning.sequential import sequential_plan

STATIONS = np.array(["front", "thrust", "rear", "counter"])
MODEL = {"response": "wall", "fixed": ["family", "station"], "nesting": ["block", "bore"]}
ROUNDS = 3


def readings() -> pd.DataFrame:
    rng = np.random.default_rng(20261125)
    place = np.arange(70 * 6 * 4 * 4)
    bore, station = place // 16, place // 4 % 4
    block = bore // 6
    wall = 6 + 0.3 * (block < 10) + 0.1 * station
    wall = wall + rng.normal(0, 0.2, 70)[block] + rng.normal(0, 0.3, 420)[bore]
    return pd.DataFrame(
        {
            "family": np.where(block < 10, "trophy", "works"),
            "block": [f"b{number}" for number in block],
            "bore": (bore % 6).astype(str),
            "station": STATIONS[station],
            "wall": (wall + rng.normal(0, 0.2, len(place))).round(2),
        }
    )


def refits(table: pd.DataFrame) -> list[float]:
    found = []
    for block in sorted(table["block"].unique()):
        fit = nested_fit(table[table["block"] != block], **MODEL)
        found.append(fit.contrast("family", "trophy", "works").estimate)
    return found


def seconds(call: Callable[[], object]) -> float:
    took = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        call()
        took.append(time.perf_counter() - start)
    return min(took)


def main() -> None:
    """Compare the estimates without each block, then print the times."""
    table = readings()
    model = nested_model(table, **MODEL)
    left_out = influence(model, "family", "trophy", "works")
    ours = {one.block: one.difference.estimate for one in left_out.without if one.difference}
    np.testing.assert_allclose([ours[name] for name in sorted(ours)], refits(table), rtol=1e-8)
    spreads = Spreads(block=0.2, bore=0.3, reading=0.2)
    aim = Aim(kind="greater", difference=0.3, margin=0.1)
    pair = {"candidate": "trophy", "reference": "works"}
    lines: dict[str, Callable[[], object]] = {
        "the fit itself, from readings": lambda: nested_model(table, **MODEL),
        "without each block, from the sums": lambda: influence(model, "family", *pair.values()),
        "without each block, from readings": lambda: refits(table),
        "predicted block means": lambda: predicted_blocks(model),
        "residual checks": lambda: residual_checks(model),
        "interval of the block variance": lambda: component_interval(model, "block"),
        "interval of the share of blocks": lambda: share_interval(model, ["block"]),
        "spreads by family": lambda: unequal_model(
            table, response="wall", by="family", fixed=["station"], nesting=["block", "bore"]
        ),
        "difference at each station": lambda: nested_interaction(
            table, response="wall", factor="family", by="station", nesting=["block", "bore"], **pair
        ),
        "further blocks": lambda: fewest_blocks(
            aim, spreads, bores=6, readings=16, candidate=10, reference=60, add="candidate"
        ),
        "bounds of 70 looks": lambda: sequential_plan([k / 70 for k in range(1, 71)]),
    }
    for name, call in lines.items():
        print(f"{name:36s} {1e3 * seconds(call):8.1f} ms", flush=True)


if __name__ == "__main__":
    main()
