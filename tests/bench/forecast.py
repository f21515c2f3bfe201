"""Due dates of `wear` on simulated fleets, against what a forecaster that knows the process would say.

    .venv/bin/python tests/bench/forecast.py [--scenarios typical,nasty] [--seeds reporting] [--units 240]
        [--parts dates,fitments]

Seeds 1 to 20 (`tuning`) are for work on the estimator, 101 to 103 (`reporting`) for what is reported of it; keep them
apart. Per scenario and forecaster:

CRPS      ratio to the knowing forecaster's, over the positions that the forecaster answers. The continuous ranked
          probability score is taken as twice the mean pinball loss at the seven levels that `wear` gives, all alike,
          with due days capped at ten years: a forecaster of seven quantiles can be scored no finer.
in 90, 50 share of due days within 05..95 and 25..75
err 2, 7+ median of |median - due| in days, tires with two, with seven or more inspections
bias      median of (median - due) in days
prec, rec of "due within 60 days", by the median
none      positions without an answer
s         seconds

A last line scores `fitments` (the definitions stand in tests/python/truth.py, beside the functions that count):

followed  tires that moved, whose number was written at both places, and that are said to have come from where they were
          (goal: 99 %); in brackets all that moved
found     new tires, deeper by two steps than what they replaced, found to begin between the readings on both sides of
          the change in the record without any tire number (goal: 97 %); in brackets with the numbers as written
false     beginnings in the record as it stands that are of no change of tires (goal: at most 1 %); in brackets in the
          record without numbers

Positions whose tire in use was not read yet are left out: nothing in the log tells it from the one before.

`wear` is the product. The others are small and simple, on the readings as they stand: a least-squares line per tire, a
line by the median of pairwise slopes, the mean rate of the group.
"""

from __future__ import annotations

import argparse
import os
import sys
import time
from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import reduce
from operator import add
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # many small matrices: more threads only wait for each other

import numpy as np
import numpy.typing as npt
from scipy import stats

import wheelend
from wheelend._fitments import fitments_table
from wheelend.limit_sets import DEFAULT
from wheelend.simulate import SCENARIOS, Simulated, fleet, knows
from wheelend.trends import wear_table
from wheelend.verdicts import Selection

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "python"))
import truth
from truth import Share, keys

Numbers = npt.NDArray[np.float64]

LEVELS = np.array([0.05, 0.10, 0.25, 0.50, 0.75, 0.90, 0.95])
NAMES = ("p05", "p10", "p25", "p50", "p75", "p90", "p95")
MEDIAN = 3
CAP_DAYS = 10 * 365.25  # due days are "not within ten years" beyond: data dictionary
SOON_DAYS = 60.0
SEEDS = {"tuning": range(1, 21), "reporting": range(101, 104)}
MM_PER_32ND = 0.79375  # 1 in = 25.4 mm exactly, SP811
RISE_32NDS = 2.0  # a new tire: two steps of a shop gauge
SPREAD = 0.35  # of remaining time about the group's mean, log: common practice, no source
DRAWS = 400


# ---- forecasters: quantiles by position and level, NaN where there is no answer


def by_knowing(s: Simulated) -> Numbers:
    return np.quantile(np.minimum(knows(s, DRAWS), CAP_DAYS), LEVELS, axis=1).T


def by_wear(s: Simulated) -> Numbers:
    log = wheelend.read_log(s.readings, positions=s.positions, tires=s.tires)
    everything = Selection(None, None, None)
    table = wear_table(log, None, DEFAULT, s.as_of, everything).to_pydict()
    row = {key: i for i, key in enumerate(keys(table))}
    quantiles = np.column_stack([np.asarray(table[f"remaining_days_{n}"], float) for n in NAMES])
    quantiles = np.where(np.isnan(quantiles), CAP_DAYS, quantiles)
    out = np.full((len(s.truth.positions["unit"]), len(LEVELS)), np.nan)
    for i, key in enumerate(keys(s.truth.positions)):
        if key in row:
            out[i] = quantiles[row[key]]
    return out


def by_least_squares(s: Simulated) -> Numbers:
    return by_lines(s, lambda x, y: np.polyfit(x, y, 1))


def by_median_slopes(s: Simulated) -> Numbers:
    def line(x: Numbers, y: Numbers) -> tuple[float, float]:
        i, j = np.triu_indices(len(x), 1)
        slope = float(np.median((y[j] - y[i]) / (x[j] - x[i])))
        return slope, float(np.median(y - slope * x))

    return by_lines(s, line)


