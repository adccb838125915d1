"""Hand-made samples and verdicts: one block and sixty, one family and five, hostile names."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from workbench.article.sample import FamilyMean, Remembered, Sample
from workbench.article.writing.document import Document
from workbench.article.writing.write_up import write_up
from workbench.claims.judgement import Judgement
from workbench.claims.verdict import Check, Threat, Verdict
from workbench.inference.results import Interval
from workbench.records.settings import Family, Settings, built_in_quantities
from workbench.study import Study

HOSTILE = (
    "<b>x</b>$\\alpha$_very_long_name_of_a_family_that_goes_on_and_on_and_on_without_a_space_1",
    "<b>x</b>$\\alpha$_very_long_name_of_a_family_that_goes_on_and_on_and_on_without_a_space_2",
    "<script>alert('$x_1^{2}$')</script> & \"quoted\" | pipe\nsecond line \x07\u202e 鋳物",
)
SIZES = {
    "two": {"works": 48, "trophy": 3},
    "three": {"works": 12, "deepdeck": 6, "trophy": 1},
    "five": {"a": 2, "b": 5, "c": 60, "d": 9, "e": 1},
    "one": {"works": 1},
    "hostile": dict(zip(HOSTILE, (4, 5, 6), strict=True)),
}


def make_sample(sizes: dict[str, int], *, places: int = 12, remembered: bool = False) -> Sample:
    """Lay out a sample: family -> number of blocks, each with `places` readings."""
    generator = np.random.default_rng(7)
    rows, blocks, means = [], [], {}
    for number, (family, size) in enumerate(sizes.items()):
        centre = 12.0 + 0.6 * number
        family_means = []
        for block in range(size):
            level = centre + 0.3 * generator.standard_normal()
            values = np.round(level + 0.25 * generator.standard_normal(places), 2)
            rows += [(family, value, True) for value in values]
            family_means.append(float(values.mean()))
            bores = values.reshape(4, -1).mean(axis=1)
            name = f"{family[:2].upper()}-{block + 1:02}"
            blocks.append((family, name, places, family_means[-1], 4, float(bores.std(ddof=1))))
        rows.append((family, round(centre - 0.9, 2), False))
        middle = float(np.mean(family_means))
        interval = None
        if size > 1:
            half = 2.1 * float(np.std(family_means, ddof=1)) / math.sqrt(size)
            interval = Interval(low=middle - half, high=middle + half, confidence=0.95)
        means[family] = FamilyMean(
            blocks=size, readings=size * places, mean=middle, interval=interval
        )
    values = pd.DataFrame(rows, columns=["family", "value", "counted"])
    keys = ["family", "value", "counted"]
    first = next(iter(sizes))
    return Sample(
        quantity="deck_thickness",
        label="Deck thickness",
        unit="mm",
        confidence=0.95,
        step=0.01,
        families=tuple(sizes),
        labels={},
        distinct=values.groupby(keys, sort=False).size().reset_index(name="count"),
        blocks=pd.DataFrame(
            blocks, columns=["family", "block", "readings", "mean", "bores", "bore_sd"]
        ),
        means=means,
        remembered=(
            Remembered(family=first, low=11.0, high=12.0, source="club newsletter"),
            Remembered(family=first, low=11.5, high=12.5, source="<i>an old hand</i> $y$"),
        )
        if remembered
        else (),
    )


def make_verdict(**stated: Any) -> Verdict:
    """Lay out a verdict; what is not stated is that of a supported claim of 2 mm more deck."""
    usual: dict[str, Any] = {
        "claim": "deck-thicker",
        "statement": "The trophy deck is at least 2 mm thicker than the works deck.",
        "outcome": "supported",
        "confidence": 0.95,
        "sentence": "Supported: the trophy deck is 2.80 mm thicker (2.40 to 3.20).",
        "next_step": "Nothing further is needed.",
        "quantity": "deck_thickness",
        "candidate": "trophy",
        "reference": "works",
        "direction": "greater",
        "margin": 2.0,
        "unit": "mm",
        "estimate": 2.8,
        "low": 2.4,
        "high": 3.2,
        "p_value": 0.0013,
        "degrees_of_freedom": 8.2,
        "standard_error": 0.17,
        "method": "nested model, Kenward-Roger",
        "candidate_blocks": 3,
        "reference_blocks": 48,
        "candidate_readings": 144,
        "reference_readings": 2304,
        "stands_after_adjustment": True,
        "components": (("block", 0.31), ("bore", 0.12), ("residual", 0.21)),
        "warnings": (Threat(code="few_blocks", text="Only 3 candidate blocks were read."),),
        "checks": (
            Check(
                name="Welch on block means",
                estimate=2.75,
                low=1.7,
                high=3.9,
                p_value=0.02,
                outcome="unresolved",
            ),
            Check(
                name="permutation of blocks",
                estimate=2.75,
                p_value=0.01,
                note="too few blocks for it to decide anything",
            ),
            Check(name="a third way", note="not made: <b>why</b>"),
        ),
    }
    return Verdict(**(usual | stated))


VERDICTS: dict[str, dict[str, Any]] = {
    "supported": {},
    "contradicted": {
        "claim": "deck-much-thicker",
        "margin": 3.5,
        "outcome": "contradicted",
        "stands_after_adjustment": False,
    },
    "same": {
        "claim": "walls-same",
        "quantity": "wall_thickness",
        "direction": "same",
        "margin": 0.2,
        "estimate": 0.03,
        "low": -0.1,
        "high": 0.16,
        "inner_low": -0.07,
        "inner_high": 0.13,
        "checks": (),
    },
    "different": {
        "claim": "iron-differs",
        "quantity": "hardness",
        "unit": "HB",
        "direction": "different",
        "margin": 0.0,
        "outcome": "unresolved",
        "standard_error": 2.9,
        "estimate": -3.1,
        "low": -9.0,
        "high": 2.8,
        "stands_after_adjustment": None,
    },
    "less": {
        "claim": "lighter",
        "quantity": "mass",
        "unit": "kg",
        "direction": "less",
        "margin": 0.0,
        "estimate": -2.2,
        "low": -3.0,
        "high": -1.4,
    },
    "no-numbers": {
        "claim": "spread",
        "figure": "spread",
        "outcome": "unresolved",
        "sentence": "Unresolved: <script>alert(1)</script> nothing is known.",
        "estimate": math.nan,
        "low": math.nan,
        "high": math.nan,
        "p_value": math.nan,
        "stands_after_adjustment": None,
        "checks": (),
        "components": (),
    },
    "hostile": {
        "claim": "<img src=x onerror=alert(1)> $\\frac{1}{0}$ | `code`",
        "statement": "<script>alert('$x_1^{2}$')</script>" * 8,
        "candidate": HOSTILE[0],
        "reference": HOSTILE[1],
        "outcome": "unresolved",
        "low": 1.2,
        "high": 3.8,
        "stands_after_adjustment": None,
    },
}


@pytest.fixture(params=SIZES)
def sample(request: pytest.FixtureRequest) -> Sample:
    """Every kind of sample, one after another."""
    return make_sample(SIZES[request.param], remembered=True)


@pytest.fixture(params=VERDICTS)
def verdict(request: pytest.FixtureRequest) -> Verdict:
    """Every kind of verdict, one after another."""
    return make_verdict(**VERDICTS[request.param])


@pytest.fixture(scope="session")
def sample_of_sizes() -> Callable[..., Sample]:
    """Give the maker of samples."""
    return make_sample


@pytest.fixture
def verdict_stating() -> Callable[..., Verdict]:
    """Give the maker of verdicts."""
    return make_verdict


@pytest.fixture
def judgement() -> Judgement:
    """All kinds of verdicts in one ledger."""
    verdicts = tuple(make_verdict(**stated) for stated in VERDICTS.values())
    return Judgement(study="s", confidence=0.95, seed=1, verdicts=verdicts)


@pytest.fixture
def settings() -> Settings:
    """Settings that name two families, in an order that is not that of the alphabet."""
    return Settings(
        title="A study",
        families={"works": Family(label="Works"), "trophy": Family(label="Trophy")},
        quantities=built_in_quantities("mm"),
    )


STUDY = """\
title = "A <b>small</b> study"

