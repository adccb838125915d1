"""The ledger: claims.toml read and checked, every fault at once with the key it stands at.

Keys count as people do: `claim[2].margin` is the margin of the second claim in the file.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection
from pathlib import Path
from typing import Any

from workbench.claims.claim import NO_CLAIMS, Claim, FaultyClaim, Ledger
from workbench.claims.fields import ClaimChecker
from workbench.errors import StudyError
from workbench.records.faults import Fault, FaultsError
from workbench.records.settings import Settings
from workbench.records.tomlfile import read_toml

__all__ = ["Claim", "FaultyClaim", "Ledger", "load_ledger"]

MOST_CLAIMS = 2_000
LONGEST_KEY = 80


def load_ledger(
    path: Path, settings: Settings, *, families: Collection[str] | None = None
) -> Ledger:
    """Read the claims file at `path` and check each claim against the study.

    Parameters
    ----------
    path : Path
        The claims file; one that is missing or is not TOML gives a fault and no claims.
    settings : Settings
        Says which quantities, units and families are known.
    families : collection of str, optional
        The families met in the readings; left out, no family can be told to be unknown.

    Returns
    -------
    Ledger
        Faulty claims stay in their place as `FaultyClaim`; nothing is raised.
    """
    if not path.exists():
        sentence = "There is no such file; the study states no claim."
        return Ledger(entries=(), faults=(_fault(path, "", NO_CLAIMS, sentence),))
    try:
        content = read_toml(path)
    except FaultsError as error:
        return Ledger(entries=(), faults=error.faults)
    except StudyError as error:
        return Ledger(entries=(), faults=(_fault(path, "", "unreadable", str(error)),))
    faults = [
        _fault(path, key, "unknown_key", "The file holds [[claim]] tables and nothing else.")
        for key in content
        if key != "claim"
    ]
    tables = content.get("claim", [])
    if not isinstance(tables, list) or not all(isinstance(table, dict) for table in tables):
        faults.append(_fault(path, "claim", "wrong_type", "A claim starts with a line [[claim]]."))
        tables = []
    elif not tables:
        faults.append(_fault(path, "claim", NO_CLAIMS, "The file states no claim."))
    elif len(tables) > MOST_CLAIMS:
        sentence = f"A ledger holds at most {MOST_CLAIMS} claims; this one has {len(tables)}."
        faults.append(_fault(path, "claim", "too_many_claims", sentence))
        tables = []
    entries = _entries(path, tables, settings, families)
    for entry in entries:
        if isinstance(entry, FaultyClaim):
            faults.extend(entry.faults)
    return Ledger(entries=entries, faults=tuple(faults))


def _entries(
    path: Path,
    tables: list[dict[str, Any]],
    settings: Settings,
    families: Collection[str] | None,
) -> tuple[Claim | FaultyClaim, ...]:
    printed = (summary.family for summary in settings.summaries)
    known = (
        None
        if families is None
        else tuple(dict.fromkeys((*settings.families, *families, *printed)))
    )
    taken = Counter(table["id"] for table in tables if isinstance(table.get("id"), str))
    seen: set[str] = set()
    entries: list[Claim | FaultyClaim] = []
    for number, table in enumerate(tables, start=1):
        checker = ClaimChecker(
            file=path.name, number=number, table=table, settings=settings, families=known
        )
        fields = checker.checked()
        if fields["id"] in seen:
            checker.refuse("id", "duplicate_id", "An earlier claim has this id.")
        if fields["id"]:
            seen.add(fields["id"])
        if checker.faults:
            spoiled = any(fault.column.endswith("].id") for fault in checker.faults)
            name = _made_id(number, taken) if spoiled else fields["id"]
            entries.append(
                FaultyClaim(id=name, statement=fields["statement"], faults=tuple(checker.faults))
            )
        else:
            entries.append(Claim(**fields))
    return tuple(entries)


def _made_id(number: int, taken: Counter[str]) -> str:
    """Name a claim without a usable id by its place, and by no name another claim has."""
    name = f"claim-{number}"
    while name in taken:
        name += "-"
    return name


def _fault(path: Path, key: str, code: str, sentence: str) -> Fault:
    return Fault(
        file=path.name,
        row=None,
        column=key[:LONGEST_KEY],
        value="",
        code=code,
        sentence=sentence,
    )
