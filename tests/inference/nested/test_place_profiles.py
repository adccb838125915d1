"""Families place by place: what is planted is found, patterns that blocks have are chance."""

import numpy as np
import pandas as pd
import pytest
from scipy.stats import ttest_ind

from workbench.errors import Refusal
from workbench.inference.nested.place_profiles import place_profiles

STATIONS = ("counter", "front", "rear", "thrust")
ASKED = {"candidate": "trophy", "reference": "works", "by": "station"}


def walls(
    blocks: dict[str, int], *, here: float = 0.0, own: float = 0.1, seed: int = 1
) -> pd.DataFrame:
    """Draw station means; the trophy blocks are `here` thicker at the thrust side alone."""
    generator = np.random.default_rng(seed)
    rows = []
    for family, many in blocks.items():
        for block in range(many):
            level = 4 + 0.3 * generator.standard_normal()
            for station in STATIONS:
                more = here if (family, station) == ("trophy", "thrust") else 0.0
                value = level + more + own * generator.standard_normal()
                rows.append((family, f"{family}{block}", station, value))
    return pd.DataFrame(rows, columns=["family", "block", "station", "value"])


def test_what_is_thicker_at_one_place_is_named() -> None:
    found = place_profiles(walls({"trophy": 8, "works": 20}, here=0.5), **ASKED)
    assert found.p_value < 0.001
    assert found.most == "thrust"
    assert found.apart["thrust"] - found.apart[found.least] == pytest.approx(0.5, abs=0.15)
    assert found.blocks == (8, 20)


def test_each_place_is_welch_on_the_blocks_own_deviations() -> None:
    """SciPy's unequal-variance t on each block's height above its own mean is the witness."""
    table = walls({"trophy": 5, "works": 9}, here=0.2)
    found = place_profiles(table, **ASKED)
    wide = table.pivot_table(index=["family", "block"], columns="station", values="value")
    apart = wide.sub(wide.mean(axis=1), axis=0)["thrust"]
    wanted = ttest_ind(apart["trophy"], apart["works"], equal_var=False).pvalue
    assert found.beyond["thrust"].p_value() == pytest.approx(wanted, rel=1e-9)
    assert found.p_values["thrust"] == pytest.approx(1 - (1 - wanted) ** 3, rel=1e-9)


def test_swap_and_unit() -> None:
    table = walls({"trophy": 4, "works": 9}, here=0.3)
    found = place_profiles(table, **ASKED)
    back = place_profiles(
        table.assign(value=table["value"] / 25.4),
        **(ASKED | {"candidate": "works", "reference": "trophy"}),
    )
    assert back.p_value == pytest.approx(found.p_value, rel=1e-9)
    assert back.apart["front"] * 25.4 == pytest.approx(-found.apart["front"], rel=1e-9)
    assert (back.most, back.least) == (found.least, found.most)


def test_patterns_that_blocks_have_of_their_own_are_chance() -> None:
    found = [
        place_profiles(walls({"trophy": 3, "works": 15}, own=0.3, seed=seed), **ASKED).p_value
        for seed in range(300)
    ]
    assert np.mean(np.array(found) < 0.05) < 0.1


def test_two_places_are_one_question_and_one_block_borrows_a_spread() -> None:
    table = walls({"trophy": 1, "works": 9})
    two = table[table["station"].isin(["front", "thrust"])]
    found = place_profiles(two, **ASKED)
    assert found.p_value == pytest.approx(found.beyond["front"].p_value())
    assert found.beyond["front"].degrees_of_freedom == 8


def test_blocks_not_read_everywhere_stay_out() -> None:
    table = walls({"trophy": 4, "works": 9})
    less = table[~((table["block"] == "works0") & (table["station"] == "rear"))]
    assert place_profiles(less, **ASKED).blocks == (4, 8)


def test_refusals() -> None:
    table = walls({"trophy": 4, "works": 9})
    with pytest.raises(Refusal, match="1 place was read in both families"):
        place_profiles(table[table["station"] == "rear"], **ASKED)
    apart = table[(table["family"] == "works") | (table["station"] == "rear")]
    with pytest.raises(Refusal, match="1 place was read in both"):
        place_profiles(apart, **ASKED)
    few = walls({"trophy": 1, "works": 1})
    with pytest.raises(Refusal, match="1 and 1 blocks were read at all 4 places"):
        place_profiles(few, **ASKED)


def test_families_alike_at_every_place_have_a_p_of_one() -> None:
    table = pd.DataFrame(
        [
            (family, f"{family}{number}", place, value)
            for family in "ab"
            for number, values in enumerate([(1.0, 2.0, 4.0), (1.5, 2.5, 3.5), (1.25, 2.0, 4.25)])
            for place, value in zip("xyz", values, strict=True)
        ],
        columns=["family", "block", "place", "value"],
    )
    found = place_profiles(table, candidate="a", reference="b", by="place")
    assert found.p_values == dict.fromkeys("xyz", 1.0)
