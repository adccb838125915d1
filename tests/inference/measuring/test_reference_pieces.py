"""Reference pieces: which reading belongs to which, and how well each is known."""

from __future__ import annotations

import numpy as np
import pytest

from workbench.errors import Refusal
from workbench.inference.measuring.reference_pieces import named_pieces, uncertainty_of_each

REFERENCES = np.array([8.0, 3.0, 8.0])


def test_without_names_a_value_is_a_piece() -> None:
    names, place = named_pieces(None, REFERENCES)
    assert names == ["piece 3", "piece 8"]
    assert place.tolist() == [1, 0, 1]


def test_names_keep_pieces_of_one_value_apart() -> None:
    names, place = named_pieces(["b", "c", "a"], REFERENCES)
    assert names == ["a", "b", "c"]
    assert [names[number] for number in place] == ["b", "c", "a"]


def test_an_uncertainty_for_all_or_for_each() -> None:
    names, place = named_pieces(None, REFERENCES)
    assert uncertainty_of_each(0.02, names, place).tolist() == [0.02, 0.02]
    assert uncertainty_of_each([0.05, 0.01, 0.05], names, place).tolist() == [0.01, 0.05]


def test_what_is_refused() -> None:
    names, place = named_pieces(None, REFERENCES)
    with pytest.raises(Refusal, match="The piece “a” is given two references, 3 and 8"):
        named_pieces(["a", "a", "b"], REFERENCES)
    with pytest.raises(Refusal, match="3 of one and 2 of the other"):
        named_pieces(["a", "b"], REFERENCES)
    with pytest.raises(Refusal, match="“piece 8” is given with two different uncertainties"):
        uncertainty_of_each([0.05, 0.01, 0.04], names, place)
    with pytest.raises(Refusal, match="one for each of 3 readings; there are 2"):
        uncertainty_of_each([0.05, 0.01], names, place)
    with pytest.raises(Refusal, match="the least is -0"):
        uncertainty_of_each(-0.01, names, place)
