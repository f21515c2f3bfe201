"""Demand on simulated fleets, against the tires that were really fitted; and its speed against NumPy.

    .venv/bin/python tests/bench/demand.py [--scenarios typical,rotating] [--seeds reporting] [--units 240]
        [--forecasters demand,last year,lines] [--parts accuracy,speed]

The record is cut at the end of a month, twelve whole months before its end; what was fitted new in these is the truth
(tires that moved in are none). Seeds 1 to 20 (`tuning`) are for work on the method, 101 to 103 (`reporting`) for what
is reported of it; keep them apart. Per scenario and pooled over all, by forecaster:

error     mean of |P50 of a month - fitted| against the mean fitted, percent (goal: 12; knowing: 10)
in 80     share of months inside P10 to P90, percent (goal: 75 to 85)
year      mean of the year's P50 - fitted, signed, against fitted, percent, and the mean of its size (goal: 3 on average
          over seeds)
in year   share of years inside P10 to P90
s         seconds a fleet

`demand` is the product. `knowing` knows the process and the true state at the cut, and runs the same fleet on with
other chances from then on (--futures of them): the measure of all others, and slow. `last year` takes the counts
of the same months a year before as the record has them (`fitments`, moves that were followed left out), `lines` counts
due dates of a straight line per tire; both get Poisson bands.

The speed: 100,000 positions, 36 months, 10,000 draws (--draws to run fewer of them), against a NumPy simulation of the
same by arrays, of as many draws as take it some seconds; both per draw on one thread, and ours on all.
"""

from __future__ import annotations

import argparse
import copy
import datetime as dt
import os
import resource
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np
import numpy.typing as npt

import wheelend
from wheelend import _core, _demand
from wheelend._fitments import fitments_table
from wheelend.simulate import Simulated, fleet, process_of
from wheelend.simulate._chance import DAYS_PER_YEAR, Purpose, at_work, drift, stream, weekly_memory
from wheelend.simulate._fitments import OnUnit, inspection_days, run_yard
from wheelend.simulate._units import YARD, unit
from wheelend.simulate._use import Calendar, Use, usual_miles
from wheelend.simulate._wear import course_of
from wheelend.verdicts import Selection

sys.path.insert(0, str(Path(__file__).resolve().parent))
import forecast

Numbers = npt.NDArray[np.float64]
EVERYTHING = Selection(None, None, None)
SCENARIOS = ("clean", "typical", "short", "curved", "rotating", "uneven", "sparse", "nasty")
MONTHS = 12
LEVELS = [0.1, 0.5, 0.9]


@dataclass
class Case:
    """A fleet whose record is cut; ``true``: tires fitted new in each month after it."""

    simulated: Simulated
    cut: dt.date
    ends: npt.NDArray[np.int32]
    true: npt.NDArray[np.int64]
    log: Any = field(repr=False)


def case_of(scenario: str, units: int, seed: int) -> Case:
    process = process_of(scenario)
    # Cut by how long the scenario keeps its records, then run on for a year and what is left of a month.
    days = min(round(3 * DAYS_PER_YEAR), process.record_days_at_most)
    s = fleet(scenario, units, (days + 366 + 31) / DAYS_PER_YEAR, seed, record_days_at_most=100_000)
    last = s.first_day + dt.timedelta(days=days)
    cut = last.replace(day=1) - dt.timedelta(days=1)
    keep = s.readings["read_on"] <= np.datetime64(cut)
    readings = {
        k: v[keep] if isinstance(v, np.ndarray) else [x for x, y in zip(v, keep, strict=True) if y]
        for k, v in s.readings.items()
    }
    _, ends = _demand.calendar_months((cut - dt.date(1970, 1, 1)).days, MONTHS)
    log = wheelend.read_log(readings, positions=s.positions, tires=s.tires)
    return Case(s, cut, ends, by_month(s.truth.fitments["from"], s.truth.fitments["how_begun"], cut, ends), log)


def by_month(day: Any, how: list[str], cut: dt.date, ends: npt.NDArray[np.int32]) -> npt.NDArray[np.int64]:
    after = (day - np.datetime64(cut)).astype(float)
    new = after[(np.array(how) == "new") & (after > 0) & (after <= ends[-1])]
    return np.histogram(new, np.concatenate([[0.5], ends + 0.5]))[0].astype(np.int64)


# ---- forecasters: draws of the counts, by draw and month


def by_demand(c: Case, options: argparse.Namespace) -> Numbers:
    ahead = _demand.future(c.log, as_of=c.cut, draws=2000)
    assert np.array_equal(ahead.month_ends, c.ends)
    return np.delete(ahead.counts(), _demand.MOVED_ON, axis=3).sum(axis=(2, 3, 4)).astype(float)


def poisson(mean: Numbers) -> Numbers:
    return np.random.default_rng(0).poisson(mean, (2000, len(mean))).astype(float)


