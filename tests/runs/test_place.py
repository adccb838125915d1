"""One block placed by the command: what it says, what it refuses, and that the rest is answered."""

from __future__ import annotations

import io
import json
import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import lxml.html
import pytest
from click.testing import CliRunner, Result
from PIL import Image

from workbench.cli import main
from workbench.runs.sheet import file_name

pytestmark = pytest.mark.usefixtures("readings_kept")
TWO = {"front": 0, "thrust": 90}


def call(*arguments: str | Path) -> Result:
    return CliRunner(env={"COLUMNS": "140"}).invoke(
        main, ["place", *(str(word) for word in arguments)]
    )


def report(*arguments: str | Path) -> dict[str, Any]:
    result = call(*arguments, "--json")
    assert result.exit_code == 0, result.output
    found: dict[str, Any] = json.loads(result.output)
    return found


@pytest.fixture(scope="module")
def sound(bored_study: Callable[..., Path], tmp_path_factory: pytest.TempPathFactory) -> Path:
    return bored_study(tmp_path_factory.mktemp("bored") / "study")


def test_the_terminal_shows_place_bores_fitness_boring_and_cautions(sound: Path) -> None:
    result = call(sound, "W01")
    assert result.exit_code == 0, result.output
    for said in (
        *("Where it stands in its family", "percentile", "Its bores", "core shift"),
        *("Is it fit?", "margin", "risk", "How far it can be bored", "Oversizes of the list"),
        *("common practice, no source", "qualified machinist or engineer", "5 other blocks"),
    ):
        assert said in result.output


def test_the_numbers_agree_with_one_another(sound: Path) -> None:
    """Outcome, risk and limit as JCGM 106 has them; room for boring and least wall as geometry."""
    found = report(sound, "W01")
    assert found["confidence"] == 0.95
    assert {one["figure"] for one in found["figures"]} >= {"mean_wall", "thinnest", "core_shift"}
    for one in found["figures"]:
        assert 0 <= one["low"] <= one["percentile"] <= one["high"] <= 100
        assert one["other_blocks"] == 5
    for duty in found["fitness"]:
        for rule in duty["rules"]:
            sure = {"fit": rule["risk"] <= 0.05, "not_fit": rule["risk"] >= 0.95}
            assert sure.get(rule["outcome"], 0.05 < rule["risk"] < 0.95)
            assert (rule["margin"] > 0) == (rule["risk"] < 0.5)
    usable, demanding = found["boring"]["usable"], found["boring"]["all"]
    assert usable["one_size"] > demanding["one_size"]
    assert usable["one_size"] - demanding["one_size"] == pytest.approx(1.0, abs=0.02)
    for room in (usable, demanding):
        assert room["one_size"] >= room["central"] - 1e-9
        for size in room["sizes"]:
            fits = size["oversize"] <= room["one_size"] + 1e-9
            assert fits == (size["probability"] >= 0.95 - 0.002)
    unbored = found["least_wall"]["estimate"]
    assert demanding["central"] / 2 + 3.5 < unbored < demanding["central"] / 2 + 3.8


def test_a_duty_asked_for_is_answered_alone(sound: Path) -> None:
    found = report(sound, "W01", "--duty", "usable")
    assert [duty["duty"] for duty in found["fitness"]] == ["usable"]
    assert list(found["boring"]) == ["usable"]


def test_one_seed_gives_one_answer_and_another_nearly_the_same(sound: Path) -> None:
    first, again, other = (report(sound, "W01", "--seed", seed) for seed in ("1", "1", "2"))
    assert first == again
    sizes = [one["boring"]["usable"]["one_size"] for one in (first, other)]
    assert sizes[0] != sizes[1]
    assert sizes[0] == pytest.approx(sizes[1], abs=0.03)


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (("W1",), "did you mean “W01”?"),
        (("B3",), "did you mean “B03”?"),
        (("nothing like it",), "6 blocks were read"),
        (("W01", "--duty", "usabel"), "did you mean “usable”?"),
        (("W01", "--duty", "race"), "“usable”, “all”"),
    ],
)
def test_what_is_not_there_is_said_with_the_nearest_name(
    asked: tuple[str, ...], said: str, sound: Path
) -> None:
    result = call(sound, *asked)
    assert result.exit_code == 2
    assert said in " ".join(result.output.split())
    assert "Traceback" not in result.output


