"""What a verdict rests on, shown for every sort of claim, names of strangers included."""

from __future__ import annotations

from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

from workbench.article.answer import Answer
from workbench.article.picture import Picture
from workbench.article.scrutiny_views import scrutiny
from workbench.article.tables import Table
from workbench.claims.judgement import Judgement
from workbench.study import Study, open_study

FOOTER = "block-workbench 0.1.0, seed 1"
HOSTILE = "<b>x</b>$\\\\alpha$_a_name_that_goes_on_and_on_without_a_space"
CLAIM = """
[[claim]]
id = "{id}"
statement = "It is so."
quantity = "wall_thickness"
candidate = "trophy"
reference = "works"
direction = "greater"
unit = "mm"
{more}
"""
CLAIMS = {
    "mean": "",
    "measured": 'scope = "block"',
    "spread": 'figure = "spread"',
    "thinnest": 'figure = "thinnest"',
}


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


def shown(study: Study, judgement: Judgement, claim: str) -> list[Table | Picture | Answer]:
    (verdict,) = (one for one in judgement.verdicts if one.claim == claim)
    return list(scrutiny(study, verdict, seed=1, footer=FOOTER))


def tables(given: list[Table | Picture | Answer]) -> dict[str, Table]:
    return {one.caption: one for one in given if isinstance(one, Table)}


def uneven(folder: Path) -> Study:
    """Write a study in which one block carries the verdict, and the families differ at the rear."""
    rng = np.random.default_rng(3)
    rows = ["block,family,bore,station,quantity,value,unit"]
    for family, many in (("works", 8), ("trophy", 6)):
        for block in range(many):
            level = 5.0 + rng.normal(0, 0.05) + (0.13 if family == "trophy" else 0)
            level -= 0.6 if (family, block) == ("trophy", 5) else 0
            for bore in "12":
                for station in ("front", "rear"):
                    more = 0.2 if (family, station) == ("trophy", "rear") else 0
                    for _ in range(2):
                        value = level + more + rng.normal(0, 0.02)
                        name = f"{HOSTILE}-{family[0]}{block}"
                        rows.append(
                            f"{name},{family},{bore},{station},wall_thickness,{value:.3f},mm"
                        )
    (folder / "readings.csv").write_text("\n".join(rows) + "\n", "utf-8")
    (folder / "study.toml").write_text(
        f'title = "T"\n[families.trophy]\nlabel = "{HOSTILE}"\n', "utf-8"
    )
    text = "".join(CLAIM.format(id=name, more=more) for name, more in CLAIMS.items())
    (folder / "claims.toml").write_text(text, "utf-8")
    return open_study(folder)


@pytest.fixture(scope="module")
def odd(tmp_path_factory: pytest.TempPathFactory) -> tuple[Study, Judgement]:
    study = uneven(tmp_path_factory.mktemp("odd"))
    return study, study.judge(seed=1)


def test_the_demo_says_what_each_verdict_rests_on(
    demo_study: Study, demo_judgement: Judgement
) -> None:
    for verdict in demo_judgement.verdicts:
        given = shown(demo_study, demo_judgement, verdict.claim)
        assert given
        for one in given:
            assert "nan" not in one._repr_mimebundle_()["text/plain"].casefold().split()
    steady = tables(shown(demo_study, demo_judgement, "deck-thicker"))
    assert "No single block of the 51 changes the verdict" in (
        steady["The claim deck-thicker without one block"].note
    )
    assert len(steady) == 4
    # three blocks with a spread of nought between them: each is needed (planted in the demo)
    carried = shown(demo_study, demo_judgement, "trophy-cores-truer")
    assert isinstance(carried[0], Picture)
    assert "rests on 3 single blocks" in carried[0].alt


def test_a_block_that_carries_the_verdict_is_named_and_drawn(
    odd: tuple[Study, Judgement], all_figures: ModuleType
) -> None:
    given = shown(*odd, "mean")
    picture = given[0]
    assert isinstance(picture, Picture)
    all_figures.check(picture)
    assert "would be supported" in picture.alt
    assert picture.data["analysis"].iloc[1].endswith("t5")
    found = tables(given)
    rows = found["The claim mean without one block"].rows
    assert rows[0][-1] == "unresolved"
    assert rows[1][-1] == "supported"
    assert "p < 0.001" in found["The claim mean place by place"].note
    assert "most at rear, least at front" in found["The claim mean place by place"].note
    for one in given:
        assert "<b>" not in one.html()


def test_other_figures_say_where_to_look(odd: tuple[Study, Judgement]) -> None:
    (spread,) = shown(*odd, "spread")
    assert isinstance(spread, Table)
    assert [row[0] for row in spread.rows] == [
        "blocks of a family",
        "bores of a block",
        "readings of one place",
    ]
    assert "All spreads alike at every level: p" in spread.note
    for name in ("thinnest", "measured"):
        (answer,) = shown(*odd, name)
        assert isinstance(answer, Answer)
        assert "stands among its warnings" in answer.plain()
