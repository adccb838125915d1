"""A Parquet file read as text, in batches; row 2 is its first, as if it had a header row."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.parquet as pq

from workbench.records.sheets import Header, Sheet
from workbench.records.sources import Source

BATCH = 32_768
DECIMALS = 9


def open_parquet(source: Source) -> Sheet:
    """Open a Parquet file; a damaged one, or one with nested columns, is refused."""
    try:
        with pq.ParquetFile(source.path) as file:
            schema = file.schema_arrow
    except (pa.ArrowException, OSError) as error:
        raise _damaged(source, error) from None
    if nested := nested_column(schema):
        raise source.refuse("nested_column", f"The column “{nested}” holds tables or lists.")
    return Sheet(
        source=source,
        header=Header(row=1, headings=tuple(schema.names)),
        batches=lambda: _batches(source),
    )


def nested_column(schema: pa.Schema) -> str:
    """Give the first column that holds tables or lists, or the empty text."""
    return next((field.name for field in schema if pa.types.is_nested(field.type)), "")


def text_batch(columns: Sequence[pa.Array], first: int) -> pa.RecordBatch:
    """Give columns as text by position, whether each was stored as numbers, and `row` numbers."""
    count = len(columns[0])
    names = [str(at) for at in range(len(columns))]
    rows = pa.array(np.arange(first, first + count, dtype=np.int64))
    exact = [pa.repeat(_is_number(column.type), count) for column in columns]
    return pa.RecordBatch.from_arrays(
        [*(_as_text(column) for column in columns), *exact, rows],
        names=[*names, *(f"exact_{name}" for name in names), "row"],
    )


def _batches(source: Source) -> Iterator[pa.RecordBatch]:
    first = 2
    try:
        with pq.ParquetFile(source.path) as file:
            for batch in file.iter_batches(batch_size=BATCH):
                yield text_batch(batch.columns, first)
                first += batch.num_rows
    except (pa.ArrowException, OSError) as error:
        raise _damaged(source, error) from None


def _is_number(kind: pa.DataType) -> bool:
    return bool(
        pa.types.is_integer(kind) or pa.types.is_floating(kind) or pa.types.is_decimal(kind)
    )


def _as_text(column: pa.Array) -> pa.Array:
    """Give a column as text, nothing as the empty text; a whole float loses its `.0`.

    Floats are rounded to 9 decimals first: 0.1 + 0.2 is meant as 0.3.
    """
    if pa.types.is_dictionary(column.type):
        column = column.dictionary_decode()
    if pa.types.is_float64(column.type):
        column = pc.round(column, ndigits=DECIMALS)
    if pa.types.is_timestamp(column.type):
        text = pc.cast(pc.cast(column, pa.timestamp("us", column.type.tz)), pa.string())
        text = pc.replace_substring_regex(text, r"( 00:00:00)?([.]0+)?Z?$", "")
    else:
        text = pc.cast(column, pa.string())
    return pc.fill_null(text, "")


def _damaged(source: Source, error: Exception) -> Exception:
    said = str(error).splitlines()[0].rstrip(".") if str(error) else type(error).__name__
    return source.refuse("not_parquet", f"The Parquet file cannot be read: {said}.")
