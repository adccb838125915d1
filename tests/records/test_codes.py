from __future__ import annotations

import re
from pathlib import Path

from workbench.records import codes
from workbench.records.codes import CODES, code_table
from workbench.records.sentences import ROW_SENTENCES

HERE = Path(codes.__file__).parent
OTHERS = {"brinell.py", "units.py", "codes.py"}  # refusals to answer, not faults of a file


def test_every_code_of_the_package_is_in_the_list() -> None:
    """Codes are found in the source: given as `code=`, or first to refuse, note and fault."""
    found = set(ROW_SENTENCES)
    pattern = r'code="(\w+)"|(?:refuse|_fault|_key_fault|note|_readings)\([^"()]*"([a-z_0-9]+)"'
    for path in HERE.glob("*.py"):
        if path.name not in OTHERS:
            text = path.read_text(encoding="utf-8")
            found |= {one or other for one, other in re.findall(pattern, text)}
    found -= {"readings"}
    assert found - set(CODES) == set()
    assert len(found) > 40


def test_the_table_shows_every_code() -> None:
    lines = code_table().splitlines()
    assert len(lines) == len(CODES) + 2
    assert all(f"| `{code}` |" in code_table() for code in CODES)