def place_of(found: dict[str, Any], figure: str) -> dict[str, Any]:
    return next(one for one in found["figures"] if one["figure"] == figure)


def rules(found: dict[str, Any]) -> dict[str, dict[str, Any]]:
    duty = next(one for one in found["fitness"] if one["duty"] == "all")
    return {rule["rule"]: rule for rule in duty["rules"]}


def test_two_angles_leave_the_shift_open_and_the_rest_answered(
    bored_study: Callable[..., Path], tmp_path: Path
) -> None:
    found = report(bored_study(tmp_path, stations=TWO), "W01")
    assert "three" in found["not_answered"]["walls"]
    assert "fewer than three angles" in found["not_answered"]["core_shift"]
    assert found["boring"] == {}
    said = rules(found)
    assert said["least_wall"]["outcome"] == "not_answered"
    assert "places read only" in said["least_wall"]["reason"]
    assert said["least_deck"]["outcome"] == "fit"
    assert place_of(found, "mean_wall")["other_blocks"] == 5


def test_stations_the_drawing_does_not_know_are_faults_and_the_rest_is_answered(
    bored_study: Callable[..., Path], tmp_path: Path
) -> None:
    folder = bored_study(tmp_path, stations={"north": 0, "east": 90, "south": 180})
    found = report(folder, "W01")
    assert rules(found)["least_deck"]["outcome"] == "fit"
    assert "no reading of wall thickness" in found["not_answered"]["walls"]
    faults = CliRunner().invoke(main, ["check", str(folder)])
    assert faults.exit_code == 1
    assert "north" in faults.output


def test_stations_without_a_drawing_of_them_say_what_is_missing(
    bored_study: Callable[..., Path], tmp_path: Path
) -> None:
    found = report(bored_study(tmp_path, drawn_stations=None), "W01")
    assert "[drawing.stations]" in found["not_answered"]["core_shift"]
    assert rules(found)["least_deck"]["outcome"] == "fit"


def test_one_depth_is_enough_for_a_map_of_that_depth(
    bored_study: Callable[..., Path], tmp_path: Path
) -> None:
    found = report(bored_study(tmp_path, depths=("top",)), "W01")
    assert found["boring"]["usable"]["one_size"] > 1
    assert rules(found)["least_wall"]["outcome"] == "fit"


def test_no_room_is_a_negative_overbore_and_said_in_words(
    bored_study: Callable[..., Path], tmp_path: Path
) -> None:
    folder = bored_study(tmp_path, mean=3.2)
    found = report(folder, "W01")
    assert found["boring"]["all"]["one_size"] < 0
    assert rules(found)["least_wall"]["outcome"] == "not_fit"
    assert found["boring"]["all"]["sizes"][1]["outcome"] == "does_not_fit"
    said = call(folder, "W01").output
    assert "wall short" in said


def test_a_wall_that_would_be_cut_through_says_so(
    bored_study: Callable[..., Path], tmp_path: Path
) -> None:
    boring = '[boring]\nunit = "mm"\noversizes = [9.0]\n'
    folder = bored_study(tmp_path, boring=boring)
    (size,) = report(folder, "W01")["boring"]["usable"]["sizes"]
    assert size["cuts_through"]
    assert size["least_wall"]["low"] < 0
    assert "may cut through" in " ".join(call(folder, "W01").output.split())


def test_an_offset_of_none_leaves_the_bores_their_own_centres(
    bored_study: Callable[..., Path], tmp_path: Path
) -> None:
    boring = '[boring]\nunit = "mm"\noversizes = []\nlargest_offset = 0\n'
    folder = bored_study(tmp_path, boring=boring)
    room = report(folder, "W01")["boring"]["usable"]
    assert room["one_size"] == pytest.approx(room["central"])
    assert all(offset["size"] == 0 for offset in room["offsets"].values())
    assert room["sizes"] == []
    assert "lists no oversizes" in call(folder, "W01").output


