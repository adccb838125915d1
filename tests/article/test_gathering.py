"""One quantity gathered from a study's files, against numbers reckoned by hand."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from workbench.article import style
from workbench.article.answer import described
from workbench.article.gathering import sample_of, samples_of
from workbench.article.sample import Sample, left_out_words, mean_words
from workbench.errors import Refusal
from workbench.study import open_study


@pytest.fixture
def deck(small_study: Path) -> Sample:
    study = open_study(small_study)
    return sample_of(study.records, study.settings, "deck_thickness")


def test_block_means_take_grid_and_good_contact_only_in_one_unit(deck: Sample) -> None:
    found = deck.blocks.set_index("block")
    assert found["mean"].to_dict() == pytest.approx({"T1": 12.0, "W1": 10.3, "W2": 10.16})
    assert found["readings"].to_dict() == {"T1": 1, "W1": 4, "W2": 1}
    assert found["bores"].to_dict() == {"T1": 1, "W1": 2, "W2": 1}
    assert found["bore_sd"]["W1"] == pytest.approx(0.4 / math.sqrt(2))
    assert math.isnan(found["bore_sd"]["W2"])


def test_family_means_are_of_block_means_with_students_interval(deck: Sample) -> None:
    """t table, 1 degree of freedom, two-sided 95%: 12.706 (printed in any handbook)."""
    works, trophy = deck.means["works"], deck.means["trophy"]
    assert works.mean == pytest.approx(10.23)
    half = 12.706 * (0.14 / math.sqrt(2)) / math.sqrt(2)
    assert works.interval is not None
    assert works.interval.low == pytest.approx(10.23 - half, abs=1e-4)
    assert (works.blocks, works.readings) == (2, 5)
    assert trophy.interval is None


def test_distinct_values_keep_all_readings_and_mark_those_left_out(deck: Sample) -> None:
    assert deck.distinct["count"].sum() == 8
    assert deck.left_out("works") == 2
    out = deck.distinct.loc[~deck.distinct["counted"], "value"]
    assert sorted(out) == [9.0, 14.0]
    assert 10.16 in deck.distinct["value"].round(9).to_list()
    assert "2 readings (searched places, doubtful contact" in left_out_words(deck)


def test_families_come_in_the_order_of_the_settings_with_their_labels(deck: Sample) -> None:
    assert deck.families == ("works", "trophy")
    assert mean_words(deck, "trophy") == (
        "Trophy <i>$x$</i>: mean 12.0 mm, no interval (1 block, 1 reading)"
    )


def test_a_family_looks_the_same_in_a_figure_of_its_own(deck: Sample) -> None:
    alone = deck.only(["trophy"])
    every = style.looks(deck.families, deck.labels)
    assert style.looks(alone.families, alone.labels)["trophy"] == every["trophy"]
    assert every["trophy"].colour != every["works"].colour


def test_remembered_ranges_are_converted(deck: Sample) -> None:
    (said,) = deck.remembered
    assert (said.low, said.high) == pytest.approx((10.16, 12.7))
    assert said.source == "a <script>club</script> member"


def test_the_step_is_the_coarsest_met(deck: Sample) -> None:
    assert deck.step == pytest.approx(2.54)


def calibrate(folder: Path) -> None:
    """State a calibration, 0.2 mm and 4 % high, for every deck thickness of the study."""
    path = folder / "readings.csv"
    heading, *rows = path.read_text(encoding="utf-8").splitlines()
    rows = [f"{row},{'ug1,C1' if 'deck' in row else ','}" for row in rows]
    path.write_text("\n".join([f"{heading},gauge,calibration", *rows]), encoding="utf-8")
    (folder / "calibrations.csv").write_text(
        "calibration,gauge,material,reference,indicated,unit,reference_uncertainty\n"
        "C1,ug1,iron,5.00,5.40,mm,0.01\nC1,ug1,iron,15.00,15.80,mm,0.01\n"
    )


def test_readings_are_shown_as_their_calibration_corrects_them(small_study: Path) -> None:
    before = open_study(small_study)
    shown = sample_of(before.records, before.settings, "deck_thickness")
    calibrate(small_study)
    study = open_study(small_study)
    found = sample_of(study.records, study.settings, "deck_thickness")
    expected = {block: (mean - 0.2) / 1.04 for block, mean in _means(shown).items()}
    assert _means(found) == pytest.approx(expected)
    assert sorted(found.distinct["value"]) == pytest.approx(
        sorted((shown.distinct["value"] - 0.2) / 1.04)
    )
    assert found.step == shown.step
    assert "corrected by it" in left_out_words(found)
    assert "corrected" not in left_out_words(shown)
    mass = sample_of(study.records, study.settings, "mass")
    assert _means(mass) == _means(sample_of(before.records, before.settings, "mass"))


def _means(sample: Sample) -> dict[str, float]:
    means: dict[str, float] = sample.blocks.set_index("block")["mean"].to_dict()
    return means


def test_every_quantity_with_a_mean_is_gathered(small_study: Path) -> None:
    study = open_study(small_study)
    found = samples_of(study)
    assert [sample.quantity for sample in found] == ["deck_thickness", "mass"]


def test_a_quantity_never_read_and_one_not_known_are_refused(small_study: Path) -> None:
    study = open_study(small_study)
    with pytest.raises(Refusal, match="No reading of wall_thickness may enter a mean"):
        sample_of(study.records, study.settings, "wall_thickness")
    with pytest.raises(Refusal, match="no quantity 'colour'; known are wall_thickness"):
        sample_of(study.records, study.settings, "colour")


def rewrite(folder: Path, rows: list[str]) -> None:
    head = "block,family,quantity,value,unit,sampling"
    (folder / "readings.csv").write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")


def test_a_family_only_searched_is_named_not_drawn(small_study: Path) -> None:
    rewrite(
        small_study,
        [
            "W1,works,mass,41.0,kg,grid",
            "W2,works,mass,42.0,kg,grid",
            "T1,trophy,mass,9.0,kg,search",
        ],
    )
    study = open_study(small_study)
    sample = sample_of(study.records, study.settings, "mass")
    assert sample.families == ("works",)
    assert sample.without_mean == ("trophy",)
    assert "Trophy <i>$x$</i>" in left_out_words(sample)


def test_nothing_but_searched_readings_gives_no_sample_and_says_so(small_study: Path) -> None:
    rewrite(small_study, ["W1,works,mass,41.0,kg,search"])
    study = open_study(small_study)
    samples = samples_of(study)
    assert samples == ()
    assert "No reading may enter a mean" in described(samples).plain()


def test_each_sample_is_described_with_counts_and_what_is_left_out(small_study: Path) -> None:
    study = open_study(small_study)
    said = described(samples_of(study))
    assert said.plain().splitlines() == [
        "Deck thickness (mm): Works 2 blocks, 5 readings; Trophy <i>$x$</i> 1 block, 1 reading. "
        "2 readings (searched places, doubtful contact, or known only to be not above a value) "
        "enter no mean.",
        "Mass (kg): Works 3 blocks, 3 readings; Trophy <i>$x$</i> 2 blocks, 2 readings.",
    ]
    assert "<i>" not in said.html()


def test_a_sample_can_be_narrowed_to_some_families(deck: Sample) -> None:
    narrowed = deck.only(("trophy",))
    assert narrowed.families == ("trophy",)
    assert set(narrowed.distinct["family"]) == set(narrowed.blocks["family"]) == {"trophy"}
    assert narrowed.remembered == ()


def test_hardness_is_shown_on_the_scale_read_most_and_never_mixed(small_study: Path) -> None:
    rewrite(
        small_study,
        [
            "W1,works,hardness,20,HRC,grid",
            "W2,works,hardness,21,HRC,grid",
            "T1,trophy,hardness,22,HRC,grid",
            "T1,trophy,hardness,250,HV,grid",
        ],
    )
    study = open_study(small_study)
    sample = sample_of(study.records, study.settings, "hardness")
    assert sample.unit == "HRC"
    assert sample.other_scale == 1
    assert sample.means["trophy"].mean == 22.0
    assert "1 reading on another scale than HRC" in left_out_words(sample)
