"""How the text of a number is read: one stated rule, in SQL, over the distinct texts of a file.

* The decimal mark is what `study.toml` says, else what the file shows. `5.2`, `0,234`, `1.234,5`
  and `1,234,567` show it, and are read as they look whatever the rest does; `1,234` and `5.234`
  could be either. Their mark is a decimal mark where more values of the file show it than show the
  other, and a thousands mark where only the other is shown, by as many values at least as there
  are such. Where nothing shows a mark, a point is a decimal point, but neither mark is one in a
  file with semicolons, where a comma is. What is left is a fault (`ambiguous_number`).
* Groups of three by space, no-break space, thin space, apostrophe or the other mark are thousands.
* An exponent (`1.2e1`) is read. A number stored as one (Excel, Parquet) needs no rule.
* `<2.0` is the number 2.0, and that the value is not above it (`below`).

`numbers_sql` gives each (file, exact, value) its size in millionths as a whole number (`micro`),
the decimals written (`decimals`), how it was read (`look`) and its digits with a decimal point and
nothing else (`plain`).
"""
# ruff: noqa: S608 -- statements are put together from our own names, never from a user's text

from __future__ import annotations

MICRO = 1_000_000

_SIGN, _POWER = "[+-]?", "([eE][+-]?[0-9]{1,3})?"
_WHOLE = f"^{_SIGN}([0-9]+|[0-9]{{1,3}}( [0-9]{{3}})+|[0-9]{{1,3}}(_[0-9]{{3}})+){_POWER}$"
_EITHER = "^[+-]?[1-9][0-9]{0,2}[%s][0-9]{3}$"
# A fraction after plain digits, or after groups by space, apostrophe (as _) or the other mark.
_FRACTION = (
    f"^{_SIGN}([0-9]*[%(mark)s][0-9]+|[0-9]+[%(mark)s]"
    "|[0-9]{1,3}( [0-9]{3})+[%(mark)s][0-9]+|[0-9]{1,3}(_[0-9]{3})+[%(mark)s][0-9]+"
    f"|[0-9]{{1,3}}([%(other)s][0-9]{{3}})+[%(mark)s][0-9]+){_POWER}$"
)
_GROUPS = f"^{_SIGN}[1-9][0-9]{{0,2}}([%s][0-9]{{3}}){{2,}}$"


def matches(column: str, pattern: str) -> str:
    """Give the condition that a text matches a pattern, in words every engine knows."""
    quoted = pattern.replace("'", "''")
    return f"regexp_extract({column}, '{quoted}', 0) <> ''"


def looks_sql(readings: str) -> str:
    """Give the distinct texts of numbers with their count and look.

    Looks: `point`, `comma` (the decimal mark is plain), `either_point`, `either_comma` (could be
    thousands as well), `whole`, `infinite`, `none`.
    """
    point = _FRACTION % {"mark": ".", "other": ","}
    comma = _FRACTION % {"mark": ",", "other": "."}
    return f"""
select file, exact, value, shape, count, case
    when instr(value, '_') > 0 then 'none'
    when exact and {matches("shape", "^[+-]?[0-9]*[.]?[0-9]+([eE][+-]?[0-9]+)?$")} then 'point'
    when {matches("shape", _WHOLE)} then 'whole'
    when {matches("shape", _EITHER % ".")} then 'either_point'
    when {matches("shape", _EITHER % ",")} then 'either_comma'
    when {matches("shape", _GROUPS % ",")} then 'point'
    when {matches("shape", _GROUPS % ".")} then 'comma'
    when {matches("shape", point)} then 'point'
    when {matches("shape", comma)} then 'comma'
    when {matches("lower(shape)", "^[+-]?(nan|inf|infinity)$")} then 'infinite'
    else 'none' end as look
from (
    select file, exact, value, count(*) as count,
        regexp_replace(
            translate(value, '−\u00a0\u2007\u2009\u202f''\u2019', '-    __'), '^[<≤] *', ''
        ) as shape
    from {readings} group by file, exact, value
)"""


def evidence_sql(looks: str) -> str:
    """Give, for each file, how many values show each mark, and how many leave it open."""
    shows = ", ".join(
        f"cast(sum(case when look = '{look}' and not exact then count else 0 end) as bigint)"
        f" as {look}"
        for look in ("point", "comma", "either_point", "either_comma")
    )
    return f"select file, {shows} from {looks} group by file"


def numbers_sql(looks: str, evidence: str, files: str) -> str:
    """Give each distinct text its number.

    `files` has `file`, `stated` (a mark or the empty text) and `semicolon` (the separator is one).

    `micro` is null for what is no number or too large to hold; `look` is then `infinite`, `none`,
    `ambiguous` or stays.
    """
    return f"""
select file, exact, value, mark, plain, substr(value, 1, 1) in ('<', '≤') as below, case
        when look in ('infinite', 'none') then look
        when mark = 'ambiguous' then 'ambiguous'
        else 'number' end as look,
    cast(try_cast(plain as decimal(24, 6)) * {MICRO} as bigint) as micro,
    greatest(0, case when instr(mantissa, '.') > 0 then length(mantissa) - instr(mantissa, '.')
        else 0 end - coalesce(try_cast(power as integer), 0)) as decimals
from (
    select *, regexp_extract(plain, '^[^eE]*', 0) as mantissa,
        regexp_extract(plain, '[eE]([+-]?[0-9]+)$', 1) as power
    from (
        select *, case mark
            when 'point' then translate(shape, ',_ ', '')
            when 'comma' then replace(translate(shape, '._ ', ''), ',', '.')
            else null end as plain
        from (select l.*, {_mark()} as mark
            from {looks} l join {evidence} e on l.file = e.file join {files} f on l.file = f.file)
    )
)"""


def _mark() -> str:
    """Say by which decimal mark a text is read: `point`, `comma`, `ambiguous`, or null."""
    return """case
        when look in ('point', 'whole') then 'point'
        when look = 'comma' then 'comma'
        when look not in ('either_point', 'either_comma') then null
        when stated = '.' then 'point'
        when stated = ',' then 'comma'
        when look = 'either_point' and point > comma then 'point'
        when look = 'either_comma' and comma > point then 'comma'
        when point > 0 and comma > 0 then 'ambiguous'
        when look = 'either_point' and comma >= either_point and comma > 0 then 'comma'
        when look = 'either_comma' and point >= either_comma and point > 0 then 'point'
        when point > 0 or comma > 0 then 'ambiguous'
        when look = 'either_point' and not semicolon then 'point'
        when look = 'either_comma' and semicolon then 'comma'
        else 'ambiguous' end"""
