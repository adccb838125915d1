"""Rows of a table that belong together, numbered: without the cost of a table a group."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

Codes = NDArray[np.int64]


def group_codes(frame: pd.DataFrame, columns: Sequence[str]) -> tuple[Codes, Codes]:
    """Give each row the number of its group, in order, and each group its first row."""
    codes = np.zeros(len(frame), dtype=np.int64)
    for column in columns:
        own, names = pd.factorize(frame[column], sort=True)
        codes = codes * max(1, len(names)) + own
        if codes.size and codes.max() > 2**40:
            codes = np.unique(codes, return_inverse=True)[1].astype(np.int64)
    _, first, numbers = np.unique(codes, return_index=True, return_inverse=True)
    return numbers.astype(np.int64), first.astype(np.int64)


def distinct(frame: pd.DataFrame, columns: Sequence[str]) -> list[tuple[Any, ...]]:
    """Give the different rows of some columns, in order."""
    _, first = group_codes(frame, columns)
    return list(zip(*(frame[column].array[first] for column in columns), strict=True))


def rows_of(labels: pd.Series[str]) -> Iterator[tuple[str, Codes]]:
    """Give each label, in order, with the places of its rows."""
    codes, names = pd.factorize(labels, sort=True)
    for code, name in enumerate(names):
        yield str(name), np.flatnonzero(codes == code)
