"""The forecaster of leaks that knows the numbers of the process, the measure of all others.

A particle filter for each tire: level, loss, leak, drawn from the process as the fleet itself was. It knows every
number, the site's usual weather and the rules by which people fill; it does not know what was drawn. What is shared by
a visit is taken from the mates, as it must be.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

from wheelend.simulate._air import KPA_PER_PSI, REFERENCE_DEGF, SEA_LEVEL_PSI, altitude_psi
from wheelend.simulate._chance import DAYS_PER_MONTH, DAYS_PER_YEAR, season
from wheelend.simulate._fleet import Simulated
from wheelend.simulate._process import Process

if TYPE_CHECKING:
    import numpy.typing as npt

    Numbers = npt.NDArray[np.float64]

_ZERO_DEGF = 459.67
_PEAK_DAY = 200.0
_OTHER_TIRE_PER_YEAR = 0.25  # tires that change without a word: about what the process does
_ODD = 3.0  # standard errors beyond which a visit is taken for one of a warm unit


@dataclass
class _Unit:
    """One unit's tires as particles: arrays of places by draws."""

    process: Process
    target: Numbers
    draws: int
    rng: np.random.Generator
    day: float = -1.0
    cold: Numbers = field(init=False)
    sound: Numbers = field(init=False)
    leak: Numbers = field(init=False)
    by_hole: npt.NDArray[np.bool_] = field(init=False)

    def __post_init__(self) -> None:
        n = (len(self.target), self.draws)
        self.cold = self.target[:, None] * (1 - np.clip(0.03 + 0.03 * self.rng.standard_normal(n), 0, 0.1))
        self.sound = self._losses(n)
        self.leak, self.by_hole = np.zeros(n), np.zeros(n, bool)

    def _losses(self, n: tuple[int, ...]) -> Numbers:
        p = self.process
        loss: Numbers = p.air_loss_per_month / DAYS_PER_MONTH * np.exp(p.air_loss_sd * self.rng.standard_normal(n))
        return loss

    def renew(self, mask: npt.NDArray[np.bool_]) -> None:
        """Another tire, at its target."""
        self.cold = np.where(mask, self.target[:, None], self.cold)
        self.sound = np.where(mask, self._losses(mask.shape), self.sound)
        self.leak = np.where(mask, 0.0, self.leak)

    def lose(self, days: Numbers) -> None:
        target = self.target[:, None]
        of_gauge = self.sound + np.where(self.by_hole, 0.0, self.leak / target / DAYS_PER_MONTH)
        hole = np.where(self.by_hole, self.leak / (target + SEA_LEVEL_PSI) / DAYS_PER_MONTH, 0.0)
        total = np.maximum(of_gauge + hole, 1e-12)
        rest = hole * SEA_LEVEL_PSI / total
        self.cold = np.maximum((self.cold + rest) * np.exp(-total * days) - rest, 0.0)

    def pass_to(self, day: float, usual_degf: float, air_psi: float) -> None:
        p, rng, n = self.process, self.rng, self.cold.shape
        days = day - self.day if self.day >= 0 else 0.0
        self.day = day
        if days <= 0:
            return
        years = days / DAYS_PER_YEAR
        starts = (rng.random(n) < 1 - np.exp(-p.leaks_per_year * years)) & (self.leak == 0)
        first = np.where(starts, rng.random(n) * days, days)
        self.lose(first)
        rate = np.maximum(p.leak_psi_per_month * np.exp(p.leak_sd * rng.standard_normal(n)), p.leak_least_psi_per_month)
        self.leak = np.where(starts, rate, self.leak)
        self.by_hole = np.where(starts, rng.random(n) < p.leak_by_hole, self.by_hole)
        self.lose(days - first)
        low, high = p.abrupt_share
        abrupt = rng.random(n) < 1 - np.exp(-p.abrupt_per_year * years)
        self.cold = np.where(abrupt, self.cold * (1 - low - (high - low) * rng.random(n)), self.cold)
        other = rng.random(n) < 1 - np.exp(-_OTHER_TIRE_PER_YEAR * years)
        self.renew(other)
        road = rng.random((1, self.draws)) < 1 - np.exp(-p.road_fills_per_year * years)
        set_to = self.held(self.target[:, None], usual_degf + p.ambient_weather_degf * rng.standard_normal(n), air_psi)
        filled = road & (rng.random(n) < p.filled) & (self.cold < set_to - p.fill_below_psi)
        ago = days * rng.random(n)
        self.cold = np.where(filled, set_to * np.exp(-self.sound * ago) - self.leak * ago / DAYS_PER_MONTH, self.cold)

    def held(self, shown: Numbers, degf: Numbers | float, air_psi: float) -> Numbers:
        ratio = (REFERENCE_DEGF + _ZERO_DEGF) / (np.asarray(degf) + _ZERO_DEGF)
        held: Numbers = np.maximum((shown + air_psi) * ratio - SEA_LEVEL_PSI, 0.0)
        return held

    def shown(self, degf: float, air_psi: float) -> Numbers:
        ratio = (degf + _ZERO_DEGF) / (REFERENCE_DEGF + _ZERO_DEGF)
        shown: Numbers = np.maximum((self.cold + SEA_LEVEL_PSI) * ratio - air_psi, 0.0)
        return shown

    def choose(self, place: int, weight: Numbers) -> None:
        """Draw particles of a place again by their weights."""
        total = np.cumsum(weight)
        if not total[-1] > 0:
            return
        at = np.searchsorted(total, (np.arange(self.draws) + self.rng.random()) / self.draws * total[-1])
        at = np.minimum(at, self.draws - 1)
        for of in (self.cold, self.sound, self.leak, self.by_hole):
            of[place] = of[place][at]


