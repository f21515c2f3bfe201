"""Slow leaks found by `leaks` on simulated fleets, against simple rules and a forecaster that knows the process.

    .venv/bin/python tests/bench/leaks.py [--scenarios typical,nasty] [--seeds reporting] [--units 240]
        [--parts alarms,setting,speed]

Seeds 1 to 20 (`tuning`) are for work on the engine, 101 to 103 (`reporting`) for what is reported of it. An alarm is
right when it falls inside a true slow leak of its position; repeats within 30 days count once; a leak counts for recall
if its position was read at least seven days after it began. Per scenario and forecaster:

prec, rec  precision, recall
days       median days from a leak's first alarm until its tire is at 80 % of target if nobody fills it; 0 if it is
false      alarms outside of leaks a 1000 tire-months
in 90      share of true loss rates (psi a month at target, leak and sound loss) within rate_low..rate_high, of tires
           that leak and whose alarm stands
n          alarms, leaks that count
s          seconds

`speed`: seconds of the engine, without intake.

`setting` counts alarms on fleets without leaks, over 200 000 tire-months and more, for several settings.

`knowing` knows every number of the process (`wheelend.simulate.knows_leaks`) and has the threshold that gives the asked
false alarms on the very fleet. The simple rules: a reading below 90 % of target as read (`raw`), brought to 68 degF and
sea level (`corrected`), a line by least squares through the corrected readings since the last filling whose slope is
surely beyond 3 psi a month (`regression`; formulas 3.3). The simple rules drop readings that are flagged warm.
"""

from __future__ import annotations

import argparse
import os
import sys
import time
from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy import stats

import wheelend
from wheelend import _core
from wheelend._fleet_leaks import learned_leaks
from wheelend.simulate import SCENARIOS, Simulated, fleet, knows_leaks
from wheelend.simulate._air import KPA_PER_PSI, SEA_LEVEL_PSI, altitude_psi

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "python"))

Numbers = npt.NDArray[np.float64]
Key = tuple[Any, ...]
Alarm = tuple[Key, int]  # position, day

SEEDS = {"tuning": range(1, 21), "reporting": range(101, 104)}
EIGHT = [name for name in SCENARIOS if not name.startswith("wrong")]
DAYS_PER_MONTH = 365.25 / 12
REPEAT_DAYS = 30
SEEN_AFTER_DAYS = 7
LOW_SHARE = 0.90


# ---- what was read


@dataclass
class Track:
    """Readings of one position: day, psi as read, psi at 68 degF and sea level, and what was written beside them."""

    target: float
    day: list[int] = field(default_factory=list)
    raw: list[float] = field(default_factory=list)
    corrected: list[float] = field(default_factory=list)
    fresh: list[bool] = field(default_factory=list)  # filled or another tire since the reading before
    true: list[float] = field(default_factory=list)


def keys(table: dict[str, Any]) -> list[Key]:
    return list(zip(table["unit"], np.asarray(table["axle"]).tolist(), table["side"], table["dual"], strict=True))


def days_of(dates: Any) -> npt.NDArray[np.int64]:
    out: npt.NDArray[np.int64] = np.asarray(dates, "datetime64[D]").astype(np.int64)
    return out


def tracks_of(s: Simulated) -> dict[Key, Track]:
    r, m = s.readings, s.process.pressure_gauge
    factor = KPA_PER_PSI if m == "kpa" else 1.0
    raw, filled = r[f"pressure_{m}"] / factor, r[f"inflated_to_{m}"]
    gas = np.where(np.isnan(r["tire_degf"]), r["ambient_degf"], r["tire_degf"])
    ratio = np.where(np.isnan(gas), 1.0, (68.0 + 459.67) / (gas + 459.67))
    up = np.where(np.isnan(r["altitude_ft"]), 0.0, r["altitude_ft"])
    air = np.array([altitude_psi(a) for a in np.unique(up)])[np.unique(up, return_inverse=True)[1]]
    corrected = (raw + air) * ratio - SEA_LEVEL_PSI
    days = days_of(r["read_on"])
    tracks = {key: Track(t) for key, t in zip(keys(s.positions), s.positions[f"target_{m}"] / factor, strict=True)}
    fresh: dict[Key, bool] = defaultdict(bool)
    number: dict[Key, Any] = {}
    all_keys = keys(r)
    for i in np.argsort(days, kind="stable"):
        key = all_keys[i]
        other = r["tire"][i] is not None and number.get(key) is not None and r["tire"][i] != number[key]
        number[key] = r["tire"][i] or number.get(key)
        fresh[key] |= r["event"][i] is not None or other
        t = tracks[key]
        if not np.isnan(raw[i]) and r["warm"][i] != "yes" and not (t.day and t.day[-1] == days[i]):
            t.day.append(int(days[i]))
            t.raw.append(float(raw[i]))
            t.corrected.append(float(corrected[i]))
            t.fresh.append(fresh[key])
            t.true.append(float(s.truth.readings["cold_psi"][i]))
            fresh[key] = False
        fresh[key] |= bool(not np.isnan(filled[i]))
    return tracks


