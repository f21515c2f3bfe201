"""Seconds, memory and size of the sheet of 2,000 units, as HTML and as PDF.

    .venv/bin/python tests/bench/sheet.py [--units 2000] [--scenario typical] [--pdf]

The fleet is one of `wheelend.simulate`, read over three years. Each command runs in a process of its own.
"""

from __future__ import annotations

import argparse
import tempfile
from pathlib import Path

import pyarrow as pa
import pyarrow.parquet as pq
from speed import run

from wheelend.simulate import fleet


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--units", type=int, default=2000)
    parser.add_argument("--scenario", default="typical")
    parser.add_argument("--pdf", action="store_true", help="the PDF too, which takes minutes")
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
        seconds, memory = run(["standing", *files, "-o", str(folder / "standing.parquet")])
        print(f"standing:   {seconds:7.1f} s, {memory:6.0f} MiB")
        for ending in ("html", "pdf") if options.pdf else ("html",):
            out = folder / f"sheet.{ending}"
            seconds, memory = run(["sheet", *files, "-o", str(out)])
            print(f"sheet.{ending:5}{seconds:7.1f} s, {memory:6.0f} MiB, {out.stat().st_size / 1e6:.2f} MB")


if __name__ == "__main__":
    main()
