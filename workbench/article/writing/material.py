"""What a write-up is made from: the study, its verdicts as numbers, the register, the figures."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from workbench.article.tables import Table
from workbench.article.writing.document import TableBlock
from workbench.article.writing.number import Number, Origin
from workbench.article.writing.phrase import Phrase
from workbench.article.writing.register import Register
from workbench.article.writing.verdict_numbers import VerdictNumbers, verdict_numbers

if TYPE_CHECKING:
    from workbench.claims.judgement import Judgement
    from workbench.claims.verdict import Verdict
    from workbench.study import Study

SETTINGS, CLAIMS, BLOCKS, CALIBRATIONS = (
    "study.toml", "claims.toml", "blocks.csv", "calibrations.csv"
)  # fmt: skip
MASS = "mass"


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """One study, judged, with all its numbers entered."""

    study: Study
    judgement: Judgement
    register: Register
    verdicts: tuple[VerdictNumbers, ...]
    versions: Mapping[str, str]

    @property
    def readings(self) -> Origin:
        """Where the counts of what was read come from."""
        return Origin(notebook="records", cell="counts", inputs=inputs_of(self.study))

    @property
    def stated(self) -> Origin:
        """Where what the study states comes from."""
        return Origin(inputs=(SETTINGS,))

    def table(
        self, table: Table, name: str, origin: Origin, known: Sequence[Number] = ()
    ) -> TableBlock:
        """Take a table over from the notebooks; its numbers are quoted from it."""

        def quoted(text: str) -> Phrase:
            return self.register.quoted(text, name, origin, known)

        return TableBlock(
            name=name,
            caption=quoted(table.caption),
            columns=tuple(map(quoted, table.columns)),
            rows=tuple(tuple(map(quoted, row)) for row in table.rows),
            numeric=table.numeric,
            note=quoted(table.note),
        )


def gathered(study: Study, judgement: Judgement, versions: Mapping[str, str]) -> Material:
    """Enter the numbers of every verdict."""
    register = Register()
    names = distinct([verdict.claim for verdict in judgement.verdicts])
    return Material(
        study=study,
        judgement=judgement,
        register=register,
        verdicts=tuple(
            verdict_numbers(register, verdict, study.settings, name, inputs_of(study, verdict))
            for name, verdict in zip(names, judgement.verdicts, strict=True)
        ),
        versions=versions,
    )


def inputs_of(study: Study, verdict: Verdict | None = None) -> tuple[str, ...]:
    """Give the input files numbers rest on: all, or those that can touch a verdict."""
    untouched = set()
    if verdict is not None:
        if verdict.quantity != MASS:
            untouched.add(BLOCKS)
    else:
        untouched.add(CLAIMS)
    return tuple(name for name in study.digests if name not in untouched)


def distinct(names: Sequence[str]) -> list[str]:
    """Tell names apart that come again: a faulty ledger may use one id for two claims.

    >>> distinct(["a", "b", "a"])
    ['a', 'b', 'a again 2']
    """
    seen: dict[str, int] = {}
    result = []
    for name in names:
        seen[name] = seen.get(name, 0) + 1
        result.append(name if seen[name] == 1 else f"{name} again {seen[name]}")
    return result
