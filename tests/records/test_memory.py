"""The whole process that reads a study stays within half a gigabyte, libraries included."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import duckdb
import pytest

ROWS = 1_500_000
BOUND_MB = 512
READ = """
import sys
from pathlib import Path
from workbench.study import open_study
print(open_study(Path(sys.argv[1])).records.accepted)
print(next(line.split()[1] for line in open("/proc/self/status") if line.startswith("VmHWM")))
"""
INVENTED = f"""
select printf('B%04d', i // 24 % 100) as block, if(i // 24 % 2 = 0, 'works', 'deep') as family,
    'wall_thickness' as quantity, printf('%.2f', 5 + hash(i) % 100 / 100.0) as value, 'mm' as unit,
    i % 6 + 1 as bore, ['front', 'thrust', 'rear', 'counter'][i // 6 % 4 + 1] as station,
    i // 2400 as repeat
from range({ROWS}) t(i)
"""


@pytest.mark.skipif(sys.platform != "linux", reason="the peak is read from /proc")
@pytest.mark.parametrize("ending", ["csv", "parquet"])
def test_the_peak_of_a_process_that_reads_many_rows(tmp_path: Path, ending: str) -> None:
    (tmp_path / "study.toml").write_text('title = "Invented walls"\n', encoding="utf-8")
    with duckdb.connect() as connection:
        connection.execute(f"copy ({INVENTED}) to '{tmp_path}/readings.{ending}'")
    done = subprocess.run(
        [sys.executable, "-c", READ, str(tmp_path)], capture_output=True, text=True, check=True
    )
    accepted, kilobytes = done.stdout.split()
    assert int(accepted) == ROWS
    assert int(kilobytes) / 1024 < BOUND_MB
