import numpy as np

from workbench.castings.blocks_to_show import MOST, thinnest_blocks


def test_the_block_with_the_thinnest_place_of_each_family_is_shown(inspected) -> None:
    thin = [
        {"block": "W07", "bore": "1", "station": "front", "depth": "low", "mean": 2.0}
        | {"sampling": "search"},
        {"family": "trophy", "block": "T1", "bore": "1", "station": "front", "mean": 4.0},
        {"family": "trophy", "block": "T2", "bore": "1", "station": "front", "mean": 3.9},
        {"family": "bare", "block": "Z2", "bore": "", "quantity": "mass", "unit": "kg"},
        {"family": "bare", "block": "Z1", "bore": "", "quantity": "mass", "unit": "kg"},
    ]
    inspection = inspected(np.random.default_rng(1), more=thin)
    assert thinnest_blocks(inspection) == ("Z1", "T2", "W07")


def test_not_more_than_a_stated_number_are_shown(inspected) -> None:
    many = [
        {"family": f"f{at}", "block": f"B{at}", "bore": "1", "station": "front"} for at in range(9)
    ]
    assert len(thinnest_blocks(inspected(np.random.default_rng(1), more=many))) == MOST
