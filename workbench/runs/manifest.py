"""What a run was made from and with: enough to make it again and to see whether it is the same."""

from __future__ import annotations

import hashlib
import json
import platform
from collections.abc import Mapping, Sequence
from typing import Any

from workbench.article.versions import versions

CLAIMS_FILE = "claims.toml"


def make_manifest(
    *,
    title: str,
    seed: int,
    as_of: str | None,
    confidence: float,
    inputs: Mapping[str, str],
    notebooks: Sequence[Mapping[str, Any]],
    started: str,
    seconds: float,
    kernels: str,
) -> dict[str, Any]:
    """Give the manifest; all but `started` and what is in `seconds` is the same in a second run."""
    return {
        "title": title,
        "seed": seed,
        "as_of": as_of,
        "confidence": confidence,
        "inputs": {name: {"sha256": digest} for name, digest in sorted(inputs.items())},
        "inputs_digest": digest_of(inputs),
        "claims_digest": inputs.get(CLAIMS_FILE),
        "versions": versions(),
        "platform": platform.platform(terse=True),
        "kernels": kernels,
        "notebooks": [dict(notebook) for notebook in notebooks],
        "started": started,
        "seconds": round(seconds, 2),
    }


def digest_of(inputs: Mapping[str, str]) -> str:
    """Give one digest of all inputs: of the lines `sha256  name`, sorted by name."""
    lines = "".join(f"{digest}  {name}\n" for name, digest in sorted(inputs.items()))
    return hashlib.sha256(lines.encode()).hexdigest()


def to_text(value: Any) -> str:
    """Give JSON as it is written to a file: readable, one way to write it, no NaN."""
    return json.dumps(value, indent=2, ensure_ascii=False, allow_nan=False) + "\n"
