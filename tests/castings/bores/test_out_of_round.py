import numpy as np
import pytest

from workbench.castings.bores.out_of_round import out_of_round
from workbench.errors import Refusal
from workbench.inference.directions.harmonics import harmonic_fit
from workbench.records.settings import Settings

DEGREES = Settings(title="Invented")


def oval(rng, amplitude=0.2, stations=range(0, 360, 45), depths=("10",)):
    return [
        {
            "station": str(d), "depth": depth,
            "mean": 4.5 + 0.1 * np.cos(np.radians(d)) - amplitude * np.cos(2 * np.radians(d - 30))
            + rng.normal(0, 0.05),
        }
        for depth in depths
        for d in stations
    ]  # fmt: skip


def test_one_depth_is_the_second_harmonic_of_its_circle(walls) -> None:
    rows = oval(np.random.default_rng(1))
    found = out_of_round(walls(rows, DEGREES), "W01", "1")
    fit = harmonic_fit(
        [float(row["station"]) for row in rows], [row["mean"] for row in rows], order=2
    )
    assert found.amplitude == pytest.approx(fit.amplitude(2))
    assert found.p_value == pytest.approx(fit.test(2).p_value)
    assert found.thin_at == pytest.approx((fit.direction(2) + 90) % 180)
    assert found.thin_at == pytest.approx(30, abs=8)
    assert found.p_value < 0.01


def test_depths_share_the_shape_but_not_the_mean(walls) -> None:
    rows = oval(np.random.default_rng(2), depths=("10", "60"))
    lower = [{**row, "mean": row["mean"] + (row["depth"] == "60")} for row in rows]
    plain, moved = (out_of_round(walls(r, DEGREES), "W01", "1") for r in (rows, lower))
    assert moved.amplitude == pytest.approx(plain.amplitude)
    assert moved.degrees_of_freedom == 16 - 6


def test_round_bores_are_called_oval_no_oftener_than_stated(walls) -> None:
    rng = np.random.default_rng(3)
    ps = [
        out_of_round(walls(oval(rng, 0.0, range(0, 360, 60)), DEGREES), "W01", "1").p_value
        for _ in range(200)
    ]
    assert np.mean(np.array(ps) < 0.2) == pytest.approx(0.2, abs=0.085)


def test_refusals(walls) -> None:
    rng = np.random.default_rng(4)
    four = walls(oval(rng, stations=(0, 90, 180, 270)), DEGREES)
    with pytest.raises(Refusal, match="at 4 angles; out of round needs 5"):
        out_of_round(four, "W01", "1")
    five = walls(oval(rng, stations=(0, 72, 144, 216, 288)), DEGREES)
    with pytest.raises(Refusal, match="just enough"):
        out_of_round(five, "W01", "1")
    with pytest.raises(Refusal, match="bore 9 of W01"):
        out_of_round(five, "W01", "9")
    flat = walls([{"station": str(d)} for d in range(0, 360, 45)], DEGREES)
    with pytest.raises(Refusal, match="exactly"):
        out_of_round(flat, "W01", "1")
