"""Thin spots three ways: agreement on one truth, disagreement said, shapes for few, refusals."""

import pytest

from workbench.errors import Refusal
from workbench.inference.extremes.thin_spots import minima_fit, thin_spots
from workbench.inference.nested.squares import nested_squares


def minima_of(data):
    return data.groupby("block")["value"].min().to_numpy()


def test_on_one_truth_the_three_agree(drawn_study, true_minima) -> None:
    data = drawn_study(1, blocks=60)
    found = thin_spots(nested_squares(data), minima_of(data), 4.1, bores=4, seed=1)
    truth = float((true_minima(200_000) < 4.1).mean())
    assert found.disagreements == ()
    for way in (found.model, found.extreme, found.counted):
        assert way is not None
        assert way.contains(truth)
    assert found.counted.estimate == (minima_of(data) < 4.1).mean()


def test_the_model_is_the_sharper(drawn_study) -> None:
    data = drawn_study(2, blocks=60)
    found = thin_spots(nested_squares(data), minima_of(data), 4.0, bores=4, seed=1)
    assert found.model.half_width < found.counted.half_width


def test_thin_spots_the_model_does_not_know_are_said(drawn_study) -> None:
    """One place in every block is half a millimetre thinner than bores and places explain."""
    data = drawn_study(3, blocks=60)
    minima = minima_of(data) - 0.5
    found = thin_spots(nested_squares(data), minima, 3.9, bores=4, seed=1)
    assert len(found.disagreements) == 2
    assert found.disagreements[0].startswith("By the nested model, ")
    assert "by the extreme-value fit" in found.disagreements[0]
    assert found.disagreements[1].endswith("they do not agree.")


def test_few_blocks_get_no_shape(drawn_study) -> None:
    data = drawn_study(4, blocks=12)
    found = thin_spots(nested_squares(data), minima_of(data), 4.2, bores=4, seed=1)
    assert found.fit is not None
    assert found.fit.family == "gumbel-minima"
    assert minima_fit(minima_of(drawn_study(4, blocks=20))).family == "gev-minima"
    fewer = thin_spots(nested_squares(data), minima_of(data)[:4], 4.2, bores=4, seed=1)
    assert fewer.extreme is None
    assert "at least 5 blocks" in fewer.extreme_refused


def test_a_limit_beyond_all_minima(drawn_study) -> None:
    data = drawn_study(5, blocks=60)
    found = thin_spots(nested_squares(data), minima_of(data), 3.0, bores=4, seed=1)
    assert found.counted.estimate == 0
    assert found.counted.high == pytest.approx(1 - 0.025 ** (1 / 60))  # closed form of no case
    assert 0 < found.model.estimate < 1e-3


def test_the_unit_changes_nothing(drawn_study) -> None:
    data = drawn_study(6, blocks=40)
    inches = data.assign(value=data["value"] / 25.4)
    plain = thin_spots(nested_squares(data), minima_of(data), 4.1, bores=4, seed=1)
    other = thin_spots(nested_squares(inches), minima_of(inches), 4.1 / 25.4, bores=4, seed=1)
    assert other.model.estimate == pytest.approx(plain.model.estimate, rel=1e-9)
    assert other.extreme.low == pytest.approx(plain.extreme.low, rel=1e-3)
    assert other.counted == plain.counted


def test_refusals(drawn_study) -> None:
    data = drawn_study(7)
    squares = nested_squares(data)
    with pytest.raises(Refusal, match="is it in the unit of the readings"):
        thin_spots(squares, minima_of(data), 0.16, bores=4, seed=1)
    with pytest.raises(Refusal, match="thinnest places holds 0 numbers"):
        thin_spots(squares, [], 4.1, bores=4, seed=1)
    with pytest.raises(Refusal, match="Confidence must lie"):
        thin_spots(squares, minima_of(data), 4.1, bores=4, seed=1, confidence=2)
