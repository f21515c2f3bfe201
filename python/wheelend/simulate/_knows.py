"""The knowing forecaster: how good a forecast could be if every number of the process were known."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wheelend.simulate._chance import DAYS_PER_YEAR, WEEK, weekly_memory
from wheelend.simulate._fleet import HORIZON_DAYS, Simulated
from wheelend.simulate._knows_use import (
    Blocks,
    Exposure,
    IdleDays,
    cut_blocks,
    exposure_before_wear,
    future_use,
    long_intervals,
    speed_from,
)
from wheelend.simulate._knows_wear import (
    EFFECT,
    MOULD,
    NEW,
    SHOULDER,
    STRENGTH,
    Stay,
    UnitRecord,
    WearOfUnit,
)
from wheelend.simulate._process import Process, pull_32nds, taken_off_32nds
from wheelend.simulate._readings import MM_PER_32ND
from wheelend.simulate._units import Unit, unit
from wheelend.simulate._use import Calendar
from wheelend.simulate._wear import GROOVES, ONE_SIDED, OUTSIDE, depth_after, low_pressure, middle_rates, within_line

if TYPE_CHECKING:
    import numpy.typing as npt

    Numbers = npt.NDArray[np.float64]
    Whole = npt.NDArray[np.int64]

_BISECTIONS = 40
_NEVER = np.iinfo(np.int64).max


def knows(simulated: Simulated, draws: int = 400, seed: int = 0) -> Numbers:
    """Draws of the due day of every position, by a forecaster that knows the process.

    It knows every number of :class:`Process`, which tire was where and why it left, the bias of each reader, which
    rows and odometers are wrong and when an odometer was exchanged, which brand a tire is of, and when an axle went out
    of line. It does not know what chance made of a unit, an axle, a tire or a day: that it takes from the readings, by
    a normal approximation to the posterior of each unit on its own. So it is a measure for other forecasters, near the
    best, not a bound: a tire that came from another unit counts as unknown, and low pressure is only known as further
    spread between tires and years.

    Parameters
    ----------
    simulated : Simulated
        From :func:`wheelend.simulate.fleet`.
    draws : int
        Per position.
    seed : int
        Of the draws.

    Returns
    -------
    array of float, shape (positions, draws)
        In the order of ``simulated.truth.positions``: days after as_of on which the shallowest groove is at the pull
        depth; 0 if it is there, inf beyond ten years.
    """
    known = _Known(simulated)
    rng = np.random.default_rng([seed, simulated.seed])
    of_kind: dict[str, IdleDays] = {}
    ahead: dict[tuple[str, str], Numbers] = {}
    out = []
    for name in simulated.truth.units["unit"]:
        of = unit(int(name[1:]) - 1)
        if of.kind not in of_kind:
            of_kind[of.kind] = IdleDays(simulated.process, of.kind, known.calendar.weeks, rng)
        if (of.kind, of.group) not in ahead:
            ahead[of.kind, of.group] = future_use(simulated.process, of, known.calendar, known.as_of, draws, rng)
        out.append(_unit_draws(known, of, of_kind[of.kind], ahead[of.kind, of.group], draws, rng))
    return np.concatenate(out)


class _Known:
    """What the forecaster may look at, by unit. Of the truth it takes no depth, rate or effect."""

    def __init__(self, simulated: Simulated) -> None:
        """Sort the readings and fitments by unit."""
        self.process = simulated.process
        self.first = int(np.datetime64(simulated.first_day, "D").astype(np.int64))
        self.as_of = (simulated.as_of - simulated.first_day).days
        self.calendar = Calendar(self.first, self.as_of + int(HORIZON_DAYS) + 2)
        truth, readings = simulated.truth, simulated.readings
        gauge = self.process.gauge
        to_32nds = MM_PER_32ND if gauge == "mm" else 1.0
        bias = dict(zip(truth.readers["reader"], truth.readers["bias_32nds"], strict=True))
        self.depths = np.column_stack([readings[f"tread_{g}_{gauge}"] / to_32nds for g in GROOVES])
        self.depths -= np.array([bias[r] for r in readings["reader"]])[:, None]
        self.day = readings["read_on"].astype(np.int64) - self.first
        self.odometer = truth.readings["odometer_mi"]
        self.fitment = truth.readings["fitment"]
        self.good = (np.array(truth.readings["slip"]) == "") & ~np.isnan(self.depths[:, 0])
        self.inspected = np.array([e is None for e in readings["event"]])
        self.rows = _by(truth.readings["unit"])
        self.fitments = {name: truth.fitments[name] for name in truth.fitments}
        self.fitments["from_day"] = _days(truth.fitments["from"], self.first, 0)
        self.fitments["to_day"] = _days(truth.fitments["to"], self.first, _NEVER)
        self.of_unit = _by(truth.fitments["unit"])
        self.role = dict(zip(truth.tires["tire"], truth.tires["role"], strict=True))
        self.brand = dict(zip(truth.tires["tire"], truth.tires["brand"].tolist(), strict=True))
        line = _days(truth.axles["out_of_line_on"], self.first, _NEVER)
        self.line_day = {
            (u, a): d for u, a, d in zip(truth.axles["unit"], truth.axles["axle"].tolist(), line, strict=True)
        }
        step = self.process.gauge_step[gauge] / to_32nds
        self.reading_variance = self.process.reading_sd_32nds**2 + step**2 / 12  # rounding: formulas 9.1
        self.low_pressure = _low_pressure(self.process)


def _by(names: list[str]) -> dict[str, Whole]:
    """Rows of each name."""
    unique, inverse = np.unique(np.array(names), return_inverse=True)
    order = np.argsort(inverse, kind="stable")
    ends = np.cumsum(np.bincount(inverse))
    return {str(u): rows for u, rows in zip(unique, np.split(order, ends[:-1]), strict=True)}


def _days(dates: npt.NDArray[np.datetime64], first: int, missing: int) -> Whole:
    """Days since day 0."""
    absent = np.isnat(dates)
    return np.where(absent, missing, np.where(absent, np.datetime64(0, "D"), dates).astype(np.int64) - first)


def _low_pressure(process: Process) -> tuple[float, float, float]:
    """Of log wear by low pressure over a year: mean, spread between positions, spread from one year to the next."""
    if process.pressure_loss_per_month == 0:
        return 0.0, 0.0, 0.0
    wear = np.exp(low_pressure(process, np.random.default_rng(0), 2000, 3 * 365))
    before, after = (np.log(wear[:, days].mean(axis=1)) for days in (slice(365, 730), slice(730, 1095)))
    return float(before.mean()), float(before.std()), float((after - before).std())


# ---- one unit


def _unit_draws(
    known: _Known, of: Unit, idle: IdleDays, ahead: Numbers, draws: int, rng: np.random.Generator
) -> Numbers:
    blocks, exposure = _exposure(known, of, idle)
    record = UnitRecord(_stays(known, of, blocks), of.places[-1].axle, exposure)
    after = WearOfUnit(known.process, record, known.reading_variance)
    values = after.draw(draws, rng)
    use = _use_ahead(known.process, exposure, values, rng.permutation(ahead), rng)
    return _due(known, of, after, values, use, rng)


def _exposure(known: _Known, of: Unit, idle: IdleDays) -> tuple[Blocks, Exposure]:
    """Blocks of the record and their exposure as the odometer tells it."""
    rows, fitted = known.rows.get(of.name, np.zeros(0, np.int64)), known.of_unit[of.name]
    edges = np.concatenate(
        [
            [0, known.as_of],
            known.day[rows],
            known.fitments["from_day"][fitted],
            known.fitments["to_day"][fitted],
            [known.line_day[of.name, a] for a in range(1, of.places[-1].axle + 1)],
        ]
    )
    blocks = cut_blocks(known.process, of, known.calendar, np.unique(edges[(edges >= 0) & (edges <= known.as_of)]))
    read = rows[~np.isnan(known.odometer[rows])]
    days, at = np.unique(known.day[read], return_index=True)
    kept = long_intervals(days)
    days, miles = days[kept], known.odometer[read][at][kept]
    usual = np.concatenate([[0.0], np.cumsum(blocks.base)])
    base = np.interp(np.arange(known.as_of + 1), blocks.edges, usual)
    speed = speed_from(known.process, idle, base, days, miles)
    return blocks, exposure_before_wear(known.process, idle, blocks, days, miles, speed)


def _stays(known: _Known, of: Unit, blocks: Blocks) -> list[Stay]:
    """Tires that were on a unit. A tire that changes its position within the unit on one day stays."""
    f = known.fitments
    chains: list[list[int]] = []
    for row in known.of_unit[of.name][np.argsort(f["from_day"][known.of_unit[of.name]], kind="stable")].tolist():
        before = [c for c in chains if f["tire"][c[-1]] == f["tire"][row] and f["to_day"][c[-1]] == f["from_day"][row]]
        if before:
            before[0].append(row)
        else:
            chains.append([row])
    rows = known.rows.get(of.name, np.zeros(0, np.int64))
    return [_stay(known, of, blocks, chain, rows) for chain in chains]


def _stay(known: _Known, of: Unit, blocks: Blocks, chain: list[int], rows: Whole) -> Stay:
    f, p = known.fitments, known.process
    begun, ended = int(f["from_day"][chain[0]]), min(int(f["to_day"][chain[-1]]), known.as_of)
    first, last = (int(np.searchsorted(blocks.edges, d)) for d in (begun, ended))
    starts = blocks.edges[first:last]
    link = np.searchsorted(f["from_day"][chain], starts, side="right") - 1
    places = [_place(known, of, row) for row in chain]
    place = np.array(places)[link]
    axle = np.array([of.places[i].axle - 1 for i in place], np.int64)
    line = np.array([known.line_day[of.name, a] for a in range(1, of.places[-1].axle + 1)])
    turned = starts >= line[axle]
    mean, sd = _makeup(known, of, chain[0], places[0])
    mine = rows[np.isin(known.fitment[rows], chain)]
    read = mine[known.good[mine]]
    visits = np.unique(known.day[rows[known.inspected[rows]]])
    visits = visits[(visits >= begun) & (visits < ended)]
    pulled = (visits == visits.max(initial=-1)) & (f["how_ended"][chain[-1]] in ("worn", "moved"))
    shown = pulled | (visits + p.shop_days_at_most <= known.as_of)  # a tire that is to go may still be there
    visits, pulled = visits[shown], pulled[shown]
    at = np.searchsorted(f["from_day"][chain], visits, side="right") - 1
    threshold = np.array([taken_off_32nds(p, of.places[places[i]].role) for i in at], float)
    return Stay(
        first=first,
        last=last,
        place=places[-1],
        in_use=int(f["to_day"][chain[-1]]) > known.as_of,
        first_axle=of.places[places[0]].axle - 1,
        axle=axle,
        log_rate=np.log(middle_rates(p, of)[place]) + p.out_of_line_rate * turned,
        turned=turned,
        mean=mean,
        sd=sd,
        read_at=np.searchsorted(blocks.edges, known.day[read]) - first,
        read=known.depths[read],
        looked_at=np.searchsorted(blocks.edges, visits) - first,
        pulled=pulled,
        threshold=threshold,
    )


def _place(known: _Known, of: Unit, row: int) -> int:
    f = known.fitments
    key = (int(f["axle"][row]), f["side"][row], f["dual"][row])
    return [(p.axle, p.side, p.dual) for p in of.places].index(key)


def _makeup(known: _Known, of: Unit, row: int, place: int) -> tuple[Numbers, Numbers]:
    """Mean and spread of a tire's makeup before it was read."""
    p, f = known.process, known.fitments
    tire = f["tire"][row]
    new, role = p.new_32nds[known.role[tire]], of.places[place].role
    worn, worn_sd, mould_sd = 0.0, 1e-3, p.mould_sd_32nds
    if f["how_begun"][row] == "first":
        low, high = p.first_worn
        usable = new - pull_32nds(p, role)
        worn, worn_sd = usable * (low + high) / 2, usable * (high - low) / np.sqrt(12)
    elif f["how_begun"][row] == "moved":  # from another axle or unit: about the depth at which steer tires move on
        worn, worn_sd = new - p.steer_moved_on_32nds - 0.5, 1.5
        mould_sd = float(np.hypot(mould_sd, p.one_sided_sd * worn))
    mean_pressure, more, _ = known.low_pressure
    brand = (known.brand[tire] - 0.5) * p.brand_gap
    mean = np.array([brand + mean_pressure, np.log(p.curve_strength), new, worn, np.log(p.shoulder), 0, 0, 0])
    sd = np.array([np.hypot(p.tire_sd, more), p.curve_strength_sd, p.new_sd_32nds, worn_sd, p.shoulder_sd])
    return mean, np.append(sd, [mould_sd] * 3)


