"""Compare families of cast engine blocks from records of inspection; data flows down the rooms.

Rooms:

- `records/`: What was measured: columns, intake with every fault reported, units, reduction to
  cells.
- `inference/`: What numbers say: statistics on arrays, tables and summaries; knows no castings, no
  files.
- `castings/`: What readings mean on a block: the value behind what a gauge showed.
- `claims/`: The ledger of claims, the verdict on each, and the threats to it.
- `worth/`: What it is worth: cost of a usable block, break-even, looking again, what to measure
  next.
- `article/`: Figures, tables and the words beside them: what the article prints, made from results.
- `runs/`: Notebooks run headless: parameters checked first, the report, the manifest.
- `cli/`: Arguments in, exit code out; nothing else. Heavy rooms are opened only by the command in
  use.

Modules:

- `errors.py`: The one tree of errors; each message says what, the bound, the value and the place.
- `study.py`: A study folder opened: its settings, its records, its claims, and the digest of every
  file.
"""

import os

# Before numpy loads: the matrices here are small, and threads that wait for each other made them
# ten times slower on a busy machine. A user's own setting stands.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
