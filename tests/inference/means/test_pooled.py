"""What one spread for both families does when their spreads are not alike."""

import numpy as np
import pytest
from scipy.stats import ttest_ind

from workbench.errors import Refusal
from workbench.inference.means.pooled import false_alarms


@pytest.mark.parametrize(("n", "m"), [(2, 2), (1, 5), (5, 50), (30, 3)])
@pytest.mark.parametrize("confidence", [0.9, 0.95])
def test_alike_it_is_the_level(n: int, m: int, confidence: float) -> None:
    assert false_alarms(n, m, 1.0, confidence) == pytest.approx(1 - confidence, abs=1e-9)


@pytest.mark.parametrize(("n", "m", "ratio"), [(3, 12, 2.0), (5, 20, 3.0), (2, 8, 0.5)])
def test_against_scipy_on_drawn_blocks(n: int, m: int, ratio: float) -> None:
    generator = np.random.default_rng(2)
    own, other = (
        ratio * generator.standard_normal((n, 40_000)),
        generator.standard_normal((m, 40_000)),
    )
    found = float((ttest_ind(own, other).pvalue < 0.05).mean())
    assert false_alarms(n, m, ratio) == pytest.approx(found, abs=0.006)


def test_swapping_the_families_inverts_the_ratio() -> None:
    assert false_alarms(4, 9, 2.5) == pytest.approx(false_alarms(9, 4, 1 / 2.5), rel=1e-9)


def test_refusals() -> None:
    with pytest.raises(Refusal, match="three in all"):
        false_alarms(1, 1, 2.0)
    with pytest.raises(Refusal, match="above 0 and finite, not 0"):
        false_alarms(3, 3, 0.0)
