import numpy as np
import pytest

from workbench.errors import Refusal
from workbench.inference.directions.roughness import surface_model
from workbench.inference.directions.surface import (
    Sheet,
    SurfaceModel,
    covariance_of,
    free_columns,
)

DEGREES = np.tile([0.0, 90, 180, 270], 3)
LEVELS = np.repeat([10.0, 60, 110], 4)
MODEL = SurfaceModel(variance=0.01, turn=45.0, reach=40.0, degrees_of_freedom=40)


def sheet(rng, noise=0.05, model=MODEL, read=12) -> Sheet:
    """Give the first `read` places of a sheet of the roughness planted."""
    degrees, levels = DEGREES[:read], LEVELS[:read]
    covariance = covariance_of(model, degrees, levels, degrees, levels)
    iron = np.linalg.cholesky(covariance + 1e-12 * np.eye(read)) @ rng.normal(size=read)
    harmonic = 4.5 - 0.2 * np.cos(np.radians(degrees - 40)) + 0.001 * (levels - 60)
    return Sheet(
        degrees=degrees,
        levels=levels,
        values=harmonic + iron + rng.normal(0, noise, read),
        noise=np.full(read, noise**2),
    )


def log_density(sheets, model: SurfaceModel) -> float:
    """Give the density of Q'y, sheet by sheet, Q being orthogonal to the free part."""
    total = 0.0
    for one in sheets:
        free = free_columns(one)
        q = np.linalg.qr(free, mode="complete")[0][:, free.shape[1] :]
        at = one.degrees, one.levels
        own = q.T @ (covariance_of(model, *at, *at) + np.diag(one.noise)) @ q
        left = q.T @ one.values
        total -= 0.5 * (np.linalg.slogdet(own)[1] + left @ np.linalg.solve(own, left))
    return total


def test_planted_roughness_is_found() -> None:
    rng = np.random.default_rng(4)
    planted = SurfaceModel(variance=0.01, turn=60.0, reach=50.0, degrees_of_freedom=1)
    found = surface_model([sheet(rng, 0.03, planted) for _ in range(150)])
    assert found.variance == pytest.approx(0.01, rel=0.25)
    assert found.turn in (45.0, 60.0, 90.0)
    assert found.degrees_of_freedom == 150 * 6


def mixed(rng) -> list[Sheet]:
    """Give sheets read alike, read with less noise, and read at fewer places."""
    return [
        *(sheet(rng) for _ in range(12)),
        *(sheet(rng, noise=0.02) for _ in range(5)),
        *(sheet(rng, read=11) for _ in range(4)),
        *(sheet(rng, read=8) for _ in range(3)),
    ]


@pytest.mark.parametrize("alike", [True, False])
def test_likelihood_is_that_of_the_contrasts(alike: bool) -> None:
    """No neighbour of the roughness chosen has a higher density, written out sheet by sheet."""
    rng = np.random.default_rng(5)
    sheets = [sheet(rng) for _ in range(12)] if alike else mixed(rng)
    best = surface_model(sheets)
    own = log_density(sheets, best)
    for scale in (1 / 1.2, 1.2):
        moved = SurfaceModel(
            variance=best.variance * scale,
            turn=best.turn,
            reach=best.reach,
            degrees_of_freedom=1,
        )
        assert log_density(sheets, moved) < own
    for turn in (30.0, 45.0, 60.0, 90.0):
        for reach in (25.0, 50.0, 100.0, 200.0):
            variances = best.variance * np.geomspace(0.25, 4, 9)
            others = [
                log_density(
                    sheets,
                    SurfaceModel(variance=v, turn=turn, reach=reach, degrees_of_freedom=1),
                )
                for v in variances
            ]
            assert max(others) <= own + 0.01


def test_the_order_of_the_sheets_is_nobodys_business() -> None:
    rng = np.random.default_rng(8)
    sheets = mixed(rng)
    there, back = surface_model(sheets), surface_model(sheets[::-1])
    assert (there.turn, there.reach) == (back.turn, back.reach)
    assert there.variance == pytest.approx(back.variance, rel=1e-6)
    assert there.degrees_of_freedom == back.degrees_of_freedom == 12 * 6 + 5 * 6 + 4 * 5 + 3 * 2


def test_refused_where_no_sheet_has_a_reading_to_spare() -> None:
    three = Sheet(
        degrees=np.array([0.0, 120, 240]),
        levels=np.zeros(3),
        values=np.array([4.4, 4.6, 4.5]),
        noise=np.full(3, 0.01),
    )
    with pytest.raises(Refusal, match="just as many places"):
        surface_model([three])
    with pytest.raises(Refusal, match="just as many places"):
        surface_model([])
