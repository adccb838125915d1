"""What a plan promises, held to the product's own judging of simulated studies of its size."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from workbench.castings.calibration import Calibrations
from workbench.claims.analysis import analyse
from workbench.claims.evidence import Count, Evidence
from workbench.claims.rules import decide
from workbench.worth.cheapest_plan import cheapest_plan
from workbench.worth.claim_study import ClaimStudy, Levels, Measured
from workbench.worth.measuring_costs import MeasuringCosts
from workbench.worth.ways_of_reading import Room

BLOCK, BORE, PLACE = 0.03, 0.02, 0.01  # variances
BORES, PLACES, STUDIES = 4, 2, 200
HELD = {"candidate": 3, "reference": 30}


def readings(family: str, blocks: int, bores: int, places: int, mean: float, tag: str, rng):
    """Give one reading a place of the nested model."""
    at = pd.MultiIndex.from_product([range(blocks), range(bores), range(places)]).to_frame(
        index=False, name=["block", "bore", "place"]
    )
    of_block = rng.normal(0, BLOCK**0.5, blocks)[at["block"]]
    of_bore = rng.normal(0, BORE**0.5, blocks * bores)[at["block"] * bores + at["bore"]]
    at["mean"] = mean + of_block + of_bore + rng.normal(0, PLACE**0.5, len(at))
    return at.assign(
        family=family,
        block=family + tag + at["block"].astype(str),
        bore=at["bore"].astype(str),
        station="s" + at["place"].astype(str),
        **dict.fromkeys(("depth", "calibration", "operator", "corrected_by"), ""),
        gauge="g", n=1, ss=0.0, step=1e-6, extrapolated=False,
    )  # fmt: skip


def judged(cells: pd.DataFrame) -> str:
    """Judge the claim that the candidate lies more than 0.1 above the reference."""
    counts = {
        family: Count(blocks=own["block"].nunique(), bores=0, readings=len(own))
        for family, own in cells.groupby("family")
    }
    evidence = Evidence(
        candidate="candidate", reference="reference", unit="mm", cells=cells, counts=counts,
        left_out=(), calibrations=Calibrations(),
    )  # fmt: skip
    found = analyse(evidence, {}, "family").difference
    return decide(found, direction="greater", margin=0.1, confidence=0.95).outcome


@pytest.mark.parametrize(("target", "least", "most"), [(0.8, 0.73, 0.87), (0.9, 0.85, 0.95)])
def test_as_often_settled_as_promised(target, least, most) -> None:
    """Three blocks against thirty, one spread for both now; with more the judge parts them.

    The bounds are two and a half standard errors of 200 simulated studies either way.
    """
    inside = BORE / BORES + PLACE / (BORES * PLACES)
    of_block = BLOCK + inside
    study = ClaimStudy(
        direction="greater",
        margin=0.1,
        scope="family",
        confidence=0.95,
        estimate=0.4,
        standard_error=(of_block * sum(1 / n for n in HELD.values())) ** 0.5,
        degrees_of_freedom=31.0,
        block=BLOCK,
        bore=BORE,
        place=PLACE,
        repeat=0.0,
        candidate=Measured.evenly(HELD["candidate"], BORES, PLACES),
        reference=Measured.evenly(HELD["reference"], BORES, PLACES),
    )
    assert study.levels[0] == Levels(block=BLOCK, bore=BORE, place=PLACE)
    costs = MeasuringCosts(candidate_block=50, reference_block=30, bore=1, place=2)
    found = cheapest_plan(study, costs, Room(bores=BORES, places=PLACES), target)
    assert found is not None
    plan, rng, settled = found.plan, np.random.default_rng(12), 0
    for _ in range(STUDIES):
        parts = []
        for family, mean in (("candidate", 0.4), ("reference", 0.0)):
            parts.append(readings(family, HELD[family], BORES, PLACES, mean, "old", rng))
            new = getattr(plan, family)
            if new:
                parts.append(readings(family, new, plan.bores, plan.places, mean, "new", rng))
        settled += judged(pd.concat(parts, ignore_index=True)) == "supported"
    assert least < settled / STUDIES < most
