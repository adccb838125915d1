"""What drawing few blocks anew is worth: the coverage behind the name of a resampled interval."""

from __future__ import annotations

import math

from scipy.special import ndtri, stdtr

from workbench.errors import Refusal
from workbench.inference.results import check_confidence

ENOUGH_BLOCKS = 20


def resampled_coverage(blocks: int, confidence: float = 0.95) -> float:
    """Answer what a percentile or BCa interval of a mean covers when the blocks are few.

    For normal blocks, in closed form: draws of k blocks spread too little by sqrt((k - 1) / k) and
    know nothing of Student's t.

    Examples
    --------
    >>> [round(resampled_coverage(k), 3) for k in (3, 5, 10, 20, 50)]
    [0.749, 0.846, 0.904, 0.929, 0.942]
    """
    check_confidence(confidence)
    if blocks < 2:
        raise Refusal("too_few_blocks", f"{blocks} blocks show no spread; 2 or more are needed.")
    reach = float(ndtri((1 + confidence) / 2)) * math.sqrt((blocks - 1) / blocks)
    return float(1 - 2 * stdtr(blocks - 1, -reach))


def few_blocks_warning(blocks: int) -> str | None:
    """Say what a reader must know of resampled intervals of few blocks; None from 20 up."""
    if blocks >= ENOUGH_BLOCKS:
        return None
    return (
        f"With {blocks} blocks a resampled interval called 95% covers about "
        f"{100 * resampled_coverage(blocks):.0f}% (for the mean of normal blocks); "
        f"from {ENOUGH_BLOCKS} blocks up it is near its name"
    )
