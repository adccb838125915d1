"""The figures of bores, shifts and boring: words, sheets, numbers, odd studies, hostile names."""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import lxml.html
import numpy as np
import pytest
from matplotlib.figure import Figure
from matplotlib.text import Text
from PIL import Image

from workbench.article import style
from workbench.article.block_views import maps_of
from workbench.article.compass import around, magnification, point_at
from workbench.article.figures.block_plan import block_plan
from workbench.article.figures.block_sheet import PAGE, block_sheet
from workbench.article.figures.bore_map import bore_map
from workbench.article.figures.bore_maps import bore_maps
from workbench.article.figures.family_shifts import family_shifts
from workbench.article.figures.overbore import overbore
from workbench.article.figures.wall_ring import wall_ring
from workbench.article.picture import Picture
from workbench.castings.block_report import BlockReport, block_report
from workbench.castings.bores.shift_of_family import shift_of_family
from workbench.castings.bores.wall_map import WallMap
from workbench.castings.inspection import Inspection
from workbench.errors import Refusal
from workbench.records.settings import Settings
from workbench.study import open_study

FOOTER = "block-workbench 0.1.0, seed 1"
HOSTILE = "<b>x</b>$\\alpha$_a_block_with_a_name_that_goes_on_and_on"
NAMES = ["W01", HOSTILE]
FOUR = {"0": 0.0, "40": 40.0, "80": 80.0, "120": 120.0}


@dataclass(frozen=True, kw_only=True)
class Case:
    inspection: Inspection
    report: BlockReport
    maps: dict[str, WallMap]

    @property
    def settings(self) -> Settings:
        return self.inspection.settings

    @property
    def stations(self) -> dict[str, float]:
        return dict(self.settings.drawing.stations) if self.settings.drawing else {}


@pytest.fixture(scope="module")
def case(
    bored_study: Callable[..., Path], tmp_path_factory: pytest.TempPathFactory
) -> Callable[..., Case]:
    def make(block: str = "W01", **given: object) -> Case:
        folder = tmp_path_factory.mktemp("bored")
        opened = open_study(bored_study(folder, block=block, title=block, family=block, **given))
        inspection = opened.inspect()
        report = block_report(inspection, block, generator=np.random.default_rng(1))
        return Case(inspection=inspection, report=report, maps=maps_of(inspection, report))

    return make


def drawn(of: Case) -> dict[str, Picture]:
    """Draw every figure of a block."""
    bore = of.report.bores[0]
    family = shift_of_family(of.inspection.core_shifts(), of.report.family)
    return {
        "map": bore_map(of.maps["1"], of.stations, step=of.report.step, footer=FOOTER),
        "maps": bore_maps(of.maps, of.settings, step=of.report.step, footer=FOOTER),
        "ring": wall_ring(of.maps["1"], bore.shift, of.stations, footer=FOOTER),
        "plan": block_plan(of.report, of.maps, of.settings.drawing, footer=FOOTER),
        "overbore": overbore(of.report, footer=FOOTER),
        "shifts": family_shifts([family], of.settings, footer=FOOTER),
        "sheet": block_sheet(of.report, of.maps, of.settings, footer=FOOTER),
    }


@pytest.fixture(scope="module")
def usual(case: Callable[..., Case]) -> Case:
    return case()


@pytest.fixture(scope="module")
def figures(usual: Case) -> dict[str, Picture]:
    return drawn(usual)


@pytest.mark.parametrize("name", NAMES)
def test_every_figure_has_words_and_stays_on_its_sheet(
    name: str, figures: dict[str, Picture], case: Callable[..., Case]
) -> None:
    for kind, picture in (figures if name == "W01" else drawn(case(name))).items():
        shown = lxml.html.fragment_fromstring(picture.html())
        assert {node.tag for node in shown.iter()} == {"figure", "img", "figcaption"}
        width = PAGE[0] if kind == "sheet" else style.WIDTH
        assert Image.open(io.BytesIO(picture.png)).width == int(width * style.DPI), kind
        texts = [text for text in picture.figure.findobj(Text) if text.get_text()]
        assert all(not text.get_parse_math() for text in texts)
        assert min(text.get_fontsize() for text in texts) >= 6, kind
        assert any(text.get_text() == FOOTER for text in texts)
        with style.drawing():
            assert not runs_off(picture.figure), kind
        assert not picture.data.empty
        if kind in ("map", "maps", "ring", "overbore", "plan"):
            assert " mm" in picture.alt


def runs_off(figure: Figure) -> bool:
    """Tell whether anything drawn leaves the sheet, beyond a pixel."""
    box = figure.get_tightbbox()
    width, height = figure.get_size_inches()
    pixel = 1 / style.DPI
    inside = box.x0 > -pixel and box.y0 > -pixel
    return not (inside and box.x1 < width + pixel and box.y1 < height + pixel)


