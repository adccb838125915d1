"""The versions that the numbers hang on: of the workbench, of Python, of the libraries."""

from __future__ import annotations

import platform
from importlib.metadata import PackageNotFoundError, version

PROJECT = "block-workbench"
PACKAGES = (
    "numpy",
    "pandas",
    "scipy",
    "duckdb",
    "matplotlib",
    "seaborn",
    "papermill",
    "nbclient",
    "ipykernel",
)


def versions() -> dict[str, str]:
    """Give the versions of the workbench, of Python and of the packages the numbers hang on."""
    found = {"workbench": installed(PROJECT), "python": platform.python_version()}
    return found | {name: installed(name) for name in PACKAGES}


def installed(package: str) -> str:
    """Give the version of an installed package."""
    try:
        return version(package)
    except PackageNotFoundError:
        return "not installed"