def by_last_year(c: Case, options: argparse.Namespace) -> Numbers:
    rows = fitments_table(c.log, None, EVERYTHING).to_pylist()
    began = [r["from"] for r in rows if r["from"] and r["how_begun"] != "first reading" and not r["came_from"]]
    after = np.array([(d - c.cut).days for d in began], float)
    first = (c.log.first_day - c.cut).days
    if first > -366:  # a shorter record: its rate
        return poisson(np.full(MONTHS, len(after) / -first * 365.25 / 12))
    starts = np.concatenate([[0], c.ends[:-1]])
    return poisson(
        np.array([np.sum((after > a - 365) & (after <= b - 365)) for a, b in zip(starts, c.ends, strict=True)])
    )


def by_lines(c: Case, options: argparse.Namespace) -> Numbers:
    rows = c.simulated.readings["read_on"] <= np.datetime64(c.cut)
    readings = {
        k: v[rows] if isinstance(v, np.ndarray) else [x for x, y in zip(v, rows, strict=True) if y]
        for k, v in c.simulated.readings.items()
    }
    s = replace(c.simulated, readings=readings, as_of=c.cut)
    due = forecast.by_least_squares(s)[:, forecast.MEDIAN]
    due = np.maximum(due[~np.isnan(due)], 1.0)
    return poisson(np.histogram(due, np.concatenate([[0.5], c.ends + 0.5]))[0].astype(float))


def by_knowing(c: Case, options: argparse.Namespace) -> Numbers:
    """The same fleet from its true state at the cut, run on with chances of its own."""
    s = c.simulated
    at_cut = (c.cut - s.first_day).days
    until = at_cut + int(c.ends[-1])
    process = s.process
    first = int((np.datetime64(s.first_day) - np.datetime64("1970-01-01")).astype(int))
    calendar = Calendar(first, until + 40)
    out = np.zeros((options.futures, MONTHS))
    for yard in range(0, options.units, YARD):
        members = [unit(i) for i in range(yard, min(yard + YARD, options.units))]
        courses = [course_of(process, s.seed, m, calendar) for m in members]
        present = run_yard(process, s.seed, courses, at_cut)
        for f in range(options.futures):
            units = [copy.copy(u) for u in present]
            for u in units:
                u.tires, u.fitments = copy.deepcopy(u.tires), [copy.copy(x) for x in u.fitments]
                u.inspections = []
                run_on(u, 1000 + 1000 * s.seed + f, at_cut, until, calendar)
            calls = sorted(
                (day, i)
                for i, u in enumerate(units)
                for day in inspection_days(process, s.seed, u.course.unit, until)
                if day > at_cut
            )
            stock: list[Any] = []
            for day, i in calls:
                units[i].inspect(day, stock)
            for u in units:
                u.replace_damaged(until)
                days = np.array(
                    [x.begun - at_cut for x in u.fitments if x.how_begun == "new" and x.begun > at_cut], float
                )
                out[f] += np.histogram(days, np.concatenate([[0.5], c.ends + 0.5]))[0]
    return out


def run_on(on: OnUnit, seed: int, cut: int, until: int, calendar: Calendar) -> None:
    """Give a unit other chances from a day on: use, severity, pulls, damage, tires. Its visits stay."""
    p, course = on.process, on.course
    of = course.unit
    week = cut // 7

    def onwards(path: Numbers, purpose: Purpose, sd: float, days: float) -> Numbers:
        fresh = drift(stream(seed, of.index, purpose), len(path) - week, sd, days)
        fade = weekly_memory(days) ** np.arange(len(fresh))
        return np.concatenate([path[:week], fresh + fade * (path[week] - fresh[0])])

    slow = onwards(course.use.drift, Purpose.USE, p.use_drift_sd, p.use_drift_days)
    works = at_work(stream(seed, of.index, Purpose.IDLE), calendar.days, p, of.kind)
    miles = usual_miles(p, of, calendar) * np.exp(course.use.level + slow[calendar.week]) * works
    miles[:cut] = course.use.miles[:cut]
    severe = onwards(course.drift, Purpose.SEVERITY, p.severity_sd, p.severity_days)
    change = np.exp(severe - course.drift)[calendar.week]
    change[:cut] = 1.0
    severity = course.severity * change
    exposure = np.zeros((len(severity), calendar.days + 1))
    np.cumsum(miles * severity, axis=1, out=exposure[:, 1:])
    odometer = course.use.odometer[0] + np.concatenate([[0.0], np.cumsum(miles)])
    on.course = replace(
        course, use=Use(miles, odometer, course.use.level, slow), severity=severity, exposure=exposure, drift=severe
    )
    on.rng = stream(seed, of.index, Purpose.TIRES)
    on.as_of = until
    if p.damage_per_year > 0:
        years = on.rng.standard_exponential(len(on.tires.damaged)) / p.damage_per_year
        on.tires.damaged = np.where(
            on.tires.damaged > cut, cut + 1 + (years * DAYS_PER_YEAR).astype(np.int64), on.tires.damaged
        )


