"""What the terminal shows: tables of what is there, of faults, of verdicts.

Study text comes from strangers: it is shown as text, its control signs spelled out, so that it can
neither colour nor steer the terminal.
"""

from __future__ import annotations

import os
import sys
from typing import TYPE_CHECKING, Any

from rich import box
from rich.console import Console
from rich.table import Table
from rich.text import Text

from workbench.article.shared_threats import shared_threats
from workbench.article.text import counted
from workbench.records.rounding import interval_text, p_text, quantity_text

if TYPE_CHECKING:
    from collections.abc import Sequence

    from workbench.article.checking.finding import Finding
    from workbench.claims.judgement import Judgement
    from workbench.claims.verdict import Verdict
    from workbench.records.notice import Notice
    from workbench.runs.article_run import ArticleSummary
    from workbench.runs.batch import BatchSummary
    from workbench.runs.runner import RunSummary
    from workbench.study import Study

NAME_WIDTH = 24
FAULTS_SHOWN = 40
EXCERPT = 160
WIDTH_WITHOUT_TERMINAL = 100
CAUTION = (
    "Wall and deck limits are common practice, not a standard. A thickness map does not find "
    "cracks, porosity or corrosion. Final judgement rests with a qualified machinist or engineer "
    "who has the block in hand."
)


def safe(text: object) -> Text:
    """Give study text as plain text: no markup, control signs spelled out."""
    return Text("".join(sign if sign.isprintable() else repr(sign)[1:-1] for sign in str(text)))


def console() -> Console:
    """Give a console on standard output; of a fixed width where that is no terminal."""
    width = None if sys.stdout.isatty() or "COLUMNS" in os.environ else WIDTH_WITHOUT_TERMINAL
    return Console(width=width, highlight=False, markup=False, emoji=False, soft_wrap=False)


def table(*headings: str, title: str = "") -> Table:
    """Give an empty table in the one style used."""
    made = Table(box=box.SIMPLE_HEAD, title=title or None, title_justify="left", title_style="bold")
    for heading in headings:
        made.add_column(heading, overflow="fold")
    return made


def print_verdicts(judgement: Judgement) -> None:
    """Print one row a claim, then each claim's sentence, threats and next step."""
    out = console()
    out.print(safe(judgement.study))
    out.print(verdict_table(judgement))
    everywhere = shared_threats(judgement.verdicts)
    for threat in everywhere:
        out.print(safe(f"Of every claim: {threat.text} [{threat.code}]"))
    if everywhere:
        out.print()
    for verdict in judgement.verdicts:
        out.print(Text.assemble((f"{verdict.outcome}  ", "bold"), safe(verdict.claim)))
        out.print(indented("claim", verdict.statement))
        out.print(indented("found", verdict.sentence))
        if verdict.analysis:
            out.print(indented("by", f"{verdict.analysis}. {verdict.analysis_reason}"))
        for threat in verdict.warnings:
            if threat not in everywhere:
                out.print(indented("threat", f"{threat.text} [{threat.code}]"))
        out.print(indented("next", verdict.next_step))
        out.print()
    out.print(Text(CAUTION, style="italic"))


def indented(label: str, text: str) -> Table:
    """Give a labelled paragraph that wraps under itself."""
    grid = Table.grid(padding=(0, 1))
    grid.add_column(width=8, justify="right", style="dim")
    grid.add_column(overflow="fold")
    grid.add_row(label, safe(text))
    return grid


def print_doubts(out: Console, doubts: Sequence[Notice]) -> None:
    """Print what to look at before the answer below is believed."""
    for doubt in doubts:
        out.print(indented("look at", f"{doubt.sentence} [{doubt.code}]"))


def print_cautions(out: Console) -> None:
    """Print the cautions that stand beside every figure of fitness."""
    from workbench.castings.cautions import CAUTIONS

    out.print(Text(" ".join(CAUTIONS), style="italic"))


def verdict_table(judgement: Judgement) -> Table:
    """Give the table of verdicts, one row a claim."""
    confidence = f"{100 * judgement.confidence:g}%"
    made = table("claim", "outcome", "estimate", f"{confidence} interval", "p", "blocks")
    # Other columns fold between words; a name would fold in the middle of one.
    longest = max((len(verdict.claim) for verdict in judgement.verdicts), default=0)
    made.columns[0].no_wrap = longest <= NAME_WIDTH
    for verdict in judgement.verdicts:
        made.add_row(safe(verdict.claim), verdict.outcome, *numbers_of(verdict))
    return made


def numbers_of(verdict: Verdict) -> tuple[str, str, str, str]:
    """Give estimate, interval, p and counts of blocks as text, each empty where there is none."""
    blocks = f"{verdict.candidate_blocks} / {verdict.reference_blocks}"
    if not verdict.has_numbers:
        return "", "", "", blocks
    error, finest = verdict.standard_error, verdict.finest
    return (
        quantity_text(verdict.estimate, error, verdict.unit, finest),
        interval_text(verdict.low, verdict.high, verdict.unit, uncertainty=error, step=finest),
        p_text(verdict.told_p).removeprefix("p ").removeprefix("= "),
        blocks,
    )


