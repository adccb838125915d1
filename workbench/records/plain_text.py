"""Text columns as plain strings: quicker to choose rows by and to group than Arrow's text is."""

from __future__ import annotations

import numpy as np
import pandas as pd


def plain_text(table: pd.DataFrame) -> pd.DataFrame:
    """Give the table with its text columns as columns of strings, each label kept once.

    At the size of a study's cells choosing rows and grouping then cost about half, which judging
    a ledger does some thousand times; a row takes eight bytes a column.
    """
    plain = {}
    for name in table.columns[table.dtypes == "str"]:
        codes, labels = pd.factorize(table[name])
        shared = np.array([*labels, None], dtype=object)  # a missing label is coded -1
        plain[name] = pd.Series(shared[codes], index=table.index, dtype=object)
    return table.assign(**plain)