# ---- the years ahead


def _use_ahead(
    process: Process, exposure: Exposure, values: Numbers, ahead: Numbers, rng: np.random.Generator
) -> Numbers:
    """Exposure run up to each coming week, by draw, from 0: level and drifts as the record left them."""
    n = len(exposure.mean)
    log_exposure = values[:, [n]] + values[:, :n]  # against its mean
    gain = np.linalg.solve(exposure.covariance + exposure.shared_variance, exposure.between)
    left = exposure.end_covariance - exposure.between.T @ gain
    scale, axes = np.linalg.eigh((left + left.T) / 2)
    noise = rng.standard_normal((len(values), 3)) * np.sqrt(np.maximum(scale, 0.0))
    level, *now = (exposure.end_mean + log_exposure @ gain + noise @ axes.T).T
    memory = np.array([weekly_memory(process.use_drift_days), weekly_memory(process.severity_days)])[:, None]
    spread = np.array([process.use_drift_sd, process.severity_sd])[:, None] * np.sqrt(1 - memory**2)
    state = np.array(now)
    log_use = np.empty((ahead.shape[1], len(values)))
    for week, steps in enumerate(rng.standard_normal((ahead.shape[1], *state.shape))):
        log_use[week] = level + state.sum(axis=0)
        state = memory * state + spread * steps
    run = np.cumsum(np.exp(log_use) * ahead.T, axis=0).T
    return np.concatenate([np.zeros((len(values), 1)), run], axis=1)


