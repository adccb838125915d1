"""What was never kept, as the pages of fits, distributions and thin spots tell and draw it."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from scipy.stats import norm

from workbench.article.answer import described
from workbench.article.figures.distribution import distribution
from workbench.article.gathering import samples_of
from workbench.article.shape_views import (
    ShapesFound,
    effects_shown,
    fits_shown,
    goodness_shown,
    limits_shown,
    meaning_shown,
    shapes_of,
)
from workbench.article.thin_views import meaning_shown as thin_meaning
from workbench.article.thin_views import thin_spots_of, three_ways_shown
from workbench.study import Study, open_study

MEAN, SPREADS = 4.2, (0.15, 0.1, 0.35)
NOTE = "<b>the display</b> stays blank"
LEFT = "this is of what was kept, not of what was cast"


def written(folder: Path, entry: str, cut: float) -> Study:
    """Write 14 blocks of 4 bores and 8 places, of which what was shown under `cut` is missing."""
    rng = np.random.default_rng(4)
    rows = ["block,family,quantity,value,unit,bore,station,depth,gauge"]
    for block in range(14):
        of_block = SPREADS[0] * rng.standard_normal()
        for bore in range(1, 5):
            of_bore = SPREADS[1] * rng.standard_normal()
            for place in range(8):
                shown = MEAN + of_block + of_bore + SPREADS[2] * rng.standard_normal()
                if shown >= cut:
                    rows.append(
                        f"B{block},works,wall_thickness,{shown:.2f},mm,{bore},s{place // 2},"
                        f"d{place % 2},ug1"
                    )
    (folder / "study.toml").write_text(f'title = "T"\n{entry}', "utf-8")
    (folder / "readings.csv").write_text("\n".join(rows) + "\n", "utf-8")
    return open_study(folder)


ENTRY = f"""
[[truncation]]
quantity = "wall_thickness"
gauge = "ug1"
kept_from = 4.0
unit = "mm"
note = "{NOTE}"
"""


@pytest.fixture(scope="module")
def study(tmp_path_factory: pytest.TempPathFactory) -> Study:
    return written(tmp_path_factory.mktemp("cut"), ENTRY, 3.995)


@pytest.fixture(scope="module")
def found(study: Study) -> ShapesFound:
    return shapes_of(study, quantity="", family="", seed=1)


def plain(parts) -> str:  # type: ignore[no-untyped-def]
    return "\n".join(part.plain() for part in parts if hasattr(part, "plain"))


def test_fits_say_what_was_not_kept_and_how_much_of_them_that_is(found: ShapesFound) -> None:
    said = f"No reading below 4 mm by “ug1” was kept ({NOTE}). Fits are of all such readings"
    assert said in found.asked.plain()
    assert "<b>" not in found.asked.html()
    (table,) = [part for part in fits_shown(found, "x") if hasattr(part, "columns")]
    shape = found.shapes["works"]
    assert shape.comparison is not None
    normal = next(fit for fit in shape.comparison.fits if fit.family == "normal")
    total = float(np.hypot(np.hypot(*SPREADS[:2]), SPREADS[2]))
    planted = norm.cdf(3.995, MEAN, total)
    assert 1 - normal.seen == pytest.approx(planted, abs=0.1)
    (row,) = [row for row in table.rows if row[0] == "normal"]
    assert row[-1] == (
        f"{round(100 * (1 - normal.seen))}% of it lies where nothing was kept, told by its shape "
        "alone."
    )
    assert "one in 20, kept or not, stays below" in table.note


def test_the_true_family_passes_its_test(found: ShapesFound) -> None:
    deciding = found.shapes["works"].tested["normal"].deciding
    assert deciding is not None
    assert deciding.test("anderson-darling").p_value > 0.05


def test_curves_stand_on_the_scale_of_what_was_kept(found: ShapesFound) -> None:
    curves, tail = (
        part for shown in (fits_shown(found, "x"), goodness_shown(found, "x")) for part in shown
        if hasattr(part, "alt")
    )  # fmt: skip
    assert "nothing kept below 3.995 mm" in curves.alt
    assert "Where it is hatched nothing was kept" in curves.caption
    assert "jump" not in curves.caption
    shape = found.shapes["works"]
    assert shape.comparison is not None
    normal = next(fit for fit in shape.comparison.fits if fit.family == "normal")
    mine = curves.data[curves.data["kind"] == "normal"]
    assert mine["density"].to_numpy() == pytest.approx(normal.density(mine["low"]) / normal.seen)
    axes = curves.figure.axes[0]
    assert axes.get_xlim()[0] < 3.9
    assert any(patch.get_hatch() for patch in axes.patches)
    drawn = tail.data[tail.data["kind"] == "normal"]
    assert drawn["share"].to_numpy() == pytest.approx(normal.share_of_seen_below(drawn["value"]))
    assert drawn["value"].min() >= 3.995
    assert "shares of what was kept" in tail.caption


def test_what_takes_no_account_of_it_says_so(study: Study, found: ShapesFound) -> None:
    assert LEFT in plain(meaning_shown(found))
    assert plain(effects_shown(found, "x")).count(LEFT) == 2
    assert LEFT in plain(limits_shown(found))
    (sample,) = samples_of(study)
    assert LEFT in described([sample]).plain()
    assert f"no reading below 4 mm by “ug1” was kept ({NOTE})" in distribution(sample).caption
    assert "<b>" not in distribution(sample).html()


def test_thin_spots_refuse_limits_nobody_could_have_seen(study: Study) -> None:
    asked = {"quantity": "", "families": [], "seed": 1}
    thin = thin_spots_of(study, limit=3.9, **asked)  # type: ignore[arg-type]
    assert "the records cannot tell which share lies below 3.9 mm" in plain(three_ways_shown(thin))
    assert LEFT in thin.asked.plain()
    assert thin.found["works"].limits == ()
    assert thin.found["works"].curve.limits.min() >= 4.0
    answered = thin_spots_of(study, limit=4.1, **asked)  # type: ignore[arg-type]
    assert answered.found["works"].limits == (4.1,)
    assert thin_meaning(answered).plain()


def test_nothing_is_said_where_all_was_kept(tmp_path: Path) -> None:
    study = written(tmp_path, "", 0.0)
    found = shapes_of(study, quantity="", family="", seed=1)
    shown = (
        *meaning_shown(found),
        *fits_shown(found, "x"),
        *goodness_shown(found, "x"),
        *limits_shown(found),
    )
    assert "kept" not in found.asked.plain() + plain(shown)
    curves = next(part for part in shown if hasattr(part, "alt"))
    assert "kept" not in curves.alt + curves.caption


def test_fits_cannot_undo_the_sorting_of_blocks(tmp_path: Path) -> None:
    entry = ENTRY.replace('gauge = "ug1"', 'of = "blocks"')
    found = shapes_of(written(tmp_path, entry, 3.5), quantity="", family="", seed=1)
    text = found.asked.plain()
    assert "Blocks with a reading below 4 mm were sorted out before they were measured" in text
    assert "No fit to readings can undo the sorting of blocks" in text
    assert found.shapes["works"].readings.window == (-np.inf, np.inf)


def test_two_gauges_of_which_one_shows_less_are_told_and_drawn(tmp_path: Path) -> None:
    rng = np.random.default_rng(9)
    rows = ["block,family,quantity,value,unit,station,gauge"]
    for block in range(20):
        middle = 11 + 0.3 * rng.standard_normal()
        for place in range(10):
            value = middle + 0.4 * rng.standard_normal()
            if place % 2 or value >= 10.995:
                gauge = "ug2" if place % 2 else "ug1"
                rows.append(f"B{block},works,deck_thickness,{value:.2f},mm,s{place},{gauge}")
    entry = ENTRY.replace("wall", "deck").replace("4.0", "11.0")
    (tmp_path / "study.toml").write_text(f'title = "T"\n{entry}', "utf-8")
    (tmp_path / "readings.csv").write_text("\n".join(rows) + "\n", "utf-8")
    found = shapes_of(open_study(tmp_path), quantity="", family="", seed=1)
    of = found.shapes["works"].readings
    tested = int(of.shared[0]["n"].sum())
    assert of.size == len(rows) - 1 > tested
    assert f"Tests of fit are of the {tested} readings within the range" in found.asked.plain()
    curves = next(part for part in fits_shown(found, "x") if hasattr(part, "alt"))
    assert "Where curves jump" in curves.caption
    assert "hatched" not in curves.caption
    normal = curves.data[curves.data["kind"] == "normal"].set_index("low")["density"]
    assert normal[normal.index > 10.995].iloc[0] > 1.3 * normal[normal.index < 10.995].iloc[-1]
