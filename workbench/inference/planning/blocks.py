"""How many blocks: the fewest that show an aim, or what an aim has for a chance as it stands."""

from __future__ import annotations

import math
from collections.abc import Callable

from workbench.errors import Refusal
from workbench.inference.planning.aims import Aim, check_power
from workbench.inference.planning.layouts import Layout, Precision, Spreads, contrast_precision

MOST = 100_000
LEAST_OWN = 2  # blocks of a family with spreads of its own
ADD = ("each", "candidate", "reference")


def fewest(enough: Callable[[int], bool], *, least: int = 1, most: int = MOST) -> int | None:
    """Give the smallest number from which on `enough` holds, or None where `most` is too few.

    `enough` holds for all larger numbers once it does.

    Examples
    --------
    >>> fewest(lambda n: n * n >= 1000)
    32
    """
    low, high = least - 1, least
    while not enough(high):
        if high >= most:
            return None
        low, high = high, min(max(2 * high, 1), most)
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if enough(middle) else (middle, high)
    return high


def nested_power(
    aim: Aim,
    spreads: Spreads,
    candidate: Layout,
    reference: Layout,
    *,
    reference_spreads: Spreads | None = None,
    shared: float = 0.0,
) -> float:
    """Answer how likely a plan of blocks, bores and readings shows what it is meant to.

    Parameters
    ----------
    aim : Aim
        What is to be shown, and the truth supposed.
    spreads, candidate, reference, reference_spreads
        As for `contrast_precision`.
    shared : float
        A standard uncertainty (of the gauge) that no further block averages out.

    Examples
    --------
    Twenty a side against one standard deviation (R, help of power.t.test):

    >>> aim = Aim(kind="different", difference=1.0)
    >>> round(nested_power(aim, Spreads(block=1.0), Layout(blocks=20), Layout(blocks=20)), 7)
    0.868953
    """
    precision = contrast_precision(
        spreads, candidate, reference, reference_spreads=reference_spreads
    ).widened(shared)
    return power_of(aim, precision)


def power_of(aim: Aim, precision: Precision) -> float:
    """Give the chance that a plan of this precision shows the aim."""
    return aim.power(precision.standard_error, precision.degrees_of_freedom)


def fewest_blocks(
    aim: Aim,
    spreads: Spreads,
    *,
    bores: int = 1,
    readings: int = 1,
    candidate: int = 0,
    reference: int = 0,
    add: str = "each",
    power: float = 0.8,
    reference_spreads: Spreads | None = None,
    own_from: float = math.inf,
    shared: float = 0.0,
    most: int = MOST,
) -> int | None:
    """Answer how many blocks more must be measured to show the aim with `power`.

    Parameters
    ----------
    aim, spreads, reference_spreads, shared
        As for `nested_power`.
    bores, readings : int
        In each block, in each bore.
    candidate, reference : int
        Blocks measured already, alike; 0 for a plan from nothing.
    add : {"each", "candidate", "reference"}
        Where the new blocks go; "each" adds as many of both.
    power : float
        The chance wanted.
    own_from : float
        Blocks of each family from which on the analysis takes spreads apart that are common in
        truth; never where left out.
    most : int
        Beyond which no answer is sought.

    Returns
    -------
    int or None
        New blocks (of each family with "each"); 0 where what is there suffices; None where `most`
        would not do: the truth lies at the margin, the shared uncertainty is too large, or the
        other family's blocks are too few.

    Raises
    ------
    Refusal
        `bad_power`, `unknown_method` for `add`, `bad_layout`.
    """
    check_power(power)
    if add not in ADD:
        raise Refusal("unknown_method", f"add is one of {', '.join(ADD)}, not {add!r}.")
    if min(candidate, reference) < 0:
        raise Refusal("bad_layout", f"Blocks measured are 0 or more, not {candidate}, {reference}.")
    if not aim.reachable:
        return None
    grows = (add != "reference", add != "candidate")
    own = LEAST_OWN if reference_spreads is not None else 1

    def enough(more: int) -> bool:
        counts = (candidate + more * grows[0], reference + more * grows[1])
        if min(counts) < own or sum(counts) <= 2:
            return False
        layouts = [Layout(blocks=count, bores=bores, readings=readings) for count in counts]
        apart = spreads if min(counts) >= own_from else None
        return (
            nested_power(
                aim,
                spreads,
                layouts[0],
                layouts[1],
                reference_spreads=reference_spreads or apart,
                shared=shared,
            )
            >= power
        )

    return fewest(enough, least=0, most=most)