# ---- forecasters: alarms


@dataclass
class Answer:
    alarms: list[Alarm]
    rates: dict[Key, tuple[float, float, float]] = field(default_factory=dict)  # psi a month, where an alarm stands


def places_of(log: wheelend.Log) -> list[Key]:
    """Unit, axle, side and dual of each position."""
    p = log.positions
    return [
        (log.units[p.unit[i]], int(p.axle[i]), ("left", "right")[p.side[i]], ("single", "outer", "inner")[p.dual[i]])
        for i in range(len(p.axle))
    ]


def by_leaks(s: Simulated, setting: float) -> Answer:
    log = wheelend.read_log(s.readings, positions=s.positions, tires=s.tires)
    found = learned_leaks(log, int(np.datetime64(s.as_of).astype(int)), setting)
    places = places_of(log)
    alarms = found["alarms"]
    to_psi = DAYS_PER_MONTH / (1000 * KPA_PER_PSI)
    columns = [found[name] * to_psi for name in ("rate", "rate_low", "rate_high")]
    standing = np.flatnonzero(np.isin(found["state"], (2, 3)))
    rates = {places[p]: (float(columns[0][p]), float(columns[1][p]), float(columns[2][p])) for p in standing}
    pairs = zip(alarms["position"].tolist(), alarms["day"].tolist(), strict=True)
    return Answer([(places[p], d) for p, d in pairs], rates)


def by_knowing(s: Simulated, setting: float) -> Answer:
    """Its threshold is the one that gives the asked false alarms on this very fleet: it knows the truth for that."""
    known = knows_leaks(s)
    odds = np.log(np.maximum(known["probability"], 1e-6) / np.maximum(1 - known["probability"], 1e-6))
    by_place: dict[Key, list[tuple[int, float]]] = defaultdict(list)
    for key, d, o in zip(keys(known), days_of(known["day"]), odds, strict=True):
        by_place[key].append((int(d), float(o)))
    best: list[Alarm] = []
    for threshold in np.arange(6.0, -3.0, -0.25):
        alarms = []
        for key, seen in by_place.items():
            standing = False
            for d, o in seen:
                if o > threshold and not standing:
                    alarms.append((key, d))
                standing = o > threshold or (standing and o > threshold - 2.5)
        total = Score()
        score(s, Answer(alarms), total)
        if best and 1000 * total.wrong / total.months > setting:
            break
        best = alarms
    return Answer(best)


def by_threshold(values: Callable[[Track], list[float]]) -> Callable[[Simulated, float], Answer]:
    def forecast(s: Simulated, setting: float) -> Answer:
        return Answer(
            [
                (key, d)
                for key, t in tracks_of(s).items()
                for d, v in zip(t.day, values(t), strict=True)
                if v < LOW_SHARE * t.target
            ]
        )

    return forecast


def by_regression(s: Simulated, setting: float) -> Answer:
    out = []
    for key, t in tracks_of(s).items():
        x: list[int] = []
        y: list[float] = []
        for d, v, fresh in zip(t.day, t.corrected, t.fresh, strict=True):
            if fresh or (y and v - y[-1] > 3 * np.sqrt(2) * 1.5):  # a rise of three standard errors of 1.5 psi
                x, y = [], []
            x.append(d)
            y.append(v)
            if len(x) >= 3:
                line = stats.linregress(x, y)
                lower = -line.slope - stats.t.ppf(0.95, len(x) - 2) * line.stderr
                if lower * DAYS_PER_MONTH > 3.0:
                    out.append((key, d))
    return Answer(out)


