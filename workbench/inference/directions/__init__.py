"""Vectors and directions in a plane: harmonics round a circle, regions, circular statistics.

Modules:

- `circular.py`: Directions as such: their mean, whether they gather at all, and a von Mises fit.
- `components.py`: Scatter of vectors split by level: between outer groups, between inner groups,
  and what is left.
- `harmonics.py`: Readings round a circle: their mean, the first harmonic, and the second with its
  test.
- `hotelling.py`: Means of vectors: one sample, and two samples whose scatter may differ.
- `many_harmonics.py`: First harmonics of many circles at once, and of stacks of circles whose
  harmonic may lean.
- `offset_program.py`: Where to centre a larger circle in an uneven ring: two small programs over
  the angles.
- `roughness.py`: How rough surfaces are between their places, from the readings of many sheets.
- `surface.py`: A surface round a circle and along its axis, between the places where it was read.
- `vector.py`: A vector in a plane with what is not known about it: its joint region, its size, its
  direction.
- `vector_scatter.py`: Whether vectors of several families scatter alike, and how many times more
  one does.
"""
