"""A time as a user states it, for which a collection is to be read."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta

from workbench.errors import StudyError


def moment(stated: str | date) -> datetime:
    """Give the last moment that counts: of a day its end, of a time itself.

    Days and times without a zone are those of UTC.

    Raises `StudyError` where it is neither a day nor a time.

    >>> moment("2026-11-25T14:30+01:00").isoformat(), moment("2026-11-25").isoformat()
    ('2026-11-25T13:30:00+00:00', '2026-11-25T23:59:59.999999+00:00')
    """
    found = _parsed(stated) if isinstance(stated, str) else stated
    try:
        if not isinstance(found, datetime):
            return datetime.combine(found, time(tzinfo=UTC)) + timedelta(days=1, microseconds=-1)
        zoned = found if found.tzinfo else found.replace(tzinfo=UTC)
        return zoned.astimezone(UTC)
    except OverflowError:
        raise _refused(stated) from None


def told(at: datetime) -> str:
    """Give a time as it is printed, so that it can be stated again.

    >>> told(moment("2026-11-25T14:30+01:00"))
    '2026-11-25T13:30:00Z'
    """
    return at.astimezone(UTC).isoformat().replace("+00:00", "Z")


def _parsed(stated: str) -> date:
    for read in (date.fromisoformat, datetime.fromisoformat):
        try:
            return read(stated.strip())
        except ValueError:
            continue
    raise _refused(stated)


def _refused(stated: object) -> StudyError:
    return StudyError(
        f"as_of must be a day (2026-11-25) or a time (2026-11-25T14:30Z), found “{stated}”."
    )
