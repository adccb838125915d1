"""What a claim is of, drawn for each figure from a whole study, names of strangers included."""

from __future__ import annotations

from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from types import ModuleType

import numpy as np
import pandas as pd
import pytest

from workbench.article.answer import Answer
from workbench.article.claim_views import claim_shown
from workbench.article.picture import Picture
from workbench.study import Study, open_study

FOOTER = "block-workbench 0.1.0, seed 1"
HOSTILE = "<b>x</b>$\\\\alpha$_a_name_that_goes_on_and_on_without_a_space"
CLAIM = """
[[claim]]
id = "{id}"
statement = "It is so."
quantity = "wall_thickness"
candidate = "{candidate}"
reference = "works"
direction = "greater"
unit = "mm"
figure = "{figure}"
{more}
"""
CLAIMS = [
    ("mean", "mean", "trophy", ""),
    ("spread", "spread", "trophy", ""),
    ("spread-block", "spread", "trophy", 'scope = "block"'),
    ("thinnest", "thinnest", "trophy", ""),
    ("thinnest-block", "thinnest", "trophy", 'scope = "block"'),
    ("places", "share_below", "trophy", "threshold = 4.4"),
    ("bores", "share_below", "trophy", 'threshold = 4.4\nof = "bores"'),
    ("blocks", "share_below", "trophy", 'threshold = 5.2\nof = "blocks"'),
    ("print", "mean", "export", ""),
    ("one", "spread", "single", ""),
]
SETTINGS = f"""
title = "T"
[families.trophy]
label = "{HOSTILE}"
[[remembered]]
who = "an old hand"
quantity = "wall_thickness"
family = "works"
low = 4.0
high = 5.0
unit = "mm"
[[summaries]]
family = "export"
quantity = "wall_thickness"
unit = "mm"
n = 12
mean = 4.9
sd = 0.2
source = "{HOSTILE} & <script>alert(1)</script>"
"""


@pytest.fixture(scope="module")
def all_figures() -> ModuleType:
    """Give what every figure is held to."""
    path = Path(__file__).parent / "figures" / "test_all_figures.py"
    spec = spec_from_file_location("all_figures", path)
    assert spec is not None
    assert spec.loader is not None
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def study(tmp_path_factory: pytest.TempPathFactory) -> Study:
    folder: Path = tmp_path_factory.mktemp("claims")
    rng = np.random.default_rng(3)
    rows = ["block,family,bore,station,sampling,quantity,value,unit"]
    for family, blocks, mean in (("works", 9, 4.6), ("trophy", 6, 4.8), ("single", 1, 4.7)):
        for block in range(blocks):
            level, name = rng.normal(mean, 0.2), f"{family[0]}{block}"
            for bore in "12":
                for station in ("front", "rear", "thrust"):
                    for _ in range(2):
                        value = level + rng.normal(0, 0.15)
                        rows.append(
                            f"{name},{family},{bore},{station},grid,wall_thickness,{value:.3f},mm"
                        )
        rows.append(f"{family[0]}0,{family},1,,search,wall_thickness,3.1,mm")
    (folder / "readings.csv").write_text("\n".join(rows) + "\n", "utf-8")
    (folder / "study.toml").write_text(SETTINGS, "utf-8")
    text = "".join(
        CLAIM.format(id=name, figure=figure, candidate=family, more=more)
        for name, figure, family, more in CLAIMS
    )
    (folder / "claims.toml").write_text(text, "utf-8")
    return open_study(folder)


@pytest.fixture(scope="module")
def shown(study: Study) -> dict[str, list[Picture | Answer]]:
    judgement = study.judge(seed=1)
    return {
        verdict.claim: list(claim_shown(study, verdict, seed=1, footer=FOOTER))
        for verdict in judgement.verdicts
    }


def test_every_figure_has_a_picture_of_its_own(
    shown: dict[str, list[Picture | Answer]], all_figures: ModuleType
) -> None:
    assert not [name for name, _, _, _ in CLAIMS if name not in shown]
    assert len(shown["mean"]) == 1
    for name in ("spread", "spread-block", "thinnest", "places", "bores", "blocks"):
        assert len(shown[name]) == 2, name
    for pictures in shown.values():
        for picture in pictures:
            if isinstance(picture, Picture):
                all_figures.check(picture)


def test_spreads_are_those_of_block_means(
    study: Study, shown: dict[str, list[Picture | Answer]]
) -> None:
    data = shown["spread"][1].data
    works = data[data["family"] == "works"]
    readings = pd.read_csv(study.folder / "readings.csv")
    mine = readings[(readings["family"] == "works") & (readings["sampling"] == "grid")]
    means = mine.groupby("block")["value"].mean()
    assert works["mean"].to_numpy() == pytest.approx(means.to_numpy())
    assert works["about_family"].sum() == pytest.approx(0, abs=1e-9)
    assert works["standard_deviation"].iloc[0] == pytest.approx(means.std(ddof=1))
    assert works["block"].tolist() == means.index.tolist()


def test_least_places_are_those_of_the_grid_and_crosses_lie_lower(
    study: Study, shown: dict[str, list[Picture | Answer]]
) -> None:
    picture = shown["thinnest"][1]
    readings = pd.read_csv(study.folder / "readings.csv")
    mine = readings[(readings["family"] == "works") & (readings["sampling"] == "grid")]
    places = mine.groupby(["block", "bore", "station"])["value"].mean()
    least = places.groupby("block").min()
    data = picture.data[picture.data["family"] == "works"]
    marks = data[data["kind"] == "least reading"]
    assert marks["value"].to_numpy() == pytest.approx(least.to_numpy())
    assert data.loc[data["kind"] == "hunted for", "value"].tolist() == [3.1]
    assert "expected by the nested model" in picture.alt
    assert "mean of the least readings" in shown["thinnest-block"][1].alt


def test_share_curves_pass_through_the_shares_judged(
    study: Study, shown: dict[str, list[Picture | Answer]]
) -> None:
    verdicts = {verdict.claim: verdict for verdict in study.judge(seed=1).verdicts}
    for name in ("places", "bores", "blocks"):
        data = shown[name][1].data
        limit = verdicts[name].threshold
        at = data[data["limit"] == limit].groupby("family")["share"].last()
        assert at["trophy"] - at["works"] == pytest.approx(verdicts[name].estimate)
        for family, share in at.items():
            steps = data[(data["family"] == family) & (data["limit"] < limit)]
            assert (steps["share"].max() if len(steps) else 0.0) == pytest.approx(share)


def test_print_stands_beside_readings_and_memory(shown: dict[str, list[Picture | Answer]]) -> None:
    (picture,) = shown["print"]
    assert "12 blocks: 4.9" in picture.alt
    assert "remembered of works" in picture.alt
    assert "readings of this study, 9 blocks" in picture.alt
    assert "<script>" not in picture.html()


def test_what_cannot_be_compared_is_said_in_words(shown: dict[str, list[Picture | Answer]]) -> None:
    readings, words = shown["one"]
    assert isinstance(readings, Picture)
    assert isinstance(words, Answer)
    assert "One block of single shows nothing" in words.plain()
