"""Core shifts of 10 000 blocks against a regression a circle; a bore map, boring and placing.

Run from the project folder: uv run python tests/benchmarks/bench_bores.py
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
from scipy.optimize import linprog

from workbench.castings.bores.boring import boring_allowance
from workbench.castings.bores.core_shift import core_shifts
from workbench.castings.bores.wall_draws import block_draws
from workbench.castings.bores.wall_limits import WallLimits
from workbench.castings.bores.wall_map import wall_map
from workbench.castings.bores.wall_model import wall_model
from workbench.castings.places import places_of
from workbench.inference.directions.offset_program import largest_cut
from workbench.records.settings import Settings

BLOCKS, BORES, DEPTHS, ANGLES = 10_000, 6, ("10", "60", "110"), ("0", "90", "180", "270")
PEER = 2_000  # circles fitted one by one
DEMO = Path(__file__).parents[2] / "data" / "demo"
PROCESSES = 5


def moments() -> pd.DataFrame:
    """Give one reading at each place of every block."""
    block, bore, depth, angle = (
        part.ravel()
        for part in np.meshgrid(np.arange(BLOCKS), np.arange(1, BORES + 1), DEPTHS, ANGLES)
    )
    values = np.random.default_rng(1).normal(4.6, 0.1, block.size)
    text = {
        "family": np.full(block.size, "works"),
        "block": np.char.add("W", block.astype(str)),
        "bore": bore.astype(str),
        "station": angle,
        "depth": depth,
    }
    fixed = {"quantity": "wall_thickness", "unit": "mm", "gauge": "ug1", "sampling": "grid"}
    frame = pd.DataFrame({name: pd.Series(own, dtype="str") for name, own in text.items()})
    frame = frame.assign(**fixed, contact="good")
    return frame.assign(n=1, mean=values, ss=0.0, low=values, high=values, step=0.01)


def timed(question: Callable[[], object], repeats: int = 3) -> float:
    """Give the least processor time of some repeats, in seconds: other work does not count."""
    found = []
    for _ in range(repeats):
        start = time.process_time()
        question()
        found.append(time.process_time() - start)
    return min(found)


def main() -> None:
    """Print the times, and the ratio against one regression a circle."""
    settings = Settings(title="Invented")
    shown = moments()
    gathered = timed(lambda: places_of(shown, settings))
    walls = places_of(shown, settings)
    fitted = timed(lambda: core_shifts(walls))
    turn = np.radians(np.array(ANGLES, dtype=float))
    columns = np.column_stack([np.ones(4), np.cos(turn), np.sin(turn)])
    circles = np.resize(walls.places["mean"].to_numpy(), (PEER, 4))
    alone = timed(lambda: [np.linalg.lstsq(columns, y, rcond=None) for y in circles])
    circle_count = BLOCKS * BORES * len(DEPTHS)
    peer = alone * circle_count / PEER
    print(f"{circle_count} circles: places {gathered:.2f} s, shifts {fitted:.2f} s")
    print(f"one least-squares call a circle: {peer:.2f} s, {peer / fitted:.1f} times as long")
    few = walls.of_block("W1")
    model = wall_model(places_of(shown.head(20_000), settings))
    rng = np.random.default_rng(1)
    print(f"map of a bore: {1000 * timed(lambda: wall_map(few, model, 'W1', '1')):.1f} ms")
    drawn = timed(lambda: block_draws(few, model, "W1", rng))
    print(f"2000 draws of a block of {BORES} bores: {1000 * drawn:.0f} ms")
    draws = block_draws(few, model, "W1", rng)
    limits = WallLimits(unit="mm", everywhere=3.0)
    print(f"boring of that block: {1000 * timed(lambda: boring_allowance(draws, limits)):.0f} ms")
    offsets()
    processes()


def offsets() -> None:
    """Print the time of finding a best centre, and of the linear program of scipy."""
    degrees = np.arange(0.0, 360.0, 15.0)
    room = (
        0.8 - 0.4 * np.cos(np.radians(degrees - 50)) + np.random.default_rng(2).normal(0, 0.1, 24)
    )
    own = timed(lambda: largest_cut(degrees, room, limit=0.2), 20)
    turn, edge = np.radians(degrees), np.linspace(0, 2 * np.pi, 180, endpoint=False)
    rows = np.vstack(
        [
            np.column_stack([np.cos(turn), np.sin(turn), np.ones(24)]),
            np.column_stack([np.cos(edge), np.sin(edge), np.zeros(180)]),
        ]
    )
    bounds = np.concatenate([room, np.full(180, 0.2)])
    peer = timed(lambda: linprog([0, 0, -1], A_ub=rows, b_ub=bounds, bounds=(None, None)), 20)
    print(f"best centre: {1000 * own:.2f} ms; scipy linprog {peer / own:.1f} times as long")


def processes() -> None:
    """Print the time of whole processes: placing one block, and importing the libraries alone."""
    with tempfile.TemporaryDirectory() as kept:
        _processes({**os.environ, "WORKBENCH_CACHE": kept})


def _processes(again: dict[str, str]) -> None:
    imports = "import numpy, pandas, scipy.special"
    program = "from workbench.cli import main; main()"
    place = [sys.executable, "-c", program, "place", str(DEMO), "W05", "--json"]
    subprocess.run(place, check=True, capture_output=True, env=again)
    for label, command, environment in (
        ("importing numpy, pandas and scipy alone", [sys.executable, "-c", imports], again),
        ("workbench place, its readings read", place, {**again, "WORKBENCH_CACHE": "off"}),
        ("workbench place, of a study read before", place, again),
    ):
        start = time.perf_counter()
        used = resource.getrusage(resource.RUSAGE_CHILDREN)
        for _ in range(PROCESSES):
            subprocess.run(command, check=True, capture_output=True, env=environment)
        seconds = (time.perf_counter() - start) / PROCESSES
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        busy = (after.ru_utime + after.ru_stime - used.ru_utime - used.ru_stime) / PROCESSES
        print(f"{label}: {seconds:.2f} s, of which {busy:.2f} s of a processor")


if __name__ == "__main__":
    main()
