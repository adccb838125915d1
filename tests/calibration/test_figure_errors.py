"""The stored table of false alarms of spread, thinnest place and share stays low, or is told of."""

from __future__ import annotations

from pathlib import Path

from workbench.claims.choosing import OWN_FROM
from workbench.claims.figure_threats import MISSED_AT_WORST, MISSED_BY_OWN

HIGHEST, ERROR = 7.5, 1.3  # in 100


def test_the_stored_table_is_what_the_warnings_say() -> None:
    lines = Path(__file__).with_name("figure_errors.txt").read_text("utf-8").splitlines()
    rows = [line.split() for line in lines if line.endswith(tuple("0123456789"))]
    assert len(rows) == 19
    worst = 0.0
    (own,) = (row for row in rows if row[:4] == ["3", "12", "2", "times"])  # its own mostly
    assert f"about {float(own[-2]):.0f} times in 100" in MISSED_BY_OWN
    for row in rows:
        few = min(int(row[0]), int(row[1])) < OWN_FROM
        spread, thinnest, share = (0.0 if cell == "refused" else float(cell) for cell in row[-3:])
        worst = max(worst, thinnest)
        if not few:
            assert max(spread, thinnest, share) < HIGHEST, row
        assert max(spread, share) < HIGHEST + 2 * ERROR, row
    assert abs(worst - MISSED_AT_WORST) < 2 * ERROR
