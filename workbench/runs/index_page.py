"""The front page of a report: verdicts in words, links to every notebook, what it was made from."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from workbench.records.rounding import interval_text, p_text, quantity_text
from workbench.runs.pages import page

if TYPE_CHECKING:
    from workbench.study import Study

OUTCOMES = ("supported", "contradicted", "unresolved")
FAULTS_SHOWN = 20
NOT_KNOWN = "not known"


def index_page(
    study: Study,
    verdicts: Sequence[Mapping[str, Any]],
    manifest: Mapping[str, Any],
    failures: Sequence[str],
) -> str:
    """Give the page; `verdicts` are those of verdicts.json, `failures` the lines of the failed."""
    notebooks = manifest["notebooks"]
    pages = {job["claim"]: quote(job["page"]) for job in notebooks if job["claim"] is not None}
    faults = [fault.line() for fault in (*study.ledger.faults, *study.records.faults)]
    return page(
        "index.html",
        title=manifest["title"],
        counted=counted(verdicts),
        confidence=f"{100 * manifest['confidence']:g} %",
        failures=failures,
        rows=[
            row(verdict, pages.get(verdict["claim"], ""), number)
            for number, verdict in enumerate(verdicts, start=1)
        ],
        records=study.records,
        faults=faults[:FAULTS_SHOWN],
        more_faults=study.records.fault_count
        + len(study.ledger.faults)
        - len(faults[:FAULTS_SHOWN]),
        links=[
            {
                "title": job["title"],
                "page": quote(job["page"]),
                "file": quote(job["file"]),
                "failed": job["failure"] is not None,
            }
            for job in notebooks
        ],
        seed=manifest["seed"],
        inputs=[(name, entry["sha256"]) for name, entry in manifest["inputs"].items()],
        versions=list(manifest["versions"].items()),
    )


def counted(verdicts: Sequence[Mapping[str, Any]]) -> str:
    """Say how the claims came out."""
    counts = Counter(verdict["outcome"] for verdict in verdicts)
    parts = [f"{counts[outcome]} {outcome}" for outcome in OUTCOMES]
    noun = "claim" if len(verdicts) == 1 else "claims"
    return f"{len(verdicts)} {noun}: {', '.join(parts)}."


def row(verdict: Mapping[str, Any], link: str, number: int) -> dict[str, Any]:
    """Give one verdict as the template takes it: every number as text, by the one written rule."""
    unit, step = verdict["unit"], verdict["standard_error"]
    low, high = known(verdict["low"], -math.inf), known(verdict["high"], math.inf)
    return {
        "anchor": f"claim-{number}",
        "claim": verdict["claim"],
        "outcome": verdict["outcome"],
        "statement": verdict["statement"],
        "heard_from": verdict["heard_from"],
        "sentence": verdict["sentence"],
        "next_step": verdict["next_step"],
        "warnings": verdict["warnings"],
        "page": link,
        "estimate": NOT_KNOWN
        if verdict["estimate"] is None
        else quantity_text(verdict["estimate"], step, unit),
        "interval": NOT_KNOWN
        if verdict["low"] is None and verdict["high"] is None
        else interval_text(low, high, unit, uncertainty=step),
        "p": NOT_KNOWN if verdict["p_value"] is None else p_text(verdict["p_value"]),
        "stands": {True: "yes", False: "no"}.get(verdict["stands_after_adjustment"], NOT_KNOWN),
        "blocks": f"{verdict['candidate_blocks']} against {verdict['reference_blocks']}",
    }


def known(value: float | None, otherwise: float) -> float:
    """Give `value`, or what an open end of an interval stands for."""
    return otherwise if value is None else value
