"""What would other practice change: tires and spend of a case beside the base case, from the same chances."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from statistics import NormalDist
from typing import TYPE_CHECKING, Any

import numpy as np
import pyarrow as pa

from wheelend import _results, economics
from wheelend._demand import DRAWS, Future, check_changes, future, one_group, quantiles_of
from wheelend._fleet_wear import legal_mm, limit_mm
from wheelend._prices import PriceList
from wheelend._spend import Terms, spending
from wheelend._spend_table import PRECISION, money
from wheelend.dictionary import DEMAND_LEVELS
from wheelend.errors import BadCall
from wheelend.limit_sets import DEFAULT, Limits
from wheelend.log import Log, price_list
from wheelend.verdicts import Selection, pressures_table

if TYPE_CHECKING:
    import numpy.typing as npt

    Floats = npt.NDArray[np.float64]

_MM_PER_32ND = 0.79375  # definition
_NODES = 3  # strengths of an uncertain effect that are run; between them it is straight


@dataclass(frozen=True)
class Sums:
    """By draw, over all months: tires bought, and spend by currency in its smallest parts."""

    tires: Floats
    spend: dict[str, Floats]
    places: dict[str, int]


@dataclass(frozen=True)
class Case:
    """``changes`` of a strength (or of each role at a strength), strengths that are run, and what each draw takes."""

    name: str
    words: str
    source: str
    changes: Callable[[float], Mapping[str, float]] | None = None
    by_role: Callable[[float], Mapping[int, Mapping[str, float]]] | None = None
    strengths: tuple[float, ...] = (1.0,)
    of_draw: Floats | None = None


def whatif(
    log: Log,
    prices: Any = None,
    *,
    months: int = 12,
    pull_32nds: float = 1.0,
    use: float = 0.10,
    tire_wear: float | None = None,
    tire_wear_se: float = 0.0,
    changes: Mapping[str, float] | None = None,
    price_growth: float = 0.0,
    discount: float = 0.0,
    visit_hours: float = 1.0,
    limit: str | None = None,
    limits: Limits = DEFAULT,
    draws: int = DRAWS,
    seed: int = 1,
    as_of: dt.date | str | None = None,
    unit: Iterable[str] | str | None = None,
    site: Iterable[str] | str | None = None,
    group: Iterable[str] | str | None = None,
) -> Any:
    """How many tires, and how much money, other practice would take or save, each case against the base case.

    Every case meets the same chances as the base: what differs is the case's doing. Cases: tires pulled earlier and
    later, all cold pressures on target, no tires moved on from other positions, the fleet running more and less, and,
    where asked for, another tire and changes of your own.

    Parameters
    ----------
    log : Log
        The fleet, from :func:`wheelend.read_log`.
    prices : table or PriceList, optional
        By default those of the log; without prices there are only tires.
    months : int
        Calendar months ahead, 1 to 120.
    pull_32nds : float
        How much deeper (earlier) and less deep (later) tires are pulled, 32nds.
    use : float
        Share by which the fleet runs more and less: 0.10 is 10 %.
    tire_wear, tire_wear_se : float
        Wear rate of another tire as a share of the present one's (0.9: wears a tenth less), from a wear study, and its
        standard error. All tires bought from now on are taken to be that one.
    changes : dict of str to float, optional
        A case of your own; names as for :func:`wheelend.demand`. Empty: no change, which gives exactly the base case.
    price_growth, discount, visit_hours : float
        As for :func:`wheelend.demand`.
    limit : str, optional
        As for :func:`wheelend.wear`.
    limits : str or list of str
        Set that gives the legal minimum.
    draws : int
        Simulated futures, from 1.
    seed : int
        From 0.
    as_of : date or ISO text, optional
        As for :func:`wheelend.judge`.
    unit, site, group : str or list of str, optional
        As for :func:`wheelend.judge`.

    Returns
    -------
    table of the kind that came in
        One row per case (and currency): see ``wheelend.dictionary.RESULTS["whatif"]``.

    Raises
    ------
    BadCall
        A number out of its range.

    Notes
    -----
    Pressures: each position's wear is taken to fall by what :func:`wheelend.economics.life_lost` gives for its last
    cold pressure, averaged over each role; the size of that effect is one maker's statement, and each future takes one
    between half and one and a half of it.
    """
    if months < 1:
        raise BadCall(f"months: expected 1 or more, got {months}")
    terms = Terms(price_growth, 0.0, discount, visit_hours)
    of = price_list(log, prices)
    ahead = future(log, limit, limits, as_of, months, draws, seed)
    selection = Selection(unit, site, group)
    room = room_to_law(ahead, limit, limits)
    cases = cases_of(ahead, selection, as_of, room, pull_32nds, use, tire_wear, tire_wear_se, changes)
    return _results.native(what_if_table(ahead, of, terms, selection, cases), log.kind)


def cases_of(
    ahead: Future,
    selection: Selection,
    as_of: dt.date | str | None,
    room: Mapping[int, float],
    pull_32nds: float,
    use: float,
    tire_wear: float | None,
    tire_wear_se: float,
    changes: Mapping[str, float] | None,
) -> list[Case]:
    """The cases that are asked for; ``room`` as :func:`room_to_law` gives it."""
    check_changes(changes)
    if not 0.0 < pull_32nds <= 20.0:
        raise BadCall(f"pull_32nds: expected a number above 0, to 20, got {pull_32nds!r}")
    if not 0.0 < use < 1.0:
        raise BadCall(f"use: expected a share between 0 and 1 (0.10 is 10 %), got {use!r}")
    shift = pull_32nds * _MM_PER_32ND
    yours = "as given"
    out = [
        Case("pull_earlier", f"tires pulled {pull_32nds:g}/32 in earlier", yours, _fixed(pull_shift_mm=shift)),
        Case("pull_later", f"tires pulled {pull_32nds:g}/32 in later, but never below the law's minimum", yours,
             by_role=lambda _: {r: {"pull_shift_mm": -min(shift, mm)} for r, mm in room.items() if mm > 0.0}),
        _pressures_on_target(ahead, selection, as_of),
        Case("no_moves", "no tires moved on from other positions", yours, _fixed(moved_share=0.0)),
        Case("use_up", f"the fleet runs {use * 100:g} % more", yours, _fixed(use=1.0 + use)),
        Case("use_down", f"the fleet runs {use * 100:g} % less", yours, _fixed(use=1.0 - use)),
    ]  # fmt: skip
    if tire_wear is not None:
        out.append(_other_tire(ahead, tire_wear, tire_wear_se))
    if changes is not None:
        words = ", ".join(f"{name} {value:g}" for name, value in changes.items()) or "no change"
        out.append(Case("own", words, yours, _fixed(**changes)))
    return out


def room_to_law(ahead: Future, limit: str | None, limits: Limits) -> dict[int, float]:
    """By role: how far (mm) the fleet's pull, as it is learned, lies above the legal minimum of its tires."""
    above = limit_mm(ahead.log, limit, limits) - legal_mm(ahead.log, limits)
    roles = ahead.log.positions.columns.get("role", np.full(len(ahead.log.positions), -1, np.int8))
    practice = ahead.fleet.practice["roles"]
    return {
        int(r): float(np.nanmin(above[roles == r])) + practice[int(r)]["pull_mm"]
        for r in np.unique(roles).tolist()
        if not np.isnan(above[roles == r]).all()
    }