FORECASTERS: dict[str, Callable[[Simulated, float], Answer]] = {
    "knowing": by_knowing,
    "leaks": by_leaks,
    "raw": by_threshold(lambda t: t.raw),
    "corrected": by_threshold(lambda t: t.corrected),
    "regression": by_regression,
}


# ---- scores


@dataclass
class Score:
    right: int = 0
    wrong: int = 0
    found: int = 0
    leaks: int = 0
    months: float = 0.0
    warning: list[float] = field(default_factory=list)
    inside: int = 0
    rates: int = 0
    seconds: float = 0.0

    @property
    def precision(self) -> float:
        return self.right / max(self.right + self.wrong, 1)

    @property
    def recall(self) -> float:
        return self.found / max(self.leaks, 1)


def once(alarms: list[Alarm]) -> dict[Key, list[int]]:
    """Alarms by position, those within 30 days of the one before left out."""
    out: dict[Key, list[int]] = defaultdict(list)
    last: dict[Key, int] = {}
    for key, day in sorted(alarms, key=lambda a: a[1]):
        if day - last.get(key, -(10**6)) > REPEAT_DAYS:
            out[key].append(day)
        last[key] = day
    return out


def score(s: Simulated, answer: Answer, total: Score) -> None:
    tracks = tracks_of(s)
    by_place = once(answer.alarms)
    true = s.truth.leaks
    leaks: dict[Key, list[tuple[int, int, float]]] = defaultdict(list)
    if true:
        ends = np.where(np.isnat(true["to"]), np.datetime64(s.as_of) + 1, true["to"])
        for key, a, b, rate in zip(
            keys(true), days_of(true["from"]), days_of(ends), true["psi_per_month"], strict=True
        ):
            leaks[key].append((int(a), int(b), float(rate)))
    for key, track in tracks.items():
        days = by_place.get(key, [])
        inside = [any(a <= d <= b for a, b, _ in leaks[key]) for d in days]
        total.right += sum(inside)
        total.wrong += len(days) - sum(inside)
        if track.day:
            total.months += (track.day[-1] - track.day[0]) / DAYS_PER_MONTH
        for a, b, rate in leaks[key]:
            if not any(a + SEEN_AFTER_DAYS <= d <= b for d in track.day):
                continue
            total.leaks += 1
            hits = [d for d in days if a <= d <= b]
            if hits:
                total.found += 1
                if hits[0] in track.day:
                    now = track.true[track.day.index(hits[0])]
                    loss = rate + 0.018 * track.target  # the middle sound tire
                    total.warning.append(max(now - 0.8 * track.target, 0.0) / (0.9 * loss) * DAYS_PER_MONTH)
    p = s.truth.positions
    for key, sound, leak in zip(keys(p), p["sound_psi_per_month"], p["leak_psi_per_month"], strict=True):
        if key in answer.rates and leak > 0:
            _, low, high = answer.rates[key]
            total.rates += 1
            total.inside += bool(low <= sound + leak <= high)


def line_of(name: str, t: Score) -> str:
    in_90 = f"{100 * t.inside / t.rates:7.1f}" if t.rates else f"{'-':>7}"
    return (
        f"  {name:14}{t.precision:7.2f}{t.recall:7.2f}{np.median(t.warning) if t.warning else np.nan:7.0f}"
        f"{1000 * t.wrong / t.months:7.2f}{in_90}{t.right + t.wrong:8d}{t.leaks:7d}{t.seconds:7.1f}"
    )


def seeds_of(text: str) -> list[int]:
    if text in SEEDS:
        return list(SEEDS[text])
    out: list[int] = []
    for part in text.split(","):
        first, _, last = part.partition("-")
        out += range(int(first), int(last or first) + 1)
    return out


