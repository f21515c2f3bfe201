"""Air in the tires of a unit: what it loses, when it leaks and is filled, and what gauges show of it.

Pressures are kept as gauge psi at 68 degF under the standard atmosphere at sea level. A sound tire loses in proportion
to its gauge pressure (permeation), a leak through a hole in proportion to its absolute pressure: formulas 3.2 and 3.4.
None of its draws touches the streams of wear.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

from wheelend.simulate._chance import DAYS_PER_MONTH, DAYS_PER_YEAR, FLEET, Purpose, drift, season, stream
from wheelend.simulate._fitments import OnUnit
from wheelend.simulate._process import Process
from wheelend.simulate._units import SITES, Unit
from wheelend.simulate._use import Calendar

if TYPE_CHECKING:
    import numpy.typing as npt

    Numbers = npt.NDArray[np.float64]
    Whole = npt.NDArray[np.int64]

SEA_LEVEL_PSI = 14.695948775513  # 101 325 Pa, ISO 2533
REFERENCE_DEGF = 68.0
KPA_PER_PSI = 6.894757293168361  # NIST SP 811
_ZERO_DEGF = 459.67
_LEAKS = 4  # at most, of one tire at one position
_PEAK_DAY = 200.0  # hottest day of the year: common practice, no source
_BISECTIONS = 44


@dataclass
class Leak:
    """A slow leak of one tire at one place: days since day 0 (``ended`` None: still there), psi a month at target."""

    place: int
    fitment: int
    begun: float
    psi_per_month: float
    by_hole: bool
    ended: float | None = None


@dataclass
class Air:
    """Columns of the rows of a unit's record, its leaks, and the state of its places on the last day."""

    rows: dict[str, Any]
    leaks: list[Leak]
    cold: Numbers  # gauge psi at 68 degF
    sound_psi_per_month: Numbers  # at target
    leak_psi_per_month: Numbers  # at target; 0 where there is none
    below_80_day: Numbers  # days after as_of if nobody fills it


def weather_of(process: Process, seed: int, calendar: Calendar) -> dict[str, Numbers]:
    """Temperature of the air at noon, degF, by site and day."""
    steps = calendar.days
    year = season(calendar.day_of_year, process.ambient_season_degf, _PEAK_DAY)
    out = {}
    for i, site in enumerate(SITES):
        rng = stream(seed, FLEET + 1 + i, Purpose.WEATHER)
        # drift() steps by weeks: a relaxation time of weeks for days gives the same memory a day
        days = drift(rng, steps, process.ambient_weather_degf, 7 * process.ambient_weather_days)
        out[site] = process.ambient_mean_degf[site] + year + days
    return out


def altitude_psi(feet: float) -> float:
    """Pressure of the standard atmosphere: ISO 2533."""
    return float(SEA_LEVEL_PSI * (1 - 0.0065 * feet * 0.3048 / 288.15) ** 5.2558798)


@dataclass
class _Places:
    """The tires of a unit as vessels: loss and leak of each place now."""

    process: Process
    target: Numbers
    cold: Numbers
    sound: Numbers = field(init=False)  # per day, of the gauge pressure
    leak: Numbers = field(init=False)  # psi a month at target
    by_hole: npt.NDArray[np.bool_] = field(init=False)

    def __post_init__(self) -> None:
        n = len(self.target)
        self.sound, self.leak, self.by_hole = np.zeros(n), np.zeros(n), np.zeros(n, bool)

    def after(self, days: float | Numbers) -> Numbers:
        """Cold gauge pressure some days on: dg/dt = -(k + m) g - h (g + pa)."""
        of_gauge = self.sound + np.where(self.by_hole, 0.0, self.leak / self.target / DAYS_PER_MONTH)
        hole = np.where(self.by_hole, self.leak / (self.target + SEA_LEVEL_PSI) / DAYS_PER_MONTH, 0.0)
        total = np.maximum(of_gauge + hole, 1e-12)
        rest = hole * SEA_LEVEL_PSI / total
        return np.asarray(np.maximum((self.cold + rest) * np.exp(-total * days) - rest, 0.0), float)

    def days_to(self, limit: Numbers) -> Numbers:
        low, high = np.zeros(len(limit)), np.full(len(limit), 10 * DAYS_PER_YEAR)
        never = self.after(high) > limit
        for _ in range(_BISECTIONS):
            middle = (low + high) / 2
            reached = self.after(middle) <= limit
            low, high = np.where(reached, low, middle), np.where(reached, middle, high)
        return np.where(self.cold <= limit, 0.0, np.where(never, np.inf, high))