def test_a_block_without_a_drawing_is_placed_and_told_what_lacks(
    bored_study: Callable[..., Path], tmp_path: Path
) -> None:
    numbers = {f"{degrees}": degrees for degrees in (0, 90, 180, 270)}
    folder = bored_study(tmp_path, stations=numbers, without=("drawing",), depths=("15", "115"))
    found = report(folder, "W01")
    assert place_of(found, "core_shift")["other_blocks"] == 5
    assert found["core_shift"] is not None
    room = found["boring"]["usable"]
    assert "[drawing] needs" in room["not_answered"]["mass_removed"]
    assert "drawing" in room["not_answered"]["bridges"]
    paths = call(folder, "W01", "--out", tmp_path / "sheet")
    assert paths.exit_code == 0, paths.output
    assert "No plan" in (tmp_path / "sheet" / "block-W01.html").read_text(encoding="utf-8")


HOSTILE = "<script>alert('x')</script> $\\alpha$ & =cmd"


def test_the_sheet_is_one_leaf_and_one_self_contained_page(
    bored_study: Callable[..., Path], tmp_path: Path
) -> None:
    folder = bored_study(tmp_path / "study", block=HOSTILE, title=HOSTILE, family=HOSTILE)
    out = tmp_path / "out"
    result = call(folder, HOSTILE, "--out", out, "--json")
    assert result.exit_code == 0, result.output
    names = {path.suffix: path for path in out.iterdir()}
    assert set(names) == {".html", ".png", ".pdf"}
    assert all(path.stem == file_name(HOSTILE) for path in names.values())
    width, height = Image.open(io.BytesIO(names[".png"].read_bytes())).size
    assert height / width == pytest.approx(math.sqrt(2), abs=0.01)
    assert names[".pdf"].read_bytes().startswith(b"%PDF")
    assert names[".pdf"].read_bytes().count(b"/Count 1 ") == 1
    text = names[".html"].read_text(encoding="utf-8")
    page = lxml.html.fromstring(text)
    assert not page.xpath("//script | //link | //iframe")
    assert all(image.get("src").startswith("data:image/png") for image in page.xpath("//img"))
    assert all(image.get("alt") for image in page.xpath("//img"))
    assert HOSTILE in page.text_content()
    assert "qualified machinist or engineer" in page.text_content()
    assert len(page.xpath("//table")) == 6
    assert len(page.xpath("//img")) == 3


def test_files_of_a_block_stay_in_their_folder() -> None:
    assert file_name("../../etc/passwd") == "block-etc-passwd"
    assert file_name("鋳物") == "block-sheet"


def test_a_folder_that_cannot_be_written_is_said(sound: Path, tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("a file")
    result = call(sound, "W01", "--out", tmp_path / "taken")
    assert result.exit_code == 2
    assert "cannot be written" in result.output


def test_faults_of_the_duties_are_listed(bored_study: Callable[..., Path], tmp_path: Path) -> None:
    folder = bored_study(tmp_path, boring="[boring]\noversises = [1.0]\nlargest_offset = -1\n")
    result = call(folder, "W01")
    assert result.exit_code == 2
    assert "oversises" in result.output
    assert "largest_offset" in result.output


@pytest.mark.usefixtures("kernels_shared")
def test_a_run_shows_the_blocks_asked_for(sound: Path, tmp_path: Path) -> None:
    result = CliRunner().invoke(
        main,
        ["run", str(sound), "--out", str(tmp_path / "o"), "--only", "block", "--block", "B02"],
    )
    assert result.exit_code == 0, result.output
    assert [path.name for path in (tmp_path / "o" / "pages").iterdir()] == ["block-B02.html"]
    refused = CliRunner().invoke(
        main, ["run", str(sound), "--out", str(tmp_path / "p"), "--block", "B2"]
    )
    assert refused.exit_code == 2
    assert "did you mean “B02”?" in refused.output
