"""Studies drawn from a nested normal with a pattern of places."""

import numpy as np
import pandas as pd
import pytest

PATTERN = np.array([0.12, -0.02, -0.10, 0.0])


@pytest.fixture(scope="session")
def drawn_study():
    """Draw a table of places; `spreads` are of blocks, bores and places."""

    def draw(seed, blocks=30, bores=4, spreads=(0.22, 0.12, 0.10), mean=4.6):
        rng = np.random.default_rng(seed)
        bore = np.repeat(np.arange(blocks * bores), PATTERN.size)
        place = np.tile(np.arange(PATTERN.size), blocks * bores)
        value = (
            mean
            + spreads[0] * rng.standard_normal(blocks)[bore // bores]
            + spreads[1] * rng.standard_normal(blocks * bores)[bore]
            + spreads[2] * rng.standard_normal(bore.size)
            + PATTERN[place]
        )
        return pd.DataFrame(
            {"block": bore // bores, "bore": bore % bores, "place": place, "value": value}
        )

    return draw


@pytest.fixture(scope="session")
def true_minima():
    """Draw thinnest places of blocks with known parameters, the uncertainty left out."""

    def draw(count, bores=4, spreads=(0.22, 0.12, 0.10), mean=4.6):
        rng = np.random.default_rng(99)
        value = mean + spreads[0] * rng.standard_normal((count, 1, 1))
        value = value + spreads[1] * rng.standard_normal((count, bores, 1))
        value = value + spreads[2] * rng.standard_normal((count, bores, PATTERN.size)) + PATTERN
        return value.min(axis=(1, 2))

    return draw
