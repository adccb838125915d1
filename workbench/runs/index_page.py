"""The front page of a report: verdicts in words, links to every notebook, what it was made from."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from workbench.article.numbers import p_words, percent, verdict_words
from workbench.article.shared_threats import shared_threats
from workbench.article.text import clean
from workbench.runs.pages import CAUTIONS, page

if TYPE_CHECKING:
    from workbench.claims.judgement import Judgement
    from workbench.claims.verdict import Threat, Verdict
    from workbench.study import Study

OUTCOMES = ("supported", "contradicted", "unresolved")
AFTER = {None: "not decided", True: "stands", False: "does not stand"}
NO_CLAIM = "The study states no claim."
FAULTS_SHOWN = 20
TEXT_LIMIT = 2000


def index_page(
    study: Study, judgement: Judgement, manifest: Mapping[str, Any], failures: Sequence[str]
) -> str:
    """Give the page; `failures` are the lines of the notebooks that failed."""
    notebooks = manifest["notebooks"]
    pages = {job["claim"]: quote(job["page"]) for job in notebooks if job["claim"] is not None}
    links = [
        {
            "title": clean(job["title"]),
            "page": quote(job["page"]),
            "file": quote(job["file"]),
            "claim": job["claim"] is not None,
            "failed": job["failure"] is not None,
        }
        for job in notebooks
    ]
    everywhere = shared_threats(judgement.verdicts)
    faults = [fault.line() for fault in study.faults]
    shown = faults[:FAULTS_SHOWN]
    return page(
        "index.html",
        title=clean(study.title, TEXT_LIMIT),
        cautions=CAUTIONS,
        counted=counted(judgement.verdicts),
        confidence=percent(judgement.confidence),
        failures=failures,
        doubts=[clean(doubt.sentence, TEXT_LIMIT) for doubt in study.doubts],
        rows=[
            row(verdict, pages.get(verdict.claim, ""), number, everywhere)
            for number, verdict in enumerate(judgement.verdicts, start=1)
        ],
        everywhere=[written(threat) for threat in everywhere],
        records=study.records,
        faults=[clean(fault, TEXT_LIMIT) for fault in shown],
        more_faults=study.fault_count - len(shown),
        links=links,
        about=[link for link in links if not link["claim"]],
        seed=manifest["seed"],
        inputs=[(name, entry["sha256"]) for name, entry in manifest["inputs"].items()],
        versions=list(manifest["versions"].items()),
    )


def counted(verdicts: Sequence[Verdict]) -> str:
    """Say how the claims came out."""
    if not verdicts:
        return NO_CLAIM
    counts = Counter(str(verdict.outcome) for verdict in verdicts)
    parts = [f"{counts[outcome]} {outcome}" for outcome in OUTCOMES]
    noun = "claim" if len(verdicts) == 1 else "claims"
    return f"{len(verdicts)} {noun}: {', '.join(parts)}."


def row(
    verdict: Verdict, link: str, number: int, everywhere: Sequence[Threat] = ()
) -> dict[str, Any]:
    """Give one verdict as the template takes it: numbers as text, texts on one line."""
    there = verdict.has_numbers
    return {
        "anchor": f"claim-{number}",
        "claim": clean(verdict.claim),
        "outcome": verdict.outcome,
        "statement": clean(verdict.statement, TEXT_LIMIT),
        "heard_from": clean(verdict.heard_from, TEXT_LIMIT),
        "sentence": clean(verdict.sentence, TEXT_LIMIT),
        "next_step": clean(verdict.next_step, TEXT_LIMIT),
        "warnings": [written(threat) for threat in verdict.warnings if threat not in everywhere],
        "page": link,
        "difference": verdict_words(verdict, verdict),
        "p": p_words(verdict.told_p),
        "after": AFTER[verdict.stands_after_adjustment],
        "blocks": f"{verdict.candidate_blocks:,} / {verdict.reference_blocks:,}" if there else "",
    }


def written(threat: Threat) -> dict[str, str]:
    """Give a threat as the template takes it."""
    return {"code": threat.code, "text": clean(threat.text, TEXT_LIMIT)}
