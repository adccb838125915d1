"""All claims held together: the adjustments of statsmodels, and what decides."""

from __future__ import annotations

import math

import pytest
from statsmodels.stats.multitest import multipletests

from workbench.claims.together import ADJUSTMENTS, held_together
from workbench.claims.verdict import Verdict

STATSMODELS = {
    "holm": "holm",
    "hochberg": "simes-hochberg",
    "benjamini_hochberg": "fdr_bh",
    "benjamini_yekutieli": "fdr_by",
}


def verdict(p: float) -> Verdict:
    return Verdict(
        claim="x",
        statement="x",
        outcome="supported" if p < 0.05 else "unresolved",
        confidence=0.95,
        sentence="x",
        next_step="x",
        estimate=math.nan if math.isnan(p) else 1.0,
        deciding_p=p,
    )


@pytest.mark.parametrize("name", list(ADJUSTMENTS))
def test_each_adjustment_against_statsmodels(name: str) -> None:
    given = [0.001, 0.012, 0.04, 0.3, 0.02]
    found = held_together([verdict(p) for p in [*given, math.nan]], 0.95)
    expected = multipletests([*given, 1.0], method=STATSMODELS[name])[1]
    assert [dict(one.adjusted)[name] for one in found[:-1]] == pytest.approx(expected[:-1])
    assert found[-1].adjusted == ()  # no numbers: asked, and given none


def test_holm_decides_what_stands() -> None:
    found = held_together([verdict(0.001), verdict(0.04), verdict(0.3)], 0.95)
    assert [one.stands_after_adjustment for one in found] == [True, False, None]
    assert [one.adjusted_p for one in found] == [dict(one.adjusted)["holm"] for one in found]