def _fixed(**changes: float) -> Callable[[float], Mapping[str, float]]:
    return lambda _: changes


def _spread(ahead: Future, words: str) -> Floats:
    """Levels from 0 to 1, one a draw, evenly spread, in an order that goes with nothing else of the draw."""
    n = ahead.draws
    order = np.argsort(np.random.default_rng([ahead.seed, *words.encode()]).random(n), kind="stable")
    return ((np.arange(n) + 0.5) / n)[order]


def _pressures_on_target(ahead: Future, selection: Selection, as_of: dt.date | str | None) -> Case:
    log = ahead.log
    table = pressures_table(log, as_of, selection)
    positions = _results.positions_of(log, table)
    deviation = np.array([np.nan if d is None else d for d in table["deviation_percent"].to_pylist()], float)
    roles = log.positions.columns.get("role", np.full(len(log.positions), -1, np.int8))[positions]
    known = ~np.isnan(deviation)

    def by_role(percent: float) -> Mapping[int, Mapping[str, float]]:
        out = {}
        for role in np.unique(roles[known]).tolist():
            lost = economics.life_lost(-deviation[known & (roles == role)], per_percent=percent)
            if lost.any():
                out[int(role)] = {"wear": 1.0 - float(lost.mean())}
        return out

    low, high = economics.LIFE_LOST_SPAN
    return Case(
        "pressures_on_target",
        f"all cold pressures on target ({int((deviation < 0).sum())} of {int(known.sum())} are below it)",
        "1.5 % of tread life per 1 % under, to 20 %: one maker's statement; half to one and a half of it is taken",
        by_role=by_role,
        strengths=tuple(np.linspace(low, high, _NODES).tolist()),
        of_draw=low + (high - low) * _spread(ahead, "pressure"),
    )


