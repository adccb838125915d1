"""Fits, tests and limits as they are shown; refusals are sentences, never errors."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from workbench.article.picture import Picture
from workbench.article.shape_views import (
    ShapesFound,
    effects_shown,
    fits_shown,
    goodness_shown,
    limits_shown,
    meaning_shown,
    shapes_of,
)
from workbench.records.rounding import interval_text, p_text
from workbench.study import Study, open_study

FOOTER = "block-workbench 0.1.0, seed 1"
HEAD = "block,family,quantity,value,unit"


@pytest.fixture(scope="module")
def demo(demo_study: Study) -> Study:
    return demo_study


@pytest.fixture(scope="module", autouse=True)
def _few_samples() -> Iterator[None]:
    """Draw few samples for each p: here what is shown is held to what was found, not to truth."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("workbench.castings.family_shape.REPLICATES", 99)
        yield


@pytest.fixture(scope="module")
def found(demo: Study) -> ShapesFound:
    return shapes_of(demo, quantity="", family="", seed=1)


@pytest.fixture(scope="module")
def shown(found: ShapesFound) -> list[object]:
    return all_shown(found)


def all_shown(found: ShapesFound) -> list[object]:
    return [
        found.asked,
        *meaning_shown(found),
        *fits_shown(found, FOOTER),
        *goodness_shown(found, FOOTER),
        *effects_shown(found, FOOTER),
        *limits_shown(found),
    ]


def text_of(shown: list[object]) -> str:
    return "\n".join(part.plain() for part in shown if not isinstance(part, Picture))  # type: ignore[attr-defined]


def pictures(shown: list[object]) -> list[Picture]:
    return [part for part in shown if isinstance(part, Picture)]


def study_of(folder: Path, values: list[str]) -> Study:
    rows = [HEAD, *(f"B{at},works,deck_thickness,{value},mm" for at, value in enumerate(values))]
    (folder / "study.toml").write_text('title = "T"\n', "utf-8")
    (folder / "readings.csv").write_text("\n".join(rows) + "\n", "utf-8")
    return open_study(folder)


def test_the_numbers_shown_are_those_found(found: ShapesFound, shown: list[object]) -> None:
    text = text_of(shown)
    works = found.shapes["works"]
    tested = works.tested["normal"]
    assert tested.grouped is not None
    for goodness in (tested.independent, tested.grouped):
        assert p_text(goodness.test("anderson-darling").p_value) in text
    single = works.limits[-1]
    assert not isinstance(single.following, str)
    assert single.following is not None
    span = interval_text(
        single.following.low, single.following.high, "mm", step=works.readings.step
    )
    assert f"A single place of it will lie in {span} (95%)" in text
    assert "59 blocks are needed for one side, 93 for both" in text
    assert "Counts: does not count" in text


def test_the_figures_draw_what_was_found(found: ShapesFound, shown: list[object]) -> None:
    curves, tail, effects = pictures(shown)
    works = found.shapes["works"]
    assert works.comparison is not None
    normal = next(fit for fit in works.comparison.fits if fit.family == "normal")
    mine = tail.data[(tail.data["family"] == "works") & (tail.data["kind"] == "normal")]
    assert mine["share"].to_numpy() == pytest.approx(normal.share_below(mine["value"]))
    bars = curves.data[(curves.data["family"] == "works") & (curves.data["kind"] == "readings")]
    area = (bars["density"] * (bars["high"] - bars["low"])).sum()
    assert area == pytest.approx(1.0)
    blocks = effects.data[(effects.data["family"] == "works") & (effects.data["level"] == "block")]
    assert blocks["effect"].to_list() == pytest.approx(
        np.asarray(works.normality["block"].plot.ordered).tolist()
    )
    assert "2,815 readings of 48 blocks" in curves.alt


def test_one_family_is_looked_at_whole(demo: Study) -> None:
    found = shapes_of(demo, quantity="deck_thickness", family="deepdeck", seed=1)
    assert list(found.shapes) == ["deepdeck"]
    shape = found.shapes["deepdeck"]
    assert shape.comparison is not None
    assert len(shape.intervals) == sum(fit.converged for fit in shape.comparison.fits) > 5
    shown = text_of(list(fits_shown(found, FOOTER)))
    assert "not given" not in shown.split("Weight")[1][:20]
    assert "one in 20 below 1" in shown


@pytest.mark.parametrize(
    ("given", "sentence"),
    [
        ({"quantity": "colour"}, "There is no quantity “colour”; read were wall_thickness, deck"),
        ({"family": "gold"}, "is of a family “gold”; there are works, deepdeck, trophy"),
        ({"quantity": "length"}, "There is no reading of length"),
    ],
)
def test_what_is_not_there_is_said(demo: Study, given: dict[str, str], sentence: str) -> None:
    found = shapes_of(demo, **({"quantity": "", "family": "", "seed": 1} | given))  # type: ignore[arg-type]
    assert sentence in text_of(all_shown(found))


@pytest.mark.parametrize(
    ("values", "sentence"),
    [
        (["11.50"] * 9, "a constant has no shape; at least 5 readings"),
        (["11.50", "11.60"] * 5, "at least 5 readings of at least 3 different values"),
        (["11.50", "11.60", "11.71"], "3 readings tell no shape: at least 5 readings"),
        (["<11.50"] * 8, "All 8 readings are known only to lie beyond a limit"),
        (
            [f"{11.5 + 0.07 * at**1.5:.2f}" for at in range(8)],
            "Two populations cannot be told from 8 readings: five parameters want at least 20",
        ),
    ],
)
def test_bad_input_is_a_sentence_that_says_what_would_be_enough(
    tmp_path: Path, values: list[str], sentence: str
) -> None:
    found = shapes_of(study_of(tmp_path, values), quantity="", family="", seed=1)
    assert sentence in text_of(all_shown(found))


def test_values_written_with_a_sign_are_counted_as_such(tmp_path: Path) -> None:
    rng = np.random.default_rng(4)
    values = [f"{value:.2f}" for value in rng.normal(11.6, 0.3, 30)] + ["<11.20"] * 4
    found = shapes_of(study_of(tmp_path, values), quantity="", family="", seed=1)
    text = text_of(all_shown(found))
    assert "34 readings of 34 blocks" in text
    assert "4 readings known only from above" in text
    fit = found.shapes["works"].comparison
    assert fit is not None
    assert fit.best.readings.censored == 4


def test_hostile_names_are_drawn_and_escaped(tmp_path: Path) -> None:
    study = study_of(tmp_path, [f"{11 + 0.09 * at**1.2:.2f}" for at in range(24)])
    text = (tmp_path / "readings.csv").read_text("utf-8")
    hostile = text.replace("works", "<script>alert('$x_1^{2}$')</script>")
    (tmp_path / "readings.csv").write_text(hostile, "utf-8")
    found = shapes_of(open_study(study.folder), quantity="", family="", seed=1)
    shown = all_shown(found)
    assert len(pictures(shown)) == 3
    assert all("<script>" not in part.html() for part in shown)  # type: ignore[attr-defined]


def test_same_seed_same_bytes(demo: Study) -> None:
    first, second = (
        pictures(all_shown(shapes_of(demo, quantity="hardness", family="", seed=3)))
        for _ in range(2)
    )
    assert [one.png for one in first] == [two.png for two in second]
