"""Random groups that need not lie in each other: blocks, their bores, gauges and operators at once.

The normal equations of the random effects are solved in full, one row and column a group, so the
cost grows with the cube of the number of groups, whatever the number of readings. Up to some
hundred groups a fit takes well under a second; nested groups alone are cheaper by far with
`nested_fit`.

With D for the groups' indicators over cells (each row times the root of its count), C = D'D and G
their variances: W D = D K^-1 with K = s2 I + G C, D'W D = C K^-1 and |V| = s2^(n - q) |K|.

References
----------
Henderson, C. R. (1953). Estimation of variance and covariance components. Biometrics 9, 226-252;
Searle, S. R., Casella, G. and McCulloch, C. E. (1992). Variance Components. Wiley. Chapters 6 and
7 (both from memory).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from workbench.errors import Refusal
from workbench.inference.nested.cells import Cells, Codes, Floats, code_crossed_cells
from workbench.inference.nested.columns import Columns, code_columns, laid_out
from workbench.inference.nested.likelihood import Products
from workbench.inference.nested.model import assembled
from workbench.inference.nested.reml import maximise
from workbench.inference.nested.result import NestedFit
from workbench.inference.nested.sums import no_residual_spread

MOST_GROUPS = 2_000
RESIDUAL = "residual"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CrossedDesign:
    """The scaled cells `rows` (fixed columns, then the response) and the groups they lie in.

    `cross` is C, `along` D'rows; `spans` are the places of each component's groups. `squares` is
    the sum of squares within cells, on `deviations` degrees of freedom.
    """

    names: tuple[str, ...]
    rows: Floats
    root: Floats
    groups: tuple[Codes, ...]
    spans: tuple[slice, ...]
    cross: Floats
    along: Floats
    squares: float
    deviations: float

    @property
    def components(self) -> tuple[str, ...]:
        """The names of the variances, residual first."""
        return (RESIDUAL, *self.names)

    @property
    def residuals(self) -> tuple[int, ...]:
        """The places of the variances that cannot be zero."""
        return (0,)

    @property
    def readings(self) -> float:
        """The number of readings."""
        return self.deviations + len(self.rows)

    @property
    def fixed(self) -> int:
        """The number of fixed columns."""
        return int(self.rows.shape[1]) - 1

    def start(self) -> Floats:
        """Give half of the spread to the residual and share out the rest."""
        total = (float(self.rows[:, -1] @ self.rows[:, -1]) + self.squares) / self.readings
        return total / 2 * np.array([1.0, *(1 / len(self.names) for _ in self.names)])

    def products(self, theta: Floats) -> Products:
        """Give the products at the variances `theta`; see the head of this file."""
        s2, many, wide = float(theta[0]), len(theta), self.rows.shape[1]
        g = np.concatenate(
            [np.full(s.stop - s.start, v) for s, v in zip(self.spans, theta[1:], strict=True)]
        )
        k = g[:, None] * self.cross
        k[np.diag_indices_from(k)] += s2
        inverse = np.linalg.inv(k)
        t = self.cross @ inverse  # D'W D
        t2 = inverse.T @ t  # D'W W D
        u = inverse.T @ self.along  # D'W rows
        w = (self.rows - self.spread(g[:, None] * u)) / s2
        u2 = inverse.T @ self.gathered(w)
        w2 = (w - self.spread(g[:, None] * u2)) / s2
        diagonal, diagonal2 = np.diag(t), np.diag(t2)
        trace = (len(self.rows) - g @ diagonal) / s2
        one, two = np.zeros((many, wide, wide)), np.zeros((many, many, wide, wide))
        trace_one, trace_two = np.zeros(many), np.zeros((many, many))
        one[0], two[0, 0] = w.T @ w, w.T @ w2
        one[0, -1, -1] += self.squares / s2**2
        two[0, 0, -1, -1] += self.squares / s2**3
        trace_one[0] = trace + self.deviations / s2
        trace_two[0, 0] = (trace - g @ diagonal2) / s2 + self.deviations / s2**2
        for r, of_r in enumerate(self.spans, start=1):
            one[r] = u[of_r].T @ u[of_r]
            two[0, r] = u2[of_r].T @ u[of_r]
            two[r, 0] = two[0, r].T
            trace_one[r] = diagonal[of_r].sum()
            trace_two[0, r] = trace_two[r, 0] = diagonal2[of_r].sum()
            for s, of_s in enumerate(self.spans, start=1):
                two[r, s] = u[of_r].T @ t[of_r, of_s] @ u[of_s]
                trace_two[r, s] = (t[of_r, of_s] ** 2).sum()
        return Products(
            zero=np.tensordot(theta, one, axes=1),
            one=one,
            two=two,
            trace_one=trace_one,
            trace_two=trace_two,
            log_determinant=float(
                np.linalg.slogdet(k)[1] + (self.readings - len(g)) * math.log(s2)
            ),
        )

    def spread(self, effects: Floats) -> Floats:
        """Give D effects."""
        total = np.zeros_like(self.rows)
        for codes, span in zip(self.groups, self.spans, strict=True):
            total += effects[span][codes]
        return total * self.root[:, None]

    def gathered(self, rows: Floats) -> Floats:
        """Give D'rows."""
        weighted = rows * self.root[:, None]
        return np.vstack(
            [
                np.column_stack(
                    [np.bincount(codes, column, s.stop - s.start) for column in weighted.T]
                )
                for codes, s in zip(self.groups, self.spans, strict=True)
            ]
        )


