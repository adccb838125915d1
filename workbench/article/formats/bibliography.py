"""The works referred to as BibTeX and as CSL JSON, for reference managers."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from typing import Any

from workbench.article.writing.references import Reference

LATEX = {
    "&": r"\&",
    "%": r"\%",
    "$": r"\$",
    "#": r"\#",
    "_": r"\_",
    "–": "--",
    "“": "``",
    "”": "''",
}
TYPES = {"article-journal": "article", "standard": "techreport"}


def bibtex(references: Iterable[Reference]) -> str:
    """Give the works as BibTeX."""
    return "\n".join(map(entry, references))


def entry(work: Reference) -> str:
    """Give one work as a BibTeX entry."""
    fields = {
        "author": " and ".join(
            f"{family}, {initials}" if initials else f"{{{family}}}"
            for family, initials in work.authors
        ),
        "title": work.title,
        "year": str(work.year),
        "journal": work.journal,
        "volume": work.volume,
        "pages": work.pages,
        "institution": work.authors[0][0] if work.sort == "standard" else "",
        "number": work.number,
    }
    lines = [f"  {name} = {{{latex(value)}}}," for name, value in fields.items() if value]
    return "\n".join([f"@{TYPES[work.sort]}{{{work.key},", *lines, "}", ""])


def latex(text: str) -> str:
    """Write a text for LaTeX."""
    return "".join(LATEX.get(sign, sign) for sign in text)


def csl_json(references: Iterable[Reference]) -> str:
    """Give the works as CSL JSON."""
    return json.dumps([item(work) for work in references], indent=1, ensure_ascii=False) + "\n"


def item(work: Reference) -> Mapping[str, Any]:
    """Give one work as a CSL item."""
    authors = [
        {"family": family, "given": initials} if initials else {"literal": family}
        for family, initials in work.authors
    ]
    fields: dict[str, Any] = {
        "id": work.key,
        "type": work.sort,
        "author": authors,
        "title": work.title,
        "issued": {"date-parts": [[work.year]]},
        "container-title": work.journal,
        "volume": work.volume,
        "page": work.pages,
        "number": work.number,
    }
    return {name: value for name, value in fields.items() if value}