FORECASTERS: dict[str, Callable[[Case, argparse.Namespace], Numbers]] = {
    "knowing": by_knowing,
    "demand": by_demand,
    "last year": by_last_year,
    "lines": by_lines,
}


# ---- scores


@dataclass
class Score:
    off: list[float] = field(default_factory=list)
    fitted: list[float] = field(default_factory=list)
    inside: list[bool] = field(default_factory=list)
    years: list[float] = field(default_factory=list)
    in_year: list[bool] = field(default_factory=list)
    seconds: list[float] = field(default_factory=list)

    def add(self, draws: Numbers, true: npt.NDArray[np.int64], seconds: float) -> None:
        low, middle, high = np.quantile(draws, LEVELS, axis=0, method="inverted_cdf")
        self.off += np.abs(middle - true).tolist()
        self.fitted += true.tolist()
        self.inside += ((low <= true) & (true <= high)).tolist()
        year = np.quantile(draws.sum(axis=1), LEVELS, method="inverted_cdf")
        self.years.append(float(year[1] / true.sum() - 1))
        self.in_year.append(bool(year[0] <= true.sum() <= year[2]))
        self.seconds.append(seconds)

    def line(self, name: str) -> str:
        return (
            f"  {name:10}{100 * np.mean(self.off) / np.mean(self.fitted):8.1f}{100 * np.mean(self.inside):8.1f}"
            f"{100 * np.mean(self.years):+8.1f}{100 * np.mean(np.abs(self.years)):7.1f}"
            f"{100 * np.mean(self.in_year):9.0f}{np.mean(self.seconds):8.1f}"
        )


def accuracy(options: argparse.Namespace) -> None:
    names = options.forecasters.split(",")
    pooled = {name: Score() for name in names}
    for scenario in options.scenarios.split(","):
        scores = {name: Score() for name in names}
        for seed in forecast.seeds_of(options.seeds):
            c = case_of(scenario, options.units, seed)
            for name in names:
                start = time.perf_counter()
                draws = FORECASTERS[name](c, options)
                for to in (scores[name], pooled[name]):
                    to.add(draws, c.true, time.perf_counter() - start)
        fitted = np.mean(scores[names[0]].fitted)
        print(f"{scenario}: {fitted:.1f} tires a month   error   in 80    year   size  in year       s")
        for name in names:
            print(scores[name].line(name), flush=True)
    print("all:")
    for name in names:
        print(pooled[name].line(name), flush=True)


# ---- speed


