"""What every figure owes its reader, whatever the names and however many families."""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import lxml.html
import numpy as np
import pandas as pd
import pytest
from matplotlib.figure import Figure
from matplotlib.text import Text
from PIL import Image

from workbench.article import style
from workbench.article.figures.block_means import block_means
from workbench.article.figures.budget_shares import MOST, budget_shares
from workbench.article.figures.calibration import calibration
from workbench.article.figures.difference import difference
from workbench.article.figures.distribution import distribution
from workbench.article.figures.forest import forest
from workbench.article.figures.gauge_agreement import gauge_agreement
from workbench.article.figures.quantile_plot import quantile_plot
from workbench.article.figures.readings import readings
from workbench.article.picture import Picture
from workbench.article.sample import Sample
from workbench.article.shape_views import effects_shown, fits_shown, goodness_shown, shapes_of
from workbench.article.thin_views import curves_shown, grids_shown, thin_spots_of
from workbench.castings.calibration import Calibration
from workbench.castings.gauge_agreement import RecordedAgreement
from workbench.castings.reading_budget import MeanBudget
from workbench.claims.judgement import Judgement
from workbench.claims.verdict import Verdict
from workbench.errors import Refusal
from workbench.inference.measuring.agreement import agreement
from workbench.inference.measuring.budget import Budget, Component
from workbench.inference.measuring.calibration_fit import line as fit_line
from workbench.records.settings import Settings
from workbench.study import open_study

FOOTER = "block-workbench 0.1.0, seed 1"
LEAST_POINTS = 6.0

Draw = Callable[..., Picture]
OF_SAMPLES: dict[str, Draw] = {
    "readings": readings,
    "distribution": distribution,
    "block_means": block_means,
    "quantile_plot": lambda sample, **more: quantile_plot(sample, seed=1, **more),
}


def check(picture: Picture) -> None:
    """Hold a picture to all that can be seen without eyes."""
    shown = lxml.html.fragment_fromstring(picture.html())
    assert {node.tag for node in shown.iter()} == {"figure", "img", "figcaption"}
    assert shown.find("img").get("alt") == picture.alt
    image = Image.open(io.BytesIO(picture.png))
    assert image.width == style.WIDTH * style.DPI
    figure = picture.figure
    with style.drawing():
        assert not runs_off(figure)
        assert overlapping(figure) == []
    texts = [text for text in figure.findobj(Text) if text.get_text() and text.get_visible()]
    assert all(not text.get_parse_math() for text in texts)
    assert min(text.get_fontsize() for text in texts) >= LEAST_POINTS
    assert any(text.get_text() == FOOTER for text in texts)
    assert not picture.data.empty or "No interval plot" in picture.alt


def runs_off(figure: Figure) -> bool:
    """Tell whether anything drawn leaves the sheet, beyond a pixel."""
    box = figure.get_tightbbox()
    width, height = figure.get_size_inches()
    pixel = 1 / style.DPI
    inside = box.x0 > -pixel and box.y0 > -pixel
    return not (inside and box.x1 < width + pixel and box.y1 < height + pixel)


def overlapping(figure: Figure) -> list[tuple[str, str]]:
    """List the texts that lie on one another: notes, keys, titles, names of rows, footer."""
    texts = [*figure.texts, figure._suptitle]
    for axes in figure.axes:
        if axes.get_visible():
            texts += [*axes.texts, axes._left_title]
            low, high = sorted(axes.get_ylim())
            texts += [t for t in axes.get_yticklabels() if low <= t.get_position()[1] <= high]
            texts += axes.legend_.get_texts() if axes.legend_ else []
    boxes = [
        (text.get_text(), text.get_window_extent()) for text in texts if text.get_text().strip()
    ]
    return [
        (first, second)
        for place, (first, one) in enumerate(boxes)
        for second, other in boxes[place + 1 :]
        if first != second and one.padded(-1.5).overlaps(other.padded(-1.5))
    ]


