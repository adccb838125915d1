import numpy as np
import pytest

from workbench.castings.bores.core_shift import core_shifts
from workbench.castings.bores.shift_of_block import shift_of_block
from workbench.errors import Refusal
from workbench.inference.directions.hotelling import mean_vector
from workbench.records.settings import Settings


def test_the_mean_of_the_bores_and_its_two_errors(walls, drawn) -> None:
    shifts = core_shifts(walls(drawn(np.random.default_rng(1), bore_sd=0.1)))
    found = shift_of_block(shifts, "W02")
    own = shifts.of_block("W02").bores[["x", "y"]].to_numpy()
    assert [found.as_measured.x, found.as_measured.y] == pytest.approx(own.mean(axis=0))
    assert found.as_measured.vxx == pytest.approx(shifts.bores["vxx"].iloc[0] / 4)
    assert found.of_core == mean_vector(own)
    assert list(found.bores) == ["1", "2", "3", "4"]


@pytest.mark.parametrize(
    ("shift", "bore_sd", "said"),
    [
        ((0.4, 0.0), 0.0, "together"),
        ((0.0, 0.0), 0.5, "apart"),
        ((4.0, 0.0), 0.5, "together and apart"),
        ((0.0, 0.0), 0.0, "not shown"),
    ],
)
def test_bores_that_move_together_or_each_on_its_own(walls, drawn, shift, bore_sd, said) -> None:
    rows = drawn(np.random.default_rng(3), shift=shift, bore_sd=bore_sd, place_sd=0.05)
    patterns = [shift_of_block(core_shifts(walls(rows)), f"W0{n}").pattern() for n in range(1, 7)]
    assert patterns.count(said) >= 5


def test_bores_alike_are_called_different_no_oftener_than_stated(walls, drawn) -> None:
    rng = np.random.default_rng(4)
    ps = []
    for _ in range(25):
        shifts = core_shifts(walls(drawn(rng, blocks=5)))
        ps += [shift_of_block(shifts, f"W0{n}").differ.p_value for n in range(1, 6)]
    assert np.mean(np.array(ps) < 0.2) == pytest.approx(0.2, abs=0.1)


def test_a_bore_without_a_shift_is_named_and_the_rest_answered(walls, drawn) -> None:
    rows = [
        row
        for row in drawn(np.random.default_rng(5), blocks=2)
        if row["bore"] != "3" or row["station"] in ("front", "rear")
    ]
    found = shift_of_block(core_shifts(walls(rows)), "W01")
    assert list(found.bores) == ["1", "2", "4"]
    assert "fewer than three angles" in found.not_answered["3"]
    two = [row for row in rows if row["bore"] in ("1", "3", "4")]
    found = shift_of_block(core_shifts(walls(two)), "W01")
    assert found.of_core is None
    assert "3 vectors or more" in found.not_answered["of_core"]
    one = [row for row in rows if row["bore"] == "1"]
    assert shift_of_block(core_shifts(walls(one)), "W01").differ is None


def test_refusals(walls, drawn) -> None:
    shifts = core_shifts(walls(drawn(np.random.default_rng(6), blocks=1)))
    with pytest.raises(Refusal, match="block “X”"):
        shift_of_block(shifts, "X")
    two_angles = [{"station": "0"}, {"station": "180"}]
    with pytest.raises(Refusal, match=r"No bore of W01 has a shift\. .*fewer than three"):
        shift_of_block(core_shifts(walls(two_angles, Settings(title="Invented"))), "W01")
