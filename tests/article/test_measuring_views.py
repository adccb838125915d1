"""The pages of the measuring side: what cannot be answered is a sentence, never an error."""

from __future__ import annotations

from pathlib import Path

import pytest

from workbench.article.measuring_views import limits_shown
from workbench.article.shift_views import fitness_by_family_shown
from workbench.article.thin_views import thin_spots_of
from workbench.study import Study, open_study

DUTY = """
title = "T"
[fitness.use]
note = "common practice, no source"
unit = "mm"
least_wall = 3.0
"""


def study(folder: Path, settings: str) -> Study:
    rows = ["block,family,quantity,value,unit,bore,station,gauge"]
    for block in range(4):
        rows += [
            f"B{block},works,wall_thickness,{4 + 0.1 * block + 0.05 * at:.2f},mm,1,s{at},ug1"
            for at in range(4)
        ]
    (folder / "study.toml").write_text(settings, "utf-8")
    (folder / "readings.csv").write_text("\n".join(rows) + "\n", "utf-8")
    return open_study(folder)


def test_walls_of_an_unknown_error_are_not_held_against_limits(tmp_path: Path) -> None:
    (shown,) = limits_shown(study(tmp_path, DUTY))
    assert "nothing shows the error of a reading" in shown.plain()
    stated = DUTY + '[gauges.ug1]\nunit = "mm"\nuncertainty = 0.05\n'
    table, *_ = limits_shown(study(tmp_path, stated))
    assert len(table.rows) > 0  # type: ignore[union-attr]


@pytest.mark.parametrize("key", ["least_wal = 3.0", "least_wall = -3.0"])
def test_a_fault_of_a_duty_is_said_on_the_pages_that_rest_on_it(tmp_path: Path, key: str) -> None:
    opened = study(tmp_path, DUTY.replace("least_wall = 3.0", key))
    (shown,) = limits_shown(opened)
    assert "fitness.use.least_wal" in shown.plain()
    (by_family,) = fitness_by_family_shown(opened, 1)
    assert "fitness.use.least_wal" in by_family.plain()  # type: ignore[union-attr]
    found = thin_spots_of(opened, quantity="", limit=None, families=[], seed=1)
    assert "fitness.use.least_wal" in found.asked.plain()
    assert found.found == {}
