"""Spreads compared: whether families vary alike, and by how much not.

Modules:

- `difference.py`: How far two spreads lie apart, in the unit of the values, with freedom that minds
  heavy tails.
- `equality.py`: Equality of spread: whether families vary alike, and how many times one variance is
  another.
- `ratio.py`: How many times one family's spread is the other's, by drawing blocks: no normality
  assumed.
"""
