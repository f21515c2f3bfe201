"""Slow leaks on fleets of another make than `wheelend.simulate`: how far what was set on its fleets holds elsewhere.

    .venv/bin/python tests/bench/leaks_elsewhere.py [--seed 1] [--units 60] [--false-alarms 2]

Losses are uniform between 1 and 3 % of the gauge pressure a month, leaks between 3 and 15 psi a month (absolute law),
no tire loses anything at once or is changed, one gauge reads all; one reading in twenty is warm and half of these are
flagged; a tire below 90 % is filled in seven of ten cases and three fillings in five are written. All invented. Read
every so many days, with temperatures or without. Scores as in `leaks.py`; where nothing leaks, only `false` says
something.
"""

from __future__ import annotations

import argparse
from collections import defaultdict
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from leaks import DAYS_PER_MONTH, SEEN_AFTER_DAYS, Key, days_of, keys, once, places_of

import wheelend
from wheelend._fleet_leaks import learned_leaks

SEA_LEVEL, ZERO_DEGF, REFERENCE = 14.696, 459.67, 527.67  # psi; 0 and 68 degF in Rankine
FIRST = int(np.datetime64("2023-01-02").astype(int))
TARGET = 100.0
PLACES = [(1, "left", "single"), (1, "right", "single")] + [
    (axle, side, dual) for axle in (2, 3) for side in ("left", "right") for dual in ("outer", "inner")
]
COLUMNS = ("unit", "kind", "role", "axle", "side", "dual", "read_on", "target_psi", "pressure_psi", "inflated_to_psi",
           "ambient_degf", "warm")  # fmt: skip


@dataclass
class Made:
    rows: dict[str, list[Any]] = field(default_factory=lambda: {name: [] for name in COLUMNS})
    leaks: dict[Key, list[tuple[int, float]]] = field(default_factory=lambda: defaultdict(list))  # days, from and to


def make(seed: int, every: int, units: int, leaks_per_year: float, temperatures: bool, years: float = 2.0) -> Made:
    rng, out = np.random.default_rng(seed), Made()
    for u in range(units):
        n = len(PLACES)
        psi = TARGET * (1 - rng.uniform(0, 0.05, n))
        loss, leak, begun = rng.uniform(0.01, 0.03, n) / DAYS_PER_MONTH, np.zeros(n), np.zeros(n, int)
        day, visit = 0, int(rng.integers(0, every))
        while visit < years * 365.25:
            while day < visit:
                new = (rng.random(n) < leaks_per_year / 365.25) & (leak == 0)
                leak[new], begun[new] = rng.uniform(3, 15, new.sum()) / DAYS_PER_MONTH, day
                psi = np.maximum(psi - psi * loss - leak * (psi + SEA_LEVEL) / (TARGET + SEA_LEVEL), 0.0)
                day += 1
            air = 55 + 25 * np.sin(2 * np.pi * (day - 105) / 365.25) + rng.normal(0, 8)
            ratio, off, ran = (air + ZERO_DEGF) / REFERENCE, rng.normal(0, 0.5), rng.random() < 0.025
            for i, (axle, side, dual) in enumerate(PLACES):
                key = (f"U{u:03d}", axle, side, dual)
                shown = (psi[i] + SEA_LEVEL) * ratio - SEA_LEVEL
                warm = ran or rng.random() < 0.025
                read = shown * (1 + (rng.uniform(0.05, 0.2) if warm else 0.0)) + off + rng.normal(0, 1)
                filled = shown < 0.9 * TARGET and rng.random() < 0.7
                if filled:
                    psi[i] = (TARGET + SEA_LEVEL) / ratio - SEA_LEVEL + rng.normal(0, 1)
                    if leak[i] > 0 and rng.random() < 0.3:
                        out.leaks[key].append((FIRST + begun[i], FIRST + day))
                        leak[i] = 0.0
                cells = (
                    key[0], "tractor", "steer" if axle == 1 else "drive", *key[1:],
                    str(np.datetime64(FIRST + day, "D")), TARGET, round(read),
                    TARGET if filled and rng.random() < 0.6 else np.nan,
                    round(air + rng.normal(0, 2)) if temperatures else np.nan,
                    "yes" if warm and rng.random() < 0.5 else None,
                )  # fmt: skip
                for name, cell in zip(COLUMNS, cells, strict=True):
                    out.rows[name].append(cell)
            visit += max(1, int(rng.integers(max(1, int(0.7 * every)), int(1.3 * every) + 1)))
        for i in np.flatnonzero(leak > 0):
            out.leaks[f"U{u:03d}", *PLACES[i]].append((FIRST + begun[i], np.inf))
    return out


def score(made: Made, setting: float) -> str:
    log = wheelend.read_log(made.rows)
    days: dict[Key, list[int]] = defaultdict(list)
    for key, day in zip(keys(made.rows), days_of(made.rows["read_on"]).tolist(), strict=True):
        days[key].append(day)
    found = learned_leaks(log, max(map(max, days.values())), setting)["alarms"]
    place = places_of(log)
    alarms = once([(place[i], int(d)) for i, d in zip(found["position"], found["day"], strict=True)])
    right = wrong = hit = leaks = 0
    for key, read in days.items():
        inside = [any(a <= d <= b for a, b in made.leaks[key]) for d in alarms.get(key, [])]
        right, wrong = right + sum(inside), wrong + len(inside) - sum(inside)
        for a, b in made.leaks[key]:
            if any(a + SEEN_AFTER_DAYS <= d <= b for d in read):
                leaks += 1
                hit += any(a <= d <= b for d in alarms.get(key, []))
    months = sum(d[-1] - d[0] for d in days.values()) / DAYS_PER_MONTH
    kept = f"{right / max(right + wrong, 1):7.2f}{hit / leaks:7.2f}" if leaks else f"{'-':>7}{'-':>7}"
    return f"{kept}{1000 * wrong / months:7.2f}{right + wrong:8d}{leaks:7d}{months:9.0f}"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--units", type=int, default=60)
    parser.add_argument("--false-alarms", type=float, default=2.0)
    options = parser.parse_args()
    print(f"{'':36}{'prec':>7}{'rec':>7}{'false':>7}{'n':>8}{'leaks':>7}{'months':>9}")
    for every, temperatures in ((1, True), (7, True), (14, True), (28, True), (60, True), (28, False)):
        for leaks_per_year in (0.2, 0.0):
            units = max(options.units * min(every, 14) // 14, 5)  # fewer where they are read often: for the time
            made = make(options.seed + every, every, units, leaks_per_year, temperatures)
            name = f"every {every} days, {'' if temperatures else 'no '}temperatures, {leaks_per_year} leaks"
            print(f"{name:36}{score(made, options.false_alarms)}", flush=True)


if __name__ == "__main__":
    main()