def by_group(s: Simulated) -> Numbers:
    """Rate per day of the role and group over all tires, from the mean of the last three readings of each."""
    positions = s.positions
    group = dict(zip(keys(positions), zip(positions["role"], positions["group"], strict=True), strict=True))
    worn, run = defaultdict(float), defaultdict(float)
    for key, tires in cut(s).items():
        for days, depths in tires:
            worn[group[key]] += depths[0] - depths[-1]
            run[group[key]] += days[-1] - days[0]
    z = stats.norm.ppf(LEVELS)
    out = []
    for (days, depths), key, limit in in_use(s):
        rate = worn[group[key]] / run[group[key]] if run[group[key]] > 0 else 0.0
        if rate <= 0 or not len(days):
            out.append(np.full(len(LEVELS), np.nan))
            continue
        level = depths[-3:].mean() + rate * days[-3:].mean()  # on day 0, which is as_of
        out.append(max(level - limit, 0.0) / rate * np.exp(SPREAD * z))
    return np.minimum(np.array(out), CAP_DAYS)


def by_lines(s: Simulated, line: Callable[[Numbers, Numbers], tuple[float, float]]) -> Numbers:
    """A line per tire through its shallowest groove by days; the delta method for the day at the limit."""
    floor = gauge_step(s) / np.sqrt(12)  # a step that is rounded to: formulas 9.1
    out = []
    for (x, y), _, limit in in_use(s):
        if len(x) < 2:
            out.append(np.full(len(LEVELS), np.nan))
            continue
        slope, intercept = line(x, y)
        if slope >= 0:
            out.append(np.full(len(LEVELS), CAP_DAYS))
            continue
        residual = y - intercept - slope * x
        sd = max(np.sqrt((residual**2).sum() / max(len(x) - 2, 1)), floor)
        due = (limit - intercept) / slope
        se = sd / -slope * np.sqrt(1 / len(x) + (due - x.mean()) ** 2 / ((x - x.mean()) ** 2).sum())
        z = stats.t.ppf(LEVELS, len(x) - 2) if len(x) > 2 else stats.norm.ppf(LEVELS)
        out.append(due + se * z)
    return np.clip(np.array(out), 0.0, CAP_DAYS)


FORECASTERS = {
    "knowing": by_knowing,
    "wear": by_wear,
    "least squares": by_least_squares,
    "median slopes": by_median_slopes,
    "group mean": by_group,
}


# ---- readings as they stand, for the small ones


def gauge_step(s: Simulated) -> float:
    """Step of the gauge in 32nds."""
    return 0.5 / MM_PER_32ND if s.process.gauge == "mm" else 1.0


def cut(s: Simulated) -> dict[tuple[object, ...], list[tuple[Numbers, Numbers]]]:
    """Days (0 is as_of) and shallowest depths in 32nds of each tire, by position: cut at numbers, events and rises."""
    r, gauge = s.readings, s.process.gauge
    grooves = np.column_stack([r[f"tread_{g}_{gauge}"] for g in ("outer", "middle", "inner")])
    grooves = grooves / (MM_PER_32ND if gauge == "mm" else 1.0)
    day = (r["read_on"] - np.datetime64(s.as_of)).astype(float)
    rows = defaultdict(list)
    for i, key in enumerate(keys(r)):
        rows[key].append(i)
    out = {}
    for key, mine in rows.items():
        tires: list[tuple[list[float], list[float]]] = [([], [])]
        number, before = None, None
        for i in sorted(mine, key=lambda i: day[i]):
            other = number is not None and r["tire"][i] is not None and r["tire"][i] != number
            rose = before is not None and grooves[i].mean() - before >= RISE_32NDS
            if (other or rose or r["event"][i] is not None) and tires[-1][0]:
                tires.append(([], []))
                number = before = None
            number = r["tire"][i] or number
            if np.isnan(grooves[i, 0]) or (tires[-1][0] and tires[-1][0][-1] == day[i]):
                continue  # nothing was read, or it was read a second time on that day
            tires[-1][0].append(day[i])
            tires[-1][1].append(grooves[i].min())
            before = grooves[i].mean()
        out[key] = [(np.array(x), np.array(y)) for x, y in tires if x]
    return out


def in_use(s: Simulated) -> Iterator[tuple[tuple[Numbers, Numbers], tuple[object, ...], float]]:
    """Readings of the last tire of each position, in the order of the truth, with the position and its limit."""
    tires, none = cut(s), (np.zeros(0), np.zeros(0))
    for key, limit in zip(keys(s.truth.positions), s.truth.positions["limit_32nds"].tolist(), strict=True):
        yield (tires.get(key) or [none])[-1], key, limit


# ---- scores


@dataclass
class Answers:
    """What a forecaster said of several fleets, and what became true."""

    quantiles: Numbers
    due: Numbers
    readings: npt.NDArray[np.int64]
    seconds: float

    @property
    def loss(self) -> Numbers:
        """Twice the mean pinball loss at the seven levels, in days, by position."""
        over = self.due[:, None] - self.quantiles
        return 2 * np.maximum(LEVELS * over, (LEVELS - 1) * over).mean(axis=1)