def print_summary(summary: RunSummary) -> None:
    """Print the verdicts of a run, the failures, and where the report is."""
    out = console()
    out.print(safe(summary.judgement.study))
    if summary.judgement.verdicts:
        out.print(verdict_table(summary.judgement))
    else:
        out.print("The study states no claim; the notebooks that need none were run.")
    for failure in summary.failed:
        out.print(Text.assemble(("failed  ", "bold"), safe(failure.line())))
    out.print(Text(CAUTION, style="italic"))
    seconds = f"{summary.seconds:.1f} s"
    out.print(f"{summary.notebooks} notebooks in {seconds}, {len(summary.failed)} failed.")
    print(f"Report: {summary.index}")


def print_batch(summary: BatchSummary) -> None:
    """Print what a batch came to: its first failures, the counts, and where its pages are."""
    out = console()
    for record in summary.failures[:FAULTS_SHOWN]:
        out.print(Text.assemble(("failed  ", "bold"), safe(f"{record.name}: {record.failure}")))
    if summary.failed > FAULTS_SHOWN:
        out.print(f"… and {summary.failed - FAULTS_SHOWN} more; the front page names all.")
    out.print(Text(CAUTION, style="italic"))
    out.print(
        f"{summary.done} item{'' if summary.done == 1 else 's'} run in {summary.seconds:.1f} s, "
        f"{summary.failed} failed; "
        f"{summary.skipped} were done before."
    )
    print(f"Items: {summary.index}")


def print_article(summary: ArticleSummary) -> None:
    """Print where an article is, and how much of it there is."""
    out = console()
    out.print(
        f"{summary.claims} claims written up: {summary.figures} figures, {summary.tables} tables, "
        f"{summary.numbers} numbers, each traced in numbers.json."
    )
    out.print(Text(CAUTION, style="italic"))
    print(f"Article: {summary.folder}")


def print_findings(findings: Sequence[Finding]) -> None:
    """Print what was found in a draft, with its line and what to write instead."""
    out = console()
    for finding in findings:
        excerpt = finding.excerpt
        short = excerpt if len(excerpt) <= EXCERPT else f"{excerpt[:EXCERPT]}…"
        out.print(Text.assemble((f"line {finding.line}  ", "bold"), finding.code))
        out.print(indented("says", short))
        out.print(indented("wrong", finding.text))
        out.print(indented("instead", finding.suggestion))
        out.print()
    count = len(findings)
    out.print(f"{count} finding{'' if count == 1 else 's'}." if count else "Nothing found.")
    out.print("The check reads words and numbers, not meaning: read the draft against the article.")


def print_check(study: Study) -> None:
    """Print what a study holds, what its grid lacks, what to know of it, and its faults."""
    from workbench.records.coverage import coverage, gaps

    out = console()
    records = study.records
    out.print(safe(study.title))
    held = table("family", "quantity", "blocks", "bores", "readings", title="What is there")
    for row in rows_of(coverage(records)):
        held.add_row(*row)
    out.print(held)
    missing = gaps(records, study.settings)
    if missing:
        lacking = table("family", "quantity", "what is missing", title="Missing from the grid")
        for gap in missing:
            lacking.add_row(safe(gap.family), safe(gap.quantity), safe(gap.sentence))
        out.print(lacking)
    for notice in study.notices:
        out.print(indented("notice", f"{notice.sentence} [{notice.code}]"))
    print_faults(out, study)
    rows = "row" if records.rows_in == 1 else "rows"
    claims = len(study.ledger.ids)
    out.print(
        f"{records.rows_in} {rows} in = {records.accepted} accepted + {records.rejected} rejected; "
        f"{counted(claims, 'claim')}, {counted(len(study.ledger.faults), 'fault')} in "
        f"{'it' if claims == 1 else 'them'}."
    )


def rows_of(frame: Any) -> list[list[Text]]:
    """Give the rows of a frame as safe text."""
    return [[safe(cell) for cell in row] for row in frame.itertuples(index=False)]


def print_faults(out: Console, study: Study) -> None:
    """Print the faults, the first of them when there are many, and how many there are."""
    faults, count = study.faults, study.fault_count
    if not count:
        out.print("No faults.")
        return
    out.print(Text(f"Faults ({count})", style="bold"))
    for fault in faults[:FAULTS_SHOWN]:
        out.print(indented("fault", fault.line()))
    if count > FAULTS_SHOWN:
        out.print(f"… and {count - FAULTS_SHOWN} more; --rejected FILE.csv writes all rows.")
