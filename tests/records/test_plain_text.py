"""Text as plain strings: the same labels, each kept once, and nothing else changed."""

import pandas as pd
import pytest

from workbench.records.plain_text import plain_text

TABLE = pd.DataFrame(
    {"block": ["W01", "T01", "W01"], "n": [1, 2, 3], "bore": ["", "1", None]}, index=[4, 7, 9]
).astype({"block": "str", "bore": "str"})


def test_labels_stay_and_are_kept_once() -> None:
    found = plain_text(TABLE)
    assert found.index.tolist() == [4, 7, 9]
    assert found["block"].tolist() == ["W01", "T01", "W01"]
    assert found["block"].iloc[0] is found["block"].iloc[2]
    assert found["bore"].isna().tolist() == [False, False, True]
    assert found["n"].dtype == TABLE["n"].dtype
    assert found.dtypes.loc[["block", "bore"]].tolist() == [object, object]


@pytest.mark.parametrize("column", ["block", "bore"])
def test_groups_are_those_of_the_text(column) -> None:
    given, plain = (table.groupby(column)["n"].sum() for table in (TABLE, plain_text(TABLE)))
    assert dict(given) == dict(plain)


def test_the_table_given_is_left_alone() -> None:
    plain_text(TABLE)
    assert TABLE["block"].dtype == "str"