def settings(seeds: list[int], units: int, scenarios: list[str]) -> None:
    """Alarms on fleets without leaks, for several settings."""
    print("false alarms a 1000 tire-months on fleets without leaks, as set and as counted")
    wanted = (1.0, 2.0, 5.0)
    for scenario in scenarios:
        counts, months = dict.fromkeys(wanted, 0), 0.0
        for seed in seeds:
            s = fleet(scenario, units, seed=seed, leaks_per_year=0.0)
            months += sum((t.day[-1] - t.day[0]) / DAYS_PER_MONTH for t in tracks_of(s).values() if t.day)
            for w in wanted:
                counts[w] += sum(map(len, once(by_leaks(s, w).alarms).values()))
        said = ", ".join(f"{w:g}: {1000 * c / months:.2f}" for w, c in counts.items())
        print(f"  {scenario:14}{said}  ({months:.0f} tire-months)", flush=True)


def speed(positions: int, readings: int = 50) -> None:
    """Seconds of the engine for tires read every four weeks, ten to a unit, on two threads."""
    rng, units = np.random.default_rng(1), positions // 10
    day = np.repeat(17000 + 28 * np.arange(readings, dtype=np.int32), positions)
    psi = np.round(100 - 0.06 * ((day - 17000) % 360) + rng.normal(0, 1, len(day)))
    columns = {
        "position": np.tile(np.arange(positions, dtype=np.int32), readings),
        "microsecond": day.astype(np.int64) * 86_400_000_000,
        "day": day,
        "pressure": (psi, "psi"),
        "ambient": (np.full(len(day), 60.0), "degf"),
    }
    places = {
        "kind": np.ones(positions, np.int8),
        "role": np.ones(positions, np.int8),
        "axle": np.tile(np.arange(1, 11, dtype=np.int32), units),
        "unit": np.repeat(np.arange(units, dtype=np.int32), 10),
        "side": np.zeros(positions, np.int8),
        "dual": np.zeros(positions, np.int8),
        "target": (np.full(positions, 100.0), "psi"),
    }
    start, before = time.perf_counter(), os.times()
    _core.leaks(columns, places, int(day[-1]), 2.0, 34473.8, 2)
    after = os.times()
    cpu = after.user - before.user + after.system - before.system
    print(
        f"{positions} positions x {readings} readings: {time.perf_counter() - start:.1f} s on two threads, "
        f"{cpu:.1f} s of processors"
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--scenarios", default=",".join(EIGHT), help="names with commas between; default the eight")
    parser.add_argument("--seeds", default="reporting", help="tuning, reporting, or numbers such as 1-3,7")
    parser.add_argument("--units", type=int, default=240)
    parser.add_argument("--forecasters", default=",".join(FORECASTERS), help="names with commas between; default all")
    parser.add_argument("--false-alarms", type=float, default=2.0)
    parser.add_argument("--positions", type=int, default=100_000, help="of `speed`, a multiple of ten")
    parser.add_argument("--parts", default="alarms,setting,speed")
    options = parser.parse_args()
    seeds, names = seeds_of(options.seeds), options.scenarios.split(",")
    forecasters = options.forecasters.split(",")
    means: dict[str, list[Score]] = {name: [] for name in forecasters}
    if "alarms" in options.parts:
        header = ("prec", "rec", "days", "false", "in 90")
        for scenario in names:
            fleets = [fleet(scenario, options.units, seed=seed) for seed in seeds]
            print(f"{scenario}: {sum(len(s.positions['unit']) for s in fleets)} positions of {len(fleets)} fleets")
            print("  " + " " * 14 + "".join(f"{h:>7}" for h in header) + f"{'n':>8}{'leaks':>7}{'s':>7}")
            for name in forecasters:
                total = Score()
                for s in fleets:
                    start = time.perf_counter()
                    answer = FORECASTERS[name](s, options.false_alarms)
                    total.seconds += time.perf_counter() - start
                    score(s, answer, total)
                means[name].append(total)
                print(line_of(name, total), flush=True)
        print("all: precision mean, worst; recall mean, worst")
        for name, scores in means.items():
            p, r = [t.precision for t in scores], [t.recall for t in scores]
            print(f"  {name:14}{np.mean(p):7.2f}{min(p):7.2f}{np.mean(r):7.2f}{min(r):7.2f}")
    if "speed" in options.parts:
        speed(options.positions)
    if "setting" in options.parts:
        settings(seeds, options.units, names)


if __name__ == "__main__":
    main()
