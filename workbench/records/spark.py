"""The distributed engine: Spark SQL reads the accepted readings and writes their cells.

It runs the statements of `reduction`, the very text the engine on this machine runs. Readings and
cells pass as Parquet files through a folder that this machine and every worker see under one path.
"""

from __future__ import annotations

import contextlib
import logging
import os
import shutil
import socket
import time
import warnings
from collections.abc import Iterator
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from workbench.errors import StudyError
from workbench.records.engine_choice import host_and_port

WAIT_SECONDS = 10.0
WORKER_SECONDS = 120.0
LOST = "the connection to it was lost; start the command again."
STOPPED = "it is gone, or did not let this machine in: another version of Spark, or a password."


class Spark:
    """A session of Spark at `address`; closing it ends the session."""

    def __init__(self, address: str) -> None:
        self._session = _session(address)
        if host_and_port(address):
            try:
                self._await_worker(address)
            except StudyError as error:
                self.__exit__(StudyError, error, None)
                raise

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        traceback: TracebackType | None,
    ) -> None:
        # What was written is written, and a Spark that is lost has nothing left to close.
        with contextlib.suppress(StudyError), _said_plainly("while it closed"):
            self._session.stop()

    def _await_worker(self, address: str) -> None:
        """Wait for a worker: Spark itself would wait for ever, and not say so."""
        until = time.monotonic() + WORKER_SECONDS
        with _said_plainly("while it waited for a worker"):
            # The driver counts as one.
            while self._session.sparkContext._jsc.sc().getExecutorMemoryStatus().size() < 2:
                if time.monotonic() > until:
                    raise StudyError(
                        f"No worker of {address} took the work within {WORKER_SECONDS:.0f} s; "
                        "nothing was written."
                    )
                time.sleep(0.5)

    def read(self, name: str, path: Path) -> None:
        """Name the rows of a Parquet file."""
        with _said_plainly(f"while it read {path.name}"):
            self._session.read.parquet(path.as_uri()).createOrReplaceTempView(name)

    def keep(self, name: str, sql: str) -> None:
        """Name the answer of a query."""
        with _said_plainly(f"at the query “{name}”"):
            self._session.sql(sql).createOrReplaceTempView(name)

    def write(self, sql: str, folder: Path) -> None:
        """Write the answer of a query as Parquet files into a new folder."""
        with _said_plainly(f"while it wrote {folder.name}"):
            self._session.sql(sql).write.parquet(folder.as_uri())


def _session(address: str) -> Any:
    try:
        with warnings.catch_warnings():
            # pyspark warns of pandas 3; no pandas passes between it and us.
            warnings.simplefilter("ignore")
            from pyspark.logger import PySparkLogger
            from pyspark.sql import SparkSession
    except ImportError:
        raise StudyError(
            "Spark is not installed; install the workbench with its extra “spark”, "
            "or use the engine duckdb (--engine duckdb)."
        ) from None
    # It would print every error a second time, with all the calls that led to it.
    PySparkLogger.getLogger("SQLQueryContextLogger").setLevel(logging.CRITICAL + 1)
    home = os.environ.get("JAVA_HOME")
    if shutil.which("java", path=f"{home}/bin" if home else None) is None:
        raise StudyError(
            "Spark needs Java, and none was found; on Debian install default-jre-headless."
        )
    _answers(address)
    builder = SparkSession.builder.master(address).appName("workbench")
    for key, value in {
        "spark.ui.enabled": "false",
        "spark.ui.showConsoleProgress": "false",
        "spark.sql.ansi.enabled": "true",
    }.items():
        builder = builder.config(key, value)
    if address.startswith("local"):
        builder = builder.config("spark.driver.bindAddress", "127.0.0.1")
        builder = builder.config("spark.driver.host", "127.0.0.1")
    with _said_plainly("as it started"), warnings.catch_warnings():
        warnings.simplefilter("ignore")
        session = builder.getOrCreate()
        session.sparkContext.setLogLevel("OFF")
    return session


def _answers(address: str) -> None:
    """Refuse a cluster that nobody answers for, at once and not after a minute of trying."""
    place = host_and_port(address)
    if place is None:
        return
    try:
        socket.create_connection(place, WAIT_SECONDS).close()
    except (OSError, OverflowError):
        raise StudyError(f"No Spark answers at {address}; nothing was written.") from None


@contextlib.contextmanager
def _said_plainly(when: str) -> Iterator[None]:
    from py4j.protocol import Py4JError
    from pyspark.errors import PySparkException

    try:
        yield
    except (Py4JError, PySparkException, OSError) as error:
        raise StudyError(
            f"Spark failed {when}, and nothing was written: {_reason(error)}"
        ) from None


def _reason(error: Exception) -> str:
    """Give the first line of what an error goes back to."""
    from py4j.protocol import Py4JError, Py4JJavaError, Py4JNetworkError

    if isinstance(error, (OSError, Py4JNetworkError)):
        return LOST
    text = ""
    if isinstance(error, Py4JJavaError):
        try:
            cause = error.java_exception
            while (inner := cause.getCause()) is not None:
                cause = inner
            text = str(cause.getMessage() or cause.toString())
        except (OSError, Py4JError):
            return LOST
    text = text or str(error)
    if "stopped SparkContext" in text:
        return STOPPED
    if "ARITHMETIC_OVERFLOW" in text:
        return "a sum does not fit 64 bits, and is not rounded."
    lines = text.strip().splitlines()
    return lines[0] if lines else type(error).__name__
