"""Planning: how much to measure, for power, for width, at the least cost, looking as one goes.

Modules:

- `aims.py`: What a plan is to show, and how likely it will, given the truth and the error it works
  with.
- `assurance.py`: Assurance: power averaged over what is not known about the truth it is worked out
  from.
- `blocks.py`: How many blocks: the fewest that show an aim, or what an aim has for a chance as it
  stands.
- `detectable.py`: What a study as it stands could have shown: the least difference, and the least
  margin.
- `layouts.py`: What a plan of blocks, bores and readings makes of the spreads: standard error and
  freedom.
- `sequential.py`: Looking as one goes: bounds that keep the false-alarm rate over several looks at
  growing data.
- `shares.py`: Power of a comparison of two shares by the score test, every outcome counted.
- `spread_ratio.py`: Power of a comparison of two spreads by the F ratio, for normal families.
- `width.py`: How wide an interval a plan gives: on average, and with a chance.
"""