def _other_tire(ahead: Future, ratio: float, se: float) -> Case:
    if not (0.01 <= ratio <= 100.0 and 0.0 <= se < ratio / 2):
        raise BadCall(f"tire_wear: expected a ratio above 0 and an error below half of it, got {ratio!r} and {se!r}")
    if se == 0.0:
        return Case("other_tire", f"tires bought wear {ratio:g} times as fast", "as given", _fixed(fresh_wear=ratio))
    levels = _spread(ahead, "tire")
    z = np.array([NormalDist().inv_cdf(v) for v in levels])
    strengths = tuple((ratio + np.array([-2.0, 0.0, 2.0]) * se).clip(0.01).tolist())
    return Case(
        "other_tire", f"tires bought wear {ratio:g} (give or take {se:g}) times as fast", "as given",
        lambda strength: {"fresh_wear": strength}, strengths=strengths,
        of_draw=np.clip(ratio + se * z, strengths[0], strengths[-1]),
    )  # fmt: skip


# ---- running them


def sums_of(
    ahead: Future,
    prices: PriceList | None,
    terms: Terms,
    mask: npt.NDArray[np.bool_],
    changes: Mapping[str, float],
) -> Sums:
    """Tires and spend of one run, over all months, of the positions of ``mask``."""
    group = one_group(mask)
    if prices is None:
        return Sums(ahead.bought(group, 1, changes).sum(axis=(1, 2, 3)).astype(np.float64), {}, {})
    found = spending(ahead, prices, group, 1, terms, changes)
    return Sums(
        found.tires.sum(axis=(1, 2)).astype(np.float64),
        {s.currency: s.total.sum(axis=(1, 2)).astype(np.float64) for s in found.of},
        {s.currency: s.places for s in found.of},
    )


def difference(
    ahead: Future, prices: PriceList | None, terms: Terms, mask: npt.NDArray[np.bool_], base: Sums, case: Case
) -> Sums:
    """Case less base, by draw."""
    runs = []
    for strength in case.strengths:
        if case.by_role is None:
            assert case.changes is not None
            runs.append(_less(sums_of(ahead, prices, terms, mask, case.changes(strength)), base))
            continue
        roles = ahead.log.positions.columns.get("role", np.full(len(ahead.log.positions), -1, np.int8))
        total = _less(base, base)
        for role, changes in case.by_role(strength).items():
            mine = mask & (roles == role)
            before, after = (sums_of(ahead, prices, terms, mine, how) for how in ({}, changes))
            total = _plus(total, _less(after, before))
        runs.append(total)
    if case.of_draw is None:
        return runs[0]
    nodes = np.array(case.strengths)

    def between(values: list[Floats]) -> Floats:
        found = np.empty(len(case.of_draw)) if case.of_draw is not None else np.empty(0)
        for d, at in enumerate(case.of_draw if case.of_draw is not None else []):
            found[d] = np.interp(at, nodes, [v[d] for v in values])
        return found

    return Sums(
        between([r.tires for r in runs]),
        {c: np.rint(between([r.spend.get(c, np.zeros(len(base.tires))) for r in runs])) for c in base.spend},
        base.places,
    )


def _less(a: Sums, b: Sums) -> Sums:
    none = np.zeros(len(a.tires))
    spend = {c: a.spend.get(c, none) - b.spend.get(c, none) for c in {**a.spend, **b.spend}}
    return Sums(a.tires - b.tires, spend, {**a.places, **b.places})


