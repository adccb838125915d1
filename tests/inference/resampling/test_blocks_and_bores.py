"""The bootstrap of blocks then bores: closed form, uneven blocks, refusals."""

import math

import numpy as np
import pytest

from workbench.errors import Refusal
from workbench.inference.resampling.blocks import bootstrap_blocks
from workbench.inference.resampling.blocks_and_bores import bootstrap_bores


def family(blocks: int, bores: int, seed: int) -> list[np.ndarray]:
    generator = np.random.default_rng(seed)
    return [generator.normal(5 + generator.normal(), 0.7, bores) for _ in range(blocks)]


def test_error_is_the_closed_form_of_two_stages() -> None:
    """Var = (spread of block means + mean within spread / bores) / blocks, all with divisor n."""
    blocks = family(9, 4, 1)
    found = bootstrap_bores(blocks, np.mean, seed=1, resamples=40_000)
    table = np.array(blocks)
    ideal = math.sqrt((table.mean(axis=1).var() + table.var(axis=1).mean() / 4) / 9)
    assert found.standard_error == pytest.approx(ideal, rel=0.02)


def test_two_stages_never_spread_less_than_one() -> None:
    blocks = family(9, 4, 2)
    one = bootstrap_blocks([block.mean() for block in blocks], np.mean, seed=1)
    two = bootstrap_bores(blocks, np.mean, seed=1)
    assert two.estimate == pytest.approx(one.estimate)
    assert two.acceleration == pytest.approx(one.acceleration)
    assert two.standard_error > one.standard_error


def test_one_bore_a_block_is_the_bootstrap_of_blocks() -> None:
    row = np.random.default_rng(3).normal(size=12)
    found = bootstrap_bores([[value] for value in row], np.mean, seed=1, resamples=40_000)
    assert found.standard_error == pytest.approx(row.std() / math.sqrt(12), rel=0.02)


def test_uneven_blocks_keep_their_number_of_bores() -> None:
    """A sum of ones counts the bores drawn: each drawn block brings as many as it has."""
    counts = (1, 2, 5)
    found = bootstrap_bores(
        [np.ones(count) for count in counts],
        lambda v, axis: v.sum(axis=axis),
        seed=1,
        combine="sum",
    )
    assert set(found.replicates) <= {a + b + c for a in counts for b in counts for c in counts}
    assert found.estimate == 8


def test_several_summaries_a_bore_and_two_families() -> None:
    def difference(own, other, axis):
        means = [s[..., 1].sum(axis=axis) / s[..., 0].sum(axis=axis) for s in (own, other)]
        return means[0] - means[1]

    own = [np.column_stack([np.full(3, 4.0), 4 * block]) for block in family(6, 3, 4)]
    other = [np.column_stack([np.full(2, 4.0), 4 * block]) for block in family(8, 2, 5)]
    found = bootstrap_bores((own, other), difference, seed=1, combine="sum")
    means = [np.mean([block[:, 1].sum() / block[:, 0].sum() for block in f]) for f in (own, other)]
    assert found.estimate == pytest.approx(means[0] - means[1])
    assert found.blocks == (6, 8)
    assert found.interval().contains(found.estimate)


def test_refusals() -> None:
    with pytest.raises(Refusal, match="Block 2 of family 1 has no bores"):
        bootstrap_bores([[1.0], [], [2.0]], np.mean, seed=1)
    with pytest.raises(Refusal, match="Family 1 has 2 blocks"):
        bootstrap_bores([[1.0], [2.0]], np.mean, seed=1)
    with pytest.raises(Refusal, match="Family 1 has 0 blocks"):
        bootstrap_bores([], np.mean, seed=1)
    with pytest.raises(Refusal, match="must have the same summaries"):
        bootstrap_bores([[1.0], [[1.0, 2.0]], [2.0]], np.mean, seed=1)
    with pytest.raises(Refusal, match="not 'median'"):
        bootstrap_bores([[1.0], [2.0], [3.0]], np.mean, seed=1, combine="median")
    with pytest.raises(Refusal, match="must be finite"):
        bootstrap_bores([[1.0], [math.nan], [3.0]], np.mean, seed=1)
    with pytest.raises(Refusal, match="Block 1 of family 1 holds something"):
        bootstrap_bores([["a"], [1.0], [3.0]], np.mean, seed=1)
