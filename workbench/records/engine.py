"""The engine that sees every reading: DuckDB, on disk, within a memory limit.

The statements it is given elsewhere are portable text (casts, `case`, `group by`, `translate`,
`regexp_extract`): this adapter is all that would change for another engine. It keeps its tables in
a folder it is given, so that ten times the readings need ten times the disk, not the memory.
"""
# ruff: noqa: S608 -- statements are put together from our own names, never from a user's text

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from types import TracebackType
from typing import Any, Self

import duckdb
import pandas as pd
import pyarrow as pa

from workbench.errors import StudyError
from workbench.records.frames import text_frame

MEMORY_LIMIT_MB = 180
THREADS_AT_MOST = 4
SMALL = 2_000_000  # bytes of text: the tables of less stay in memory
DATABASE = "readings.db"


class Engine:
    """One database in `folder`; closing it leaves the tables there for a later engine.

    A `passing` one keeps its tables in memory as far as they fit, and leaves nothing.

    The limit is that of its tables and groups. What libraries, rows on their way in and each thread
    take besides comes on top, and makes half a gigabyte in all with no more threads than these.
    """

    def __init__(
        self,
        folder: Path,
        *,
        memory_limit_mb: int = MEMORY_LIMIT_MB,
        threads: int | None = None,
        passing: bool = False,
    ) -> None:
        settings: dict[str, Any] = {
            "memory_limit": f"{memory_limit_mb}MB",
            "temp_directory": str(folder / "spill"),
            "autoinstall_known_extensions": "false",
            "autoload_known_extensions": "false",
        }
        self._passing, self._megabytes = passing, memory_limit_mb
        where = ":memory:" if passing else str(folder / DATABASE)
        if threads is not None:
            settings["threads"] = threads
        try:
            self._connection = duckdb.connect(where, config=settings)
        except duckdb.Error as error:
            raise StudyError(f"The engine cannot start: {_first_line(error)}") from None
        # In a notebook without ipywidgets it is off, and setting it at all is an error.
        if self.rows("select current_setting('enable_progress_bar')") != [(False,)]:
            self.run("set enable_progress_bar = false")
        given = self.rows("select current_setting('threads')")[0][0]
        if threads is None and given > THREADS_AT_MOST:
            self.run(f"set threads = {THREADS_AT_MOST}")
        # Rows carry their own number, so their order in a table is nobody's business.
        self.run("set preserve_insertion_order = false")

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        traceback: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the database; a second call does nothing."""
        self._connection.close()

    def run(self, sql: str, parameters: Sequence[object] = ()) -> None:
        """Run a statement."""
        try:
            self._connection.execute(sql, list(parameters))
        except (duckdb.OutOfMemoryException, duckdb.IOException) as error:
            raise StudyError(f"The engine ran out of room: {_first_line(error)}") from None
        except (duckdb.ConversionException, duckdb.OutOfRangeException) as error:
            raise StudyError(
                f"A sum does not fit 64 bits, and is not rounded: {_first_line(error)}"
            ) from None

    def rows(self, sql: str, parameters: Sequence[object] = ()) -> list[tuple[Any, ...]]:
        """Give the answer of a query as tuples: for small answers."""
        self.run(sql, parameters)
        return self._connection.fetchall()

    def frame(self, sql: str, parameters: Sequence[object] = ()) -> pd.DataFrame:
        """Give the answer of a query as a frame."""
        answer = self._connection.sql(sql, params=list(parameters) or None)
        return text_frame(answer.to_arrow_table())

    def batches(self, sql: str, size: int) -> Iterator[pa.RecordBatch]:
        """Give the answer of a query in batches of so many rows, one at a time in memory."""
        try:
            yield from self._connection.sql(sql).to_arrow_reader(size)
        except (duckdb.OutOfMemoryException, duckdb.IOException) as error:
            raise StudyError(f"The engine ran out of room: {_first_line(error)}") from None

    def table(self, name: str, columns: dict[str, pa.Array]) -> None:
        """Make a table of named arrays."""
        self._fill(f"create or replace table {name} as select * from given", pa.table(columns))

    def append(
        self, name: str, columns: str, schema: pa.Schema, batches: Iterable[pa.RecordBatch]
    ) -> None:
        """Add batches to a table, one at a time in memory; `columns` says what of them goes in."""
        raised: list[Exception] = []

        def guarded() -> Iterator[pa.RecordBatch]:
            try:
                yield from batches
            except Exception as error:
                raised.append(error)
                raise

        reader = pa.RecordBatchReader.from_batches(schema, guarded())
        # What is written needs little room, and each thread holds rows beside it meanwhile.
        self.run(f"set memory_limit = '{self._megabytes * 500}KB'")
        try:
            self._fill(f"insert into {name} select {columns} from given", reader)
        except duckdb.Error:
            if raised:
                raise raised[0] from None
            raise
        finally:
            # What held the batches would be kept for further ones.
            pa.default_memory_pool().release_unused()
            self.run(f"set memory_limit = '{self._megabytes}MB'")

    def _fill(self, sql: str, given: pa.Table | pa.RecordBatchReader) -> None:
        self._connection.register("given", given)
        try:
            self.run(sql)
        finally:
            self._connection.unregister("given")

    def keep(self, name: str, sql: str) -> None:
        """Name the answer of a query: a table in memory, a view where a copy would go to disk."""
        self.run(f"create {'table' if self._passing else 'view'} {name} as {sql}")

    @staticmethod
    def number_of(columns: Sequence[str]) -> str:
        """Give the expression of a whole number, 0 or above, that rows equal in `columns` share."""
        return f"hash({', '.join(columns)})"

    def write(self, sql: str, path: Path) -> None:
        """Write the answer of a query to a Parquet file."""
        self.run(f"copy ({sql}) to ? (format parquet, compression zstd)", [str(path)])


def _first_line(error: Exception) -> str:
    return str(error).splitlines()[0]
