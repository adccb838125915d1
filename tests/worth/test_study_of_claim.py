"""What was measured of a family, block by block: against the plain count of a table."""

from __future__ import annotations

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workbench.worth.study_of_claim import measured

CELL = st.tuples(
    st.sampled_from(["A1", "A10", "A2"]),
    st.sampled_from(["", "1", "2"]),
    st.sampled_from(["front", "rear"]),
    st.sampled_from(["", "top"]),
    st.integers(1, 3),
)


@settings(max_examples=60, deadline=None)
@given(rows=st.lists(CELL, min_size=1, max_size=30))
def test_blocks_bores_places_and_readings_are_counted(rows: list[tuple]) -> None:
    table = pd.DataFrame(rows, columns=["block", "bore", "station", "depth", "n"])
    found = measured(table)
    each = [own for _, own in table.groupby("block")]
    assert (found.blocks, found.readings) == (len(each), sum(row[-1] for row in rows))
    for figure, counts in (
        (found.per_bore, [len(set(own["bore"])) for own in each]),
        (found.per_place, [len(own.drop_duplicates(["bore", "station", "depth"])) for own in each]),
        (found.per_reading, [own["n"].sum() for own in each]),
    ):
        assert figure == pytest.approx(sum(1 / count for count in counts) / len(each))
