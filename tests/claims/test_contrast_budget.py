"""The budget of a difference of families: the same uncertainty as its verdict, part by part."""

import pytest

from workbench.castings.calibration import calibrations_of
from workbench.claims.claim import Ledger
from workbench.claims.contrast_budget import contrast_budget


@pytest.fixture
def two(lab):
    """Two families, each under a calibration of its own, and a claim on them."""
    shown = [
        lab.readings(family, mean, repeats=2).assign(calibration=name)
        for family, mean, name in (("trophy", 12.0, "C1"), ("works", 11.0, "C2"))
    ]
    import pandas as pd

    lines = pd.concat(
        [lab.calibration(name, u=0.05, material=f"of {name}") for name in ("C1", "C2")],
        ignore_index=True,
    )
    return lab.records(lab.cells(*shown, step=1e-4), calibrations=lines)


@pytest.mark.parametrize("scope", ["family", "block"])
def test_it_adds_up_to_the_verdict(lab, two, scope):
    claim = lab.claim(scope=scope)
    given = (two, lab.settings, calibrations_of(two, lab.settings))
    found = contrast_budget("deck_thickness", Ledger(entries=(claim,)), *given)
    assert found is not None
    verdict = lab.verdict(two.cells, given={"calibrations": two.calibrations}, scope=scope)
    assert found.value == verdict.estimate
    assert found.budget.combined == pytest.approx(verdict.standard_error)
    assert found.budget.degrees_of_freedom == pytest.approx(verdict.degrees_of_freedom)
    ends = found.interval(0.95)
    assert (ends.low, ends.high) == pytest.approx((verdict.low, verdict.high))
    own, *shared = found.budget.components
    assert own.shared is None
    assert {part.name for part in shared} == {name for name, _ in verdict.measuring}
    assert sum(found.budget.shares().values()) == pytest.approx(1.0)


def test_without_a_claim_that_can_be_answered_there_is_none(lab, two):
    given = (two, lab.settings, calibrations_of(two, lab.settings))
    none = Ledger(entries=(lab.claim(figure="spread"), lab.claim(candidate="nobody")))
    assert contrast_budget("deck_thickness", none, *given) is None
    assert contrast_budget("mass", Ledger(entries=(lab.claim(),)), *given) is None
