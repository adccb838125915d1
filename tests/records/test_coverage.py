from __future__ import annotations

from itertools import product

from workbench.records.coverage import coverage, gaps, grid_places
from workbench.records.settings import load_settings

HEADER = "block,family,quantity,value,unit,bore,station,depth,sampling\n"
DRAWING = "[drawing]\nbores = 2\n[drawing.stations]\nfront = 0\nrear = 180\n"


def rows(block: str, family: str, places) -> str:  # type: ignore[no-untyped-def]
    return "".join(
        f"{block},{family},wall,5.2,mm,{bore},{station},{depth},grid\n"
        for bore, station, depth in places
    )


FULL = list(product("12", ("front", "rear"), ("top", "low")))


def test_what_is_there(read) -> None:  # type: ignore[no-untyped-def]
    records = read(
        HEADER
        + rows("B1", "works", FULL)
        + rows("B2", "works", FULL[:4])
        + rows("B3", "trophy", FULL)
        + "B1,works,mass,61,kg,,,,\n"
    )
    assert coverage(records).to_numpy().tolist() == [
        ["trophy", "wall_thickness", 1, 2, 8],
        ["works", "mass", 1, 0, 1],
        ["works", "wall_thickness", 2, 3, 12],
    ]


def test_what_is_missing(read, folder) -> None:  # type: ignore[no-untyped-def]
    records = read(
        HEADER
        + rows("B1", "works", FULL)
        + rows("B2", "works", FULL[:3])
        + rows("B3", "works", FULL[:4])
        + rows("B4", "trophy", FULL)
        + "B5,works,wall,2,mm,2,rear,low,search\n"
        + "B1,works,mass,61,kg,,,,\n"
    )
    missing = {(gap.family, gap.quantity): gap for gap in gaps(records, load_settings(folder))}
    assert set(missing) == {("works", "wall_thickness"), ("trophy", "mass")}
    walls = missing["works", "wall_thickness"]
    assert (walls.blocks, walls.lacking, walls.places, walls.missing) == (3, 2, 24, 9)
    assert walls.sentence == (
        "9 of 24 places not read, in 2 of 3 blocks; most often bore 2, station front, depth low"
    )
    assert missing["trophy", "mass"].sentence == "no reading of this quantity"


def test_a_drawing_adds_places_nobody_read(read, folder) -> None:  # type: ignore[no-untyped-def]
    text = HEADER + rows("B1", "works", [("1", "front", "top")])
    assert gaps(read(text), load_settings(folder)) == ()
    records = read(text, settings=DRAWING)
    (gap,) = gaps(records, load_settings(folder))
    assert (gap.places, gap.missing, gap.worst) == (4, 3, ("1", "rear", "top"))


def test_an_empty_study_has_no_gaps(read, folder) -> None:  # type: ignore[no-untyped-def]
    records = read(HEADER)
    assert gaps(records, load_settings(folder)) == ()
    assert len(coverage(records)) == 0


def test_places_of_a_grid_without_places(read, folder) -> None:  # type: ignore[no-untyped-def]
    records = read(HEADER + "B1,works,mass,61,kg,,,,\n")
    grid = records.cells[["family", "block", "bore", "station", "depth"]]
    assert grid_places(grid, load_settings(folder), "mass") == [("", "", "")]