def labels(picture: Picture) -> list[str]:
    """Give the labels of all axes that are seen, and of the sheet."""
    axes = [axes for axes in picture.figure.axes if axes.get_visible() and axes.axison]
    found = [axes.xaxis.get_label_text() for axes in axes]
    found += [axes.yaxis.get_label_text() for axes in axes]
    found += [text.get_text() for text in (picture.figure._supylabel,) if text is not None]
    return [label for label in found if label]


@pytest.mark.parametrize("name", OF_SAMPLES)
def test_figures_of_a_sample(name: str, sample: Sample) -> None:
    picture = OF_SAMPLES[name](sample, footer=FOOTER)
    check(picture)
    assert any("(mm)" in label for label in labels(picture))
    for family in sample.families:
        mean = sample.means[family]
        assert f"{mean.blocks} block" in picture.alt
    with style.drawing():
        drawn_texts = " ".join(text.get_text() for text in picture.figure.findobj(Text))
    assert all(f"{sample.means[family].blocks} block" in drawn_texts for family in sample.families)


def test_figure_of_a_verdict(verdict: Verdict, settings: Settings) -> None:
    picture = difference(verdict, settings, footer=FOOTER)
    check(picture)
    assert verdict.outcome in picture.alt
    if verdict.has_numbers:
        assert any(label.endswith(f"({verdict.unit})") for label in labels(picture))
        assert f"{verdict.candidate_blocks} blocks" in picture.alt


def test_figure_of_a_ledger(judgement: Judgement, settings: Settings) -> None:
    picture = forest(judgement, settings, footer=FOOTER)
    check(picture)
    shown = labels(picture)
    assert [label.rsplit("(", 1)[1] for label in shown] == ["mm)", "mm)", "HB)", "kg)"]


NAMES = ["ug1", "<b>x</b>$\\alpha$_a_gauge_with_a_name_that_goes_on_and_on " * 3]


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("corrected", [None, (2.0, 19.0)])
def test_figure_of_a_calibration(name: str, corrected: tuple[float, float] | None) -> None:
    picture = calibration(*a_calibration(name), corrected, footer=FOOTER)
    check(picture)
    assert all(label.endswith("(mm)") for label in labels(picture))
    assert "8 readings on 4 pieces" in picture.alt
    assert ("It corrects readings" in picture.alt) == (corrected is not None)
    assert ("beyond the pieces" in picture.caption) == (corrected is not None)
    assert picture.png == calibration(*a_calibration(name), corrected, footer=FOOTER).png


def test_the_numbers_of_a_calibration_are_its_residuals() -> None:
    found, pieces = a_calibration("ug1")
    data = calibration(found, pieces, footer=FOOTER).data
    slope, zero = np.polyfit(data["reference"], data["indicated"], 1)
    expected = data["indicated"] - zero - slope * data["reference"]
    assert data["residual"].to_numpy() == pytest.approx(expected.to_numpy(), abs=1e-9)
    with pytest.raises(Refusal, match="no readings on pieces"):
        calibration(found, pieces.iloc[:0])


def a_calibration(name: str) -> tuple[Calibration, pd.DataFrame]:
    reference = [5.0, 10.0, 15.0, 18.0] * 2
    shown = [5.03, 10.04, 15.08, 18.09, 5.01, 10.06, 15.06, 18.07]
    line = fit_line(reference, shown, reference_uncertainty=0.005)
    pieces = pd.DataFrame({"reference": reference, "indicated": shown, "unit": "mm"})
    return Calibration(name=name, gauge=name, unit="mm", line=line), pieces


