"""A threat to every claim of a long ledger is said once, and to each claim of a short one."""

from __future__ import annotations

from collections.abc import Callable

from workbench.article.shared_threats import shared_threats
from workbench.article.verdict_tables import verdicts_table
from workbench.claims.judgement import Judgement
from workbench.claims.verdict import Threat, Verdict

ROWS = Threat(code="rejected_rows", text="2 of the 9 rows of the study were not used.")
FEW = Threat(code="few_blocks", text="Only 3 blocks were measured.")
OTHER_FEW = Threat(code="few_blocks", text="Only 4 blocks were measured.")


def ledger(make: Callable[..., Verdict], *threats: tuple[Threat, ...]) -> tuple[Verdict, ...]:
    return tuple(make(claim=f"c{n}", warnings=of) for n, of in enumerate(threats))


def test_a_threat_is_shared_where_every_claim_has_it_in_the_same_words(
    verdict_stating: Callable[..., Verdict],
) -> None:
    three = ledger(verdict_stating, (FEW, ROWS), (ROWS, OTHER_FEW), (ROWS,))
    assert shared_threats(three) == (ROWS,)
    assert shared_threats(ledger(verdict_stating, (ROWS,), (ROWS,), ())) == ()
    assert shared_threats(three[:2]) == ()
    assert shared_threats(()) == ()


def test_the_ledger_says_it_once(verdict_stating: Callable[..., Verdict]) -> None:
    verdicts = ledger(verdict_stating, (FEW, ROWS), (ROWS,), (ROWS,))
    table = verdicts_table(Judgement(study="s", confidence=0.95, seed=1, verdicts=verdicts))
    assert [row[-1] for row in table.rows] == ["few blocks", "", ""]
    assert table.note.endswith(f"Of every claim: {ROWS.text} (rejected rows)")
