"""The thinnest place of a family's next block: what is asked of the readings, what is refused."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from workbench.castings.family_places import (
    MOST_READ,
    FamilyPlaces,
    block_values,
    common_grid,
    family_places,
)
from workbench.castings.thin_spots import ThinFamily, thin_family
from workbench.errors import Refusal
from workbench.inference.extremes.share_below import share_below
from workbench.inference.nested.squares import nested_squares
from workbench.inference.shares.count import Count, share_interval
from workbench.study import open_study

STATIONS = ("front", "thrust", "rear", "counter")
COLUMNS = "block,family,bore,station,quantity,value,unit,repeat,sampling"
Row = dict[str, str]
Found = tuple[dict[str, FamilyPlaces], dict[str, str]]


def wall_rows(
    seed: int, family: str = "works", blocks: int = 12, repeats: int = 1, unit: str = "mm"
) -> list[Row]:
    """Draw walls of 4.6 mm: blocks 0.2, bores 0.1, places 0.1, thrust 0.4 thinner."""
    rng = np.random.default_rng(seed)
    rows = []
    for block in range(blocks):
        level = rng.normal(4.6, 0.2)
        for bore in ("1", "2"):
            middle = level + rng.normal(0, 0.1)
            for station in STATIONS:
                place = middle + rng.normal(0, 0.1) - 0.4 * (station == "thrust")
                for repeat in range(repeats):
                    value = place + rng.normal(0, 0.03) * (repeats > 1)
                    shown = f"{value:.2f}" if unit == "mm" else f"{value / 25.4:.6f}"
                    rows.append(
                        {
                            "block": f"{family[:1].upper()}{block:02d}",
                            "family": family,
                            "bore": bore,
                            "station": station,
                            "quantity": "wall_thickness",
                            "value": shown,
                            "unit": unit,
                            "repeat": str(repeat + 1),
                            "sampling": "grid",
                        }
                    )
    return rows


@pytest.fixture
def read(tmp_path: Path) -> Callable[[list[Row]], Found]:
    """Write rows as a study, open it, and give the places of its walls."""

    def places(rows: list[Row], quantity: str = "wall_thickness") -> Found:
        (tmp_path / "study.toml").write_text('title = "T"\n', "utf-8")
        names = COLUMNS.split(",")
        lines = [COLUMNS, *(",".join(row[name] for name in names) for row in rows)]
        (tmp_path / "readings.csv").write_text("\n".join(lines) + "\n", "utf-8")
        study = open_study(tmp_path)
        assert study.records.rejected == 0
        unit = study.settings.quantities[quantity].unit
        return family_places(
            study.records.cells, study.settings, study.calibrations, quantity, unit
        )

    return places


def answered(places: FamilyPlaces, *limits: float) -> ThinFamily:
    return thin_family(places, limits, confidence=0.95, seed=1)


def test_the_nested_study_is_that_of_the_place_means(read: Callable[..., Found]) -> None:
    rows = wall_rows(1, repeats=2)
    works = read(rows)[0]["works"]
    table = pd.DataFrame(rows).assign(value=lambda f: f["value"].astype(float))
    expected = nested_squares(table, place="station")
    assert works.squares.variances == pytest.approx(expected.variances)
    assert works.squares.mean == pytest.approx(expected.mean)
    assert (works.blocks, works.bores, works.lent) == (12, 2, False)
    # Two readings of a place differ by 0.03 each; their mean carries half of that variance.
    assert works.error_variance == pytest.approx(0.03**2 / 2, rel=0.3)


def test_inches_give_the_same_answer(tmp_path: Path, read: Callable[..., Found]) -> None:
    found = [answered(read(wall_rows(2, unit=unit))[0]["works"], 3.8) for unit in ("mm", "in")]
    shares = [thin.shares["block"].at(0) for thin in found]
    assert shares[0].estimate == pytest.approx(shares[1].estimate, abs=0.01)
    assert shares[0].high == pytest.approx(shares[1].high, abs=0.01)
    assert found[0].predicted.mean == pytest.approx(found[1].predicted.mean, abs=0.002)


def test_a_block_read_at_few_places_is_not_counted(read: Callable[..., Found]) -> None:
    rows = wall_rows(3)
    few = [row for row in rows if row["block"] != "W00" or row["station"] == "front"]
    works = read(few)[0]["works"]
    assert MOST_READ == 0.9
    assert "W00" not in works.minima.index
    assert len(works.minima) == 11
    table = pd.DataFrame(few).assign(value=lambda f: f["value"].astype(float))
    whole = table[table["block"] != "W00"].groupby("block")["value"].min()
    assert works.minima.to_dict() == pytest.approx(whole.to_dict())
    thin = answered(works, 4.1)
    share = share_interval(Count(yes=int((whole < 4.1).sum()), of=11), 0.95, "clopper-pearson")
    counted = thin.spots[4.1].counted
    assert (counted.estimate, counted.low, counted.high) == pytest.approx(
        (share.estimate, share.low, share.high)
    )


def test_searched_places_only_lower_their_own_block(read: Callable[..., Found]) -> None:
    rows = wall_rows(4)
    hunted = {**rows[0], "value": "2.00", "repeat": "9", "sampling": "search"}
    plain, more = (answered(read(given)[0]["works"], 3.0) for given in (rows, [*rows, hunted]))
    assert plain.spots[3.0].counted == more.spots[3.0].counted
    assert plain.shares["block"].at(0) == more.shares["block"].at(0)
    assert (plain.searched[3.0], more.searched[3.0]) == (0, 1)


def test_shares_rise_from_places_to_bores_to_blocks_and_with_the_limit(
    read: Callable[..., Found],
) -> None:
    thin = answered(read(wall_rows(5))[0]["works"], 3.6, 3.9, 4.2)
    place, bore, block = (thin.shares[unit].share for unit in ("place", "bore", "block"))
    assert (place < bore).all()
    assert (bore < block).all()
    for share in (place, bore, block):
        assert (np.diff(share) > 0).all()
    inside = np.interp(3.9, thin.curve.limits, thin.curve.share)
    assert inside == pytest.approx(block[1], abs=0.02)


def test_an_error_all_readings_share_widens_the_band_and_moves_nothing(
    read: Callable[..., Found],
) -> None:
    squares = read(wall_rows(6, blocks=30))[0]["works"].squares
    alone, common = (
        share_below(squares, 3.8, bores=2, seed=1, shared=shared) for shared in (0.0, 0.2)
    )
    assert alone.at(0).estimate == common.at(0).estimate
    assert common.at(0).half_width > 1.5 * alone.at(0).half_width
    with pytest.raises(Refusal, match="0 or more, not -1"):
        share_below(squares, 3.8, bores=2, seed=1, shared=-1.0)


def test_the_planted_side_is_found_and_no_bore(read: Callable[..., Found]) -> None:
    thin = answered(read(wall_rows(7))[0]["works"], 3.8)
    assert thin.same["station"].p_value < 0.001
    assert thin.same["station"].counts["thrust"] == 12
    assert thin.same["bore"].p_value > 0.05
    assert (thin.same_blocks, thin.same_places) == (12, 8)


def test_a_family_of_two_blocks_borrows_the_spread_of_the_others(
    read: Callable[..., Found],
) -> None:
    found, refused = read([*wall_rows(8), *wall_rows(9, "trophy", blocks=2)])
    assert refused == {}
    assert found["trophy"].lent
    assert found["trophy"].squares.block == found["works"].squares.block or found["trophy"].lent
    thin = answered(found["trophy"], 3.8)
    assert "where" in thin.refused
    assert "at least 3 are needed" in thin.refused["where"]
    assert thin.spots[3.8].extreme is None


def test_two_blocks_alone_are_refused_with_what_would_be_enough(
    read: Callable[..., Found],
) -> None:
    found, refused = read(wall_rows(10, blocks=2))
    assert found == {}
    assert "at least 3 are needed" in refused["works"]


def test_one_block_alone_and_equal_blocks_are_refused_with_what_would_be_enough(
    read: Callable[..., Found],
) -> None:
    _, refused = read(wall_rows(10, blocks=1))
    assert refused["works"] == "One block does not tell how blocks vary; at least 3 are needed."
    _, refused = read([{**row, "value": "4.50"} for row in wall_rows(10)])
    assert "blocks that differ, or a gauge with a finer step, are needed" in refused["works"]


def test_a_place_known_only_from_above_counts_as_lying_there(read: Callable[..., Found]) -> None:
    rows = wall_rows(14)
    rows[1] = {**rows[1], "value": "<3.50"}
    works = read(rows)[0]["works"]
    assert works.censored == 1
    assert works.minima["W00"] == 3.5
    assert len(works.minima) == 12
    assert len(works.table) == len(rows) - 1  # it enters no spread
    thin = answered(works, 3.6)
    assert thin.spots[3.6].counted.estimate >= 1 / 12
    assert thin.searched[3.6] == 0
    _, refused = read([{**row, "value": "<4.00"} for row in wall_rows(15)])
    assert "above the lower limit of the gauge" in refused["works"]


def test_a_limit_in_another_unit_is_refused_and_the_others_answered(
    read: Callable[..., Found],
) -> None:
    thin = answered(read(wall_rows(11))[0]["works"], 3.8, 0.15)
    assert thin.limits == (3.8,)
    assert "is it in the unit of the readings?" in thin.refused["limit 0.15 mm"]


def test_one_place_a_bore_gives_no_curve_over_places(read: Callable[..., Found]) -> None:
    rows = [row for row in wall_rows(12) if row["station"] == "front"]
    thin = answered(read(rows)[0]["works"], 3.8)
    assert thin.by_grid is None
    assert "two places a bore would be enough" in thin.refused["more places"]
    single = [row for row in rows if row["bore"] == "1"]
    thin = answered(read(single)[0]["works"], 3.8)
    assert "the same two places in every block would be enough" in thin.refused["where"]


def test_the_common_grid_is_whole() -> None:
    rng = np.random.default_rng(1)
    table = pd.DataFrame(
        [(f"B{b}", str(c), p, 1.0) for b in range(9) for c in range(2) for p in STATIONS],
        columns=["block", "bore", "place", "value"],
    )
    kept = common_grid(table[rng.random(len(table)) > 0.15])
    blocks, places = kept["block"].nunique(), len(kept[["bore", "place"]].drop_duplicates())
    assert len(kept) == blocks * places
    assert blocks >= 3
    assert common_grid(table).equals(table)


def test_block_values_do_not_move_with_the_places_left_out(read: Callable[..., Found]) -> None:
    """Without its thrust places a block's plain mean would rise by 0.1 mm."""
    rows = wall_rows(13, blocks=40)
    whole = block_values(read(rows)[0]["works"])
    less = [r for r in rows if r["block"] != "W00" or r["station"] != "thrust"]
    apart = (block_values(read(less)[0]["works"]) - whole).to_numpy()
    assert abs(apart[0]) < 0.07
    assert np.abs(apart[1:]).max() < 0.01
