"""The figures of money and of plans: what is drawn, what is said of it, hostile names, refusals."""

from __future__ import annotations

import io
import math
from dataclasses import replace
from pathlib import Path

import lxml.html
import numpy as np
import pytest
from PIL import Image

from workbench.article import style
from workbench.article.figures.break_even_map import break_even_map
from workbench.article.figures.cost_sensitivity import cost_sensitivity
from workbench.article.figures.duties import duties
from workbench.article.figures.looking_value import looking_value
from workbench.article.figures.looks_on_the_way import looks_on_the_way
from workbench.article.figures.settled_by_blocks import settled_by_blocks
from workbench.article.figures.usable_cost import usable_cost
from workbench.article.picture import Picture
from workbench.errors import Refusal
from workbench.records.settings import load_settings
from workbench.worth.answer import WorthAnswer, answer_worth
from workbench.worth.claim_study import ClaimStudy, Measured
from workbench.worth.fit_share import FitShare, JudgedShares
from workbench.worth.information import LookingValue
from workbench.worth.measuring_plan import MeasuringPlan
from workbench.worth.plan_claims import ClaimPlan, PlanAnswer
from workbench.worth.plan_outlook import schedule
from workbench.worth.prices import Prices, load_prices
from workbench.worth.ways_of_reading import Room

HOSTILE = "<script>$\\alpha$ & “x”, a name that goes on and on and on without an end</script>"
STUDY = """
title = "x"
[worth]
currency = "GBP"
inspection = 10
shipping = {{ low = 20, likely = 60, high = 100 }}
resale_share = 0.5
usable_block = 1600
[families.works]
label = '{works}'
price = 900
[families.trophy]
label = '{trophy}'
price = {{ low = 1200, likely = 1500, high = 2000 }}
"""


def answered(
    folder: Path,
    *,
    works: str = "Works",
    trophy: str = "Trophy",
    counts: tuple[tuple[int, int], tuple[int, int]] = ((6, 12), (5, 6)),
    modelled: bool = True,
) -> WorthAnswer:
    """Answer an invented study, its shares by count and by drawn model."""
    text = STUDY.format(works=works, trophy=trophy)
    (folder / "study.toml").write_text(text, encoding="utf-8")
    generator = np.random.default_rng(3)
    shares = {
        duty: {
            family: FitShare(
                family=family,
                duty=duty,
                passed=passed,
                inspected=of,
                draws=generator.beta(passed + 1, of - passed + 1, 2000) if modelled else None,
            )
            for family, (passed, of) in zip(("works", "trophy"), counts, strict=True)
        }
        for duty in ("street", "power")
    }
    judged = JudgedShares(shares=shares, labels={"street": works}, notes={"street": "invented"})
    return answer_worth(load_prices(load_settings(folder)), judged, duty="street", trials=10_000)


@pytest.fixture
def answer(tmp_path) -> WorthAnswer:
    return answered(tmp_path)


def check(picture: Picture) -> None:
    """Hold a picture to what can be seen without eyes."""
    shown = lxml.html.fragment_fromstring(picture.html())
    assert {node.tag for node in shown.iter()} == {"figure", "img", "figcaption"}
    assert Image.open(io.BytesIO(picture.png)).width == style.WIDTH * style.DPI
    assert len(picture.data)


def of_all(answer: WorthAnswer) -> list[Picture]:
    pair = next(pair for pair in answer.pairs if pair.sensitivity is not None)
    return [
        usable_cost(answer),
        break_even_map(answer),
        duties(answer),
        looking_value(answer),
        cost_sensitivity(pair, "GBP"),
    ]


def test_every_figure_says_what_it_shows(answer) -> None:
    for picture in of_all(answer):
        check(picture)
        assert "Trophy" in picture.alt or "Works" in picture.alt


def test_hostile_names_are_drawn_as_text(tmp_path) -> None:
    for picture in of_all(answered(tmp_path, works=HOSTILE, trophy=HOSTILE + "2")):
        check(picture)


def test_counts_and_costs_stand_in_the_words(answer) -> None:
    cost = answer.families[0].costs[0]
    said = usable_cost(answer).alt
    assert "Works (6 of 12 fit)" in said
    assert f"{cost.median:.0f}"[:2] in said


def test_distributions_are_those_of_the_draws(answer) -> None:
    data = usable_cost(answer).data
    own = data[(data["family"] == "works") & (data["basis"] == "counted")]
    highest = own.loc[own["height"].idxmax()]
    draws = answer.families[0].costs[0].long_run
    near = np.mean((draws >= highest["from"]) & (draws < highest["to"]))
    assert near == pytest.approx(np.histogram(draws, bins=120)[0].max() / draws.size, rel=0.3)


