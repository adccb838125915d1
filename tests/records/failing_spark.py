"""Run in a process of its own: what is said when Spark fails, a line each.

    python failing_spark.py FOLDER

The last failure is that of Spark's own process, killed while it works.
"""

from __future__ import annotations

import os
import signal
import sys
import threading
from pathlib import Path

import pyarrow as pa
import pyarrow.parquet as pq

from workbench.errors import StudyError
from workbench.records.spark import Spark


def main() -> None:
    folder = Path(sys.argv[1])
    damaged = folder / "damaged.parquet"
    damaged.write_bytes(b"PAR1" + b"x" * 100 + b"PAR1")
    pq.write_table(pa.table({"a": list(range(1000))}), folder / "a.parquet")
    endless = "select count(*) as n from a x, a y, a z, a w where x.a + y.a + z.a + w.a = 7"
    with Spark("local[2]") as spark:
        spark.read("a", folder / "a.parquet")
        with_failure(lambda: spark.read("d", damaged))
        past = "select cast(sum(a * 92233720368547758) as bigint) as s from a"
        with_failure(lambda: spark.write(past, folder / "sums"))
        handle = spark._session.sparkContext._jvm.java.lang.ProcessHandle
        own = int(handle.current().pid())
        threading.Timer(1, os.kill, [own, signal.SIGKILL]).start()
        with_failure(lambda: spark.write(endless, folder / "endless"))


def with_failure(work: object) -> None:
    try:
        work()  # type: ignore[operator]
    except StudyError as error:
        print(error, flush=True)


if __name__ == "__main__":
    main()
