"""How often shift regions, least walls and boring allowances keep what they promise.

Run ``python tests/calibration/bores_coverage.py`` (some minutes); it writes its table to
``bores_coverage.txt`` beside it. Walls are planted everywhere, not only where they are read: a
mean, a core shift, a straight change of it with depth, and a rough surface of Gaussian draws with
the stated range round the bore. They are read at some angles and depths with noise and an error the
gauge shares; what the workbench then says is held against the walls everywhere, on a grid of 5
degrees and 11 depths. Promised: 95 % of bores or blocks. Each row draws whole studies anew.

The shift held against is the first harmonic of the walls as they came out, roughness and all. The
region is made for the core, whose shift the roughness hides, so it is wide for that harmonic;
`tests/castings/bores/test_shift_scatter.py` holds it to cores planted in walls of any likeness.
"""

from __future__ import annotations

import math
import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from workbench.castings.bores.boring import boring_allowance
from workbench.castings.bores.boring_room import NO_OFFSET
from workbench.castings.bores.core_shift import core_shifts
from workbench.castings.bores.wall_draws import block_draws
from workbench.castings.bores.wall_limits import WallLimits
from workbench.castings.bores.wall_map import least_wall
from workbench.castings.bores.wall_model import wall_model
from workbench.castings.places import places_of
from workbench.castings.stated_rules import Boring
from workbench.errors import Refusal
from workbench.records.settings import Drawing, Gauge, Settings

Values = NDArray[np.float64]

STUDIES, BLOCKS, BORES = 150, 8, 4
CONFIDENCE, LIMIT = 0.95, 3.0
TURN = np.arange(0.0, 360.0, 5.0)
DOWN = np.linspace(10.0, 110.0, 11)
SHARED, NOISE = 0.03, 0.03


@dataclass(frozen=True, kw_only=True)
class Design:
    """Angles and depths read, and the roughness planted: its standard deviation and its range."""

    angles: int
    depths: int
    rough: float
    turn: float


DESIGNS = {
    "four angles, smooth": Design(angles=4, depths=3, rough=0.08, turn=90.0),
    "four angles, rough": Design(angles=4, depths=3, rough=0.08, turn=45.0),
    "four angles, one depth": Design(angles=4, depths=1, rough=0.08, turn=60.0),
    "eight angles, rough": Design(angles=8, depths=3, rough=0.08, turn=45.0),
    "six angles, very rough": Design(angles=6, depths=3, rough=0.15, turn=60.0),
}


def covariance(design: Design) -> Values:
    """Give the root of the planted covariance over the grid."""
    turn, down = (part.ravel() for part in np.meshgrid(TURN, DOWN))
    chord = 2 * np.abs(np.sin(np.radians(turn[:, None] - turn) / 2))
    reach = 2 * math.sin(math.radians(design.turn) / 2)
    apart = np.abs(down[:, None] - down) / 60.0
    whole = np.exp(-0.5 * (chord / reach) ** 2) * np.exp(-0.5 * apart**2)
    values, axes = np.linalg.eigh(whole)
    return design.rough * axes * np.sqrt(np.maximum(values, 0.0))


def study(rng: np.random.Generator, design: Design, root: Values) -> tuple[pd.DataFrame, Values]:
    """Give the readings of a study, and its walls (blocks, bores, depths, angles)."""
    level = (DOWN - DOWN.mean()) / np.ptp(DOWN)
    walls = np.empty((BLOCKS, BORES, DOWN.size, TURN.size))
    turn = np.radians(TURN)
    for block in range(BLOCKS):
        whole = np.array([0.0, 0.15]) + rng.normal(0, 0.12, 2)
        for bore in range(BORES):
            shift = whole + rng.normal(0, 0.1, 2)
            lean = rng.normal(0, 0.05, 2)
            x, y = (s + d * level for s, d in zip(shift, lean, strict=True))
            first = x[:, None] * np.cos(turn) + y[:, None] * np.sin(turn)
            rough = (root @ rng.standard_normal(len(root))).reshape(DOWN.size, TURN.size)
            walls[block, bore] = 4.6 + rng.normal(0, 0.12) - first + rough
    angles = np.linspace(0, TURN.size, design.angles, endpoint=False).astype(int)
    depths = [5] if design.depths == 1 else np.linspace(0, DOWN.size - 1, design.depths).astype(int)
    at = [part.ravel() for part in np.meshgrid(range(BLOCKS), range(BORES), depths, angles)]
    read = walls[tuple(at)] + rng.normal(0, SHARED) + rng.normal(0, NOISE, at[0].size)
    rows = pd.DataFrame(
        {
            "family": "works",
            "block": [f"W{block}" for block in at[0]],
            "bore": [str(bore + 1) for bore in at[1]],
            "depth": [f"{DOWN[depth]:g}" for depth in at[2]],
            "station": [f"{TURN[angle]:g}" for angle in at[3]],
            "mean": read,
            "low": read,
            "high": read,
        }
    )
    fixed = {"quantity": "wall_thickness", "unit": "mm", "gauge": "ug1", "calibration": ""}
    more = {"operator": "", "sampling": "grid", "contact": "good", "n": 1, "ss": 0.0, "step": 0.01}
    kept = walls[:, :, depths[0] : depths[-1] + 1, :]  # what is promised ends where reading ended
    return rows.assign(**fixed, **more), kept