@dataclass(frozen=True)
class _Happening:
    """What befalls a place on a day: a tire fitted, a leak that begins, a sudden loss."""

    day: float
    place: int
    fitment: int
    what: str
    size: float = 0.0
    by_hole: bool = False


def _happenings(process: Process, seed: int, on: OnUnit) -> list[_Happening]:
    """All that chance has in store for the fitments of a unit, in the order of time."""
    draws = stream(seed, on.course.unit.index, Purpose.AIR)
    n = len(on.fitments)
    normal = draws.standard_normal((n, 2 + _LEAKS))
    even = stream(seed, on.course.unit.index, Purpose.AIR_EVENTS).random((n, 2 * _LEAKS + 2))
    out = []
    for i, f in enumerate(on.fitments):
        gone = f.ended if f.ended is not None else on.as_of + 1
        loss = process.air_loss_per_month / DAYS_PER_MONTH * float(np.exp(process.air_loss_sd * normal[i, 0]))
        out.append(_Happening(f.begun, f.place, i, "fitted", loss))
        if f.how_begun == "first":  # part of the fleet is a little low when the record begins: invented
            out.append(_Happening(f.begun, f.place, i, "abrupt", float(np.clip(0.03 + 0.03 * normal[i, 1], 0.0, 0.1))))
        day = float(f.begun)
        for k in range(_LEAKS):
            if process.leaks_per_year <= 0:
                break
            day += -np.log1p(-even[i, k]) / process.leaks_per_year * DAYS_PER_YEAR
            rate = process.leak_psi_per_month * float(np.exp(process.leak_sd * normal[i, 2 + k]))
            if day < gone:
                hole = bool(even[i, _LEAKS + k] < process.leak_by_hole)
                out.append(_Happening(day, f.place, i, "leak", max(rate, process.leak_least_psi_per_month), hole))
        if process.abrupt_per_year > 0:
            day = f.begun - np.log1p(-even[i, -1]) / process.abrupt_per_year * DAYS_PER_YEAR
            low, high = process.abrupt_share
            if day < gone:
                out.append(_Happening(float(day), f.place, i, "abrupt", low + (high - low) * even[i, -2]))
    return sorted(out, key=lambda h: (h.day, h.place, h.fitment))


