"""What all tests share: one thread for small matrices, no windows, hypothesis kept short."""

from __future__ import annotations

import os

# Set before numpy and matplotlib load; pytest reads this file first.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("MPLBACKEND", "Agg")

from hypothesis import HealthCheck, settings

settings.register_profile(
    "workbench",
    max_examples=40,
    deadline=None,  # no test depends on a clock
    derandomize=True,  # the same examples on every machine
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("workbench")
