"""Means of families with readings at or below a limit, from files to the table."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from scipy.stats import CensoredData, norm

from workbench.article.left_out_tables import censored_table
from workbench.castings.censored_means import censored_means
from workbench.study import Study, open_study

CLAIM = (
    '[[claim]]\nid = "a"\nstatement = "s"\nquantity = "wall_thickness"\ncandidate = "f"\n'
    'reference = "g"\ndirection = "greater"\nunit = "mm"\n'
)
HEAD = "block,family,station,quantity,value,unit,gauge,contact,sampling\n"
SEEN = [3.1, 3.6, 2.9, 3.3, 4.0, 2.6, 3.4, 2.8]


def study(tmp_path: Path, values: list[str], lower: str = "") -> Study:
    rows = "".join(
        f"B{at},f,s{at},wall_thickness,{value},mm,ug1,,\n" for at, value in enumerate(values)
    )
    gauge = '[gauges.ug1]\nkind = "ultrasonic"\nunit = "mm"\n'
    (tmp_path / "study.toml").write_text(f'title = "x"\n{gauge}{lower}')
    (tmp_path / "claims.toml").write_text(CLAIM)
    (tmp_path / "readings.csv").write_text(HEAD + rows)
    return open_study(tmp_path)


@pytest.mark.parametrize("lower", ["", "lower_limit = 2.5\n"])
def test_against_scipys_fit_of_left_censored_data(tmp_path: Path, lower: str) -> None:
    """Written with “<”, or shown at the lower limit of the gauge: the same mean."""
    mark = "" if lower else "<"
    opened = study(tmp_path, [*map(str, SEEN), f"{mark}2.5", f"{mark}2.50"], lower)
    (found,) = censored_means(opened.records, opened.settings, opened.calibrations)
    mean, sd = norm.fit(CensoredData(uncensored=SEEN, left=[2.5, 2.5]))
    assert found.fitted is not None
    assert found.fitted.mean == pytest.approx(mean, abs=1e-3)
    assert found.fitted.sd == pytest.approx(sd, abs=1e-3)
    assert (found.seen, found.below) == (8, 2)
    assert found.mean_seen == pytest.approx(np.mean(SEEN))
    assert found.fitted.mean < found.mean_seen
    (row,) = censored_table([found], opened.settings).rows
    assert row[:4] == ("Wall thickness", "f", "8", "2")


def test_too_few_seen_is_said(tmp_path: Path) -> None:
    opened = study(tmp_path, ["3.1", "<2.5", "<2.5", "<2.6"])
    (found,) = censored_means(opened.records, opened.settings, opened.calibrations)
    assert found.fitted is None
    assert "above the limit" in found.why
    assert censored_table([found], opened.settings).rows[0][-1] == found.why


def test_nothing_at_a_limit_gives_nothing(tmp_path: Path) -> None:
    opened = study(tmp_path, ["3.1", "3.2"])
    assert censored_means(opened.records, opened.settings, opened.calibrations) == ()
