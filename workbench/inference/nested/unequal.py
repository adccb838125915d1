"""A nested model in which every family has spreads of its own, the places having effects in common.

The likelihood is a sum over the families, each with its own variances of blocks, bores and
readings; the fixed columns run through all of them. Degrees of freedom come from the same
formulas as with common spreads, over all the variances: for two balanced families they are
Welch's on the block means.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from workbench.errors import Refusal
from workbench.inference.nested.cells import Cells, Codes, Floats, code_cells, join
from workbench.inference.nested.columns import Columns, code_columns, fitted_means
from workbench.inference.nested.likelihood import Products
from workbench.inference.nested.model import assembled, group_labels
from workbench.inference.nested.products import NestedDesign
from workbench.inference.nested.reml import Maximum, maximise
from workbench.inference.nested.result import Method, NestedFit
from workbench.inference.nested.sums import (
    NestedSums,
    check_residual_spread,
    nested_sums,
    residual_squares,
    sums_of_part,
)
from workbench.inference.results import Difference

FEWEST_GROUPS = 2


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class UnequalDesign:
    """The sums of each family, asked together; variances come family by family."""

    families: tuple[str, ...]
    parts: tuple[NestedSums, ...]

    @property
    def components(self) -> tuple[str, ...]:
        """The names of the variances, as "component of family"."""
        return tuple(
            f"{name} of {family}"
            for family, part in zip(self.families, self.parts, strict=True)
            for name in part.components
        )

    @property
    def residuals(self) -> tuple[int, ...]:
        """The places of the families' residual variances."""
        return tuple(places.start for places in self.places())

    @property
    def readings(self) -> float:
        """The number of readings."""
        return sum(part.readings for part in self.parts)

    @property
    def fixed(self) -> int:
        """The number of fixed columns."""
        return self.parts[0].fixed

    def places(self) -> tuple[slice, ...]:
        """Give the places of each family among the variances."""
        ends = np.cumsum([len(part.components) for part in self.parts]).tolist()
        return tuple(slice(low, high) for low, high in zip([0, *ends[:-1]], ends, strict=True))

    def start(self) -> Floats:
        """Give variances to start from."""
        return np.concatenate([NestedDesign(sums=part).start() for part in self.parts])

    def products(self, theta: Floats) -> Products:
        """Give the products at the variances `theta`: sums, and none between families."""
        many, wide = len(theta), self.fixed + 1
        zero = np.zeros((wide, wide))
        one, two = np.zeros((many, wide, wide)), np.zeros((many, many, wide, wide))
        trace_one, trace_two = np.zeros(many), np.zeros((many, many))
        log_determinant = 0.0
        for places, part in zip(self.places(), self.parts, strict=True):
            own = NestedDesign(sums=part).products(theta[places])
            zero += own.zero
            one[places] = own.one
            two[places, places] = own.two
            trace_one[places] = own.trace_one
            trace_two[places, places] = own.trace_two
            log_determinant += own.log_determinant
        return Products(
            zero=zero,
            one=one,
            two=two,
            trace_one=trace_one,
            trace_two=trace_two,
            log_determinant=log_determinant,
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class UnequalModel:
    """A fitted model with spreads by family; `by` names the factor.

    `table` is the table of readings or cells itself, not a copy, `fixed` names the fixed factors
    beside `by`. `equal_sums` are those of the same readings with common spreads, for comparison.
    """

    table: pd.DataFrame
    response: str
    by: str
    fixed: tuple[str, ...]
    nesting: tuple[str, ...]
    cells: Cells
    columns: Columns
    design: UnequalDesign
    equal_sums: NestedSums
    maximum: Maximum
    fit: NestedFit

    @property
    def group_names(self) -> tuple[str, ...]:
        """The nesting levels that have a component of their own, outermost first."""
        return tuple(reversed(self.equal_sums.components[1:]))

    def labels(self, name: str) -> pd.DataFrame:
        """Give one row a group of the nesting level `name`: its label and those around it."""
        return group_labels(self.table, self.nesting, self.cells, name)

    def without(self, outer: str, *, bounded: bool = True) -> UnequalModel:
        """Fit again from the table, without the outermost group labelled `outer`."""
        column = self.table[self.nesting[0]].astype(str)
        return unequal_model(
            self.table[(column != outer).to_numpy()],
            response=self.response,
            by=self.by,
            fixed=self.fixed,
            nesting=self.nesting,
            bounded=bounded,
        )

    @property
    def variances(self) -> dict[str, dict[str, float]]:
        """The variances of each family by component, outermost first, residual last."""
        fitted, order = self.fit.variance_components, (*self.nesting, "residual")
        return {
            family: {
                name: fitted[f"{name} of {family}"]
                for name in order
                if f"{name} of {family}" in fitted
            }
            for family in self.design.families
        }

    def contrast(
        self, candidate: str, reference: str, method: Method = "kenward-roger"
    ) -> Difference:
        """Give candidate minus reference, each judged by its own spread."""
        return self.fit.contrast(self.by, candidate, reference, method)


def unequal_model(
    data: pd.DataFrame,
    *,
    response: str,
    by: str,
    fixed: Sequence[str] = (),
    nesting: Sequence[str],
    bounded: bool = True,
) -> UnequalModel:
    """Answer how far families differ when one may be more consistent than the other.

    Parameters
    ----------
    data, response, nesting
        As for `nested_fit`; one level of nesting or two, each outermost group in one family.
    by : str
        The factor whose levels have variances of their own (the family); it is a fixed factor too.
    fixed : sequence of str
        The other fixed factors.
    bounded : bool
        Whether variances are held at zero or above; see `nested_model`.

    Returns
    -------
    UnequalModel
        `contrast` for differences; `variances` by family.

    Raises
    ------
    Refusal
        `one_family`, `no_groups`; `one_block` where a family has a single outermost group, whose
        spread nothing shows; `group_in_two_families`; and what `nested_fit` refuses.

    References
    ----------
    Pinheiro, J. C. and Bates, D. M. (2000). Mixed-Effects Models in S and S-PLUS, chapter 5;
    Kenward and Roger (1997), Biometrics 53, 983-997 (the structure of V is linear in the variances
    here too). Both from memory.

    Examples
    --------
    Three blocks of each family, each read twice: Welch's analysis of the block means.

    >>> from workbench.inference.means.welch import Summary, welch
    >>> means = {"a": [4.0, 4.4, 5.1], "b": [6.3, 7.0, 8.8]}
    >>> table = pd.DataFrame(
    ...     [(family, f"{family}{place}", mean + error) for family in means
    ...      for place, mean in enumerate(means[family]) for error in (0.1, -0.1)],
    ...     columns=["family", "block", "wall"])
    >>> model = unequal_model(table, response="wall", by="family", nesting=["block"])
    >>> expected = welch(Summary.of(means["b"]), Summary.of(means["a"]))
    >>> for found in (model.contrast("b", "a"), expected):
    ...     print(f"{found.estimate:.3f}, {found.degrees_of_freedom:.3f} df")
    2.867, 2.720 df
    2.867, 2.720 df
    """
    nesting = tuple(nesting)
    if not nesting:
        raise Refusal("no_groups", "Spreads by family need at least one level of nesting.")
    cells = code_cells(data, response=response, fixed=[by, *fixed], nesting=nesting)
    columns = code_columns(cells)
    families = cells.levels[by]
    _check_families(cells, by, nesting[0])
    sums = nested_sums(cells, columns, nesting)
    left = replace(cells, mean=cells.mean - fitted_means(cells, columns, sums.removed))
    parts = tuple(
        sums_of_part(cells_of_family(left, place), columns, nesting, sums.removed)
        for place in range(len(families))
    )
    for family, part in zip(families, parts, strict=True):
        if not part.means.shape[0] and residual_squares(part)[1] <= 0:
            raise Refusal(
                "too_little_left",
                f"The fixed factors take up all {part.readings:.0f} readings of {by} {family!r}: "
                "none is left to see its spread by.",
            )
        check_residual_spread(part)
    design = UnequalDesign(families=families, parts=parts)
    maximum = maximise(design, bounded=bounded)
    return UnequalModel(
        table=data,
        response=response,
        by=by,
        fixed=tuple(fixed),
        nesting=nesting,
        cells=cells,
        columns=columns,
        design=design,
        equal_sums=sums,
        maximum=maximum,
        fit=unequal_fit(cells, columns, design, maximum, counts=sums.counts, by=by),
    )


def unequal_fit(
    cells: Cells,
    columns: Columns,
    design: UnequalDesign,
    maximum: Maximum,
    *,
    counts: Mapping[str, int],
    by: str,
) -> NestedFit:
    """Bring the maximum back to the unit of the response, the components family by family."""
    levels = dict.fromkeys(
        name for part in design.parts for name in (*reversed(part.components[1:]), "residual")
    )
    return assembled(
        cells,
        columns,
        design,
        maximum,
        removed=design.parts[0].removed,
        order=tuple(f"{name} of {family}" for family in design.families for name in levels),
        counts=counts,
        merged=tuple(dict.fromkeys(name for part in design.parts for name in part.merged)),
        model=f"nested model, spreads by {by}",
    )


def cells_of_family(cells: Cells, family: int) -> Cells:
    """Give the cells of one family, its groups numbered anew; `by` is the first factor."""
    rows = np.flatnonzero(cells.level_codes[0] == family)
    groups = []
    for codes in cells.groups:
        alone: Codes = np.zeros(len(rows), dtype=np.int8)
        groups.append(join(alone, codes[rows]).astype(np.int64))
    return replace(
        cells,
        n=cells.n[rows],
        mean=cells.mean[rows],
        ss=cells.ss[rows],
        level_codes=tuple(codes[rows] for codes in cells.level_codes),
        groups=tuple(groups),
    )


def _check_families(cells: Cells, by: str, outer: str) -> None:
    families, codes, groups = cells.levels[by], cells.level_codes[0], cells.groups[0]
    if len(families) < FEWEST_GROUPS:
        raise Refusal("one_family", f"Factor {by!r} has one level alone: {families[0]!r}.")
    seen = np.zeros((len(families), int(groups.max()) + 1), dtype=bool)
    seen[codes, groups] = True
    if (seen.sum(axis=0) > 1).any():
        raise Refusal(
            "group_in_two_families",
            f"A {outer} is read under two levels of {by!r}; spreads by {by} need each {outer} in "
            "one.",
        )
    for family, many in zip(families, seen.sum(axis=1).tolist(), strict=True):
        if many < FEWEST_GROUPS:
            raise Refusal(
                "one_block",
                f"{by} {family!r} has one {outer}: how much its {outer}s differ cannot be seen. "
                f"Measure a second {outer}, or lend it the common spread.",
            )
