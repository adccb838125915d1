"""Thin spots as they are shown: numbers are those of the results, and refusals are sentences."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from workbench.article.numbers import share_words
from workbench.article.picture import Picture
from workbench.article.thin_views import (
    curves_shown,
    grids_shown,
    meaning_shown,
    thin_spots_of,
    three_ways_shown,
    where_shown,
)
from workbench.runs.places import shipped
from workbench.study import Study, open_study

FOOTER = "block-workbench 0.1.0, seed 1"


@pytest.fixture(scope="module")
def demo(demo_study: Study) -> Study:
    return demo_study


def asked(study: Study, **given: object) -> object:
    usual = {"quantity": "", "limit": None, "families": [], "seed": 1}
    return thin_spots_of(study, **(usual | given))  # type: ignore[arg-type]


def texts(found: object) -> str:
    parts = [
        found.asked,  # type: ignore[attr-defined]
        meaning_shown(found),  # type: ignore[arg-type]
        *three_ways_shown(found),  # type: ignore[arg-type]
        *where_shown(found),  # type: ignore[arg-type]
    ]
    return "\n".join(part.plain() for part in parts)


def pictures(found: object) -> list[Picture]:
    return [*curves_shown(found, FOOTER), *grids_shown(found, FOOTER)]  # type: ignore[arg-type]


def test_the_demo_is_shown_with_the_limits_of_its_duties(demo: Study) -> None:
    found = asked(demo)
    text = texts(found)
    for limit in ("3 mm", "3.5 mm", "4 mm"):
        assert f"Limit: {limit}" in text
    assert "common practice, no source" in text
    works = found.found["works"]  # type: ignore[attr-defined]
    spots = works.spots[3.5]
    for estimate in (spots.model, spots.extreme, spots.counted):
        assert share_words(estimate.estimate, estimate.low, estimate.high) in text
    share, at = works.shares["block"].at(1), works.limits.index(3.5)
    assert at == 1
    low, middle, high = (f"{100 * part:.0f}" for part in (share.low, share.estimate, share.high))
    assert f"Of 100 such blocks expect {middle} ({low} to {high}) with a place below 3.5 mm" in text
    assert "thrust" in text
    assert "look there first" in text


def test_the_figures_draw_what_was_found(demo: Study) -> None:
    found = asked(demo, families=["works", "deepdeck"], limit=3.9)
    below, by_grid = pictures(found)
    works = found.found["works"]  # type: ignore[attr-defined]
    drawn = below.data[(below.data["family"] == "works") & (below.data["kind"] == "predicted")]
    assert drawn["share"].to_list() == pytest.approx(works.curve.share.tolist())
    seen = below.data[(below.data["family"] == "works") & (below.data["kind"] == "seen")]
    assert len(seen) == len(works.minima) + 2
    assert seen["share"].iloc[-1] == 1.0
    drawn = by_grid.data[by_grid.data["family"] == "works"]
    at = np.interp([12, 24], drawn["places"], drawn["expected"])
    assert at[0] - at[1] == pytest.approx(works.by_grid.fall(2))
    assert "3.9 mm" in below.alt
    assert "12 places read of a bore" in by_grid.alt


def test_same_seed_same_bytes(demo: Study) -> None:
    first, second = (pictures(asked(demo, families=["trophy"], limit=4.0)) for _ in range(2))
    assert [one.png for one in first] == [one.png for one in second]


@pytest.mark.parametrize(
    ("given", "sentence"),
    [
        ({"quantity": "colour"}, "There is no quantity “colour”; read were wall_thickness, deck"),
        ({"families": ["gold"]}, "is of a family “gold”; there are works, deepdeck, trophy"),
        ({"quantity": "length"}, "There is no reading of length"),
        ({"limit": 0.15, "families": ["trophy"]}, "is it in the unit of the readings?"),
    ],
)
def test_what_cannot_be_shown_is_said(demo: Study, given: dict[str, object], sentence: str) -> None:
    found = asked(demo, **given)
    text = texts(found)
    assert sentence in text


def test_a_study_of_one_reading_a_block_is_answered_as_far_as_it_goes() -> None:
    found = asked(open_study(shipped("data") / "mileage"))
    text = texts(found)
    assert "they do not agree" in text  # the cars are no normal family, and the three ways part
    assert "none stated" in text
    assert "two places a bore would be enough" in text
    assert len(pictures(found)) == 1


def test_hostile_names_are_drawn_and_escaped(tmp_path: Path) -> None:
    name = "<b>x</b>$\\alpha$"
    rows = ["block,family,bore,station,quantity,value,unit"]
    rng = np.random.default_rng(1)
    for block in range(6):
        for station in ("front", "rear"):
            rows.append(f"B{block},{name},1,{station},wall_thickness,{rng.normal(4.6, 0.2):.2f},mm")
    (tmp_path / "study.toml").write_text('title = "<script>"\n', "utf-8")
    (tmp_path / "readings.csv").write_text("\n".join(rows) + "\n", "utf-8")
    found = asked(open_study(tmp_path))
    drawn = pictures(found)
    for part in [meaning_shown(found), *three_ways_shown(found), *drawn]:  # type: ignore[arg-type]
        assert "<b>" not in part.html()
    assert len(drawn) == 2


@pytest.mark.parametrize("limit", ["thin", 0, -3.0, float("nan"), float("inf"), True])
def test_what_is_no_limit_is_said_to_be_none(demo: Study, limit: object) -> None:
    assert "A limit is a number above 0" in texts(asked(demo, limit=limit))


def test_one_family_may_be_named_without_a_list(demo: Study) -> None:
    assert list(asked(demo, families="works", limit=4.0).found) == ["works"]  # type: ignore[attr-defined]
