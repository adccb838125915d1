"""The readings with all that the lookup tables say of them: what the row rules look at.

`known_*` columns are null where a word is not known.
"""
# ruff: noqa: S608 -- statements are put together from our own names, never from a user's text

from __future__ import annotations

from typing import TYPE_CHECKING

from workbench.records.columns import BELOW, COLUMNS, CONTACT, ID_LENGTH
from workbench.records.meanings import Meanings
from workbench.records.numbers import matches

if TYPE_CHECKING:
    from workbench.records.engine import Engine

SHORT = tuple(name for name in COLUMNS if name != "note")
HIDDEN = "[^ -~\u00a0-\U0010ffff]|[\u200b-\u200f\u2028-\u202e\u2060-\u2069\ufeff]"
PRESSED_SCALE = "HB"
WORDS_HELD = 1_000_000

_JOIN = "¦"
_ODD_START = f"(^|{_JOIN})[=#]"


def odd_columns(engine: Engine, readings: str) -> tuple[str, ...]:
    """Give the short columns that hold a word which must be looked at closely.

    Each distinct word is looked at once; where there are too many of them to hold, every row is.
    """
    asked = ", ".join(f"approx_count_distinct({name})" for name in SHORT)
    counts = engine.rows(f"select {asked} from {readings}")[0]
    found = []
    for name, count in zip(SHORT, counts, strict=True):
        words = f"(select distinct {name} from {readings})" if count < WORDS_HELD else readings
        strange = f"{matches(name, f'{HIDDEN}|^[=#]')} or length({name}) > {ID_LENGTH}"
        if engine.rows(f"select 1 from {words} where {strange} limit 1"):
            found.append(name)
    return tuple(found)


def known_sql(readings: str, odd: tuple[str, ...], meanings: Meanings) -> str:
    """Give the readings with all that the lookup tables say of them; see `lookups` for the tables.

    `shown` is the number as written and `micro` what it means, both in millionths; see `meanings`.

    `odd` names the columns that hold words to be looked at closely.
    `known_*` columns are null where a word is not known; `place` is the station by its one name,
    `height` the depth without needless zeros; `odd` marks the rows the rare rules must look at.
    The pattern of a swallowed row differs by file and is made anew for every row it is held to, so
    only notes of several lines are.
    """
    pressed = "(q.kind = 'hardness' and u.kind = 'length')"
    together = " || ".join(f"'{_JOIN}' || r.{name}" for name in odd)
    is_odd = (
        f"{matches(together, f'{HIDDEN}|{_ODD_START}')} or length({together}) > {ID_LENGTH}"
        if odd
        else "false"
    )
    return f"""
select *, odd and substr(value, 1, 1) in ('=', '#') as formula from (
    select r.file, r.row, {", ".join(f"r.{name}" for name in COLUMNS)},
        case when q.kind = 'feature' then 'grade' when {pressed} and n.below then 'none'
            else n.look end as look,
        n.micro as shown, {meanings.meant("micro")} as micro,
        {meanings.meant("decimals")} as decimals,
        q.name as known_quantity, q.kind, coalesce(q.signed, true) as signed,
        u.name as any_unit,
        u.kind as any_kind, coalesce({pressed}, false) as pressed,
        coalesce(g.presses, false) as presses, g.scale,
        case when q.kind = 'other' and (r.unit = q.unit or u.name = q.unit) then q.unit
            when q.kind = 'feature' and r.unit in ('', q.unit) then q.unit
            when {pressed} and g.presses then '{PRESSED_SCALE}'
            when q.kind = u.kind then u.name end as known_unit,
        coalesce(case when q.kind = u.kind then u.most end, 10000000000000) as most,
        s.name as known_sampling,
        case when c.name = '{CONTACT[0]}' and q.kind <> 'feature'
            and (n.below or {meanings.at_limit}) then '{BELOW}' else c.name end as known_contact,
        coalesce(t.name, case when t.written is null then r.station end) as place,
        coalesce(g.name, case when g.written is null then r.gauge end) as known_gauge,
        {_trimmed_number("r.depth")} as height,
        {is_odd} as odd,
        case when instr(r.note, '\n') > 0 then regexp_extract(r.note, f.row_inside, 0) <> ''
            else false end as swallowed
    from {readings} r
    join files f on r.file = f.file
    left join numbers n on r.file = n.file and r.exact = n.exact and r.value = n.value
    left join quantity_words q on r.quantity = q.written
    left join unit_words u on r.unit = u.written
    left join sampling_words s on r.sampling = s.written
    left join contact_words c on r.contact = c.written
    left join station_words t on r.station = t.written
    left join gauge_words g on r.gauge = g.written
    {meanings.joins}
)"""


def _trimmed_number(column: str) -> str:
    """Give a number's text without needless zeros, so that 20.0 and 20 are one depth."""
    fraction = matches(column, "^[0-9]+[.][0-9]*$")
    return f"case when {fraction} then regexp_replace({column}, '[.]?0*$', '') else {column} end"