def crossed_effects_fit(
    data: pd.DataFrame,
    *,
    response: str,
    fixed: Sequence[str] = (),
    random: Mapping[str, Sequence[str]],
) -> NestedFit:
    """Fit fixed factors and random groups of any kind by restricted maximum likelihood.

    How large are the differences between families when blocks, the many gauges and the many
    operators they were read with are all a draw from more of their kind?

    Parameters
    ----------
    data, response, fixed
        As for `nested_fit`: readings, or cells with `n`, `mean` and `ss`.
    random : mapping of str to sequence of str
        Each component and the columns whose labels together name its groups, such as
        ``{"block": ["block"], "bore": ["block", "bore"], "gauge": ["gauge"]}``.

    Returns
    -------
    NestedFit
        With the components of `random` in their order; contrasts as there.

    Raises
    ------
    Refusal
        `too_many_groups` above 2000 in all; `one_group` for a component with a single group;
        `nothing_random`; `not_separable` for components the readings cannot tell apart; and what
        `nested_fit` refuses of a table.

    Examples
    --------
    >>> rows = [("p1", "x", 2.1), ("p1", "y", 2.6), ("p2", "x", 2.4), ("p2", "y", 3.0),
    ...         ("p3", "x", 1.7), ("p3", "y", 2.3), ("p4", "x", 2.9), ("p4", "y", 3.3)]
    >>> table = pd.DataFrame(rows, columns=["piece", "gauge", "wall"])
    >>> fit = crossed_effects_fit(
    ...     table, response="wall", random={"piece": ["piece"], "gauge": ["gauge"]})
    >>> {name: round(sd, 3) for name, sd in fit.standard_deviations.items()}
    {'piece': 0.469, 'gauge': 0.37, 'residual': 0.068}
    """
    if not random or RESIDUAL in random or not all(random.values()):
        raise Refusal(
            "nothing_random",
            "Each random component has a name (not 'residual') and at least one column.",
        )
    cells = code_crossed_cells(data, response=response, fixed=fixed, random=random)
    counts = {name: int(codes.max()) + 1 for name, codes in zip(random, cells.groups, strict=True)}
    _check_groups(counts)
    columns = code_columns(cells)
    design, removed = _design(cells, columns, tuple(random))
    maximum = maximise(design)
    return assembled(
        cells,
        columns,
        design,
        maximum,
        removed=removed,
        order=(*random, RESIDUAL),
        counts={**counts, "reading": round(cells.readings)},
        model="crossed random effects",
    )


def _design(cells: Cells, columns: Columns, names: tuple[str, ...]) -> tuple[CrossedDesign, Floats]:
    """Scale the cells by the roots of their counts, least squares taken out of the response."""
    root = np.sqrt(cells.n)
    x = laid_out(cells, columns) * root[:, None]
    y = cells.mean * root
    removed = np.asarray(np.linalg.solve(x.T @ x, x.T @ y), dtype=np.float64)
    widths = [int(codes.max()) + 1 for codes in cells.groups]
    ends = np.cumsum(widths).tolist()
    design = CrossedDesign(
        names=names,
        rows=np.column_stack([x, y - x @ removed]),
        root=root,
        groups=cells.groups,
        spans=tuple(slice(end - width, end) for end, width in zip(ends, widths, strict=True)),
        cross=_cross(cells, widths),
        along=np.zeros((0, 0)),
        squares=float(cells.ss.sum()),
        deviations=cells.readings - len(cells.n),
    )
    left = float(design.rows[:, -1] @ design.rows[:, -1]) + design.squares
    if design.readings <= design.fixed or left <= 0:
        raise no_residual_spread(design.readings)
    return replace(design, along=design.gathered(design.rows)), removed


def _cross(cells: Cells, widths: Sequence[int]) -> Floats:
    """Count the readings of each pair of groups."""
    return np.block(
        [
            [
                np.bincount(first * more + second, cells.n, many * more).reshape(many, more)
                for second, more in zip(cells.groups, widths, strict=True)
            ]
            for first, many in zip(cells.groups, widths, strict=True)
        ]
    )


def _check_groups(counts: Mapping[str, int]) -> None:
    for name, count in counts.items():
        if count < 2:
            raise Refusal(
                "one_group", f"All readings lie in one {name}; a spread between them needs two."
            )
    total = sum(counts.values())
    if total > MOST_GROUPS:
        told = ", ".join(f"{count} of {name}" for name, count in counts.items())
        raise Refusal(
            "too_many_groups",
            f"{total} groups ({told}) are more than the {MOST_GROUPS} that are solved for in "
            "full. Take what is nested with `nested_fit` and a gauge or operator as a fixed "
            "factor.",
        )
