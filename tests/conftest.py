"""What all tests share: one thread for small matrices, no windows, hypothesis kept short."""

from __future__ import annotations

import csv
import json
import math
import os
import random
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

# Set before numpy and matplotlib load; pytest reads this file first.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("MPLBACKEND", "Agg")
os.environ["WORKBENCH_CACHE"] = "off"  # every test reads what it is about

import pytest
from hypothesis import HealthCheck, settings

if TYPE_CHECKING:
    from workbench.claims.judgement import Judgement
    from workbench.study import Study

settings.register_profile(
    "workbench",
    max_examples=40,
    deadline=None,  # no test depends on a clock
    derandomize=True,  # the same examples on every machine
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("workbench")

DATA = Path(__file__).parents[1] / "data"

STUDY = """
title = {title}

[drawing]
unit = "mm"
bores = 2
bore_diameter = 86.0
bore_spacing = 102.0
bore_length = 130.0
wall_thickness = 4.5
{stations}
[drawing.depths]
top = 15
bottom = 115

[gauges.ug1]
kind = "ultrasonic"
resolution = 0.01
unit = "mm"
uncertainty = 0.03

[fitness.usable]
label = "To be used at all"
note = "common practice, no source"
unit = "mm"
least_wall = 3.0

[fitness.all]
label = "All asked"
note = "common practice, no source"
unit = "mm"
least_wall = 3.5
largest_shift = 0.5
least_deck = 10.0

{boring}
"""
BORING = """[boring]
unit = "mm"
oversizes = [0.5, 1.0]
largest_offset = 0.2
"""
STATIONS = {"front": 0, "thrust": 90, "rear": 180, "counter": 270}


@pytest.fixture(scope="module")
def readings_kept(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Keep what was read for the next command, as at a user's, by the digests of all its files.

    For modules that ask much of few studies and are not about reading them.
    """
    with pytest.MonkeyPatch.context() as patched:
        patched.setenv("WORKBENCH_CACHE", str(tmp_path_factory.mktemp("kept")))
        yield


@pytest.fixture(scope="session")
def shipped_study() -> Callable[[str], Study]:
    """Open a study of the data folder, each once: one that is open is never changed."""

    @cache
    def opened(name: str) -> Study:
        from workbench.study import open_study  # heavy, and most tests open no study

        return open_study(DATA / name)

    return opened


@pytest.fixture(scope="session")
def judged(shipped_study: Callable[[str], Study]) -> Callable[[str], Judgement]:
    """Judge a study of the data folder under seed 1, each once."""

    @cache
    def judge(name: str) -> Judgement:
        return shipped_study(name).judge(seed=1)

    return judge


@pytest.fixture(scope="session")
def bored_study() -> Callable[..., Path]:
    """Write a study of blocks whose bores were read round: one of them by the name `block`."""

    def write(
        folder: Path,
        *,
        title: str = "Invented bores",
        block: str = "W01",
        family: str = "works",
        blocks: int = 6,
        mean: float = 4.6,
        depths: Sequence[str] = ("top", "bottom"),
        stations: Mapping[str, float] = STATIONS,
        drawn_stations: Mapping[str, float] | None = STATIONS,
        boring: str = BORING,
        without: Sequence[str] = (),
    ) -> Path:
        table = "".join(
            f"{json.dumps(name)} = {at}\n" for name, at in (drawn_stations or {}).items()
        )
        text = STUDY.format(
            title=json.dumps(title),
            stations=f"[drawing.stations]\n{table}" if table else "",
            boring=boring,
        )
        if "drawing" in without:
            text = text[: text.index("[drawing]")] + text[text.index("[gauges") :]
        folder.mkdir(parents=True, exist_ok=True)
        (folder / "study.toml").write_text(text, encoding="utf-8")
        (folder / "claims.toml").write_text('[[claim]]\nid = "none"\n', encoding="utf-8")
        rng = random.Random(5)
        head = ("block", "family", "quantity", "value", "unit", "bore", "station", "depth", "gauge")
        rows: list[tuple[object, ...]] = [head]
        for at in range(blocks):
            name = block if at == 0 else f"B{at:02d}"
            for bore in ("1", "2"):
                for depth in depths:
                    for station, degrees in stations.items():
                        wall = mean - 0.15 * math.sin(math.radians(degrees)) + rng.gauss(0, 0.08)
                        place = (bore, station, depth, "ug1")
                        rows.append((name, family, "wall_thickness", f"{wall:.2f}", "mm", *place))
            if "deck" not in without:
                deck = f"{11.5 + rng.gauss(0, 0.2):.2f}"
                rows.append((name, family, "deck_thickness", deck, "mm", "1", "", "", "ug1"))
        with (folder / "readings.csv").open("w", newline="", encoding="utf-8") as stream:
            csv.writer(stream).writerows(rows)
        return folder

    return write