def coverage(design: Design, studies: int, seed: int) -> dict[str, float]:
    """Give the shares of bores and blocks for which what is said holds."""
    rng = np.random.default_rng(seed)
    root = covariance(design)
    gauge = Gauge(kind="ultrasonic", resolution=0.01, unit="mm", uncertainty=SHARED)
    settings = Settings(title="Planted", drawing=Drawing(unit="mm"), gauges={"ug1": gauge})
    kept: dict[str, list[bool]] = {
        name: [] for name in ("shift region", "least wall", "own centres", "best centres")
    }
    for _ in range(studies):
        shown, walls = study(rng, design, root)
        places = places_of(shown, settings)
        shifts = core_shifts(places)
        for block in range(BLOCKS):
            for bore in range(BORES):
                try:
                    region = shifts.bore(f"W{block}", str(bore + 1)).region(CONFIDENCE)
                except Refusal:
                    continue
                kept["shift region"].append(region.contains(*true_shift(walls[block, bore])))
        model = wall_model(places)
        block = int(rng.integers(BLOCKS))
        draws = block_draws(places, model, f"W{block}", rng, draws=1000)
        bound = least_wall(draws, confidence=2 * CONFIDENCE - 1).low
        kept["least wall"].append(bool(walls[block].min() >= bound))
        allowed = boring_allowance(
            draws,
            WallLimits(unit="mm", everywhere=LIMIT),
            asked=Boring(largest_offset=0.2),
            gauge_uncertainty=SHARED,
            confidence=CONFIDENCE,
        )
        turn = np.radians(TURN)
        for name, cut, offsets in (
            ("own centres", allowed.central / 2, dict.fromkeys(allowed.offsets, NO_OFFSET)),
            ("best centres", allowed.one_size / 2, allowed.offsets),
        ):
            left = min(
                float((walls[block, int(bore) - 1] - o.x * np.cos(turn) - o.y * np.sin(turn)).min())
                for bore, o in offsets.items()
            )
            kept[name].append(left - cut >= LIMIT)
    return {name: float(np.mean(found)) for name, found in kept.items()}


def true_shift(walls: Values) -> tuple[float, float]:
    """Give the first harmonic of the walls all round, over the depths read."""
    mean, turn = walls.mean(axis=0), np.radians(TURN)
    return -2 * float((mean * np.cos(turn)).mean()), -2 * float((mean * np.sin(turn)).mean())


def main() -> None:
    """Print the table, and keep it beside this file."""
    studies = int(sys.argv[1]) if len(sys.argv) > 1 else STUDIES
    error = math.sqrt(CONFIDENCE * (1 - CONFIDENCE) / studies)
    lines = [
        f"# share kept where {CONFIDENCE:.0%} is promised; {studies} studies of {BLOCKS} blocks of "
        f"{BORES} bores a row; standard error {error:.3f} for a block, less for regions",
        f"{'design':<26}{'shift region':>14}{'least wall':>12}{'own centres':>13}"
        f"{'best centres':>14}",
    ]
    print("\n".join(lines))
    for seed, (name, design) in enumerate(DESIGNS.items()):
        found = coverage(design, studies, seed)
        line = f"{name:<26}" + "".join(
            f"{share:>{width}.3f}"
            for share, width in zip(found.values(), (14, 12, 13, 14), strict=True)
        )
        print(line, flush=True)
        lines.append(line)
    Path(__file__).with_suffix(".txt").write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
