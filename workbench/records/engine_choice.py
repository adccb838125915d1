"""Which engine reduces the readings: what the study states, or what the user asks for instead."""

from __future__ import annotations

import os
import re
from dataclasses import dataclass
from pathlib import Path

from workbench.errors import StudyError

MASTER, EXCHANGE = "WORKBENCH_SPARK", "WORKBENCH_EXCHANGE"
DUCKDB, SPARK = "duckdb", "spark"
LOCAL = "local[*]"
_ADDRESS = re.compile(r"local(\[([0-9]{1,4}|\*)\])?|spark://(?P<host>[\w.-]+):(?P<port>[0-9]{1,5})")


@dataclass(frozen=True, slots=True, kw_only=True)
class EngineAsked:
    """An engine by its `name`, and for Spark the address that was given with it, or None."""

    name: str
    address: str | None = None


def engine_asked(text: str) -> EngineAsked:
    """Read what a user asks for: `duckdb`, `spark`, or the address of a Spark.

    Raises `StudyError` for anything else.

    >>> engine_asked("duckdb").name, engine_asked("local[2]").name
    ('duckdb', 'spark')
    """
    if text in (DUCKDB, SPARK):
        return EngineAsked(name=text)
    if _ADDRESS.fullmatch(text) is None:
        raise StudyError(
            f"There is no engine “{text}”; write duckdb, spark, or the address of a Spark: "
            "local, local[2] or spark://HOST:PORT."
        )
    return EngineAsked(name=SPARK, address=text)


def spark_place(address: str | None) -> tuple[str, Path | None]:
    """Give the address of Spark and the folder shared with it; `address` is what was asked for.

    Left out, it is the user's environment that says. A study file cannot name either: it may come
    from a stranger, and readings are sent there.
    """
    used = address or os.environ.get(MASTER) or LOCAL
    shared = os.environ.get(EXCHANGE)
    if _ADDRESS.fullmatch(used) is None:
        raise StudyError(f"{MASTER} is “{used}”; write local, local[2] or spark://HOST:PORT.")
    if host_and_port(used) and not shared:
        raise StudyError(
            f"{used} is a cluster: set {EXCHANGE} to a folder that this machine and every "
            "worker see under one path."
        )
    if shared and not Path(shared).is_dir():
        raise StudyError(f"{EXCHANGE} is “{shared}”, which is not a folder.")
    return used, Path(shared).resolve() if shared else None


def host_and_port(address: str) -> tuple[str, int] | None:
    """Give host and port of a cluster's address; None where Spark runs on this machine."""
    found = _ADDRESS.fullmatch(address)
    return (found["host"], int(found["port"])) if found and found["host"] else None
