"""`[parts.NAME]` and `[correlations.NAME]` of `study.toml`: what is added, and what converts.

A part has the mass it adds to a block weighed without it. A correlation is the study's own relation
of two hardness scales, found on its own iron: its data are in `correlations.csv`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from pydantic import Field

from workbench.records.columns import plain
from workbench.records.faults import Fault
from workbench.records.setting_faults import key_fault
from workbench.records.setting_types import (
    HardnessScale,
    Line,
    MassUnit,
    Name,
    NotNegative,
    Positive,
    Table,
)
from workbench.records.tomlfile import toml_key

MOST_OF_ONE = 1000
_COUNT = re.compile(r"^(?:(\d{1,4})\s*[x×]?\s+)?(.+?)(?:\s*[x×]\s*(\d{1,4}))?$", re.IGNORECASE)


class Part(Table):
    """The `mass` of one part and its standard `uncertainty`, both in `unit`."""

    mass: Positive
    uncertainty: NotNegative
    unit: MassUnit
    label: Line | None = None


class StatedCorrelation(Table):
    """A relation between what `gauge` shows on the scale `shown` and values on the scale `to`.

    `note` says on which iron it was found.
    """

    gauge: Name
    shown: HardnessScale
    to: HardnessScale
    note: Line = Field(min_length=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Missing:
    """What a block lacked when weighed: parts by name and number, and what no part is known for."""

    parts: Mapping[str, int]
    unknown: tuple[str, ...]


def missing_parts(text: str, parts: Mapping[str, Part]) -> Missing:
    """Read a list of missing parts, parted by `;`, `,` or `+`, with numbers before or after `x`.

    >>> cap = Part(mass=0.55, uncertainty=0.01, unit="kg")
    >>> missing_parts("2 x main cap; oil pump", {"main_cap": cap})
    Missing(parts={'main_cap': 2}, unknown=('oil pump',))
    """
    names = {plain(word): name for name, part in parts.items() for word in (name, part.label or "")}
    names.pop("", None)
    found: dict[str, int] = {}
    unknown = []
    for entry in filter(None, (part.strip() for part in re.split("[;,+]", text))):
        name, number = names.get(plain(entry)), 1
        match = _COUNT.match(entry)
        if name is None and match is not None:
            name = names.get(plain(match[2]))
            number = int(match[1] or 1) * int(match[3] or 1)
        if name is None or not 1 <= number <= MOST_OF_ONE:
            unknown.append(entry)
        else:
            found[name] = found.get(name, 0) + number
    return Missing(parts=found, unknown=tuple(unknown))


def allowance_faults(
    parts: Mapping[str, Part],
    correlations: Mapping[str, StatedCorrelation],
    calibrations: Mapping[str, object],
    gauges: Mapping[str, object],
) -> list[Fault]:
    """Find what is wrong between these tables and the others."""
    return [
        key_fault(toml_key(key), value, code, sentence)
        for key, value, code, sentence in (
            *_part_slips(parts),
            *_correlation_slips(correlations, calibrations, gauges),
        )
    ]


def _part_slips(parts: Mapping[str, Part]) -> Iterator[tuple[tuple[str, ...], str, str, str]]:
    seen: dict[str, str] = {}
    for name, part in parts.items():
        for word in dict.fromkeys((plain(name), plain(part.label or ""))):
            if word and word in seen:
                sentence = f"Another part ({seen[word]}) goes by the same name."
                yield ("parts", name), "", "bad_value", sentence
            seen[word] = name


def _correlation_slips(
    correlations: Mapping[str, StatedCorrelation],
    calibrations: Mapping[str, object],
    gauges: Mapping[str, object],
) -> Iterator[tuple[tuple[str, ...], str, str, str]]:
    seen: dict[tuple[str, str, str], str] = {}
    for name, table in correlations.items():
        at = ("correlations", name)
        if table.shown == table.to:
            yield (*at, "to"), table.to, "bad_value", "The two scales must differ."
        if name in calibrations:
            yield at, "", "bad_value", "A calibration has this name; a correlation needs another."
        if gauges and table.gauge not in gauges:
            sentence = "The gauge is not in [gauges]."
            yield (*at, "gauge"), table.gauge, "unknown_gauge", sentence
        key = (table.gauge, table.shown, table.to)
        if key in seen:
            sentence = f"“{seen[key]}” is of the same gauge and scales; one must do."
            yield at, "", "bad_value", sentence
        seen[key] = name
