"""Planning: how much to measure, for power, for width, at the least cost, looking as one goes."""
