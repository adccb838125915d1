"""What a block weighed without some of its parts would have weighed: stated masses, added.

The error of a part's stated mass is one error in all blocks that lacked the part: it does not
average out over blocks, and cancels between families that lacked it as often.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import pandas as pd

from workbench.inference.grouping import rows_of
from workbench.inference.measuring.budget import Component
from workbench.inference.samples import Values
from workbench.records.allowance_table import Part, missing_parts
from workbench.records.units import factor

MASS = "mass"
MEANS = ("mean", "low", "high", "value")


@dataclass(frozen=True, slots=True, kw_only=True)
class Allowances:
    """The parts of a study, which of them each block lacked, and what no mass is stated for.

    `lacked` maps a block to the number of each part; `unstated` to the words for other parts.
    """

    parts: Mapping[str, Part] = field(default_factory=dict)
    lacked: Mapping[str, Mapping[str, int]] = field(default_factory=dict)
    unstated: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    def of(self, block: str, unit: str) -> float:
        """Give what is added to the mass of a block, in `unit`."""
        return sum(
            number * self.parts[name].mass * factor(self.parts[name].unit, unit)
            for name, number in self.lacked.get(block, {}).items()
        )

    def added(self, shown: pd.DataFrame, unit: str) -> pd.DataFrame:
        """Add the missing parts to the masses among `shown`, which has `block` and `quantity`.

        `completed` names the block whose parts were added, "" where nothing was.
        """
        block = shown["block"]
        if not self.lacked:
            return shown.assign(completed=pd.Series("", index=block.index, dtype=block.dtype))
        lacking = block.isin(list(self.lacked)) & (shown["quantity"] == MASS)
        completed = block.where(lacking, "")
        if not lacking.any():
            return shown.assign(completed=completed)
        masses = {block: self.of(block, unit) for block in shown.loc[lacking, "block"].unique()}
        more = completed.map(masses).fillna(0.0).to_numpy(float)
        there = {name: shown[name].to_numpy(float) + more for name in MEANS if name in shown}
        return shown.assign(**there, completed=completed)

    def components(self, completed: pd.Series[str], weights: Values, unit: str) -> list[Component]:
        """Give what the stated masses leave in a weighted sum of masses, one component a part."""
        sums: dict[str, float] = {}
        for block, at in rows_of(completed) if self.lacked else ():
            for name, number in self.lacked.get(block, {}).items():
                sums[name] = sums.get(name, 0.0) + number * float(weights[at].sum())
        return [
            Component(
                name=f"part {name}",
                kind="B",
                stated=self.parts[name].uncertainty * factor(self.parts[name].unit, unit),
                sensitivity=weight,
                shared=name,
            )
            for name, weight in sorted(sums.items())
        ]


def allowances_of(blocks: pd.DataFrame, parts: Mapping[str, Part]) -> Allowances:
    """Read what each block lacked from the column `missing_parts` of `blocks`."""
    lacked, unstated = {}, {}
    if "missing_parts" not in blocks:
        return Allowances(parts=parts)
    said = blocks.loc[blocks["missing_parts"].fillna("") != "", ["block", "missing_parts"]]
    for block, text in said.itertuples(index=False):
        found = missing_parts(str(text), parts)
        if found.parts:
            lacked[str(block)] = found.parts
        if found.unknown:
            unstated[str(block)] = found.unknown
    return Allowances(parts=parts, lacked=lacked, unstated=unstated)
