"""The list of references as BibTeX and CSL JSON, read back by a reader of BibTeX."""

from __future__ import annotations

import json

import bibtexparser

from workbench.article.formats.bibliography import bibtex, csl_json
from workbench.article.writing.document import Document
from workbench.article.writing.references import METHODS, WORKS


def test_bibtex_is_read_back_whole() -> None:
    library = bibtexparser.parse_string(bibtex(WORKS.values()))
    assert library.failed_blocks == []
    assert {entry.key for entry in library.entries} == set(WORKS)
    for entry in library.entries:
        work = WORKS[entry.key]
        assert entry["year"] == str(work.year)
        assert entry["title"]
        assert entry["journal"] == work.journal if work.journal else entry["institution"]


def test_csl_items_have_what_the_schema_requires() -> None:
    # CSL's schema requires `id` and `type`, and dates as lists of parts (from memory).
    items = json.loads(csl_json(WORKS.values()))
    assert [item["id"] for item in items] == list(WORKS)
    for item in items:
        assert item["type"] in ("article-journal", "standard")
        assert item["issued"]["date-parts"] == [[WORKS[item["id"]].year]]
        assert all("family" in author or "literal" in author for author in item["author"])


def test_each_method_leads_to_works_that_are_there(demo_document: Document) -> None:
    assert {key for keys in METHODS.values() for key in keys} <= set(WORKS)
    keys = {work.key for work in demo_document.references}
    assert {"kenward1997", "welch1947", "holm1979", "lang2015", "jcgm100"} <= keys