@dataclass(frozen=True)
class _Now:
    """The tires in use at as_of, by position and draw, and how their axles go on."""

    common: Numbers
    one_sided: Numbers
    makeup: Numbers  # by position, draw and part
    rate: Numbers
    line: Numbers
    turn: Numbers  # exposure ahead at which the axle goes out of line
    line_after: Numbers

    def shallowest(self, process: Process, ahead: Numbers) -> Numbers:
        """Depth after some exposure ahead."""
        new, strength = self.makeup[..., NEW], np.exp(self.makeup[..., STRENGTH])
        until = self.rate * np.minimum(ahead, self.turn)
        after = self.rate * np.maximum(ahead - self.turn, 0.0) * np.exp(process.out_of_line_rate)
        at_turn = depth_after(process.curve, self.common, new, strength, until)
        common = depth_after(process.curve, self.common, new, strength, until + after)
        one_sided = self.one_sided + self.line * (self.common - at_turn) + self.line_after * (at_turn - common)
        outside = np.exp(self.makeup[..., SHOULDER]) * np.maximum(new - common, 0.0) ** 2 / new
        depths = common[..., None] + self.makeup[..., MOULD] - ONE_SIDED * one_sided[..., None]
        return np.asarray((depths - OUTSIDE * outside[..., None]).min(axis=-1), float)


