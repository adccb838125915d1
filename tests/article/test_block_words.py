import pytest

from workbench.article.block_words import kept_text
from workbench.castings.bores.wall_limits import WallLimits

STATIONS = {"front": 0.0, "thrust": 90.0}


@pytest.mark.parametrize(
    ("limits", "said"),
    [
        (WallLimits(unit="mm", everywhere=3.0), "3 mm"),
        (
            WallLimits(unit="mm", everywhere=3.0, stations=STATIONS, at={"thrust": 3.8}),
            "3 to 3.8 mm",
        ),
        (
            WallLimits(unit="mm", everywhere=3.0, stations=STATIONS, at={"thrust": 2.5}),
            "2.5 to 3 mm",
        ),
        (WallLimits(unit="mm", stations=STATIONS, at={"thrust": 3.8}), "3.8 mm"),
        (WallLimits(unit="in", everywhere=0.125), "0.125 in"),
    ],
)
def test_the_wall_kept_is_told_from_the_least_side_to_the_greatest(
    limits: WallLimits, said: str
) -> None:
    assert kept_text(limits) == said
