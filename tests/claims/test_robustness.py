from __future__ import annotations

import numpy as np
import pytest

CODES = ("influential_block", "uneven_difference")


def told(verdict, code: str) -> list[str]:
    return [threat.text for threat in verdict.warnings if threat.code == code]


def families(lab, *, candidate: list[float], reference: list[float]):
    rows = [
        (family, f"{family[0].upper()}{number}", "1", station, mean + 0.01 * at)
        for family, means in (("trophy", candidate), ("works", reference))
        for number, mean in enumerate(means)
        for station in ("front", "rear")
        for at in (-1, 1)
    ]
    return lab.cells(lab.table(rows, "family block bore station value"))


NEAR = [5.00, 5.04, 5.08, 5.12, 5.16, 5.20]


def test_a_verdict_that_hangs_on_one_block_names_it(lab) -> None:
    candidate = [5.18, 5.20, 5.22, 5.24, 5.26, 4.60]
    cells = families(lab, candidate=candidate, reference=NEAR)
    verdict = lab.judge(cells, lab.claim()).verdicts[0]
    assert verdict.outcome == "unresolved"
    (text,) = told(verdict, "influential_block")
    assert "trophy block T5" in text.replace("Trophy", "trophy")
    assert "would be supported" in text
    without = families(lab, candidate=candidate[:-1], reference=NEAR)
    again = lab.judge(without, lab.claim()).verdicts[0]
    assert again.outcome == "supported"


@pytest.mark.parametrize("apart", [0.0, 3.0])
def test_a_verdict_that_no_block_turns_says_nothing(lab, apart: float) -> None:
    cells = families(lab, candidate=[value + apart for value in NEAR], reference=NEAR)
    verdict = lab.judge(cells, lab.claim()).verdicts[0]
    assert not told(verdict, "influential_block")


def profiles(lab, *, at_rear: float):
    generator = np.random.default_rng(4)
    rows = [
        (family, f"{family[0].upper()}{number}", "1", station,
         5 + 0.1 * level + at_rear * (family == "trophy" and station == "rear")
         + 0.05 * generator.standard_normal())
        for family in ("trophy", "works")
        for number, level in enumerate(generator.standard_normal(8))
        for station in ("front", "rear")
        for _ in range(3)
    ]  # fmt: skip
    return lab.cells(lab.table(rows, "family block bore station value"))


def test_thicker_here_and_not_there_is_told(lab) -> None:
    verdict = lab.judge(profiles(lab, at_rear=0.4), lab.claim()).verdicts[0]
    (text,) = told(verdict, "uneven_difference")
    assert "at station rear" in text.split(",")[0] or "at station rear" in text
    assert text.index("station rear") < text.index("station front")
    even = lab.judge(profiles(lab, at_rear=0.0), lab.claim()).verdicts[0]
    assert not told(even, "uneven_difference")


def test_an_uneven_difference_is_rarely_seen_where_there_is_none(lab) -> None:
    seen = 0
    for seed in range(60):
        parts = [lab.readings(name, 5, blocks=6, seed=seed) for name in ("trophy", "works")]
        verdict = lab.judge(lab.cells(*parts), lab.claim()).verdicts[0]
        seen += bool(told(verdict, "uneven_difference"))
    assert seen <= 4  # at a nominal 1 in 100: five or more have a chance below 1 in 2000


def test_claims_on_the_blocks_measured_ask_neither(lab) -> None:
    verdict = lab.judge(profiles(lab, at_rear=0.4), lab.claim(scope="block")).verdicts[0]
    assert not any(told(verdict, code) for code in CODES)
