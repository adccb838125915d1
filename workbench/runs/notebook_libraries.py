"""The notebook libraries, imported without the second that none of their users needs."""

from __future__ import annotations

import importlib
import sys
from types import ModuleType
from typing import Any

UNUSED = "rfc3987_syntax"


def load(name: str) -> Any:
    """Import `nbformat`, `papermill` or what else checks notebooks, and give the module.

    All of them import jsonschema, which imports `rfc3987_syntax` where it finds it; that module
    builds 35 parsers at import (1.2 s measured) to check the spelling of internationalised web
    addresses, and no notebook schema asks for that. jsonschema does without it by itself when the
    import fails, so for the time of this import it does fail.
    """
    if name in sys.modules or UNUSED in sys.modules:
        return importlib.import_module(name)
    modules: dict[str, ModuleType | None] = sys.modules  # type: ignore[assignment]
    modules[UNUSED] = None
    try:
        return importlib.import_module(name)
    finally:
        del sys.modules[UNUSED]
