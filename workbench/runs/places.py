"""Where the shipped notebooks and data are: beside the package, or inside an installed wheel."""

from __future__ import annotations

from pathlib import Path

from workbench.errors import RunError

PACKAGE = Path(__file__).resolve().parents[1]


def shipped(name: str) -> Path:
    """Give the folder `notebooks` or `data` as it came with the workbench.

    Raises
    ------
    RunError
        When the installation holds no such folder.
    """
    places = (PACKAGE.parent / name, PACKAGE / "_shipped" / name)
    for place in places:
        if place.is_dir():
            return place
    looked = " and ".join(str(place) for place in places)
    raise RunError(f"This installation holds no folder of {name}: looked at {looked}.")
