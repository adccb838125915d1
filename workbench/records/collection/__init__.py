"""Readings kept over years: additions that stand for good, each whole or not there at all.

Modules:

- `adding.py`: Add files to the collection of a study: checked, held against what is there, written
  at once.
- `additions.py`: The additions of a collection: what each brought, when, and which of them count as
  of a time.
- `as_of.py`: A time as a user states it, for which a collection is to be read.
- `commit.py`: An addition made in one stroke: written aside by one writer at a time, then renamed
  into place.
- `corrections.py`: How a correction is written: the reading as it should be, and `was_` columns
  with what was wrong.
- `held.py`: New rows against what a collection holds: what it has already, contradicts, or
  corrects.
- `parts.py`: The parts of a collection: written by family and year, read without what was corrected
  since.
- `reading.py`: The readings of a study, wherever they stand: files, or a collection as of a time.
- `rejects.py`: What was rejected when it was added: kept beside the parts, until it is put right or
  let go.
"""