def knows_leaks(s: Simulated, draws: int = 400) -> dict[str, Any]:
    """Probability of a slow leak at every reading of pressure, for a forecaster that knows the numbers of the process.

    Parameters
    ----------
    s : Simulated
        From :func:`wheelend.simulate.fleet`.
    draws : int
        Particles per tire.

    Returns
    -------
    dict of str to sequence
        ``unit, axle, side, dual``, ``day`` (``datetime64[D]``), ``probability`` (0 to 1, from readings up to that day)
        and ``filled`` (a filling is written on that day), by unit and day.
    """
    p, r = s.process, s.readings
    m = p.pressure_gauge
    factor = KPA_PER_PSI if m == "kpa" else 1.0
    day = np.asarray(r["read_on"], "datetime64[D]").astype(np.int64)
    units = np.array(r["unit"])
    site = dict(zip(s.truth.units["unit"], s.truth.units["site"], strict=True))
    out: dict[str, list[Any]] = {n: [] for n in ("unit", "axle", "side", "dual", "day", "probability", "filled")}
    rows_of: dict[str, Any] = {}
    for i in np.argsort(day, kind="stable"):
        rows_of.setdefault(str(units[i]), []).append(int(i))
    of_unit: dict[str, list[int]] = {}
    for i, name in enumerate(s.positions["unit"]):
        of_unit.setdefault(name, []).append(i)
    for number, (name, rows) in enumerate(sorted(rows_of.items())):
        places = of_unit[name]
        place_of = {
            (int(s.positions["axle"][i]), s.positions["side"][i], s.positions["dual"][i]): k
            for k, i in enumerate(places)
        }
        target = np.asarray(s.positions[f"target_{m}"], float)[places] / factor
        rng = np.random.Generator(np.random.Philox(key=[s.seed, number]))
        unit = _Unit(p, target, draws, rng)
        air_psi = altitude_psi(p.altitude_ft[site[name]])
        numbers: dict[int, Any] = {}
        for d in np.unique(day[rows]):
            here = [i for i in rows if day[i] == d]
            _visit(s, unit, here, place_of, float(d), site[name], air_psi, factor, numbers, out)
    return {**out, "day": np.array(out["day"], "datetime64[D]"), "probability": np.array(out["probability"])}


