from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

from workbench.claims import codes
from workbench.claims.codes import CLAIM_FAULTS, REASONS, WARNINGS
from workbench.claims.fields import FIELDS
from workbench.claims.sentences import REMEDIES

HERE = Path(codes.__file__).parent
CODE = re.compile(r"[a-z]+(_[a-z]+)+|empty|unreadable")


def calls(*names: str) -> Iterator[ast.Call]:
    """Give every call of these names in the room."""
    for path in sorted(HERE.glob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call):
                name = getattr(node.func, "id", getattr(node.func, "attr", ""))
                if name in names:
                    yield node


def literals(node: ast.AST) -> set[str]:
    """Give the texts of a node that look like codes."""
    found = {part.value for part in ast.walk(node) if isinstance(part, ast.Constant)}
    return {text for text in found if isinstance(text, str) and CODE.fullmatch(text)}


def test_every_warning_of_the_room_is_in_the_list_and_no_other() -> None:
    given = {
        code
        for call in calls("Threat")
        for word in call.keywords
        if word.arg == "code"
        for code in literals(word.value)
    }
    source = "".join(path.read_text(encoding="utf-8") for path in HERE.glob("*.py"))
    assert given - set(WARNINGS) == set()
    rest = source.replace(Path(codes.__file__).read_text(encoding="utf-8"), "")
    assert [code for code in WARNINGS if f'"{code}"' not in rest] == []
    assert len(given) > 35


def test_every_fault_of_a_claim_is_in_the_list_and_no_other() -> None:
    given = {"no_claims"} | {
        code for call in calls("refuse", "_fault") for at in call.args[1:3] for code in literals(at)
    }
    assert given - set(FIELDS) == set(CLAIM_FAULTS)


def test_every_refusal_of_the_room_is_in_the_list_and_no_other() -> None:
    given = {code for call in calls("Refusal") for code in literals(call.args[0])}
    of_statistics = set(REASONS) - given
    assert given - set(REASONS) == {"unknown_unit"}  # told as a unit that does not fit
    assert of_statistics <= set(REMEDIES)
    assert len(of_statistics) < 10


def test_what_has_a_remedy_has_a_meaning() -> None:
    assert set(REMEDIES) - set(REASONS) == set()