def test_what_was_read_nowhere_near_is_masked(case: Callable[..., Case]) -> None:
    """Read from 0 to 120 degrees: 60 degrees from those and further nothing is drawn."""
    of = case(stations=FOUR, drawn_stations=FOUR)
    picture = bore_map(of.maps["1"], of.stations, step=0.01, footer=FOOTER)
    masked = picture.data[picture.data["wall"].isna()]["degrees"]
    assert (masked.min(), masked.max()) == (185.0, 295.0)
    assert "masked" in picture.alt
    ring = wall_ring(of.maps["1"], of.report.bores[0].shift, of.stations, footer=FOOTER)
    assert not ring.data["degrees"].between(185, 295).any()


def test_the_same_block_gives_the_same_bytes(usual: Case, figures: dict[str, Picture]) -> None:
    first = figures["sheet"]
    second = block_sheet(usual.report, usual.maps, usual.settings, footer=FOOTER)
    assert first.png == second.png
    assert first.encoded("pdf") == second.encoded("pdf")


def test_one_depth_has_a_course_in_place_of_a_map(case: Callable[..., Case]) -> None:
    of = case(depths=("top",))
    picture = bore_map(of.maps["1"], of.stations, step=0.01, footer=FOOTER)
    assert "own course" in picture.caption
    assert picture.data["depth"].unique().tolist() == ["top"]


def test_the_finding_is_in_the_words(usual: Case, figures: dict[str, Picture]) -> None:
    of, found = usual, figures
    thin = of.maps["1"].thinnest
    assert f"{thin.degrees:.0f}°" in found["map"].alt
    assert f"{thin.wall:.2f}" in found["plan"].alt
    assert "To be used at all: fit" in found["sheet"].alt
    for words in (found["sheet"].caption, found["overbore"].caption):
        assert "engineer" in words or "nothing is known" in words
    assert "6 blocks" in found["shifts"].alt
    data = found["plan"].data
    shift = of.report.bores[0].shift
    assert shift is not None
    assert (data["x"][0], data["y"][0]) == (shift.x, shift.y)


def test_what_cannot_be_drawn_is_refused_with_the_reason(case: Callable[..., Case]) -> None:
    of = case(stations={"front": 0, "thrust": 90})
    with pytest.raises(Refusal, match="three angles"):
        overbore(of.report)
    with pytest.raises(Refusal, match="No bore of the block has a map"):
        bore_maps(of.maps, of.settings, step=0.01)
    with pytest.raises(Refusal, match="bore_spacing"):
        block_plan(of.report, of.maps, None)
    assert "not answered" in block_sheet(of.report, of.maps, of.settings, footer=FOOTER).alt


def test_a_shift_that_is_not_known_is_drawn_without_an_arrow(usual: Case) -> None:
    picture = wall_ring(usual.maps["1"], None, usual.stations, footer=FOOTER)
    assert "not determined" in picture.alt
    assert "arrow" not in picture.caption


def test_families_beyond_the_drawing_are_counted(usual: Case) -> None:
    of = usual
    one = shift_of_family(of.inspection.core_shifts(), "W01")
    many = [replace(one, family=f"F{at}") for at in range(11)]
    assert "9 of 11 families drawn" in family_shifts(many, of.settings, footer=FOOTER).caption


def test_directions_are_those_seen_from_the_deck_with_the_front_at_the_left() -> None:
    assert point_at(0, 1.0) == pytest.approx((-1.0, 0.0))
    assert point_at(90, 1.0) == pytest.approx((0.0, 1.0))
    assert point_at(180, 2.0) == pytest.approx((2.0, 0.0))
    x, y = around(np.array([270.0]), 1.0)
    assert (float(x[0]), float(y[0])) == pytest.approx((0.0, -1.0))


def test_a_vector_is_enlarged_by_a_round_factor_that_fits() -> None:
    assert magnification(0.2, 10.0) == 40
    assert magnification(30.0, 10.0) == 1


@pytest.mark.parametrize("unit", ["mm", "in"])
def test_a_plan_without_walls_is_in_the_unit_of_the_drawing(unit: str, usual: Case) -> None:
    of = usual
    drawing = of.settings.drawing
    assert drawing is not None
    assert drawing.bore_spacing is not None
    assert drawing.bore_diameter is not None
    stated = drawing.model_copy(update={"unit": unit})
    unread = replace(of.report, unit="", bores=())
    texts = [text.get_text() for text in block_plan(unread, {}, stated).figure.findobj(Text)]
    assert f"{drawing.bore_spacing - drawing.bore_diameter:.1f} {unit}" in texts
