import math

import numpy as np
import pytest

from workbench.errors import Refusal
from workbench.inference.directions.components import vector_components


def drawn(rng, blocks, bores, depths, block_sd, bore_sd, left_sd):
    block = np.repeat(np.arange(blocks), bores * depths)
    bore = np.repeat(np.arange(blocks * bores), depths)
    vectors = (
        rng.normal(0, block_sd, (blocks, 2))[block]
        + rng.normal(0, bore_sd, (blocks * bores, 2))[bore]
        + rng.normal(0, left_sd, (block.size, 2))
    )
    return vectors, {"block": block, "bore": bore % bores}


def test_planted_scatter_is_found_on_the_average_also_unbalanced() -> None:
    """Moment estimators are unbiased; the spread of 150 of them sets the tolerance."""
    rng = np.random.default_rng(21)
    found = []
    for _ in range(150):
        vectors, levels = drawn(rng, 12, 4, 3, 0.12, 0.10, 0.08)
        kept = rng.random(len(vectors)) < 0.8
        parts = vector_components(
            vectors[kept], {name: labels[kept] for name, labels in levels.items()}
        )
        found.append([np.trace(part) / 2 for part in parts.covariances.values()])
    errors = np.std(found, axis=0) / math.sqrt(150)
    assert np.abs(np.mean(found, axis=0) - [0.0144, 0.01, 0.0064]).max() < 4 * errors.max()
    assert (np.abs(np.mean(found, axis=0) - [0.0144, 0.01, 0.0064]) < 4 * errors).all()


def test_each_axis_alone_agrees_with_its_own_nested_analysis() -> None:
    """Henderson's expected mean squares, written out from the definition by expectation."""
    rng = np.random.default_rng(22)
    vectors, levels = drawn(rng, 6, 3, 3, 0.4, 0.3, 0.2)
    kept = rng.random(len(vectors)) < 0.75
    vectors, block, bore = vectors[kept], levels["block"][kept], levels["bore"][kept]
    found = vector_components(vectors, {"block": block, "bore": bore})
    cells = block * 3 + bore
    one = {
        "block": (block[:, None] == np.unique(block)).astype(float),
        "bore": (cells[:, None] == np.unique(cells)).astype(float),
        "residual": np.eye(len(vectors)),
    }
    project = [z @ np.linalg.pinv(z) for z in (np.ones((len(vectors), 1)), *one.values())]
    lines = [project[at + 1] - project[at] for at in range(3)]
    expected = np.array([[np.trace(z.T @ q @ z) for z in one.values()] for q in lines])
    seen = np.array([vectors[:, 0] @ q @ vectors[:, 0] for q in lines])
    assert [part[0, 0] for part in found.covariances.values()] == pytest.approx(
        np.linalg.solve(expected, seen)
    )


def test_answer_turns_with_the_axes_also_at_the_boundary() -> None:
    vectors, levels = drawn(np.random.default_rng(23), 5, 4, 3, 0.0, 0.05, 0.3)
    turn = math.radians(33)
    rotation = 25.4 * np.array(
        [[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]]
    )
    plain, other = vector_components(vectors, levels), vector_components(vectors @ rotation, levels)
    assert plain.boundary
    assert plain.boundary == other.boundary
    for level in ("block", "bore", "residual"):
        assert other.covariances[level] == pytest.approx(
            rotation.T @ plain.covariances[level] @ rotation, abs=1e-9
        )
        assert (np.linalg.eigvalsh(plain.covariances[level]) >= -1e-15).all()
        assert other.share(level) == pytest.approx(plain.share(level))
        if level in plain.tests:
            assert other.tests[level].p_value == pytest.approx(plain.tests[level].p_value)


def test_a_level_that_repeats_nothing_is_merged_into_the_next() -> None:
    vectors, levels = drawn(np.random.default_rng(24), 6, 4, 1, 0.3, 0.2, 0.1)
    found = vector_components(vectors, levels)
    assert found.merged == ("bore",)
    assert set(found.covariances) == {"block", "residual"}
    one_each, labels = drawn(np.random.default_rng(25), 6, 1, 3, 0.3, 0.2, 0.1)
    assert vector_components(one_each, labels).merged == ("bore",)


def test_no_block_effect_gives_a_uniform_p() -> None:
    rng = np.random.default_rng(26)
    ps = [
        vector_components(*drawn(rng, 8, 4, 2, 0.0, 0.2, 0.1)).tests["block"].p_value
        for _ in range(400)
    ]
    assert np.mean(np.array(ps) < 0.1) == pytest.approx(0.1, abs=0.045)


def test_refusals() -> None:
    vectors = np.arange(8.0).reshape(4, 2) ** 1.5
    with pytest.raises(Refusal, match="one block only"):
        vector_components(vectors, {"block": ["a"] * 4})
    with pytest.raises(Refusal, match="holds one vector"):
        vector_components(vectors, {"block": list("abcd")})
    with pytest.raises(Refusal, match="4 vectors and 3 labels"):
        vector_components(vectors, {"block": list("abc")})
    with pytest.raises(Refusal, match="one level or two"):
        vector_components(vectors, {})
