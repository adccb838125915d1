"""What is kept of one item of a batch: from what it was made, and how it ended.

The record is the last file written of an item and the first to go when the item is made anew, so
an item without one, or with one of another digest, is run again.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
from collections.abc import Iterator
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any
from urllib.parse import quote

from workbench.article.text import clean
from workbench.article.versions import versions
from workbench.runs.manifest import to_text
from workbench.runs.pages import CAUTIONS, stream_page
from workbench.runs.places import PACKAGE

RECORDS = "done"
NAME_LENGTH = 60
TAG_LENGTH = 8
WORDS = 500


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """How one item ended: `failure` is empty where it came to its end."""

    name: str
    about: dict[str, Any]
    digest: str
    page: str
    failure: str
    seconds: float

    def failing(self, reason: str) -> Record:
        """Give the record of the same item as one that failed."""
        return replace(self, failure=reason)


def read_record(out: Path, name: str) -> Record | None:
    """Give the record of an item; None where there is none that can be read."""
    try:
        return Record(**json.loads((out / RECORDS / f"{name}.json").read_text(encoding="utf-8")))
    except (OSError, ValueError, TypeError):
        return None


def write_record(out: Path, partial: Path, record: Record) -> None:
    """Write a record whole or not at all."""
    (out / RECORDS).mkdir(exist_ok=True)
    aside = partial / f"{record.name}.record.json"
    aside.write_text(to_text(asdict(record)), encoding="utf-8")
    os.replace(aside, out / RECORDS / f"{record.name}.json")


def forget(out: Path, name: str) -> None:
    """Remove the record of an item whose files are about to be replaced."""
    (out / RECORDS / f"{name}.json").unlink(missing_ok=True)


def digest_of_item(**parts: Any) -> str:
    """Give one digest of all that an item is made from."""
    return hashlib.sha256(json.dumps(parts, sort_keys=True).encode()).hexdigest()


def program() -> dict[str, str]:
    """Give what the results hang on beside inputs and parameters: versions, and the code itself."""
    return versions() | {"code": digest_of_folder(PACKAGE)}


def digest_of_folder(folder: Path, *, without: Path | None = None) -> str:
    """Give one digest of the files in a folder and below; hidden ones are left out."""
    whole = hashlib.sha256()
    for path in sorted(folder.rglob("*")):
        inside = path.relative_to(folder)
        hidden = any(part.startswith((".", "__pycache__")) for part in inside.parts)
        if hidden or not path.is_file() or (without and path.is_relative_to(without)):
            continue
        with path.open("rb") as stream:
            digest = hashlib.file_digest(stream, "sha256").hexdigest()
        whole.update(f"{digest}  {inside.as_posix()}\n".encode())
    return whole.hexdigest()


def file_name(raw: str, identity: str) -> str:
    """Make a name fit for a file on any system; where that loses a sign, a digest tells it apart.

    The name hangs on `raw` and `identity` alone, not on what else is run: the next call finds it.
    """
    stem = re.sub(r"[^A-Za-z0-9_-]+", "-", raw).strip("-")[:NAME_LENGTH] or "item"
    if stem == raw:
        return stem
    return f"{stem}-{tag(identity)}"


def tag(identity: str) -> str:
    """Give a few signs that tell one item from another of the same name."""
    return hashlib.sha256(identity.encode()).hexdigest()[:TAG_LENGTH]


def page_of_records(out: Path, path: Path, title: str) -> None:
    """Write the front page of a batch, an item at a time: failures first, then every item."""
    stream_page(
        "batch.html",
        path,
        title=clean(title, WORDS),
        cautions=CAUTIONS,
        failures=(row(record, out) for record in records(out) if record.failure),
        items=(row(record, out) for record in records(out)),
    )


def records(out: Path) -> Iterator[Record]:
    """Give every record of a batch by the order of names."""
    names = sorted(path.stem for path in (out / RECORDS).glob("*.json"))
    return (record for name in names if (record := read_record(out, name)) is not None)


def row(record: Record, out: Path) -> dict[str, Any]:
    """Give one record as the template takes it."""
    there = (out / record.page).is_file()
    return {
        "name": clean(record.name),
        "page": quote(record.page) if there else "",
        "about": clean(", ".join(f"{key} {value}" for key, value in record.about.items()), WORDS),
        "failure": clean(record.failure, WORDS),
    }
