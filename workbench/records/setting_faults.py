"""Faults of `study.toml` as its reader would name them: the key, the value, and what it must be."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from pydantic import ValidationError

from workbench.records.columns import did_you_mean
from workbench.records.faults import Fault
from workbench.records.tomlfile import toml_key

SETTINGS_FILE = "study.toml"
KeysAt = Mapping[tuple[str | None, ...], tuple[str, ...]]

_MUST_BE = {
    "model_type": "must be a table",
    "dict_type": "must be a table",
    "list_type": "must be a list of tables",
    "string_type": "must be text in quotation marks",
    "float_type": "must be a number",
    "int_type": "must be a whole number",
    "bool_type": "must be true or false",
    "date_type": "must be a date, as in 2026-03-01",
}


def key_fault(key: str, value: object, code: str, sentence: str) -> Fault:
    """Give the fault of one key of `study.toml`."""
    return Fault(
        file=SETTINGS_FILE, row=None, column=key, value=str(value), code=code, sentence=sentence
    )


def faults_found(
    error: ValidationError, keys_at: KeysAt, inside: tuple[str, ...] = ()
) -> list[Fault]:
    """Turn all findings of the checker into faults with sentences of ours.

    `keys_at` names the keys known at a place, with None for a name of the user's; `inside` is the
    place of the table that was checked.
    """
    return [_fault_of(dict(item), keys_at, inside) for item in error.errors()]


def _fault_of(error: dict[str, Any], keys_at: KeysAt, inside: tuple[str, ...]) -> Fault:
    place = (*inside, *(part for part in error["loc"] if part != "[key]"))
    key, kind, context = toml_key(place), error["type"], error.get("ctx", {})
    value = "" if isinstance(error["input"], dict | list) else error["input"]
    if kind == "extra_forbidden":
        table = place[:1] + (None,) * (len(place) - 2) if len(place) > 1 else ()
        hint = did_you_mean(str(place[-1]), keys_at.get(table, ()))
        return key_fault(key, "", "unknown_key", f"There is no key “{place[-1]}” here{hint}.")
    if kind == "missing":
        return key_fault(key, "", "missing_key", f"“{place[-1]}” is required and not given.")
    if kind == "value_error":
        return key_fault(key, value, "bad_value", f"“{place[-1]}” {context['error']}.")
    must = _MUST_BE.get(kind) or re.sub(r"^\w+ should", "must", error["msg"])
    return key_fault(key, value, "bad_value", f"“{place[-1]}” {must}.")
