"""The reduction on Spark: what is handed over, and what comes back.

The row rules, and what shows only between rows, run on this machine; the accepted readings (the
columns of a cell, their size and decimals; no notes, no days, no rejected row) are handed over.

They pass through a folder of their own, which goes afterwards. A process that is killed leaves its
folder; the next one of this machine removes it.
"""
# ruff: noqa: S608 -- statements are put together from our own names, never from a user's text

from __future__ import annotations

import contextlib
import hashlib
import os
import shutil
import socket
import tempfile
import uuid
from collections.abc import Iterator
from pathlib import Path

from workbench.errors import StudyError
from workbench.records.engine import Engine
from workbench.records.engine_choice import EXCHANGE, spark_place
from workbench.records.lock import locked
from workbench.records.reduction import CELL_KEY, KEY, cells_sql, stepped_sql, values_sql
from workbench.records.shelf import sweep
from workbench.records.spark import Spark
from workbench.records.store import VALUES

_SENT = ", ".join((*CELL_KEY, "micro", "decimals"))


def reduce_with_spark(engine: Engine, shelf: Path, address: str | None = None) -> None:
    """Make the table `cells` and the file of distinct values on Spark, from `accepted`, `steps`.

    `address` is that of the Spark to use; left out, the user's environment says which.

    Raises `StudyError` where Spark, Java or the cluster fails; the folder shared with it is left as
    it was found.
    """
    address, shared = spark_place(address)
    with exchange(shared or shelf) as folder:
        if shared:
            folder.chmod(0o777)
        with Spark(address) as spark:
            for name, columns in (("accepted", _SENT), ("steps", "*")):
                path = folder / f"{name}.parquet"
                engine.write(f"select {columns} from {name}", path)
                spark.read(name, path)
            spark.keep("stepped", stepped_sql("accepted", "steps"))
            spark.write(cells_sql("stepped"), folder / "cells")
            spark.write(values_sql("stepped"), folder / "values")
        for name in ("cells", "values"):
            if not any((folder / name).glob("*.parquet")):
                raise StudyError(
                    f"Spark wrote the {name} where this machine does not see them; the folder in "
                    f"{EXCHANGE} must be seen by it and by every worker under one path."
                )
        engine.run(
            f"create table cells as select * from read_parquet(?) order by {KEY}",
            [str(folder / "cells" / "*.parquet")],
        )
        check_whole(engine)
        kept = str(folder / "values" / "*.parquet").replace("'", "''")
        engine.write(f"select * from read_parquet('{kept}')", shelf / VALUES)


@contextlib.contextmanager
def exchange(parent: Path) -> Iterator[Path]:
    """Give an empty folder in `parent` for what is sent and what comes back, locked meanwhile.

    What dead processes of this machine left there is removed first. Another machine may not see
    the locks of this one, so its folders bear another name and are left alone.
    """
    prefix = f"workbench-{_this_machine()}-"
    sweep(parent, prefix)
    folder = Path(tempfile.mkdtemp(prefix=prefix, dir=parent))
    handle = locked(folder)
    try:
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)
        if handle is not None:
            os.close(handle)


def _this_machine() -> str:
    named = f"{socket.gethostname()} {uuid.getnode():x}"
    return hashlib.sha256(named.encode()).hexdigest()[:12]


def check_whole(engine: Engine) -> None:
    """Refuse cells that do not hold every reading: a part of them was lost on the way."""
    (held,) = engine.rows("select coalesce(sum(n), 0) from cells")[0]
    (sent,) = engine.rows("select count(*) from accepted")[0]
    if held != sent:
        raise StudyError(
            f"Spark was sent {sent} readings and its cells hold {held}; nothing was kept."
        )
