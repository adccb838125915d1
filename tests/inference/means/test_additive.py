import numpy as np
import pandas as pd
import pytest
import statsmodels.formula.api as smf

from workbench.errors import Refusal
from workbench.inference.means.additive import group_effects


def table(rng, missing: float) -> pd.DataFrame:
    group, place = (part.ravel() for part in np.meshgrid(np.arange(8), np.arange(12)))
    value = 4.5 + 0.3 * group + 0.2 * np.sin(place) + rng.normal(0, 0.1, group.size)
    whole = pd.DataFrame({"group": group, "place": place, "value": value})
    return whole[rng.random(len(whole)) >= missing].reset_index(drop=True)


@pytest.mark.parametrize("missing", [0.0, 0.3, 0.6])
def test_effects_are_those_of_ordinary_least_squares(missing: float) -> None:
    """Witness: statsmodels OLS with both factors, up to a constant."""
    read = table(np.random.default_rng(1), missing)
    mine = group_effects(read["value"], read["group"].to_numpy(), read["place"].to_numpy())
    fit = smf.ols("value ~ C(group) + C(place)", data=read).fit()
    theirs = np.array([0.0, *(fit.params[f"C(group)[T.{at}]"] for at in range(1, 8))])
    assert mine == pytest.approx(theirs - theirs.mean(), abs=1e-8)


def test_complete_tables_give_plain_means() -> None:
    read = table(np.random.default_rng(2), 0.0)
    mine = group_effects(read["value"], read["group"].to_numpy(), read["place"].to_numpy())
    plain = read.groupby("group")["value"].mean()
    assert mine == pytest.approx((plain - plain.mean()).to_numpy())


def test_units_and_a_constant_on_any_place_change_nothing() -> None:
    read = table(np.random.default_rng(3), 0.4)
    group, place = read["group"].to_numpy(), read["place"].to_numpy()
    plain = group_effects(read["value"], group, place)
    assert group_effects(read["value"] / 25.4, group, place) * 25.4 == pytest.approx(plain)
    moved = read["value"] + 0.7 * (place == 3) - 2.0 * (place == 5)
    assert group_effects(moved, group, place) == pytest.approx(plain, abs=1e-8)


def test_refusals() -> None:
    with pytest.raises(Refusal, match="share no place"):
        group_effects([1.0, 2.0], np.array([0, 1]), np.array([0, 1]))
    with pytest.raises(Refusal, match="go together"):
        group_effects([1.0, 2.0], np.array([0, 1]), np.array([0]))
    with pytest.raises(Refusal, match="finite"):
        group_effects([1.0, np.nan], np.array([0, 1]), np.array([0, 0]))
