"""Where each family was read."""

from __future__ import annotations

import itertools
from pathlib import Path

import pytest

from workbench.article import style
from workbench.article.figures.grid_coverage import MOST, grid_coverage, place_counts
from workbench.study import open_study


def test_blocks_and_bores_are_counted_at_every_place(small_study: Path) -> None:
    study = open_study(small_study)
    places = place_counts(study.records, study.settings, "deck_thickness")
    columns = ["family", "station", "blocks", "measured", "missing", "bores", "measured_bores"]
    assert places[columns].to_numpy().tolist() == [
        ["works", "front", 2, 2, 0, 3, 3],
        ["works", "rear", 1, 2, 1, 2, 3],
        ["trophy", "front", 1, 1, 0, 1, 1],
        ["trophy", "rear", 0, 1, 1, 0, 1],
    ]
    assert places["readings"].to_list() == [3, 2, 1, 0]


def test_words_say_what_is_missing(small_study: Path) -> None:
    study = open_study(small_study)
    picture = grid_coverage(study.records, study.settings, "deck_thickness", footer="seed 1")
    assert "Works: 2 blocks, 5 readings, every block read at 1 of 2 places, 1 gap" in picture.alt
    texts = [text.get_text() for text in picture.figure.axes[0].texts]
    assert texts == [
        "2 of 2 blocks\n3 of 3 bores",
        "1 of 2 blocks\n2 of 3 bores",
        "1 of 1 blocks\n1 of 1 bores",
        "0 of 1 blocks\n0 of 1 bores",
    ]


def test_what_is_missing_is_hatched_not_only_paler(small_study: Path) -> None:
    study = open_study(small_study)
    picture = grid_coverage(study.records, study.settings, "deck_thickness")
    hatches = [patch.get_hatch() for patch in picture.figure.axes[0].patches]
    assert hatches == [None, "///", None, "///"]


@pytest.mark.parametrize("quantity", ["mass", "wall_thickness"])
def test_a_quantity_without_places_and_one_never_read_are_drawn(
    small_study: Path, quantity: str
) -> None:
    study = open_study(small_study)
    picture = grid_coverage(study.records, study.settings, quantity)
    expected = "Works: 3 blocks" if quantity == "mass" else "No reading on a grid place"
    assert expected in picture.alt


def test_many_places_and_families_fit_on_the_sheet(small_study: Path) -> None:
    rows = [
        f"B{family},<b>family</b> $number_{family}$ with a long name,deck_thickness,9.{bore},mm,"
        f"{bore},{station},{depth}"
        for family in range(5)
        for bore in (1, 2)
        for station in range(0, 360, 30)
        for depth in (5, 40, 80, 110, 120)
    ]
    head = "block,family,quantity,value,unit,bore,station,depth"
    (small_study / "readings.csv").write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
    study = open_study(small_study)
    picture = grid_coverage(study.records, study.settings, "deck_thickness", footer="seed 1")
    assert f"first {MOST} of 60 places" in picture.caption
    with style.drawing():
        box = picture.figure.get_tightbbox()
        heads = [t.get_window_extent() for t in picture.figure.axes[0].get_xticklabels()]
        assert all(not one.overlaps(other) for one, other in itertools.pairwise(heads))
    width, height = picture.figure.get_size_inches()
    assert 0 <= box.x0 < box.x1 <= width + 0.01
    assert 0 <= box.y0 < box.y1 <= height + 0.01
