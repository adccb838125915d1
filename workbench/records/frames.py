"""Frames whose text is pandas' own text type, wherever they come from."""

from __future__ import annotations

import pandas as pd
import pyarrow as pa

TEXT = pd.StringDtype(na_value=float("nan"))


def text_frame(table: pa.Table) -> pd.DataFrame:
    """Give an Arrow table as a frame whose text is pandas' own text type."""
    kinds = {pa.string(): TEXT, pa.large_string(): TEXT}
    frame: pd.DataFrame = table.to_pandas(types_mapper=kinds.get)
    return frame