def _due(
    known: _Known,
    of: Unit,
    after: WearOfUnit,
    values: Numbers,
    use: Numbers,
    rng: np.random.Generator,
) -> Numbers:
    """Due days by position and draw."""
    now = _now(known, of, after, values, use, rng)
    limit = np.array([pull_32nds(known.process, p.role) for p in of.places])[:, None]
    low, high = np.zeros_like(now.rate), np.broadcast_to(use[:, -1], now.rate.shape)
    already = now.shallowest(known.process, low) <= limit
    never = now.shallowest(known.process, high) > limit
    for _ in range(_BISECTIONS):
        middle = (low + high) / 2
        reached = now.shallowest(known.process, middle) <= limit
        low, high = np.where(reached, low, middle), np.where(reached, middle, high)
    days = WEEK * np.arange(use.shape[1])
    due = np.stack([np.interp(high[:, d], use[d], days) for d in range(len(use))], axis=1)
    return np.where(already, 0.0, np.where(never | (due > HORIZON_DAYS), np.inf, due))


def _now(
    known: _Known,
    of: Unit,
    after: WearOfUnit,
    values: Numbers,
    use: Numbers,
    rng: np.random.Generator,
) -> _Now:
    p, layout = known.process, after.layout
    in_use = sorted((stay.place, i) for i, stay in enumerate(after.record.stays) if stay.in_use)
    paths = [after.path(i, values) for _, i in in_use]
    makeup = np.stack([path.makeup for path in paths])
    axle = np.array([place.axle - 1 for place in of.places])
    line_day = np.array([known.line_day[of.name, a + 1] for a in axle])
    turned = line_day <= known.as_of
    log_rate = np.log(middle_rates(p, of)) + p.out_of_line_rate * turned
    own = values[:, [layout.unit]] + values[:, layout.axle][:, axle]
    line = values[:, layout.line].T
    gained = values[:, layout.gained].T
    if p.out_of_line_per_year > 0:
        years = rng.standard_exponential(line.shape) / p.out_of_line_per_year
        weeks = np.minimum(years * DAYS_PER_YEAR / WEEK, use.shape[1] - 1)
        turn = use[np.arange(len(use)), weeks.astype(np.int64)][axle]
    else:
        turn = np.full((len(axle), len(values)), np.inf)
    out = turned[:, None]
    other_year = known.low_pressure[2] * rng.standard_normal(turn.shape)
    return _Now(
        common=np.stack([path.common[:, -1] for path in paths]),
        one_sided=np.stack([path.one_sided[:, -1] for path in paths]),
        makeup=makeup,
        rate=np.exp(log_rate[:, None] + own.T + makeup[..., EFFECT] + other_year),
        line=within_line(np.where(out, line[axle] + gained[axle], line[axle])),
        turn=np.where(out, np.inf, turn),
        line_after=within_line(line[axle] + gained[axle]),
    )
