"""How far the back-test is to be believed: the coverage that it shows beside the true one, on simulated fleets.

    .venv/bin/python tests/bench/backtest.py --scenarios typical,sparse --seeds 101-106 --units 30

One line per scenario: coverage of the 90 % interval as the back-test shows it and as the truth has it (means over the
fleets), their mean difference in points, and in how many fleets the interval beside the shown share held the true one.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "python"))

from backtest_truth import ALL, tried

SCENARIOS = "typical,curved,sparse,nasty,rotating"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--scenarios", default=SCENARIOS)
    parser.add_argument("--seeds", default="101-104", help="first-last")
    parser.add_argument("--units", type=int, default=30)
    asked = parser.parse_args()
    first, last = (int(s) for s in asked.seeds.split("-"))
    print(f"{'scenario':12} {'shown':>6} {'true':>6} {'off':>6} {'held':>7}")
    for scenario in asked.scenarios.split(","):
        shown, true, held = [], [], 0
        for seed in range(first, last + 1):
            t = tried(scenario, seed, asked.units)
            shown.append(t.table["coverage_90"][ALL])
            true.append(t.truth["coverage_90"])
            held += t.table["coverage_90_low"][ALL] <= true[-1] <= t.table["coverage_90_high"][ALL]
        off = 100 * np.mean(np.subtract(shown, true))
        print(
            f"{scenario:12} {100 * np.mean(shown):6.1f} {100 * np.mean(true):6.1f} {off:+6.1f} {held:3}/{len(shown)}",
            flush=True,
        )


if __name__ == "__main__":
    main()
