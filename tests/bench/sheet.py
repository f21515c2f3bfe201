"""Seconds (by the clock and of all processors), memory and size of the sheet and of the entry form of 2,000 units.

    .venv/bin/python tests/bench/sheet.py [--units 2000] [--scenario typical] [--pdf]

The fleet is one of `wheelend.simulate`, read over three years. Each command runs in a process of its own.

Goals of the sheet of 2,000 units: fast, under 10 MB. Reached on two busy cores with 610,878 readings, most units off a
target: standing 11.4 s of processors, sheet.html 15.6 s and 9.80 MB. PDF takes about 0.1 s of processors a page.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
import time
from pathlib import Path

import pyarrow as pa
import pyarrow.parquet as pq

from wheelend.simulate import fleet


def run(arguments: list[str]) -> str:
    """Run one command in a process of its own and say what it took."""
    start = time.perf_counter()
    child = os.spawnv(os.P_NOWAIT, sys.executable, [sys.executable, "-m", "wheelend", *arguments])
    _, status, usage = os.wait4(child, 0)
    seconds = time.perf_counter() - start
    if os.waitstatus_to_exitcode(status) not in (0, 1):
        raise SystemExit(f"wheelend {' '.join(arguments)} failed")
    cpu = usage.ru_utime + usage.ru_stime
    return f"{seconds:7.1f} s, {cpu:7.1f} s of processors, {usage.ru_maxrss / 1024:6.0f} MiB"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--units", type=int, default=2000)
    parser.add_argument("--scenario", default="typical")
    parser.add_argument("--pdf", action="store_true", help="the PDFs too, which take minutes")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        made = fleet(options.scenario, seed=1, units=options.units)
        files = []
        for table in ("readings", "positions", "tires"):
            path = folder / f"{table}.parquet"
            pq.write_table(pa.table(getattr(made, table)), path)
            files += [f"--{table}", str(path)]
        print(f"{options.units:,} units, {pq.ParquetFile(folder / 'readings.parquet').metadata.num_rows:,} readings")
        print(f"standing:   {run(['standing', *files, '-o', str(folder / 'standing.parquet')])}")
        outputs = ["sheet.html", "form.xlsx", *(["sheet.pdf", "form.pdf"] if options.pdf else [])]
        for output in outputs:
            out = folder / output
            command = out.stem
            print(f"{output:11} {run([command, *files, '-o', str(out)])}, {out.stat().st_size / 1e6:.2f} MB")


if __name__ == "__main__":
    main()
