"""The cheapest plan that reaches a power, when a new block costs more than another reading.

Every plan of a grid is held against the aim: none is missed. Which plans can be enough follows from
their standard error and degrees of freedom by a short table; only those near the edge are worked
out in full.

References
----------
Cochran, W. G. (1977). Sampling Techniques, 3rd ed., sections 10.6 to 10.10, for the allocation
that is best where counts need not be whole numbers (from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import product

import numpy as np

from workbench.errors import Refusal
from workbench.inference.planning.aims import Aim, check_power
from workbench.inference.planning.layouts import Layout, Precision, Spreads, Values

SMALL, GROWTH, LARGE = 30, 1.1, 2_000  # degrees of freedom tabled one by one, then by growth


@dataclass(frozen=True, slots=True, kw_only=True)
class Costs:
    """What one more block, one more bore in a block, one more reading in a bore costs."""

    block: float
    bore: float = 0.0
    reading: float = 0.0

    def __post_init__(self) -> None:
        """Refuse costs below 0, and costs of nothing."""
        for name in ("block", "bore", "reading"):
            value = getattr(self, name)
            if not (value >= 0 and math.isfinite(value)):
                raise Refusal("bad_cost", f"The cost of a {name} is 0 or more, not {value}.")
        if self.block == self.bore == self.reading == 0:
            raise Refusal("bad_cost", "One of the costs must be above 0.")

    def of_block(self, bores: float, readings: float) -> float:
        """Give the cost of one block with so many bores and readings a bore."""
        return self.block + bores * (self.bore + readings * self.reading)


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """The largest numbers looked at: blocks of either family, bores a block, readings a bore."""

    blocks: int = 60
    bores: int = 6
    readings: int = 10

    def __post_init__(self) -> None:
        """Refuse an empty grid."""
        if min(self.blocks, self.bores, self.readings) < 1:
            raise Refusal("bad_layout", "A grid of plans has at least one block, bore and reading.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """New blocks of each family, each with `bores` and `readings` in a bore, and what they do.

    `precision` and `power` count in the blocks measured already.
    """

    candidate: int
    reference: int
    bores: int
    readings: int
    cost: float
    precision: Precision
    power: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Allocation:
    """Bores in a block and readings in a bore that tell most for their cost, in broken numbers."""

    bores: float
    readings: float


def best_allocation(spreads: Spreads, costs: Costs) -> Allocation:
    """Answer how many bores a block and readings a bore are best, whatever the budget.

    The more costly the level above, and the more the level itself varies, the more of it.

    Raises
    ------
    Refusal
        `bad_cost` or `bad_spread` where one of them is 0, and the best without bound.

    Examples
    --------
    >>> found = best_allocation(
    ...     Spreads(block=0.4, bore=0.3, reading=0.2), Costs(block=100, bore=4, reading=1))
    >>> round(found.bores, 2), round(found.readings, 2)
    (3.75, 1.33)
    """
    if min(costs.bore, costs.reading) <= 0:
        raise Refusal("bad_cost", "Where bores or readings cost nothing, no number is best.")
    if min(spreads.block, spreads.bore) <= 0:
        raise Refusal("bad_spread", "Where blocks or bores do not vary, no number is best.")
    return Allocation(
        bores=math.sqrt(costs.block / costs.bore) * spreads.bore / spreads.block,
        readings=math.sqrt(costs.bore / costs.reading) * spreads.reading / spreads.bore,
    )


def cheapest_plan(
    aim: Aim,
    spreads: Spreads,
    costs: Costs,
    *,
    reference_costs: Costs | None = None,
    reference_spreads: Spreads | None = None,
    measured: tuple[Layout | None, Layout | None] = (None, None),
    power: float = 0.8,
    shared: float = 0.0,
    grid: Grid | None = None,
) -> Plan | None:
    """Answer which further blocks, bores and readings show the aim at the least cost.

    Parameters
    ----------
    aim : Aim
        What is to be shown, and the truth supposed.
    spreads, reference_spreads : Spreads
        Of both families; or of the candidate, and the reference's own, estimated apart.
    costs, reference_costs : Costs
        Of both families; or of the candidate, and of the reference.
    measured : tuple of Layout or None
        Candidate and reference blocks there are already, at no cost; they may have other numbers of
        bores and readings than the new ones.
    power : float
        The chance wanted.
    shared : float
        A standard uncertainty that no further block averages out.
    grid : Grid, optional
        The largest plan looked at.

    Returns
    -------
    Plan or None
        None where no plan of the grid reaches the power. Of plans of equal cost the most precise.
        Degrees of freedom are those of the number of blocks (with spreads apart, Welch's), which
        is exact where all blocks are read alike.

    Raises
    ------
    Refusal
        `bad_power`.

    Examples
    --------
    >>> plan = cheapest_plan(
    ...     Aim(kind="greater", difference=0.5), Spreads(block=0.4, bore=0.3, reading=0.2),
    ...     Costs(block=100, bore=4, reading=1))
    >>> (plan.candidate, plan.reference, plan.bores, plan.readings), plan.cost
    ((13, 14, 3, 2), 3186.0)
    """
    check_power(power)
    if not aim.reachable:
        return None
    grid = grid or Grid()
    table = _NeededErrors(aim, power)
    new = _Families(spreads, reference_spreads or spreads, measured, reference_spreads is not None)
    counts = np.arange(grid.blocks + 1, dtype=float)
    parts = []
    for bores, readings in product(range(1, grid.bores + 1), range(1, grid.readings + 1)):
        variance, freedom = new.precision(counts, bores, readings, shared)
        price = costs.of_block(bores, readings) * counts[:, None]
        price = price + (reference_costs or costs).of_block(bores, readings) * counts[None, :]
        possible = np.sqrt(variance) <= table.at_most(freedom)
        ours, others = np.nonzero(possible)
        parts.append(
            np.column_stack(
                [
                    price[possible],
                    variance[possible],
                    freedom[possible],
                    ours,
                    others,
                    np.full(len(ours), bores),
                    np.full(len(ours), readings),
                ]
            )
        )
    plans = np.vstack(parts)
    for row in plans[np.lexsort((plans[:, 1], plans[:, 0]))]:
        price_of, variance_of, freedom_of, *places = row.tolist()
        reached = aim.power(math.sqrt(variance_of), freedom_of)
        if reached >= power:
            candidate, reference, bores, readings = map(int, places)
            return Plan(
                candidate=candidate,
                reference=reference,
                bores=bores,
                readings=readings,
                cost=price_of,
                precision=Precision(
                    standard_error=math.sqrt(variance_of), degrees_of_freedom=freedom_of
                ),
                power=reached,
            )
    return None


class _Families:
    """The two families as they stand, asked what new blocks would make of them."""

    def __init__(
        self,
        candidate: Spreads,
        reference: Spreads,
        measured: tuple[Layout | None, Layout | None],
        apart: bool,
    ) -> None:
        self.spreads, self.apart = (candidate, reference), apart
        self.blocks = [0 if layout is None else layout.blocks for layout in measured]
        self.known = [  # what the blocks measured tell, as inverse variances
            0.0 if layout is None
            else layout.blocks / each.of_block_mean(layout.bores, layout.readings)
            for each, layout in zip(self.spreads, measured, strict=True)
        ]  # fmt: skip

    def precision(
        self, counts: Values, bores: int, readings: int, shared: float
    ) -> tuple[Values, Values]:
        """Give variance and freedom for `counts` new candidate blocks by as many of reference."""
        with np.errstate(divide="ignore", invalid="ignore"):
            means = [
                1 / (known + counts / each.of_block_mean(bores, readings))
                for known, each in zip(self.known, self.spreads, strict=True)
            ]
            blocks = [counts + there for there in self.blocks]
            own = means[0][:, None] + means[1][None, :]
            freedom = blocks[0][:, None] + blocks[1][None, :] - 2
            if self.apart:
                parts = [mean**2 / (many - 1) for mean, many in zip(means, blocks, strict=True)]
                for part, many in zip(parts, blocks, strict=True):
                    part[many < 2] = np.inf
                freedom = own**2 / (parts[0][:, None] + parts[1][None, :])
            total = own + shared**2
            freedom = freedom * (total / own) ** 2
        out = ~((freedom > 0) & np.isfinite(own))
        return np.where(out, np.inf, total), np.where(out, 1.0, freedom)


class _NeededErrors:
    """The largest standard error that reaches the power, bounded from above by freedom."""

    def __init__(self, aim: Aim, power: float) -> None:
        steps = [float(df) for df in range(1, SMALL)]
        while steps[-1] < LARGE:
            steps.append(steps[-1] * GROWTH)
        self.freedom = np.array([*steps, np.inf])
        self.error = np.array([aim.error_needed(df, power) for df in self.freedom])

    def at_most(self, freedom: Values) -> Values:
        """Give the error needed with at least so many degrees of freedom."""
        bound: Values = self.error[np.searchsorted(self.freedom, freedom)]
        return bound
