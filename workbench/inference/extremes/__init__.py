"""The thinnest place of a block: predicted, fitted and counted, and where it lies.

Modules:

- `block_minimum.py`: The thinnest place of the next block, by drawing whole blocks from what a
  nested study says.
- `same_place.py`: Where the thinnest place lies: the same from block to block, or anywhere.
- `share_below.py`: The share of places, bores or blocks with something below a limit, from the
  nested model.
- `thin_spots.py`: Blocks with a place below a limit, told three ways, and where the three disagree.
"""
