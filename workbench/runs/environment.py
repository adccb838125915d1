"""What must be installed to run the workbench again: its needs, and the versions it ran with."""

from __future__ import annotations

import platform
import tomllib
from collections.abc import Iterable
from importlib.metadata import Distribution, PackageNotFoundError, distribution

import tomli_w
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from workbench.article.versions import PROJECT
from workbench.runs.places import PACKAGE

BUILD = "hatchling"


def constraints() -> str:
    """Give the version of every library the workbench can load here, a line each."""
    found: dict[str, str] = {}
    waiting = [need.name for need in own_needs()]
    while waiting:
        name = canonicalize_name(waiting.pop())
        known = None if name in found else installed(name)
        if known is None:
            continue
        found[name] = known.version
        waiting += [need.name for need in applying(known.requires or ())]
    return "".join(f"{name}=={version}\n" for name, version in sorted(found.items()))


def project_file() -> str:
    """Give a pyproject.toml with which the bundle's program is installed."""
    known = installed(PROJECT)
    wheel = {
        "packages": ["workbench"],
        "force-include": {"notebooks": "workbench/_shipped/notebooks"},
    }
    content = {
        "build-system": {"requires": [BUILD], "build-backend": f"{BUILD}.build"},
        "project": {
            "name": PROJECT,
            "version": "0" if known is None else known.version,
            # the pinned libraries were resolved for this Python: some refuse an earlier patch of it
            "requires-python": f">={platform.python_version()}",
            "dependencies": [str(need) for need in own_needs()],
            "scripts": {"workbench": "workbench.cli:main"},
        },
        "tool": {"hatch": {"build": {"targets": {"wheel": wheel}}}},
    }
    return tomli_w.dumps(content)


def own_needs() -> list[Requirement]:
    """Give what the workbench needs: as its project file says, or as it was installed."""
    path = PACKAGE.parent / "pyproject.toml"
    if path.is_file():
        stated = tomllib.loads(path.read_text(encoding="utf-8")).get("project", {})
        if stated.get("name") == PROJECT:
            return applying(stated.get("dependencies", ()))
    known = installed(PROJECT)
    return [] if known is None else applying(known.requires or ())


def applying(stated: Iterable[str]) -> list[Requirement]:
    """Give the needs that apply here, those of extras left out."""
    needs = (Requirement(text) for text in stated)
    return [need for need in needs if need.marker is None or need.marker.evaluate({"extra": ""})]


def installed(name: str) -> Distribution | None:
    """Give an installed library; None where it is not there."""
    try:
        return distribution(name)
    except PackageNotFoundError:
        return None
