"""Random-effects pooling against published numbers, metafor and statsmodels.

BCG vaccine trials (Colditz, G. A. et al. 1994, Journal of the American Medical Association 271,
698-702), log relative risks, as metadat carries them. Printed in many places: DerSimonian-Laird
-0.7141 (0.1787), between variance 0.3088, Q 152.23 on 12; REML -0.7145 (0.1798), 0.3132;
Paule-Mandel 0.3181 (Viechtbauer, W. 2010, Journal of Statistical Software 36(3); from memory).
The other numbers stand in r/pooling.txt, printed by r/pooling.R.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from statsmodels.stats.meta_analysis import combine_effects

from workbench.inference.means.pooling import Source, pool

PRINTED = (Path(__file__).parent / "r" / "pooling.txt").read_text(encoding="utf-8")
METHODS = {"DL": "dersimonian-laird", "REML": "reml", "PM": "paule-mandel"}
SMALL = {
    "alike": ((1.0, 1.2, 0.9, 1.1), (0.09, 0.04, 0.16, 0.0625)),
    "two": ((1.0, 2.5), (0.09, 0.04)),
}


def section(name):
    return PRINTED.split(f"[{name}]\n")[1].split("\n\n")[0].splitlines()


def witness(name):
    return {key: float(value) for key, value in (line.rsplit(maxsplit=1) for line in section(name))}


def sources(name):
    if name == "bcg":
        rows = [line.split() for line in section("trials")]
        return [
            Source(name=f"trial {n}", estimate=float(y), standard_error=float(v) ** 0.5)
            for n, y, v in rows
        ]
    return [
        Source(name=str(place), estimate=y, standard_error=v**0.5)
        for place, (y, v) in enumerate(zip(*SMALL[name], strict=True))
    ]


@pytest.mark.parametrize("name", ["bcg", *SMALL])
@pytest.mark.parametrize("method", METHODS)
def test_against_r(name, method):
    printed = witness(f"{name} {method}")
    found = pool(sources(name), between=METHODS[method])
    assert found.estimate == pytest.approx(printed["estimate"], rel=1e-7)
    assert found.standard_error == pytest.approx(printed["se"], rel=1e-7)
    assert found.between_variance == pytest.approx(printed["tau2"], rel=1e-6, abs=1e-9)
    assert found.heterogeneity == pytest.approx(printed["Q"], rel=1e-8)
    assert found.heterogeneity_p == pytest.approx(printed["Q_p"], rel=1e-6)
    assert found.inconsistency == pytest.approx(printed["I2"], rel=1e-6, abs=1e-8)
    plain = found.unadjusted_interval()
    assert (plain.low, plain.high) == pytest.approx((printed["low"], printed["high"]), rel=1e-6)
    assert found.adjusted_error == pytest.approx(printed["knapp_se"], rel=1e-7)
    unbounded = found.standard_error * found.knapp_factor**0.5
    assert unbounded == pytest.approx(printed["plain_knapp_se"], rel=1e-6)
    knapp = found.interval()
    assert (knapp.low, knapp.high) == pytest.approx(
        (printed["knapp_low"], printed["knapp_high"]), rel=1e-6
    )
    assert found.p_value() == pytest.approx(printed["knapp_p"], rel=1e-6)
    between = found.between_interval()
    assert (between.low, between.high) == pytest.approx(
        (printed["tau2_low"], printed["tau2_high"]), rel=1e-5, abs=1e-8
    )


def test_bcg_as_printed():
    moments = pool(sources("bcg"), between="dersimonian-laird")
    assert (moments.estimate, moments.standard_error) == pytest.approx((-0.7141, 0.1787), abs=5e-5)
    assert moments.between_variance == pytest.approx(0.3088, abs=5e-5)
    assert moments.heterogeneity == pytest.approx(152.23, abs=5e-3)
    restricted = pool(sources("bcg"), between="reml")
    assert (restricted.estimate, restricted.standard_error) == pytest.approx(
        (-0.7145, 0.1798), abs=5e-5
    )
    assert restricted.between_variance == pytest.approx(0.3132, abs=5e-5)
    assert pool(sources("bcg")).between_variance == pytest.approx(0.3181, abs=5e-5)


@pytest.mark.parametrize(
    ("ours", "theirs"), [("dersimonian-laird", "chi2"), ("paule-mandel", "iterated")]
)
def test_against_statsmodels(ours, theirs):
    found = pool(sources("bcg"), between=ours)
    y = np.array([source.estimate for source in found.sources])
    v = np.array([source.standard_error**2 for source in found.sources])
    other = combine_effects(y, v, method_re=theirs)
    assert found.between_variance == pytest.approx(other.tau2, rel=1e-6)
    assert found.estimate == pytest.approx(other.mean_effect_re, rel=1e-7)
    assert found.standard_error == pytest.approx(other.sd_eff_w_re, rel=1e-7)
    adjusted = found.standard_error * found.knapp_factor**0.5
    assert adjusted == pytest.approx(other.sd_eff_w_re_hksj, rel=1e-6)
    assert found.heterogeneity == pytest.approx(other.q, rel=1e-9)