def large_fleet(positions: int, months: int) -> tuple[dict[str, Any], dict[str, Any], dict[str, Any], dict[str, Any]]:
    rng = np.random.default_rng(1)
    slots = 8
    n = positions // slots
    steps = int(months * 30.5 / 30) + 4
    units = {
        "key": np.arange(n, dtype=np.uint64),
        "km": rng.uniform(5000, 12000, (n, 1)).repeat(steps, 1).astype(np.float32).ravel(),
        "last_visit": -rng.uniform(0, 30, n),
        "visit_days": np.full(n, 30.0),
        "km_since": np.full(n, 4000.0),
        "level": np.full(n, 0.01),
        "drift_now": np.full(n, 0.01),
        "drift": np.full(n, 0.02),
        "drift_days": np.full(n, 120.0),
        "rest": np.full(n, 0.03),
    }
    place = np.arange(n * slots, dtype=np.int32)
    places = {
        "unit": (place // slots).astype(np.int32),
        "slot": (place % slots).astype(np.int32),
        "mate": (place ^ 1).astype(np.int32),
        "role": np.zeros(len(place), np.int32),
        "now": place,
        "fresh": np.full(len(place), len(place), np.int32),
    }
    full = 240_000 * np.exp(0.2 * rng.standard_normal((1, _core.tire_cases)))
    now = rng.uniform(0, 240_000, (len(place), 1)) * np.exp(0.1 * rng.standard_normal((len(place), _core.tire_cases)))
    need = np.vstack([now, full]).astype(np.float32)
    laws = {
        "need": need.ravel(),
        "rate": np.full(need.size, 8e-5, np.float32),
        "spread": np.full(len(need), 0.1, np.float32),
    }
    practice = {
        "roles": [{"pull_sd_mm": 0.5, "wear_doubt": 0.02}],
        "damage_per_year": 0.06,
        "damage_doubt": 0.1,
        "with_mate": 0.3,
    }
    return units, places, laws, practice


def numpy_draw(rng: np.random.Generator, units: Any, places: Any, laws: Any, practice: Any, ends: Any) -> Numbers:
    """One draw of the same process by whole arrays: units' paths, then visit by visit all positions."""
    n, steps = len(units["key"]), len(units["km"]) // len(units["key"])
    role, normal = practice["roles"][0], rng.standard_normal
    wear = role["wear_doubt"] * normal()
    damage = practice["damage_per_year"] * np.exp(practice["damage_doubt"] * normal()) / 365.25
    keep = np.exp(-30.0 / 120.0)
    level, path = np.sqrt(0.01) * normal(n), np.sqrt(0.01) * normal(n)
    x = np.zeros((n, steps), np.float32)
    total = np.zeros(n)
    km = units["km"].reshape(n, steps)
    for k in range(steps):
        path = keep * path + np.sqrt(0.02 * (1 - keep**2)) * normal(n)
        total = total + km[:, k] * np.exp(level + path + np.sqrt(0.03) * normal(n))
        x[:, k] = total
    first = units["last_visit"] + 30.0 * rng.uniform(0.85, 1.15, n)
    p = len(places["unit"])
    of, cases = places["unit"], _core.tire_cases
    need = laws["need"].reshape(-1, cases)

    def fit(who: npt.NDArray[np.int64], law: npt.NDArray[np.int64], at: Numbers, day: Numbers) -> None:
        faster = np.exp(0.1 * normal(len(who)) + wear)
        pull[who] = at + need[law, rng.integers(0, cases, len(who))] / faster
        per[who] = 8e-5 * faster / role["pull_sd_mm"]
        lost[who] = day + rng.standard_exponential(len(who)) / damage

    pull, per, lost = np.zeros(p), np.zeros(p), np.zeros(p)
    everyone = np.arange(p)
    fit(everyone, everyone, np.zeros(p), units["last_visit"][of])
    counts = np.zeros(len(ends))
    fresh = len(need) - 1
    for k in range(steps):
        day = (first + 30.0 * k)[of]
        at = x[:, k][of]
        gone = lost < day
        worn = ~gone & (normal(p) < (at - pull) * per)
        along = worn[places["mate"]] & ~worn & ~gone & (rng.random(p) < practice["with_mate"])
        off = np.flatnonzero(gone | worn | along)
        when = np.where(gone[off], lost[off], day[off] + 2.0)
        counts += np.histogram(when, np.concatenate([[0], ends]))[0]
        fit(off, np.full(len(off), fresh), at[off], when)
    return counts


def speed(options: argparse.Namespace) -> None:
    months, positions = 36, 100_000
    ends = np.round(np.arange(1, months + 1) * 365.25 / 12).astype(np.int32)
    parts = large_fleet(positions, months)
    of = _core.DemandFleet(*parts)
    rng = np.random.default_rng(2)
    numpy_draw(rng, *parts, ends)
    few, start = 5, time.process_time()
    theirs = [numpy_draw(rng, *parts, ends) for _ in range(few)]
    each = (time.process_time() - start) / few  # of processor: a busy machine does not count
    print(
        f"NumPy: {each:.2f} s a draw of {positions:,} positions and {months} months: {10_000 * each:,.0f} s for 10,000"
    )

    def ours(draws: int, threads: int) -> tuple[float, Any]:
        start, cpu = time.perf_counter(), time.process_time()
        counts = _core.simulate_demand(of, ends, None, 1, 0, draws, 1, {}, threads)
        took, spent = time.perf_counter() - start, time.process_time() - cpu
        print(
            f"demand: {draws:,} draws, {threads} threads: {took:.1f} s, {spent:.1f} s of processor, "
            f"{spent / draws:.4f} s a draw; NumPy takes {each * draws / spent:.0f} times as long"
        )
        return took, counts

    ours(256, 1)
    _, counts = ours(options.draws, len(os.sched_getaffinity(0)))
    print(f"tires a month: {counts.sum() / options.draws / months:.0f}, NumPy {np.mean(theirs):.0f}")
    print(f"memory: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024**2:.2f} GB at most")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--scenarios", default=",".join(SCENARIOS), help="names with commas between; default all")
    parser.add_argument("--seeds", default="reporting", help="tuning, reporting, or numbers such as 1-3,7")
    parser.add_argument("--units", type=int, default=240)
    parser.add_argument("--forecasters", default="demand,last year,lines", help=f"of {', '.join(FORECASTERS)}")
    parser.add_argument("--futures", type=int, default=20, help="of `knowing`")
    parser.add_argument("--parts", default="accuracy,speed", help="accuracy, speed, or both with a comma between")
    parser.add_argument("--draws", type=int, default=10_000, help="of the speed")
    options = parser.parse_args()
    parts = options.parts.split(",")
    if "accuracy" in parts:
        accuracy(options)
    if "speed" in parts:
        speed(options)


if __name__ == "__main__":
    main()
