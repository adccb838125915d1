"""Groups of rows: numbered in the order of their labels, as pandas numbers them."""

import numpy as np
import pandas as pd
from hypothesis import given, settings
from hypothesis import strategies as st

from workbench.inference.grouping import distinct, group_codes, rows_of

LABELS = st.sampled_from(["", "1", "10", "2", "front", "rear"])


def test_distinct_rows_are_counted_in_order() -> None:
    table = pd.DataFrame({"bore": ["2", "1", "2", "2"], "depth": ["", "", "top", ""]})
    codes, first = group_codes(table, ("bore", "depth"))
    assert codes.tolist() == [1, 0, 2, 1]
    assert first.tolist() == [1, 0, 2]


@settings(max_examples=50, deadline=None)
@given(rows=st.lists(st.tuples(LABELS, LABELS, LABELS), min_size=1, max_size=40))
def test_against_the_numbers_pandas_gives(rows) -> None:
    table = pd.DataFrame(rows, columns=["block", "bore", "place"])
    codes, first = group_codes(table, ["block", "bore", "place"])
    keyed = table.groupby(["block", "bore", "place"], sort=True)
    assert np.array_equal(codes, keyed.ngroup())
    assert distinct(table, ["block", "bore", "place"]) == sorted(set(rows))
    assert np.array_equal(first, [rows.index(name) for name in keyed.size().index])
    for name, at in rows_of(table["block"]):
        assert np.array_equal(at, np.flatnonzero(table["block"] == name))
    assert [name for name, _ in rows_of(table["block"])] == sorted({block for block, *_ in rows})