def _visit(
    s: Simulated,
    unit: _Unit,
    rows: list[int],
    place_of: dict[tuple[Any, ...], int],
    d: float,
    site: str,
    air_psi: float,
    factor: float,
    numbers: dict[int, Any],
    out: dict[str, list[Any]],
) -> None:
    p, r, m = s.process, s.readings, s.process.pressure_gauge
    year = float(season(np.array([d % DAYS_PER_YEAR]), p.ambient_season_degf, _PEAK_DAY)[0])
    usual = p.ambient_mean_degf[site] + year
    unit.pass_to(d, usual, air_psi)
    read: dict[int, int] = {}
    for i in rows:
        k = place_of.get((int(r["axle"][i]), r["side"][i], r["dual"][i]))
        if k is None:
            continue
        other = r["tire"][i] is not None and numbers.get(k) is not None and r["tire"][i] != numbers[k]
        numbers[k] = r["tire"][i] or numbers.get(k)
        if r["event"][i] is not None or other:
            mask = np.zeros(unit.cold.shape, bool)
            mask[k] = True
            unit.renew(mask)
        if not np.isnan(r[f"pressure_{m}"][i]) and k not in read:
            read[k] = i
    if not read:
        return
    at = np.array(list(read))
    first = next(iter(read.values()))
    gas, air = r["tire_degf"][list(read.values())], r["ambient_degf"][first]
    per_degf = 0.2165  # psi: formulas 1.1
    degf = usual if np.isnan(air) else float(air)
    spread = [p.ambient_weather_degf, p.ambient_hour_degf] if np.isnan(air) else [p.thermometer_sd_degf]
    spread += [p.tire_over_ambient_degf]
    if not np.isnan(gas).any():
        degf, spread = float(gas.mean()), [0.0]
    shared_sd = np.hypot(
        per_degf * np.hypot.reduce(spread), np.hypot(p.pressure_reader_sd_psi, p.pressure_visit_sd_psi)
    )
    step = p.pressure_step[m] / factor
    own_sd = np.sqrt(p.pressure_sd_psi**2 + (per_degf * p.tire_spread_degf) ** 2 + step**2 / 12)
    psi = np.array([r[f"pressure_{m}"][i] for i in read.values()]) / factor
    warm = r["warm"][first] == "yes"
    shown = unit.shown(degf, air_psi)[at]
    off, width = psi - np.median(shown, axis=1), shown.var(axis=1) + own_sd**2
    start = float(np.median(off)) if len(off) > 2 else 0.0
    weight = 1 / (width * (1 + (off - start) ** 2 / (4 * width)))
    total, moment = weight.sum() + 1 / shared_sd**2, (weight * off).sum()
    odd = len(off) > 2 and start > _ODD * np.hypot(shared_sd, np.sqrt(1.6 / weight.sum()))
    for j, k in enumerate(at.tolist()):
        rest = total - weight[j]
        shared, doubt = (moment - weight[j] * off[j]) / rest, 1 / rest
        if not (warm or odd):
            sd = np.hypot(own_sd, np.sqrt(doubt))
            error = psi[j] - shared - shown[j]
            fits = np.exp(-0.5 * (error / sd) ** 2) / sd
            rise = np.mean(p.warm_rise) * shown[j]
            wide = np.hypot(sd, 0.06 * shown[j])
            heated = p.warm_tires * np.exp(-0.5 * ((error - rise) / wide) ** 2) / wide
            slips = p.pressure_slip * sum(np.exp(-0.5 * ((error - x) / sd) ** 2) / sd for x in (10.0, -10.0)) / 2
            unit.choose(k, fits + heated + slips + 1e-12)
        i = list(read.values())[j]
        filled = bool(not np.isnan(r[f"inflated_to_{m}"][i]))
        for name, value in (
            ("unit", r["unit"][i]), ("axle", int(r["axle"][i])), ("side", r["side"][i]), ("dual", r["dual"][i]),
            ("day", int(d)), ("probability", float((unit.leak[k] > 0).mean())), ("filled", filled),
        ):  # fmt: skip
            out[name].append(value)
        if not warm:
            _fill(p, unit, k, float(psi[j]), filled, degf, air_psi)


def _fill(p: Process, unit: _Unit, k: int, psi: float, written: bool, degf: float, air_psi: float) -> None:
    """What people may have done to a tire that they read this low, given what is written."""
    target, n, rng = float(unit.target[k]), unit.draws, unit.rng
    low = psi < p.low_share * target
    looked = p.leak_repaired if low else 0.0
    any_fill = looked + (1 - looked) * (p.filled if psi < target - p.fill_below_psi else 0.0)
    if any_fill == 0 and not written:
        return
    chance = 1.0 if written else any_fill * (1 - p.fill_written) / (1 - any_fill * p.fill_written)
    filled = rng.random(n) < chance
    sealed = filled & (rng.random(n) < looked / max(any_fill, 1e-9))
    set_to = unit.held(np.array(target), degf, air_psi) + p.fill_sd_psi * rng.standard_normal(n)
    unit.cold[k] = np.where(filled, set_to, unit.cold[k])
    unit.leak[k] = np.where(sealed, 0.0, unit.leak[k])