def answers(forecaster: str, fleets: list[Simulated]) -> Answers:
    start = time.perf_counter()
    quantiles = np.concatenate([FORECASTERS[forecaster](s) for s in fleets])
    seconds = time.perf_counter() - start
    read = np.concatenate([s.truth.positions["readings"] > 0 for s in fleets])
    due = np.concatenate([np.minimum(s.truth.positions["due_day"], CAP_DAYS) for s in fleets])
    readings = np.concatenate([s.truth.positions["readings"] for s in fleets])
    return Answers(quantiles[read], due[read], readings[read], seconds)


def share(yes: npt.NDArray[np.bool_]) -> float:
    return float(yes.mean()) if yes.size else np.nan


def median(values: Numbers) -> float:
    return float(np.median(values)) if values.size else np.nan


def line_of(name: str, a: Answers, best: Answers) -> str:
    answered = ~np.isnan(a.quantiles[:, 0])
    q, due, n = a.quantiles[answered], a.due[answered], a.readings[answered]
    middle = q[:, MEDIAN]
    error = np.abs(middle - due)
    said, was = middle <= SOON_DAYS, due <= SOON_DAYS
    numbers = [
        f"{a.loss[answered].mean() / best.loss[answered].mean():7.2f}",
        f"{100 * share((q[:, 0] <= due) & (due <= q[:, 6])):7.1f}",
        f"{100 * share((q[:, 2] <= due) & (due <= q[:, 4])):7.1f}",
        f"{median(error[n == 2]):7.0f}",
        f"{median(error[n >= 7]):7.0f}",
        f"{median(middle - due):7.0f}",
        f"{share(was[said]):7.2f}",
        f"{share(said[was]):7.2f}",
        f"{int((~answered).sum()):7d}",
        f"{a.seconds:7.1f}",
    ]
    return f"  {name:14}" + "".join(numbers)


# ---- fitments


def fitments_of(s: Simulated, numbers: bool) -> list[truth.Row]:
    readings = s.readings if numbers else truth.without_numbers(s)
    log = wheelend.read_log(readings, positions=s.positions, tires=s.tires if numbers else None)
    rows: list[truth.Row] = fitments_table(log, None, Selection(None, None, None)).to_pylist()
    return rows


def fitments_line(fleets: list[Simulated]) -> str:
    """What was followed, found and cut wrongly, with what is told beside it in brackets."""
    written = [(s, fitments_of(s, numbers=True)) for s in fleets]
    bare = [(s, fitments_of(s, numbers=False)) for s in fleets]

    def total(count: Callable[[Simulated, list[truth.Row]], Share], of: list[tuple[Simulated, list[truth.Row]]]) -> str:
        share = reduce(add, (count(s, rows) for s, rows in of))
        return f"{100 * share.value:.1f} % of {share.of}" if share.of else "none"

    every = total(lambda s, rows: truth.moved_followed(s, rows, numbered=False), written)
    return (
        f"  {'fitments':14}followed {total(truth.moved_followed, written)} ({every}); "
        f"found {total(truth.replacements_found, bare)} ({total(truth.replacements_found, written)}); "
        f"false {total(truth.false_cuts, written)} ({total(truth.false_cuts, bare)})"
    )


def seeds_of(text: str) -> list[int]:
    if text in SEEDS:
        return list(SEEDS[text])
    out: list[int] = []
    for part in text.split(","):
        first, _, last = part.partition("-")
        out += range(int(first), int(last or first) + 1)
    return out


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--scenarios", default=",".join(SCENARIOS), help="names with commas between; default all")
    parser.add_argument("--seeds", default="reporting", help="tuning, reporting, or numbers such as 1-3,7")
    parser.add_argument("--units", type=int, default=240)
    parser.add_argument("--forecasters", default=",".join(FORECASTERS), help="names with commas between; default all")
    parser.add_argument("--parts", default="dates,fitments", help="dates, fitments, or both with a comma between")
    options = parser.parse_args()
    parts = options.parts.split(",")
    seeds = seeds_of(options.seeds)
    header = ("CRPS", "in 90", "in 50", "err 2", "err 7+", "bias", "prec", "rec", "none")
    for scenario in options.scenarios.split(","):
        start = time.perf_counter()
        fleets = [fleet(scenario, options.units, seed=seed) for seed in seeds]
        seconds = time.perf_counter() - start
        if "dates" in parts:
            best = answers("knowing", fleets)
            print(
                f"{scenario}: {len(best.due)} positions of {len(fleets)} fleets, made in {seconds:.1f} s; knowing CRPS "
                f"{best.loss.mean():.1f} d"
            )
            print("  " + " " * 14 + "".join(f"{name:>7}" for name in header) + f"{'s':>7}")
            for name in options.forecasters.split(","):
                print(line_of(name, best if name == "knowing" else answers(name, fleets), best), flush=True)
        else:
            print(f"{scenario}: {len(fleets)} fleets, made in {seconds:.1f} s")
        if "fitments" in parts:
            print(fitments_line(fleets), flush=True)


if __name__ == "__main__":
    main()
