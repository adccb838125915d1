"""`numbers.json`: every number of the text with its full value and where it comes from."""

from __future__ import annotations

import json
from collections.abc import Mapping

from workbench.article.writing.document import Document


def numbers_json(document: Document, digests: Mapping[str, str]) -> str:
    """Give the numbers of a write-up as JSON; `digests` are those of its input files."""
    content = {
        "inputs": {name: {"sha256": digest} for name, digest in digests.items()},
        "numbers": [number.to_json() for number in document.numbers],
    }
    return json.dumps(content, indent=1, ensure_ascii=False, allow_nan=False) + "\n"
