"""The walls round the bores of a block: core shift, wall map, and how far it can be bored.

Modules:

- `between_bores.py`: The metal between neighbouring bores, from the drawing: bores stand in one
  row, 1 at the front.
- `bore_shape.py`: One bore in depth: its shift at each depth, how it leans, and whether it is out
  of round.
- `boring.py`: How far the bores of a block can be bored and still keep the wall that is asked for.
- `boring_room.py`: The room for boring in one bore: wall less what must stay, in many draws, and
  the best centre.
- `boring_together.py`: The bores of a block cut alike: their centres, the room all of them allow,
  the wall left.
- `core_shift.py`: Core shift: how far, and which way, the core of a bore lay off centre when the
  block was cast.
- `family_shape.py`: The shape all blocks of a family share round their bores beyond a shift: that
  of the core box.
- `mass_bored.py`: The mass that boring takes out of a block: a side figure.
- `out_of_round.py`: Out of round: the wall that is thin on two opposite sides, the second harmonic
  of a bore.
- `overbore_curve.py`: The wall left after any overbore: the curve between the sizes a list gives.
- `shift_of_block.py`: The shift of a whole block, and whether its bores moved together or each on
  its own.
- `shift_of_family.py`: The core shift of a family: its mean, where it scatters, which way it
  points; families compared.
- `shift_readings.py`: The core shift of each bore as a reading: a length a claim may ask about.
- `shift_scatter.py`: How far a place lies off the first harmonic of its bore, and what weight it
  has by that.
- `wall_draws.py`: The walls of a block drawn to agree with what was read of them.
- `wall_limits.py`: The least wall that is asked for, everywhere or by the side of the bore.
- `wall_map.py`: The map of one bore: its wall at every angle and depth between the places read.
- `wall_model.py`: How rough walls are between the places read, and each bore laid out as one
  surface.
"""