[families.works]
label = "Works"

[families.trophy]
label = "Trophy <i>$x$</i>"

[[remembered]]
family = "works"
quantity = "deck_thickness"
low = 0.4
high = 0.5
unit = "in"
who = "a <script>club</script> member"
"""


@pytest.fixture
def small_study(tmp_path: Path) -> Path:
    """Lay out a study of two families whose numbers can be reckoned by hand.

    Deck thickness: works W1 10.0 10.2 (bore 1) 10.4 10.6 (bore 2), W2 0.4 in at one place of one
    bore; trophy T1 12.00 at bore 1; one searched reading of 9.0, one doubtful of 14.0, of works.
    Rows with faults: an unknown unit, a number that is none, both hostile.
    """
    rows = [
        "block,family,quantity,value,unit,bore,station,depth,sampling,contact",
        "W1,works,deck_thickness,10.0,mm,1,front,,grid,good",
        "W1,works,deck_thickness,10.2,mm,1,rear,,grid,good",
        "W1,works,deck_thickness,10.4,mm,2,front,,grid,good",
        "W1,works,deck_thickness,10.6,mm,2,rear,,grid,good",
        "W2,works,deck_thickness,0.4,in,1,front,,grid,good",
        "T1,trophy,deck_thickness,12.00,mm,1,front,,grid,good",
        "W1,works,deck_thickness,9.0,mm,1,front,,search,good",
        "W1,works,deck_thickness,14.0,mm,1,front,,grid,doubtful",
        "W1,works,mass,41.0,kg,,,,grid,good",
        "W2,works,mass,42.0,kg,,,,grid,good",
        "W3,works,mass,43.0,kg,,,,grid,good",
        "T1,trophy,mass,44.0,kg,,,,grid,good",
        "T2,trophy,mass,45.0,kg,,,,grid,good",
        "W1,works,deck_thickness,10.0,<script>alert(1)</script>,1,front,,grid,good",
        "W1,works,deck_thickness,<b>ten</b> | $x$,mm,1,front,,grid,good",
    ]
    folder = tmp_path / "study"
    folder.mkdir()
    (folder / "study.toml").write_text(STUDY, encoding="utf-8")
    (folder / "readings.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    (folder / "claims.toml").write_text("", encoding="utf-8")
    return folder


@pytest.fixture(scope="session")
def demo_study(shipped_study: Callable[[str], Study]) -> Study:
    """Give the demo study, opened once."""
    return shipped_study("demo")


@pytest.fixture(scope="session")
def demo_judgement(judged: Callable[[str], Judgement]) -> Judgement:
    """Give the demo judged, once."""
    return judged("demo")


@pytest.fixture(scope="session")
def demo_document(demo_study: Study, demo_judgement: Judgement) -> Document:
    """Write the demo up once."""
    return write_up(demo_study, demo_judgement)
