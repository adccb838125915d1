"""A table of a DuckDB file read as text, in batches; row 2 is its first, as if it had a header row.

The file may come from a stranger: it is opened to be read only, shut off from every other file, and
a view, which is a statement of somebody else's, is never asked.
"""
# ruff: noqa: S608 -- the name of the table is quoted as a name

from __future__ import annotations

from collections.abc import Iterator

import duckdb
import pyarrow as pa

from workbench.records.columns import did_you_mean
from workbench.records.notice import quoted
from workbench.records.parquetfile import BATCH, nested_column, text_batch
from workbench.records.sheets import Header, Sheet
from workbench.records.sources import Source

DEFAULT_TABLE = "readings"
_SHUT = {
    "enable_external_access": "false",
    "autoinstall_known_extensions": "false",
    "autoload_known_extensions": "false",
    "memory_limit": "512MB",
}


def open_table(source: Source, table: str | None = None) -> Sheet:
    """Open a table of a DuckDB file: the one named, else the only one, else `readings`.

    Refused are a damaged file, one that another process is writing, a file without such a table,
    and a table with nested columns.
    """
    connection = _connect(source)
    try:
        found = connection.execute(
            "select table_name from duckdb_tables() where not internal"
            " and schema_name = 'main' order by table_name"
        ).fetchall()
        name = _chosen(source, tuple(name for (name,) in found), table)
        schema = connection.sql(_all_of(name)).limit(0).to_arrow_table().schema
    except duckdb.Error as error:
        raise _damaged(source, error) from None
    finally:
        connection.close()
    if nested := nested_column(schema):
        raise source.refuse("nested_column", f"The column “{nested}” holds tables or lists.")
    return Sheet(
        source=source,
        header=Header(row=1, headings=tuple(schema.names)),
        batches=lambda: _batches(source, name),
    )


def _chosen(source: Source, tables: tuple[str, ...], asked: str | None) -> str:
    wanted = asked or (tables[0] if len(tables) == 1 else DEFAULT_TABLE)
    if wanted in tables:
        return wanted
    if not tables:
        raise source.refuse("no_such_table", "The database holds no table (views are not read).")
    hint = did_you_mean(wanted, tables) if asked else "; say which as [readings] table"
    raise source.refuse(
        "no_such_table",
        f"The database has no table “{wanted}”{hint}. It holds {quoted(tables)}.",
    )


def _batches(source: Source, name: str) -> Iterator[pa.RecordBatch]:
    connection = _connect(source)
    first = 2
    try:
        for batch in connection.sql(_all_of(name)).to_arrow_reader(BATCH):
            yield text_batch(batch.columns, first)
            first += batch.num_rows
    except (duckdb.Error, pa.ArrowException) as error:
        raise _damaged(source, error) from None
    finally:
        connection.close()


def _connect(source: Source) -> duckdb.DuckDBPyConnection:
    try:
        return duckdb.connect(str(source.path), read_only=True, config=dict(_SHUT))
    except duckdb.Error as error:
        if "lock" in str(error):
            raise source.refuse(
                "not_duckdb", "Another process has the database open to write; close it first."
            ) from None
        raise _damaged(source, error) from None


def _all_of(name: str) -> str:
    doubled = name.replace('"', '""')
    return f'select * from main."{doubled}"'


def _damaged(source: Source, error: Exception) -> Exception:
    said = str(error).splitlines()[0].replace(str(source.path), source.name)
    return source.refuse("not_duckdb", f"The DuckDB file cannot be read: {said}.")
