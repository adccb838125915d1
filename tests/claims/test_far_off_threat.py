from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest

from workbench.claims.verdict import Verdict
from workbench.study import open_study

SETTINGS = """title = "x"
[drawing]
bores = 2
unit = "mm"
[drawing.stations]
front = 0
thrust = 90
rear = 180
counter = 270
"""
CLAIM = """[[claim]]
id = "{figure}"
statement = "x"
quantity = "{quantity}"
figure = "{figure}"
candidate = "heavy"
reference = "plain"
direction = "greater"
unit = "mm"
"""


def judged(folder: Path, slip: str, figure: str, quantity: str = "wall_thickness") -> Verdict:
    """Judge heavy walls of 5.0 mm against plain ones of 4.5 mm, one reading of which is `slip`."""
    rng = np.random.default_rng(4)
    rows = []
    for family, wall in (("heavy", 5.0), ("plain", 4.5)):
        for block in range(8):
            for bore in (1, 2):
                for station in ("front", "thrust", "rear", "counter"):
                    value = f"{wall + rng.normal(0, 0.1):.2f}"
                    rows.append(f"{family}{block},{family},{bore},{station},{value}")
    if slip:
        rows[-1] = rows[-1].rpartition(",")[0] + f",{slip}"
    text = "".join(f"{row},mm,wall_thickness\n" for row in rows)
    (folder / "study.toml").write_text(SETTINGS)
    (folder / "readings.csv").write_text("block,family,bore,station,value,unit,quantity\n" + text)
    (folder / "claims.toml").write_text(CLAIM.format(figure=figure, quantity=quantity))
    (verdict,) = open_study(folder).judge().verdicts
    return verdict


@pytest.mark.parametrize("figure", ["mean", "thinnest"])
def test_a_slip_is_the_first_threat_and_says_what_holds_without_it(
    tmp_path: Path, figure: str
) -> None:
    sound, verdict = judged(tmp_path, "", figure), judged(tmp_path, "450", figure)
    assert sound.outcome == "supported"
    assert "far_off" not in {threat.code for threat in sound.warnings}
    first = verdict.warnings[0]
    assert first.code == "far_off"
    assert "plain7 2 counter (450 mm)" in first.text
    assert f"Without these places the claim would be {sound.outcome}" in first.text


def test_the_slip_is_counted_as_it_stands(tmp_path: Path) -> None:
    verdict = judged(tmp_path, "450", "mean")
    assert verdict.outcome == "unresolved"
    assert verdict.estimate < 0
    said = re.search(r"would be supported \((0\.\d+) mm, ", verdict.warnings[0].text)
    assert said is not None
    assert float(said[1]) == pytest.approx(0.5, abs=0.06)  # as planted


def test_a_claim_on_core_shift_is_told_of_its_walls(tmp_path: Path) -> None:
    verdict = judged(tmp_path, "450", "mean", "core_shift")
    assert verdict.warnings[0].code == "far_off"
    assert "wall thickness" in verdict.warnings[0].text