def test_the_line_passes_where_costs_are_even(answer) -> None:
    """At the price on the line, by the cost of a known share, both cost the same."""
    data = break_even_map(answer).data
    row = data.iloc[100]
    money = answer.prices.of("trophy")
    amounts = {m.key: m.range.mean for m in money.amounts}
    amounts[money.price.key] = row["break_even_price"]
    cost = money.costs(amounts).per_success(np.array([row["share"]]))[0]
    assert cost == pytest.approx(answer.pairs[0].comparison.ordinary.mean)


def test_the_values_of_looking_are_those_of_the_answer(answer) -> None:
    data = looking_value(answer).data
    looks = [look for found in answer.looking for look in found.looks]
    assert data["value"].tolist() == [look.value for look in looks]
    assert data["fee"].min() == 10


def test_a_family_that_is_looked_at_alone_keeps_its_colour(answer) -> None:
    looking = next(found for found in answer.looking if isinstance(found, LookingValue))
    last = list(answer.prices.labels)[-1]
    alone = replace(looking, looks=tuple(look for look in looking.looks if look.family == last))
    axes = looking_value(replace(answer, looking=(alone,))).figure.axes[0]
    own = style.looks([last], answer.prices.labels)[last]
    assert {(line.get_color(), line.get_marker()) for line in axes.lines[:1]} == {
        (own.colour, own.marker)
    }
    assert own.colour != style.COLOURS[0]


def test_costs_far_apart_are_drawn_by_ratios(tmp_path) -> None:
    far = answered(tmp_path, counts=((1, 40), (30, 30)), modelled=False)
    assert usable_cost(far).figure.axes[0].get_xscale() == "log"
    assert duties(far).figure.axes[0].get_xscale() == "log"
    assert "ratios" in usable_cost(far).caption


def test_costs_without_bound_leave_the_figure(tmp_path) -> None:
    none_fit = answered(tmp_path, counts=((0, 3), (3, 3)), modelled=False)
    for picture in (usable_cost(none_fit), duties(none_fit)):
        check(picture)
    with pytest.raises(Refusal, match="No two families"):
        break_even_map(none_fit)


def test_nothing_to_draw_is_refused(answer) -> None:
    alone = replace(answer, families=(), pairs=(), looking=(), duties=())
    for draw in (usable_cost, break_even_map, duties, looking_value):
        with pytest.raises(Refusal, match="No "):
            draw(alone)
    without = replace(answer.pairs[0], sensitivity=None)
    with pytest.raises(Refusal, match="Nothing that is not known"):
        cost_sensitivity(without, "GBP")


def planned(claim: str = "walls") -> PlanAnswer:
    study = ClaimStudy(
        direction="greater",
        margin=0.0,
        scope="family",
        confidence=0.95,
        estimate=0.2,
        standard_error=0.15,
        degrees_of_freedom=10,
        block=0.04,
        bore=0.0,
        place=0.01,
        repeat=0.0,
        candidate=Measured.evenly(4),
        reference=Measured.evenly(8),
        unit="mm",
    )
    plan = ClaimPlan(
        claim=claim,
        statement="x",
        candidate="Trophy",
        reference="Works",
        study=study,
        room=Room(candidate=5, reference=None, bores=1, places=1),
        looks=schedule(study, MeasuringPlan(candidate=20, reference=20)),
    )
    prices = Prices(currency="GBP", families={}, refused={}, ordinary=None)
    return PlanAnswer(prices=prices, plans=(plan,))


def test_power_rises_with_blocks_and_assurance_is_drawn_beside() -> None:
    picture = settled_by_blocks(planned())
    check(picture)
    power = picture.data["power"].to_numpy()
    assert np.all(np.diff(power) > 0)
    assert math.isclose(power[-1], 1.0, abs_tol=0.01)
    assert picture.data["assurance"].iloc[-1] < power[-1]
    assert "with 10 more blocks of each family" in picture.alt
    check(settled_by_blocks(planned(HOSTILE)))


def test_bounds_fall_from_look_to_look() -> None:
    picture = looks_on_the_way(planned())
    check(picture)
    assert picture.data["blocks"].tolist() == [10, 20, 30, 40]
    assert np.all(np.diff(picture.data["beyond"].to_numpy()) < 0)
    assert np.all(np.diff(picture.data["settled"].to_numpy()) > 0)
    assert "after 10 new blocks" in picture.alt
    check(looks_on_the_way(planned(HOSTILE)))
    unlooked = replace(planned(), plans=(replace(planned().plans[0], looks=None),))
    with pytest.raises(Refusal, match="looked at on its way"):
        looks_on_the_way(unlooked)


def test_no_plan_is_refused() -> None:
    with pytest.raises(Refusal, match="could be planned"):
        settled_by_blocks(replace(planned(), plans=()))
