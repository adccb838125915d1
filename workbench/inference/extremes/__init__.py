"""The thinnest place of a block: predicted, fitted and counted, and where it lies.

Modules:

- `block_minimum.py`: The thinnest place of the next block, by drawing whole blocks from what a
  nested study says.
- `comparison.py`: Two families compared where they are thin: the thinnest place expected, and
  shares below.
- `counted.py`: Shares below a limit by counting: no shape assumed, blocks respected.
- `fitted_median.py`: Two families' thinnest places by extreme values fitted to them: the medians
  apart.
- `nested_integral.py`: The chance that a place, a bore or a block has something below a limit, for
  given parameters.
- `same_place.py`: Where the thinnest place lies: the same from block to block, or anywhere.
- `share_below.py`: The share of places, bores or blocks with something below a limit, from the
  nested model.
- `thin_spots.py`: Blocks with a place below a limit, told three ways, and where the three disagree.
"""
