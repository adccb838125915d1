"""Precision of a plan: what the model reports on a table of that layout, limits, refusals."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from workbench.errors import Refusal
from workbench.inference.nested.kenward_roger import degrees_of_freedom, inverse_information
from workbench.inference.nested.likelihood import likelihood
from workbench.inference.nested.model import nested_model
from workbench.inference.planning.layouts import (
    Layout,
    Precision,
    Spreads,
    contrast_precision,
    mean_precision,
)
from workbench.inference.results import Difference

SPREADS = Spreads(block=0.4, bore=0.3, reading=0.2)


def table(candidate, reference):
    rng = np.random.default_rng(1)
    return pd.DataFrame(
        [
            (family, f"{family}{block}", str(bore), rng.normal())
            for family, layout in (("a", candidate), ("b", reference))
            for block in range(layout.blocks)
            for bore in range(layout.bores)
            for _ in range(layout.readings)
        ],
        columns=["family", "block", "bore", "wall"],
    )


LAYOUTS = [
    (Layout(blocks=5, bores=3, readings=2), Layout(blocks=7, bores=3, readings=2)),
    (Layout(blocks=5, bores=2, readings=4), Layout(blocks=7, bores=6, readings=2)),
    (Layout(blocks=1, bores=6, readings=5), Layout(blocks=12, bores=4, readings=2)),
    (Layout(blocks=3, bores=1, readings=4), Layout(blocks=4, bores=2, readings=1)),
]


@pytest.mark.parametrize(("candidate", "reference"), LAYOUTS)
def test_is_what_the_model_would_report_at_these_spreads(candidate, reference):
    """The likelihood of a table of that layout, at the variances supposed: no maximum sought."""
    model = nested_model(
        table(candidate, reference), response="wall", fixed=["family"], nesting=["block", "bore"]
    )
    theta = np.array([SPREADS.reading**2, SPREADS.bore**2, SPREADS.block**2])
    at = likelihood(model.design, theta)
    row = np.array([0.0, 1.0])
    slopes = np.einsum(
        "i,rij,j->r", row, at.covariance @ at.products.one[:, :-1, :-1] @ at.covariance, row
    )
    known = inverse_information(at.expected, np.ones(3, dtype=bool))
    found = contrast_precision(SPREADS, candidate, reference)
    assert found.standard_error == pytest.approx(float(row @ at.covariance @ row) ** 0.5)
    assert found.degrees_of_freedom == pytest.approx(
        degrees_of_freedom(float(row @ at.covariance @ row), slopes, known), rel=1e-6
    )


def test_alike_layouts_have_blocks_less_two_by_either_road():
    alike = contrast_precision(SPREADS, LAYOUTS[0][0], LAYOUTS[0][1])
    assert alike.degrees_of_freedom == 10
    nearly = contrast_precision(
        Spreads(block=1.0, bore=1e-4, reading=1e-4), LAYOUTS[1][0], LAYOUTS[1][1]
    )
    assert nearly.degrees_of_freedom == pytest.approx(10, abs=1e-4)


def test_own_spreads_have_welchs_freedom():
    ours, others = Layout(blocks=4, bores=2), Layout(blocks=9, bores=5, readings=3)
    wide = Spreads(block=1.5, bore=0.3)
    found = contrast_precision(wide, ours, others, reference_spreads=SPREADS)
    first = wide.of_block_mean(2, 1) / 4
    second = SPREADS.of_block_mean(5, 3) / 9
    welch = (first + second) ** 2 / (first**2 / 3 + second**2 / 8)
    assert found.standard_error**2 == pytest.approx(first + second)
    assert found.degrees_of_freedom == pytest.approx(welch)


def test_more_of_anything_never_tells_less():
    base = contrast_precision(SPREADS, Layout(blocks=4, bores=2), Layout(blocks=6, bores=2))
    for more in (
        Layout(blocks=5, bores=2), Layout(blocks=4, bores=3), Layout(blocks=4, bores=2, readings=2)
    ):  # fmt: skip
        found = contrast_precision(SPREADS, more, Layout(blocks=6, bores=2))
        assert found.standard_error < base.standard_error


def test_widening_is_that_of_a_difference():
    precision = Precision(standard_error=0.3, degrees_of_freedom=8.0).widened(0.2)
    difference = Difference(
        estimate=1.0, standard_error=0.3, degrees_of_freedom=8.0, method="any"
    ).widened(0.2)
    assert precision.standard_error == difference.standard_error
    assert precision.degrees_of_freedom == pytest.approx(difference.degrees_of_freedom)
    same = Precision(standard_error=0.3, degrees_of_freedom=8.0)
    assert same.widened(0.0) == same


def test_the_mean_of_one_family_against_drawn_blocks():
    rng = np.random.default_rng(2)
    layout = Layout(blocks=5, bores=3, readings=2)
    block = rng.normal(0, 0.4, (20_000, 5, 1, 1))
    bore = rng.normal(0, 0.3, (20_000, 5, 3, 1))
    means = (block + bore + rng.normal(0, 0.2, (20_000, 5, 3, 2))).mean(axis=(2, 3))
    found = mean_precision(SPREADS, layout)
    assert means.mean(axis=1).std() == pytest.approx(found.standard_error, rel=0.02)
    t = means.mean(axis=1) / (means.std(axis=1, ddof=1) / 5**0.5)
    inside = np.abs(t) < stats.t.ppf(0.975, found.degrees_of_freedom)
    assert inside.mean() == pytest.approx(0.95, abs=0.007)


def test_refusals():
    with pytest.raises(Refusal, match="spread of a bore is 0 or more, not -1"):
        Spreads(block=1, bore=-1)
    with pytest.raises(Refusal, match="One of the spreads must be above 0"):
        Spreads(block=0)
    with pytest.raises(Refusal, match="blocks are whole numbers from 1 up, not 0"):
        Layout(blocks=0)
    with pytest.raises(Refusal, match=r"readings are whole numbers from 1 up, not 1\.5"):
        Layout(blocks=1, readings=1.5)
    with pytest.raises(Refusal, match="One block shows no spread"):
        mean_precision(SPREADS, Layout(blocks=1))
    with pytest.raises(Refusal, match="One block of each family shows no spread"):
        contrast_precision(SPREADS, Layout(blocks=1), Layout(blocks=1))
    with pytest.raises(Refusal, match="A family of one block shows no spread of its own"):
        contrast_precision(SPREADS, Layout(blocks=1), Layout(blocks=9), reference_spreads=SPREADS)
    with pytest.raises(Refusal, match="A standard uncertainty is 0 or more"):
        Precision(standard_error=1, degrees_of_freedom=1).widened(-1)
