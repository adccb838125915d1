"""A TOML file read with its faults, and a place in it named as its key."""

from __future__ import annotations

import math
import re
import sys
import tomllib
from pathlib import Path
from typing import Any

from workbench.errors import StudyError
from workbench.records.faults import Fault, FaultsError

SIZE_LIMIT = 4_000_000
WHOLE_LIMIT = 2**63


def read_toml(path: Path) -> dict[str, Any]:
    """Read a TOML file; a byte-order mark is allowed.

    Raises `StudyError` where it cannot be read, `FaultsError` where it is not text or not TOML.
    """
    try:
        if path.stat().st_size > SIZE_LIMIT:
            raise StudyError(f"{path.name} is larger than {SIZE_LIMIT // 1_000_000} MB.")
        content = tomllib.loads(path.read_text(encoding="utf-8-sig"))
        return {key: _within_64_bits(value) for key, value in content.items()}
    except OSError as error:
        raise StudyError(f"{path.name} cannot be read: {error.strerror}.") from None
    except UnicodeDecodeError:
        raise _fault(path, None, "not_text", "The file is not UTF-8 text.") from None
    except RecursionError:
        raise _fault(path, None, "not_toml", "The file nests too deep.") from None
    except tomllib.TOMLDecodeError as error:
        line = re.search(r"at line (\d+)", str(error))
        sentence = f"The file is not TOML as it stands: {error}."
        raise _fault(path, int(line[1]) if line else None, "not_toml", sentence) from None
    except ValueError:  # of Python itself, which reads no longer number
        sentence = "The file holds a whole number of more than 4000 digits."
        raise _fault(path, None, "not_toml", sentence) from None


def toml_key(place: tuple[int | str, ...]) -> str:
    """Give a place in a TOML file as its key, the entries of a list counted from 1.

    >>> toml_key(("remembered", 1, "low")), toml_key(("families", "A 1", "price"))
    ('remembered[2].low', 'families."A 1".price')
    """
    key = ""
    for part in place:
        if isinstance(part, int):
            key += f"[{part + 1}]"
        else:
            name = part if re.fullmatch(r"[\w-]+", part) else f'"{part}"'
            key += f".{name}" if key else name
    return key


def _within_64_bits(value: Any) -> Any:
    """Turn whole numbers that TOML need not hold (beyond 64 bits) into floats, infinite at worst.

    They stay at their key, where one is told that it is too large; Python would stumble over them.
    """
    if isinstance(value, dict):
        return {key: _within_64_bits(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [_within_64_bits(inner) for inner in value]
    if not isinstance(value, int) or -WHOLE_LIMIT <= value < WHOLE_LIMIT:
        return value
    if abs(value) <= sys.float_info.max:
        return float(value)
    return math.inf if value > 0 else -math.inf


def _fault(path: Path, line: int | None, code: str, sentence: str) -> FaultsError:
    return FaultsError(
        [Fault(file=path.name, row=line, column="", value="", code=code, sentence=sentence)]
    )
