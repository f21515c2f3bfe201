"""Distance that simulated units run after their record, against what the use model says of it.

    cmake --preset tests -DWHEELEND_BENCH=ON && cmake --build --preset tests --target use_ahead
    .venv/bin/python tests/bench/use_ahead.py build/tests/tests/use_ahead [--scenarios typical] [--seeds 1-2]

Per scenario, units with and without an odometer, and horizon: share of true distances within 25..75 and 5..95, CRPS
(twice the mean pinball loss at 99 levels) against the simple forecast - the mean of the last year, normal with the
error of monthly means - over units that have one. A unit without an odometer is forecast by its group alone; its CRPS
stands as a share of the distance. `changed`, `seasonal` and `parked` are other processes than the model was tried on.
"""

from __future__ import annotations

import argparse
import subprocess
from typing import Any

import numpy as np
import numpy.typing as npt
from forecast import seeds_of
from scipy import stats

from wheelend import _core
from wheelend.simulate import fleet
from wheelend.simulate._units import CYCLE, unit
from wheelend.simulate._use import Calendar, use_of
from wheelend.trends import _prior

Numbers = npt.NDArray[np.float64]

HORIZONS = (30, 90, 180, 365, 730)
KM_PER_MILE = 1.609344  # SP811
LEVELS = np.arange(1, 100) / 100
Z = stats.norm.ppf(LEVELS)
CHANGED: dict[str, tuple[str, dict[str, Any]]] = {
    "changed": (
        "typical",
        {
            "use_level_sd": 0.4,
            "use_drift_sd": 0.2,
            "use_drift_days": 300.0,
            "idle_long_per_day": {"tractor": 0.006, "truck": 0.006, "trailer": 0.008},
        },
    ),
    "seasonal": ("typical", {"use_season": 0.25}),
    "parked": (
        "typical",
        {"idle_long_per_day": {"tractor": 0.003, "truck": 0.003, "trailer": 0.004}, "idle_long_days": 45.0},
    ),
}
SCENARIOS = ("typical", "short", "sparse", "curved", "clean", "nasty", *CHANGED)


def told_and_true(tool: str, scenario: str, seed: int, units: int) -> tuple[Numbers, Numbers, str]:
    """What the tool says by unit, the true km a day by unit and horizon, and its own words."""
    name, changes = CHANGED.get(scenario, (scenario, {}))
    s = fleet(name, units, seed=seed, **changes)
    epoch = np.datetime64("1970-01-01")
    first, as_of = (int((np.datetime64(d) - epoch).astype(int)) for d in (s.first_day, s.as_of))
    groups = sorted(set(CYCLE))
    km = dict(zip(_core.codes["kind"], _prior()["km_per_day"], strict=False))  # the last is of no kind
    lines = [f"{as_of} {units} {len(groups)} {len(HORIZONS)}", " ".join(map(str, HORIZONS))]
    lines.append(" ".join(str(km[kind]) for kind, _ in groups))
    names, day = np.array(s.readings["unit"]), (s.readings["read_on"] - epoch).astype(int)
    miles, true = s.readings["odometer_mi"], []
    for i in range(units):
        u = unit(i)
        odometer = use_of(s.process, seed, u, Calendar(first, as_of - first + max(HORIZONS) + 2)).odometer
        now = as_of - first
        true.append([(odometer[now + h] - odometer[now]) * KM_PER_MILE / h for h in HORIZONS])
        at = np.flatnonzero((names == u.name) & ~np.isnan(miles))
        seen = sorted({(int(day[k]), float(miles[k])) for k in at})
        lines.append(f"{groups.index((u.kind, u.group))} {len(seen)}")
        lines += [f"{d} {m}" for d, m in seen]
    done = subprocess.run([tool], input="\n".join(lines), capture_output=True, text=True, check=True)
    return np.array([line.split() for line in done.stdout.splitlines()], float), np.array(true), done.stderr.strip()


def crps(quantiles: Numbers, true: Numbers) -> float:
    over = true[:, None] - quantiles
    return float(2 * np.maximum(LEVELS * over, (LEVELS - 1) * over).mean())


def line_of(told: Numbers, true: Numbers, *, by_odometer: bool) -> str:
    parts = []
    for h in range(len(HORIZONS)):
        mean, sd, km = told[:, 3 + 2 * h], np.sqrt(told[:, 4 + 2 * h]), true[:, h]
        z = np.abs(np.log(np.maximum(km, 1e-3)) - mean) / sd
        quantiles = np.exp(mean[:, None] + sd[:, None] * Z)
        if by_odometer:
            simple = np.maximum(told[:, 1:2] + told[:, 2:3] * Z, 0.0)
            some = ~np.isnan(told[:, 1])
            score = crps(quantiles[some], km[some]) / crps(simple[some], km[some])
        else:
            score = crps(quantiles, km) / km.mean()
        parts.append(f"{100 * (z < stats.norm.ppf(0.75)).mean():4.0f}{100 * (z < stats.norm.ppf(0.95)).mean():4.0f}")
        parts.append(f"{score:6.2f}")
    return "".join(parts)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("tool")
    parser.add_argument("--scenarios", default=",".join(SCENARIOS))
    parser.add_argument("--seeds", default="reporting", help="tuning, reporting, or numbers such as 1-3,7")
    parser.add_argument("--units", type=int, default=240)
    options = parser.parse_args()
    print(" " * 22 + "".join(f"{h:>10} d  " for h in HORIZONS) + "\n" + " " * 22 + "  50  90  CRPS" * len(HORIZONS))
    for scenario in options.scenarios.split(","):
        runs = [told_and_true(options.tool, scenario, seed, options.units) for seed in seeds_of(options.seeds)]
        told, true = np.concatenate([r[0] for r in runs]), np.concatenate([r[1] for r in runs])
        for word, some in (("odometer", told[:, 0] == 1), ("none", told[:, 0] == 0)):
            if some.any():
                print(
                    f"{scenario:9}{word:9}{some.sum():4d}" + line_of(told[some], true[some], by_odometer=word != "none")
                )
        print(f"  {runs[0][2]}", flush=True)


if __name__ == "__main__":
    main()
