"""The thinnest wall of each block against a least wall, from files to the three answers."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import multivariate_normal, norm

from workbench.article.limit_tables import limit_risks_table, limits_table
from workbench.castings.walls_at_limits import WallsAtLimit, walls_at_limits
from workbench.study import Study, open_study

SETTINGS = """
title = "Invented"
[gauges.ug1]
kind = "ultrasonic"
unit = "mm"
uncertainty = 0.05
[fitness.road]
note = "common practice, no source"
unit = "{unit}"
least_wall = {least}
"""
U = 0.05  # standard uncertainty of one reading
BAND = norm.ppf(0.95) * U  # ISO 14253-1:2017: 1.65 u at 95 % (from memory)
CLAIM = (
    '[[claim]]\nid = "a"\nstatement = "s"\nquantity = "wall_thickness"\ncandidate = "f"\n'
    'reference = "g"\ndirection = "greater"\nunit = "mm"\n'
)
Opened = Callable[..., Study]


@pytest.fixture
def opened(tmp_path: Path) -> Opened:
    def made(rows: list[tuple[str, str, str]], unit: str = "mm", least: float = 4.0) -> Study:
        """Give block, value, and further columns: station, sampling, contact."""
        lines = ["block,family,bore,quantity,value,unit,gauge,station,sampling,contact"]
        lines += [f"{b},f,1,wall_thickness,{value},{unit},ug1,{more}" for b, value, more in rows]
        (tmp_path / "study.toml").write_text(SETTINGS.format(unit=unit, least=least))
        (tmp_path / "claims.toml").write_text(CLAIM)
        (tmp_path / "readings.csv").write_text("\n".join(lines) + "\n")
        return open_study(tmp_path)

    return made


def held(study: Study) -> WallsAtLimit:
    (found,) = walls_at_limits(study.records, study.settings, study.calibrations)
    return found


def outcomes(study: Study) -> dict[str, str]:
    return {block: at.outcome for block, _, at in held(study).blocks}


ROWS = [
    ("B1", f"{4 + BAND + 0.01:.3f}", "front,,"),
    ("B2", f"{4 + BAND - 0.01:.3f}", "front,,"),
    ("B3", f"{4 - BAND + 0.01:.3f}", "front,,"),
    ("B4", f"{4 - BAND - 0.01:.3f}", "front,,"),
]


def test_the_three_answers_at_the_guard_band(opened: Opened) -> None:
    assert list(outcomes(opened(ROWS)).values()) == [
        "conforming",
        "too_close",
        "too_close",
        "not_conforming",
    ]


def test_the_same_in_inches(opened: Opened) -> None:
    inches = [(b, f"{float(value) / 25.4:.6f}", more) for b, value, more in ROWS]
    millimetres = held(opened(ROWS))
    imperial = held(opened(inches, unit="in", least=4 / 25.4))
    for (_, _, here), (_, _, there) in zip(millimetres.blocks, imperial.blocks, strict=True):
        assert here.outcome == there.outcome
        assert there.risk == pytest.approx(here.risk, rel=0.02)


def test_a_place_hunted_for_lowers_the_thinnest_and_a_doubtful_one_does_not(opened: Opened) -> None:
    rows = [("B1", "4.50", "front,,"), ("B1", "3.60", ",search,"), ("B1", "2.00", "rear,,doubtful")]
    ((_, _, found),) = held(opened(rows)).blocks
    assert found.outcome == "not_conforming"
    assert found.measured.value == pytest.approx(3.6)
    assert "hunted for" in found.sentence


def test_a_place_read_only_as_not_above_a_value_never_conforms(opened: Opened) -> None:
    rows = [
        ("B1", "5.00", "front,,"),
        ("B1", "<4.80", "rear,,"),  # may be anything below
        ("B2", "5.00", "front,,"),
        ("B2", "<2.50", "rear,,"),
        ("B3", "4.60", "front,,"),
        ("B3", "<4.80", "rear,,"),  # the thinnest seen is thinner, and yet not the whole story
    ]
    study = opened(rows)
    assert outcomes(study) == {"B1": "too_close", "B2": "not_conforming", "B3": "too_close"}
    first = held(study).blocks[0][2]
    assert "at most 4.80 mm against at least 4 mm is too close to call" in first.sentence
    assert "how much less it is, is not known" in first.sentence
    fine = opened([("B1", "5.00", "front,,"), ("B1", "4.90", "rear,,")])
    assert outcomes(fine) == {"B1": "conforming"}


def test_the_risks_of_a_family_against_two_normals(opened: Opened) -> None:
    """JCGM 106, 9.5, from the joint normal of wall and reading (scipy's, not ours)."""
    walls = [3.7, 3.85, 3.95, 4.1, 4.2, 4.35, 4.45]
    found = held(opened([(f"B{at}", f"{wall:.2f}", "front,,") for at, wall in enumerate(walls)]))
    (family,) = found.families
    mean, total = np.mean(walls), np.std(walls, ddof=1)
    spread = np.sqrt(total**2 - U**2)
    joint = multivariate_normal(
        [mean, mean], [[spread**2, spread**2], [spread**2, spread**2 + U**2]]
    )
    taken = 1 - norm.cdf(4 + BAND, mean, np.hypot(spread, U))
    thick = 1 - norm.cdf(4, mean, spread)
    both = taken + thick - 1 + joint.cdf([4.0, 4 + BAND])
    assert family.risks.accepted == pytest.approx(taken, abs=1e-5)
    assert family.risks.conforming == pytest.approx(thick, abs=1e-5)
    assert family.risks.consumer == pytest.approx(taken - both, abs=1e-4)
    assert family.risks.producer == pytest.approx(thick - both, abs=1e-4)
    study = opened([("B1", "4.5", "front,,")])
    assert limit_risks_table([found], study.settings).rows[0][:3] == ("road", "f", "7")
    assert "common practice, no source" in limits_table([found], study.settings).rows[0]


def test_few_blocks_show_no_risks_of_a_family(opened: Opened) -> None:
    assert held(opened(ROWS)).families == ()


def test_without_a_duty_or_a_wall_there_is_nothing(opened: Opened, tmp_path: Path) -> None:
    study = opened(ROWS)
    (tmp_path / "study.toml").write_text('title = "x"\n')
    bare = open_study(tmp_path)
    assert walls_at_limits(bare.records, bare.settings, bare.calibrations) == ()
    decks = study.records.cells.assign(quantity="deck_thickness")
    from dataclasses import replace

    none = replace(study.records, cells=decks)
    assert walls_at_limits(none, study.settings, study.calibrations) == ()