def _plus(a: Sums, b: Sums) -> Sums:
    none = np.zeros(len(a.tires))
    spend = {c: a.spend.get(c, none) + b.spend.get(c, none) for c in {**a.spend, **b.spend}}
    return Sums(a.tires + b.tires, spend, {**a.places, **b.places})


def what_if_table(
    ahead: Future, prices: PriceList | None, terms: Terms, selection: Selection, cases: list[Case]
) -> pa.Table:
    """:func:`whatif` as an Arrow table."""
    mask = selection.mask(ahead.log)
    base = sums_of(ahead, prices, terms, mask, {})
    currencies: list[str | None] = list(base.spend) or [None]
    scale = max(base.places.values(), default=2)
    rows: list[dict[str, Any]] = []
    for case in cases:
        less = difference(ahead, prices, terms, mask, base, case)
        for currency in currencies:
            row: dict[str, Any] = {
                "case": case.name, "words": case.words, "tires_base": float(base.tires.mean()),
                "tires_more": float(less.tires.mean()), "source": case.source, "currency": currency,
            }  # fmt: skip
            row |= {f"tires_more_{q}": float(v) for q, v in zip(DEMAND_LEVELS, quantiles_of(less.tires), strict=True)}
            if currency is not None:
                places = base.places[currency]
                more = less.spend.get(currency, np.zeros(ahead.draws)).astype(np.int64)
                row["spend_base"] = _one(base.spend[currency].mean(), places, scale)
                row["spend_more"] = _one(more.mean(), places, scale)
                for q, v in zip(DEMAND_LEVELS, quantiles_of(more), strict=True):
                    row[f"spend_more_{q}"] = _one(float(v), places, scale)
            rows.append(row)
    amounts = ["spend_base", "spend_more", *(f"spend_more_{q}" for q in DEMAND_LEVELS)]
    columns: dict[str, Any] = {n: pa.array([r[n] for r in rows], pa.string()) for n in ("case", "words")}
    for name in ("tires_base", "tires_more", *(f"tires_more_{q}" for q in DEMAND_LEVELS)):
        columns[name] = _results.numbers(np.array([r[name] for r in rows], float))
    if prices is not None:
        for name in amounts:
            columns[name] = pa.array([r.get(name) for r in rows], pa.decimal128(PRECISION, scale))
        columns["currency"] = pa.array([r["currency"] for r in rows], pa.string())
    columns["source"] = pa.array([r["source"] for r in rows], pa.string())
    return pa.table(columns)


def _one(value: float, places: int, scale: int) -> Any:
    return money(np.array([round(value)], np.int64), places, scale)[0].as_py()


# ---- for people


def what_if_lines(table: pa.Table, months: int) -> list[str]:
    """A case in two or three lines: what it is, tires, money."""
    import textwrap

    from wheelend._people import WIDTH

    rows = table.to_pylist()
    lines: list[str] = []
    first = rows[0]
    base = f"Base case over {months} months: {first['tires_base']:.1f} tires"
    lines.append(base)
    lines += [
        f"    {r['spend_base']:,.0f} {r['currency']}" for r in rows if r["case"] == first["case"] and "currency" in r
    ]
    seen = ""
    for r in rows:
        if r["case"] != seen:
            seen = r["case"]
            lines += ["", *textwrap.wrap(f"{r['case']}: {r['words']}", WIDTH)]
            lines.append(
                f"    tires {r['tires_more']:+.1f}  ({r['tires_more_p10']:+.0f} to {r['tires_more_p90']:+.0f})"
            )
            if r["source"] != "as given":
                lines += textwrap.wrap(r["source"], WIDTH, initial_indent="    ", subsequent_indent="    ")
        if r.get("currency") is not None:
            lines.append(
                f"    {r['currency']} {r['spend_more']:+,.0f}  ({r['spend_more_p10']:+,.0f} to "
                f"{r['spend_more_p90']:+,.0f})"
            )
    words = "More (+) or less (-) than the base case, which meets the same chances; in brackets eight of ten futures."
    return [*lines, "", *textwrap.wrap(words, WIDTH)]
