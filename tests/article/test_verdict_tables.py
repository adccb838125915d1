"""What was judged, in tables."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import lxml.html
import pytest

from workbench.article.sample import Sample
from workbench.article.verdict_tables import (
    checks_table,
    claim_spread_table,
    components_table,
    effects_table,
    means_table,
    verdicts_table,
    warnings_table,
)
from workbench.claims.judgement import Judgement
from workbench.claims.verdict import Effect, Verdict
from workbench.records.settings import Settings
from workbench.runs.index_page import row as index_row
from workbench.runs.terminal import numbers_of


def test_the_ledger_has_a_row_a_claim(judgement: Judgement) -> None:
    table = verdicts_table(judgement)
    assert [row[0] for row in table.rows] == [verdict.claim for verdict in judgement.verdicts]
    assert table.rows[0][2:7] == (
        "supported",
        "2.80 (2.40 to 3.20) mm",
        "p = 0.0013",
        "3 / 48",
        "stands",
    )
    assert table.rows[1][6] == "does not stand"
    assert table.rows[5][3:5] == ("no estimate", "no p-value")
    assert not lxml.html.fromstring(f"<div>{table.html()}</div>").xpath("//script | //img")


def test_sameness_contradicted_shows_the_p_that_contradicts_it_everywhere(
    verdict_stating: Callable[..., Verdict],
) -> None:
    against = {"direction": "same", "outcome": "contradicted", "margin": 0.2}
    verdict = verdict_stating(**against, p_value=0.9991, deciding_p=0.0018, finest=0.001)
    judged = Judgement(study="s", confidence=0.95, seed=1, verdicts=(verdict,))
    assert verdicts_table(judged).rows[0][4] == "p = 0.0018"
    assert checks_table(verdict).rows[0][2] == "p = 0.0018"
    assert numbers_of(verdict)[2] == "0.0018"
    assert index_row(verdict, "", 1)["p"] == "p = 0.0018"
    open_still = replace(verdict, outcome="unresolved", p_value=0.62, deciding_p=0.31)
    assert numbers_of(open_still)[2] == "0.62"


def test_checks_stand_beside_the_analysis_that_decides(
    verdict_stating: Callable[..., Verdict],
) -> None:
    rows = checks_table(verdict_stating()).rows
    assert [row[0] for row in rows] == [
        "nested model, Kenward-Roger (decides)",
        "Welch on block means",
        "permutation of blocks",
        "a third way",
    ]
    assert [row[3] for row in rows] == [
        "supported",
        "unresolved",
        "decides nothing",
        "decides nothing",
    ]
    assert rows[3][1] == "no estimate"
    assert rows[3][4] == "not made: <b>why</b>"


def test_warnings_are_listed_or_none_is_said(verdict_stating: Callable[..., Verdict]) -> None:
    assert warnings_table(verdict_stating()).rows[0][0] == "few_blocks"
    assert warnings_table(verdict_stating(warnings=())).note == "None."


def test_shares_of_variance_add_up() -> None:
    """3, 4 and 0 squared: 36%, 64%, 0 %."""
    table = components_table("Deck", [("block", 0.3), ("bore", 0.4), ("residual", 0.0)], "mm")
    assert [row[2] for row in table.rows] == ["36%", "64%", "0%"]
    assert table.rows[0][:2] == ("blocks of a family", "0.300 mm")
    assert table.rows[2][1] == "0 mm"


def test_spreads_of_their_own_are_shared_out_family_by_family(
    verdict_stating: Callable[..., Verdict], settings: Settings
) -> None:
    """3 and 4 squared are 36% and 64% of one family, whatever the other's are."""
    parts = (("block, trophy", 0.3), ("place, trophy", 0.4), ("block, works", 2.0))
    verdict = verdict_stating(candidate="trophy", reference="works", components=parts)
    rows = claim_spread_table(verdict, settings).rows
    assert [(row[0], row[2]) for row in rows] == [
        ("blocks of a family, Trophy", "36%"),
        ("places of a bore, Trophy", "64%"),
        ("blocks of a family, Works", "100%"),
    ]


def test_a_level_that_holds_the_others_is_named_so(
    verdict_stating: Callable[..., Verdict], settings: Settings
) -> None:
    alone = verdict_stating(components=(("residual", 0.4),))
    shown = claim_spread_table(alone, settings).rows
    assert shown[0][0] == "blocks of a family and readings of one place"
    ours = claim_spread_table(replace(alone, scope="block"), settings).rows
    assert ours[0][0] == "readings of one place"
    shift = verdict_stating(components=(("block", 0.1), ("residual", 0.1)), quantity="core_shift")
    assert [row[0] for row in claim_spread_table(shift, settings).rows] == [
        "blocks of a family",
        "bores of a block",
    ]


def test_no_components_are_said_to_be_missing() -> None:
    assert "not split" in components_table("Deck", [], "mm").note


def test_a_family_of_one_block_is_named_as_such(sample_of_sizes: Callable[..., Sample]) -> None:
    table = means_table(sample_of_sizes({"works": 12, "trophy": 1}))
    assert table.rows[0][1:3] == ("12", "144")
    assert "no interval" in table.rows[1][3]
    assert "1 family with one block" in table.note


@pytest.mark.parametrize("confidence", [0.95, 0.9])
def test_the_level_of_the_intervals_is_said(
    verdict_stating: Callable[..., Verdict], confidence: float
) -> None:
    note = checks_table(verdict_stating(confidence=confidence)).note
    assert f"Intervals at {confidence:.0%}" in note


def test_sizes_are_given_with_their_unit_or_the_reason(
    verdict_stating: Callable[..., Verdict],
) -> None:
    sizes = (
        Effect(name="more", unit="%", estimate=12.661, low=11.734, high=13.594),
        Effect(name="beyond", unit="share", estimate=1 / 3, low=0.0615, high=0.7923),
        Effect(name="apart", unit="", note="All 3 blocks are equal."),
    )
    table = effects_table(replace(verdict_stating(), effects=sizes))
    assert table.rows == (
        ("more", "12.66% (11.73% to 13.59%)", ""),
        ("beyond", "33% (6.2% to 79%)", ""),
        ("apart", "", "All 3 blocks are equal."),
    )
    unnoted = effects_table(replace(verdict_stating(), effects=sizes[:2]))
    assert unnoted.rows[1] == ("beyond", "33% (6.2% to 79%)")
    assert "and for no other" in effects_table(verdict_stating()).note