@pytest.mark.parametrize("count", [1, 3, 12])
@pytest.mark.parametrize("name", NAMES)
def test_figure_of_budgets(name: str, count: int) -> None:
    parts = tuple(
        Component(
            name=f"{at} {name}", kind="B", stated=0.01 * (1 + at), shared="x" if at % 2 else None
        )
        for at in range(count)
    )
    budget = MeanBudget(
        label=f"wall of {name}", unit="mm", value=4.5, readings=3, budget=Budget(components=parts)
    )
    other = replace(budget, label="another")
    picture = budget_shares([budget, other], footer=FOOTER)
    check(picture)
    assert any(label == "share of the variance (%)" for label in labels(picture))
    drawn = picture.data[picture.data["of"] == "another"]
    assert drawn["share"].sum() == pytest.approx(1.0)
    assert ("all others" in picture.alt) == (count > MOST)


@pytest.mark.parametrize("name", NAMES)
def test_figure_of_two_gauges(name: str, settings: Settings) -> None:
    rng = np.random.default_rng(2)
    truth = np.repeat(rng.normal(4.6, 0.3, 8), 6)
    pairs = pd.DataFrame(
        {
            "block": np.repeat([f"B{at}" for at in range(8)], 6),
            "first": truth + rng.normal(0.05, 0.04, 48),
            "second": truth + rng.normal(0.0, 0.04, 48),
        }
    )
    compared = RecordedAgreement(
        quantity="wall_thickness",
        unit="mm",
        factor="gauge",
        first=name,
        second="ug2",
        pairs=pairs,
        found=agreement(pairs["first"], pairs["second"], pairs["block"]),
    )
    picture = gauge_agreement(compared, settings, footer=FOOTER)
    check(picture)
    assert "48 places of 8 blocks" in picture.alt
    assert "bias 0.0" in picture.alt
    assert sum("(mm)" in label for label in labels(picture)) == 2
    with pytest.raises(Refusal, match="too few"):
        gauge_agreement(replace(compared, found=None, why="too few"), settings)


@pytest.mark.parametrize("families", [["works"], ["ug1", NAMES[1][:90], "c"]])
def test_figures_of_distributions_and_thin_spots(
    families: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """How they are drawn hangs on no number in them, so few samples stand behind each."""
    monkeypatch.setattr("workbench.castings.family_shape.REPLICATES", 99)
    monkeypatch.setattr("workbench.castings.thin_spots.DRAWS", 100)
    rng = np.random.default_rng(3)
    rows = ["block,family,bore,station,quantity,value,unit"]
    for number, family in enumerate(families):
        for block in range(7):
            level = rng.normal(4.6, 0.2)
            for bore in "12":
                for station in ("front", "rear"):
                    value = level + rng.normal(0, 0.15)
                    rows.append(
                        f"{number}-{block},{family},{bore},{station},wall_thickness,{value:.2f},mm"
                    )
    (tmp_path / "study.toml").write_text('title = "T"\n', "utf-8")
    (tmp_path / "readings.csv").write_text("\n".join(rows) + "\n", "utf-8")
    study = open_study(tmp_path)
    thin = thin_spots_of(study, quantity="", limit=4.0, families=[], seed=1)
    shapes = shapes_of(study, quantity="", family="", seed=1)
    assert len(thin.found) == len(shapes.shapes) == len(families)
    pictures = [
        *curves_shown(thin, FOOTER),
        *grids_shown(thin, FOOTER),
        *fits_shown(shapes, FOOTER),
        *goodness_shown(shapes, FOOTER),
        *effects_shown(shapes, FOOTER),
    ]
    drawn = [picture for picture in pictures if isinstance(picture, Picture)]
    assert len(drawn) == 5
    for picture in drawn:
        check(picture)
        assert "7 blocks" in picture.alt


@pytest.mark.parametrize("name", OF_SAMPLES)
def test_the_same_sample_gives_the_same_bytes(
    name: str, sample_of_sizes: Callable[..., Sample]
) -> None:
    first, second = (
        OF_SAMPLES[name](sample_of_sizes({"works": 6, "trophy": 2}), footer=FOOTER)
        for _ in range(2)
    )
    assert first.png == second.png
    assert first.encoded("svg") == second.encoded("svg")
    assert first.alt == second.alt
