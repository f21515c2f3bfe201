"""Seconds and peak memory of `judge` on 1,000,000 readings and `wear` on 100,000 positions, Parquet in, Parquet out.

    .venv/bin/python tests/bench/speed.py [--readings N] [--positions N]

The fleet is made by arithmetic on a fixed seed: tractors with ten tires, one inspection every 28 days, whole 32nds.
Each command runs three times in a process of its own; the least time counts, the largest memory.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq

TIRES_PER_UNIT = 10
DAYS_BETWEEN = 28
FIRST_DAY = 19358  # 2023-01-01


def make_fleet(folder: Path, readings: int, positions: int) -> None:
    """positions.parquet and readings.parquet: `positions` wheel positions read `readings / positions` times."""
    rng = np.random.default_rng(7)
    units = positions // TIRES_PER_UNIT
    unit = np.repeat(np.arange(units), TIRES_PER_UNIT)
    axle = np.tile([1, 1, 2, 2, 2, 2, 3, 3, 3, 3], units)
    side = np.tile(["left", "right", "left", "left", "right", "right", "left", "left", "right", "right"], units)
    dual = np.tile(["single", "single", *["outer", "inner"] * 4], units)
    role = np.where(axle == 1, "steer", "drive")
    names = pa.array([f"U{u:06d}" for u in range(units)])
    place = {
        "unit": pa.DictionaryArray.from_arrays(pa.array(unit.astype(np.int32)), names),
        "axle": pa.array(axle, pa.int64()),
        "side": pa.array(side),
        "dual": pa.array(dual),
    }
    n = len(unit)
    target = np.where(axle == 1, 110.0, 100.0)
    facts = {"kind": pa.array(["tractor"] * n), "role": pa.array(role), "target_psi": pa.array(target)}
    pq.write_table(pa.table({**place, **facts}), folder / "positions.parquet")

    times = readings // n
    visit = np.repeat(np.arange(times), n)
    miles = rng.uniform(150, 400, units)[unit]
    rate = np.where(axle == 1, 1 / 8000, 1 / 16000) * rng.lognormal(0, 0.2, n)
    new = np.where(axle == 1, 18.0, 28.0)
    start = rng.uniform(0, 40_000, n)
    odometer = 50_000 + np.tile(miles, times) * DAYS_BETWEEN * visit
    worn = (np.tile(start, times) + np.tile(miles, times) * DAYS_BETWEEN * visit) * np.tile(rate, times)
    depth = np.maximum(np.tile(new, times) - worn, 0.0)
    grooves = {
        f"tread_{name}_32nds": pa.array(np.maximum(np.round(depth + rng.normal(0, 0.3, len(depth)) + shift), 0.0))
        for name, shift in (("outer", -0.5), ("middle", 0.3), ("inner", 0.0))
    }
    table = pa.table(
        {
            **{k: pa.concat_arrays([v] * times) for k, v in place.items()},
            "read_on": pa.array((FIRST_DAY + DAYS_BETWEEN * visit).astype(np.int32)).cast(pa.date32()),
            "odometer_mi": pa.array(np.round(odometer)),
            **grooves,
            "pressure_psi": pa.array(np.round(np.tile(target, times) + rng.normal(-2, 3, len(depth)))),
        }
    )
    pq.write_table(table, folder / "readings.parquet")


def run(arguments: list[str]) -> tuple[float, float]:
    """Seconds and peak MiB of one command in a process of its own."""
    start = time.perf_counter()
    child = os.spawnv(os.P_NOWAIT, sys.executable, [sys.executable, "-m", "wheelend", *arguments])
    _, status, usage = os.wait4(child, 0)
    seconds = time.perf_counter() - start
    if os.waitstatus_to_exitcode(status) not in (0, 1):
        raise SystemExit(f"wheelend {' '.join(arguments)} failed")
    return seconds, usage.ru_maxrss / 1024


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--readings", type=int, default=1_000_000)
    parser.add_argument("--positions", type=int, default=100_000)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        make_fleet(folder, options.readings, options.positions)
        files = ["--readings", str(folder / "readings.parquet"), "--positions", str(folder / "positions.parquet")]
        for command in (["judge"], ["judge", "--all"], ["pressures"], ["standing"], ["wear"]):
            results = [run([*command, *files, "-o", str(folder / "out.parquet")]) for _ in range(3)]
            rows = pq.ParquetFile(folder / "out.parquet").metadata.num_rows
            print(
                f"{' '.join(command):12} {options.readings:>10,} readings {options.positions:>8,} positions "
                f"{rows:>10,} rows out: {min(r[0] for r in results):6.2f} s, {max(r[1] for r in results):7.0f} MiB"
            )


if __name__ == "__main__":
    main()
