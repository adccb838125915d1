"""Records nobody would plan: whatever they are, each claim gets a verdict or a reason."""

import json

import numpy as np
import pandas as pd
import pytest

COLUMNS = ["family", "block", "bore", "station", "depth", "gauge", "value", "sampling", "contact"]


def scraps(seed):
    """Throw together readings of 0 to 4 blocks a family, most of them at odds with each other."""
    generator = np.random.default_rng(seed)
    rows = []
    for family in ("trophy", "works"):
        for block in range(generator.integers(0, 5)):
            for bore in range(generator.integers(1, 4)):
                for station in generator.choice(["f", "r", "s", ""], generator.integers(1, 4)):
                    for _ in range(generator.integers(1, 4)):
                        size = generator.choice([0, 0.01, 1])
                        rows.append(
                            (
                                family,
                                generator.choice([str(block), f"{family}{block}"]),
                                generator.choice(["", str(bore)]),
                                station,
                                generator.choice(["", "top"]),
                                generator.choice(["ug1", "ug2", "", "x"]),
                                11 + size * generator.normal() * generator.integers(0, 2),
                                generator.choice(["grid", "grid", "grid", "search"]),
                                generator.choice(["good", "good", "good", "doubtful"]),
                            )
                        )
    table = pd.DataFrame(rows, columns=COLUMNS)
    for columns in (["gauge"], ["station", "depth"], ["bore"]):
        if generator.random() < 0.3:
            table[columns] = ""
    if generator.random() < 0.2:
        table = table.drop_duplicates("block")
    return table


@pytest.mark.parametrize("start", range(0, 100, 10))
def test_every_claim_on_scraps_is_answered_or_left_open_with_a_reason(lab, start):
    claims = [
        lab.claim(id=f"{direction}-{scope}", direction=direction, scope=scope, margin=0.5)
        for direction in ("greater", "same")
        for scope in ("family", "block")
    ]
    for seed in range(start, start + 10):
        table = scraps(seed)
        if table.empty:
            continue
        judgement = lab.judge(lab.cells(table), *claims)
        json.dumps(judgement.to_json(), allow_nan=False)
        for verdict in judgement.verdicts:
            assert verdict.sentence
            assert verdict.next_step
            assert verdict.has_numbers or verdict.warnings
            if verdict.has_numbers:
                assert verdict.low <= verdict.estimate <= verdict.high
            else:
                assert verdict.outcome == "unresolved"
