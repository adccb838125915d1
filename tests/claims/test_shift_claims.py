"""Claims on core shift: derived from the walls, judged as any length, refused with the reason."""

from __future__ import annotations

import csv
import math
import random
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.stats import ttest_ind

from workbench.castings.bores.shift_readings import shift_cells
from workbench.study import open_study

CLAIM = """
[[claim]]
id = "truer"
statement = "Trophy cores lie truer."
quantity = "core_shift"
figure = "{figure}"
{more}
candidate = "trophy"
reference = "works"
direction = "less"
unit = "{unit}"
scope = "{scope}"
"""
STATIONS = {"front": 0, "thrust": 90, "rear": 180, "counter": 270}
SETTINGS = """
title = "Invented"
[drawing.stations]
front = 0
thrust = 90
rear = 180
counter = 270
"""


@pytest.fixture
def study(tmp_path: Path) -> Callable[..., Path]:
    """Write blocks of two families whose bores lie off centre by a planted shift."""

    def write(
        *,
        scope: str = "family",
        unit: str = "mm",
        settings: str = SETTINGS,
        figure: str = "mean",
        threshold: str = "",
        shifts: tuple[float, float] = (0.5, 0.1),
        more: tuple[tuple[object, ...], ...] = (),
    ) -> Path:
        rng = random.Random(3)
        rows: list[tuple[object, ...]] = [
            ("block", "family", "quantity", "value", "unit", "bore", "station", "depth")
        ]
        for family, shift in zip(("works", "trophy"), shifts, strict=True):
            for at in range(8):
                whole = shift + rng.gauss(0, 0.05)
                for bore in "12":
                    for depth in ("top", "low"):
                        for name, degrees in STATIONS.items():
                            wall = 5 - whole * math.cos(math.radians(degrees)) + rng.gauss(0, 0.05)
                            read = ("wall_thickness", f"{wall:.2f}", "mm")
                            rows.append((f"{family[0]}{at}", family, *read, bore, name, depth))
        with (tmp_path / "readings.csv").open("w", newline="", encoding="utf-8") as stream:
            csv.writer(stream).writerows([*rows, *more])
        (tmp_path / "study.toml").write_text(settings, encoding="utf-8")
        text = CLAIM.format(scope=scope, unit=unit, figure=figure, more=threshold)
        (tmp_path / "claims.toml").write_text(text, encoding="utf-8")
        return tmp_path

    return write


def verdict(folder: Path) -> Any:
    return open_study(folder).judge().verdicts[0]


def codes(found: Any) -> set[str]:
    return {threat.code for threat in found.warnings}


def test_the_verdict_is_that_of_block_means_of_the_derived_lengths(
    study: Callable[..., Path],
) -> None:
    """Balanced: the nested model with own spreads is Welch on block means (scipy)."""
    folder = study()
    found = verdict(folder)
    assert found.outcome == "supported"
    assert found.estimate == pytest.approx(0.1 - 0.5, abs=0.06)
    cells = shift_cells(open_study(folder).inspect().core_shifts())
    means = (cells["s1"] * cells["step"]).groupby([cells["family"], cells["block"]]).mean()
    ours, others = means["trophy"].to_numpy(), means["works"].to_numpy()
    assert found.estimate == pytest.approx(float(ours.mean() - others.mean()), abs=1e-9)
    known = ttest_ind(ours, others, equal_var=False)
    assert found.p_value == pytest.approx(float(known.pvalue), rel=0.05)
    assert (found.candidate_blocks, found.candidate_bores) == (8, 16)


def test_what_a_derived_length_cannot_show_is_said(study: Callable[..., Path]) -> None:
    found = verdict(study())
    assert "derived_length" in codes(found)
    assert "no_gauge_uncertainty" not in codes(found)


@pytest.mark.parametrize(
    ("figure", "threshold", "outcome", "known"),
    [
        ("spread", "", "unresolved", 0.0),
        ("thinnest", "", "supported", 0.1 - 0.5),
        ("share_below", "threshold = 0.3", "contradicted", 1.0),
    ],
)
def test_the_other_figures_are_judged_on_the_same_lengths(
    figure: str, threshold: str, outcome: str, known: float, study: Callable[..., Path]
) -> None:
    """Planted: about 0.5 and 0.1 mm, each with 0.05 mm: none and all below 0.3 mm."""
    found = verdict(study(figure=figure, threshold=threshold))
    assert found.outcome == outcome
    assert found.estimate == pytest.approx(known, abs=0.08)
    assert ("the smallest core shift" in found.sentence) == (figure == "thinnest")
    assert "thinnest" not in found.sentence
    assert "derived_length" in codes(found)
    assert "no_gauge_uncertainty" not in codes(found)


def test_inches_give_the_same_answer(study: Callable[..., Path]) -> None:
    metric, inches = verdict(study()), verdict(study(unit="in"))
    assert inches.estimate == pytest.approx(metric.estimate / 25.4, rel=1e-9)
    assert inches.p_value == pytest.approx(metric.p_value, rel=1e-9)


def test_a_claim_on_the_very_blocks_is_refused(study: Callable[..., Path]) -> None:
    found = verdict(study(scope="block"))
    assert found.outcome == "unresolved"
    assert "shift_of_blocks" in codes(found)
    assert "workbench place" in found.sentence


def test_walls_without_angles_say_so(study: Callable[..., Path]) -> None:
    found = verdict(study(settings='title = "Invented"\n'))
    assert found.outcome == "unresolved"
    assert "no_shift" in codes(found)
    assert "[drawing.stations]" in found.sentence


def test_shifts_that_were_read_are_used_as_read(study: Callable[..., Path]) -> None:
    rng = np.random.default_rng(1)
    read = tuple(
        (f"{family[0]}{at}", family, "core_shift", f"{size:.3f}", "mm", "1", "", "")
        for family in ("works", "trophy")
        for at, size in enumerate(rng.normal(0.3, 0.02, 8))
    )
    found = verdict(study(more=read))
    assert found.outcome == "unresolved"
    assert abs(found.estimate) < 0.05
    assert "derived_length" not in codes(found)