class _Unit:
    """One unit taken through its inspections."""

    def __init__(
        self, process: Process, seed: int, on: OnUnit, weather: Numbers, reader_bias: Numbers, reader: Whole
    ) -> None:
        self.process, self.on, self.unit = process, on, on.course.unit
        self.weather, self.bias = weather, reader_bias[reader]
        n = len(self.unit.places)
        target = np.array([process.target_psi[p.role] for p in self.unit.places])
        self.places = _Places(process, target, target.copy())
        self.air_psi = altitude_psi(process.altitude_ft[self.unit.site])
        self.pending = _happenings(process, seed, on)
        self.next = 0
        self.day = 0.0
        self.fitment = np.full(n, -1)
        self.leaks: list[Leak] = []
        self.active: dict[int, Leak] = {}
        sizes = [len(i.places) for i in on.inspections]
        self.first_row = np.concatenate([[0], np.cumsum(sizes)]).astype(np.int64)
        rows, visits, index = int(self.first_row[-1]), len(sizes), self.unit.index
        self.visit_even = stream(seed, index, Purpose.VISIT_AIR).random((visits, 6))
        gauges = stream(seed, index, Purpose.GAUGES)
        self.noise = gauges.standard_normal((rows, 4))
        fills = stream(seed, index, Purpose.FILLS)
        self.even = fills.random((rows, 8))
        self.visit_noise = stream(seed, index, Purpose.VISIT_ERRORS).standard_normal((visits, 5))
        self.road = stream(seed, index, Purpose.ROAD_FILLS)
        self.next_road = self._road_gap()
        self.altitude = bool(stream(seed, index + FLEET + 16, Purpose.WEATHER).random() < process.altitude_written)
        blank = np.full(rows, np.nan)
        self.rows: dict[str, Any] = {
            name: blank.copy() for name in ("pressure", "inflated", "tire_degf", "ambient_degf", "true_cold")
        }
        self.rows["warm"] = np.full(rows, None, object)
        self.rows["true_warm"] = np.zeros(rows, bool)
        self.rows["true_leak"] = np.zeros(rows)

    def _road_gap(self) -> float:
        even = float(self.road.random())
        rate = self.process.road_fills_per_year
        return -float(np.log1p(-even)) / rate * DAYS_PER_YEAR if rate > 0 else np.inf

    # ---- time

    def run(self) -> Air:
        order = sorted(range(len(self.on.inspections)), key=lambda i: self.on.inspections[i].day)
        for i in order:
            self._pass_to(float(self.on.inspections[i].day))
            self._visit(i)
        self._pass_to(float(self.on.as_of))
        p = self.places
        rows = dict(self.rows)
        rows["altitude_ft"] = np.full(
            len(rows["pressure"]), self.process.altitude_ft[self.unit.site] if self.altitude else np.nan
        )
        sound = p.sound * p.target * DAYS_PER_MONTH
        return Air(rows, self.leaks, p.cold, sound, p.leak.copy(), p.days_to(0.8 * p.target))

    def _pass_to(self, day: float) -> None:
        while True:
            at = min(self.pending[self.next].day if self.next < len(self.pending) else np.inf, self.next_road)
            if at > day:
                break
            self._go(at)
            if self.next_road <= at:
                self._road_fill(at)
            else:
                self._happen(self.pending[self.next])
                self.next += 1
        self._go(day)

    def _go(self, day: float) -> None:
        if day > self.day:
            self.places.cold = self.places.after(day - self.day)
            self.day = day

    def _happen(self, h: _Happening) -> None:
        p, i = self.places, h.place
        if h.what == "fitted":
            self._seal(i, h.day)
            self.fitment[i] = h.fitment
            p.sound[i] = h.size
            p.cold[i] = p.target[i]
        elif h.fitment != self.fitment[i]:
            return
        elif h.what == "abrupt":
            p.cold[i] *= 1 - h.size
        elif i not in self.active:
            p.leak[i], p.by_hole[i] = h.size, h.by_hole
            self.active[i] = Leak(i, h.fitment, h.day, h.size, h.by_hole)
            self.leaks.append(self.active[i])

    def _seal(self, place: int, day: float) -> None:
        if place in self.active:
            self.active.pop(place).ended = day
        self.places.leak[place] = 0.0

    def _gas(self, day: float, hour: float) -> float:
        return float(self.weather[int(day)]) + self.process.ambient_hour_degf * hour

    def _shown(self, cold: Numbers | float, degf: Numbers | float) -> Any:
        """Gauge pressure at the yard of a tire at a temperature."""
        ratio = (np.asarray(degf) + _ZERO_DEGF) / (REFERENCE_DEGF + _ZERO_DEGF)
        return np.maximum((np.asarray(cold) + SEA_LEVEL_PSI) * ratio - self.air_psi, 0.0)

    def _held(self, shown: float, degf: float) -> float:
        """Cold pressure of a tire that shows this at the yard."""
        ratio = (REFERENCE_DEGF + _ZERO_DEGF) / (degf + _ZERO_DEGF)
        return max((shown + self.air_psi) * ratio - SEA_LEVEL_PSI, 0.0)

    def _road_fill(self, day: float) -> None:
        p = self.places
        degf = self._gas(day, 0.0)
        shown = self._shown(p.cold, degf)
        for i in range(len(p.cold)):
            if self.road.random() < self.process.filled and shown[i] < p.target[i] - self.process.fill_below_psi:
                p.cold[i] = self._held(float(p.target[i]), degf)
        self.next_road = day + self._road_gap()

    # ---- inspections

    def _visit(self, i: int) -> None:
        inspection, p, process = self.on.inspections[i], self.places, self.process
        at = np.arange(self.first_row[i], self.first_row[i + 1])
        where = inspection.places
        even, noise = self.visit_even[i], self.visit_noise[i]
        air = self._gas(inspection.day, float(noise[0]))
        self.rows["true_cold"][at] = p.cold[where]
        self.rows["true_leak"][at] = p.leak[where]
        if inspection.event:
            if inspection.event == "fitted":
                told = self.even[at, 0] < process.fill_written
                self.rows["inflated"][at] = np.where(told, p.target[where], np.nan)
            return
        gas = air + process.tire_over_ambient_degf * noise[1] + process.tire_spread_degf * self.noise[at, 0]
        warm_visit = even[0] < process.warm_visits
        warm = warm_visit | (self.even[at, 0] < process.warm_tires)
        low, high = process.warm_rise
        base = even[1] if warm_visit else 0.5
        share = low + (high - low) * np.clip(0.7 * base + 0.3 * self.even[at, 1], 0, 1)
        cold_shown = self._shown(p.cold[where], gas)
        shown = cold_shown * (1 + np.where(warm, share, 0.0))
        gas_now = (shown + self.air_psi) / (cold_shown + self.air_psi) * (gas + _ZERO_DEGF) - _ZERO_DEGF
        error = process.pressure_visit_sd_psi * noise[2] + self.bias[i] + process.pressure_sd_psi * self.noise[at, 1]
        read = np.where(shown > 3.0, shown + error, shown)
        slip = self.even[at, 2] < process.pressure_slip
        read = np.where(slip, read + np.where(self.even[at, 3] < 0.5, 10.0, -10.0), read)
        factor = KPA_PER_PSI if process.pressure_gauge == "kpa" else 1.0
        step = process.pressure_step[process.pressure_gauge]
        written = np.maximum(np.round(read * factor / step), 0.0) * step
        missing = self.even[at, 4] < process.pressure_missing
        self.rows["pressure"][at] = np.where(missing, np.nan, written)
        self.rows["true_warm"][at] = warm
        flagged = warm_visit and even[2] < process.warm_flagged
        self.rows["warm"][at] = "yes" if flagged else None
        if even[3] < process.ambient_written:
            self.rows["ambient_degf"][at] = np.round(air + process.thermometer_sd_degf * noise[3])
        if even[4] < process.tire_temperature_written:
            self.rows["tire_degf"][at] = np.round(gas_now + process.thermometer_sd_degf * self.noise[at, 3])
        if not warm_visit:
            self._fill(i, at, where, read, missing, gas)

    def _fill(self, i: int, at: Whole, where: Whole, read: Numbers, missing: Any, gas: Numbers) -> None:
        p, process = self.places, self.process
        factor = KPA_PER_PSI if process.pressure_gauge == "kpa" else 1.0
        for k, place in enumerate(where.tolist()):
            if missing[k]:
                continue
            row, target = int(at[k]), float(p.target[place])
            is_low = read[k] < process.low_share * target
            looked = is_low and self.even[row, 5] < process.leak_repaired
            if looked:
                self._seal(place, self.day)
            if looked or (read[k] < target - process.fill_below_psi and self.even[row, 6] < process.filled):
                held = self._held(target, float(gas[k]))
                p.cold[place] = held + process.fill_sd_psi * float(self.noise[row, 2])
                if self.even[row, 7] < process.fill_written:
                    step = process.pressure_step[process.pressure_gauge]
                    self.rows["inflated"][row] = round(target * factor / step) * step


def pressure_bias(process: Process, seed: int) -> Numbers:
    """What each reader's gauge shows too much, psi, by site and number."""
    rng = stream(seed, FLEET, Purpose.GAUGES)
    return process.pressure_reader_sd_psi * rng.standard_normal((len(SITES), process.readers_per_site))


def air_of(process: Process, seed: int, on: OnUnit, weather: dict[str, Numbers], bias: Numbers) -> Air:
    """The air of a unit over the record."""
    of: Unit = on.course.unit
    chance = stream(seed, of.index, Purpose.INSPECTIONS).random((len(on.inspections), 11))  # who reads: as for depths
    reader = (chance[:, 0] * process.readers_per_site).astype(np.int64)
    return _Unit(process, seed, on, weather[of.site], bias[SITES.index(of.site)], reader).run()
