import numpy as np
import pytest

from workbench.castings.bores.boring import boring_allowance
from workbench.castings.bores.overbore_curve import POINTS, overbore_curve
from workbench.castings.bores.wall_draws import block_draws
from workbench.castings.bores.wall_limits import WallLimits
from workbench.castings.bores.wall_model import wall_model
from workbench.castings.stated_rules import Boring

THREE = WallLimits(unit="mm", everywhere=3.0)


@pytest.fixture
def room(walls, drawn):
    """Give the room for boring of W01, by default of planted walls."""

    def make(*, place_sd=0.1, shift=(0.0, 0.15), step=0.01, asked=None, limits=THREE, **given):
        rows = drawn(np.random.default_rng(1), place_sd=place_sd, shift=shift)
        places = walls([{**row, "step": step} for row in rows], **given)
        draws = block_draws(places, wall_model(places), "W01", np.random.default_rng(2))
        shared = places.gauge_uncertainty
        return boring_allowance(draws, limits, asked=asked, gauge_uncertainty=shared)

    return make


def test_without_error_the_curves_are_straight_in_closed_form(room) -> None:
    """Walls 4.6 - 0.3 cos: own centres leave 4.3 - d/2; moved by min(d/2, 0.3), as much is won."""
    found = room(place_sd=0.0, shift=(0.3, 0.0), step=1e-6, gauge_uncertainty=0.0)
    curve = overbore_curve(found, 2.0)
    over = curve["overbore"].to_numpy()
    assert len(curve) == POINTS
    assert over[[0, -1]] == pytest.approx([0.0, 2.4])
    assert curve["own"].to_numpy() == pytest.approx(4.3 - over / 2, abs=1e-3)
    won = np.minimum(over / 2, 0.3)
    assert curve["best"].to_numpy() == pytest.approx(4.3 - over / 2 + won, abs=1e-3)
    assert curve["best_sure"].to_numpy() == pytest.approx(curve["best"].to_numpy(), abs=1e-3)


def test_the_sure_wall_meets_the_limit_at_the_largest_overbore(room) -> None:
    found = room(asked=Boring(oversizes=[0.5], largest_offset=0.2))
    curve = overbore_curve(found)
    assert np.interp(-3.0, -curve["best_sure"], curve["overbore"]) == pytest.approx(
        found.one_size, abs=0.03
    )
    assert np.interp(-3.0, -curve["own_sure"], curve["overbore"]) == pytest.approx(
        found.central, abs=0.01
    )
    assert (curve["best_sure"] >= curve["own_sure"] - 1e-12).all()


def test_where_there_is_no_room_the_curve_is_still_drawn(room) -> None:
    found = room(limits=WallLimits(unit="mm", everywhere=6.0))
    assert found.one_size < 0
    curve = overbore_curve(found)
    assert curve["overbore"].max() >= 1.0
    assert (curve["best_sure"] < 6.0).all()
