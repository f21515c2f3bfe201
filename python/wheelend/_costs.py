"""What the tires in use cost and are worth: per mile, per depth of tread, by their own wear and the fleet's prices."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from decimal import ROUND_HALF_EVEN, Decimal
from typing import TYPE_CHECKING, Any

import numpy as np
import pyarrow as pa

from wheelend import _results, economics, measures
from wheelend._demand import last_tire
from wheelend._fleet_wear import legal_mm, typical_new
from wheelend._prices import SELECTORS, PriceList
from wheelend._spend import texts_of
from wheelend._spend_table import PRECISION
from wheelend._words import position_words
from wheelend.currencies import DECIMALS
from wheelend.errors import BadCall
from wheelend.limit_sets import DEFAULT, Limits
from wheelend.log import Log, price_list
from wheelend.trends import wear_table
from wheelend.verdicts import Selection, as_of_day, pressures_table

if TYPE_CHECKING:
    import numpy.typing as npt

_FINE = 8  # decimals of a cost per mile
_KM_PER_MILE = Decimal("1.609344")  # international mile
_RETREADS = 2  # lives after the first that a life cost is formed over


def costs(
    log: Log,
    prices: Any = None,
    *,
    by: str | None = None,
    pulls: bool = False,
    limit: str | None = None,
    limits: Limits = DEFAULT,
    as_of: dt.date | str | None = None,
    unit: Iterable[str] | str | None = None,
    site: Iterable[str] | str | None = None,
    group: Iterable[str] | str | None = None,
) -> Any:
    """What each tire in use costs per mile and per depth of tread, what it is still worth, and what low pressure costs.

    Parameters
    ----------
    log : Log
        The fleet, from :func:`wheelend.read_log`.
    prices : table or PriceList, optional
        By default those of the log.
    by : {"make", "design", "size", "role", "site"}, optional
        One row per value of this and currency: sums, rates, and cost per mile as sum of costs by sum of miles.
    pulls : bool
        Cost per 1000 miles by the depth at which tires are pulled, by role and size, with the depth that costs least
        and those that cost hardly more. Casings and road calls by depth are illustrative: see
        :mod:`wheelend.economics`.
    limit : str, optional
        As for :func:`wheelend.wear`: depth at which tires are pulled.
    limits : str or list of str
        Set that gives the legal minimum.
    as_of : date or ISO text, optional
        As for :func:`wheelend.judge`; prices are those of that day.
    unit, site, group : str or list of str, optional
        As for :func:`wheelend.judge`.

    Returns
    -------
    table of the kind that came in
        See ``wheelend.dictionary.RESULTS["costs"]`` (``"costs_by"``, ``"pulls"``). Amounts are decimals. A tire without
        a price, a new depth above its pull depth or a wear rate has empty cells, and its reason.

    Raises
    ------
    BadCall
        There are no prices, or ``by`` is none of those above.

    Notes
    -----
    Formulas 7.1, 7.2, 7.3, 7.4, 7.6; costs are per tire, published ones often per vehicle. Under-inflation takes 1.5 %
    of tread life per 1 % under target, up to 20 %: one maker's statement; low and high are half and one and a half of
    it.
    """
    of = price_list(log, prices)
    selection = Selection(unit, site, group)
    return _results.native(costs_table(log, of, by, pulls, limit, limits, as_of, selection)[0], log.kind)


def costs_table(
    log: Log,
    prices: PriceList | None,
    by: str | None,
    pulls: bool,
    limit: str | None,
    limits: Limits,
    as_of: dt.date | str | None,
    selection: Selection,
) -> tuple[pa.Table, list[dict[str, Any]]]:
    """:func:`costs` as an Arrow table, and the rows by position that it rests on."""
    if prices is None:
        raise BadCall("costs: there are no prices: give a table of them (prices=, --prices)")
    if by is not None and by not in SELECTORS:
        raise BadCall(f"by: expected one of {', '.join(SELECTORS)}, got {by!r}")
    rows = _rows(log, prices, limit, limits, as_of, selection)
    if pulls:
        return _pulls(log, rows, prices, as_of_day(log, as_of), limits), rows
    return (_by(log, rows, by) if by is not None else _each(log, rows)), rows


# ---- one row per position


def _rows(
    log: Log, prices: PriceList, limit: str | None, limits: Limits, as_of: dt.date | str | None, selection: Selection
) -> list[dict[str, Any]]:
    m = log.depth_measure
    wear = wear_table(log, limit, limits, as_of, selection)
    position = _results.positions_of(log, wear)
    day = as_of_day(log, as_of)
    described = {name: texts_of(log, name, day) for name in SELECTORS}
    tires, new, retread = last_tire(log, day), _new_depths(log), log.tire_facts.get("retread")
    roles = log.positions.columns.get("role")
    under = _under(log, as_of, selection)
    per_distance, per_month = (n for n in wear.column_names if n.startswith("rate_") and not n.startswith("rate_se_"))
    per_mile = _per_mile(m)
    rows = []
    for p, w in zip(position.tolist(), wear.to_pylist(), strict=True):
        of = {name: described[name][p] for name in SELECTORS}
        tire = int(tires[p])
        is_retread = retread is not None and tire >= 0 and retread[tire] == 1
        depth_new, typical = (float(new[tire]), False) if tire >= 0 and not np.isnan(new[tire]) else (np.nan, True)
        if typical:
            depth_new = typical_new(int(roles[p]) if roles is not None else -1, m)
        row = {
            "position": p, **{n: w[n] for n in ("unit", "axle", "side", "dual")}, **of,
            "tire": log.tire_names[tire] if tire >= 0 else None, "retread": is_retread, "depth": w[f"depth_{m}"],
            "pull": w[f"limit_{m}"], "new": depth_new, "rate": w[per_distance], "rate_month": w[per_month],
            "under_percent": under.get(p), "reasons": ["new depth: typical of its role"] if typical else [],
        }  # fmt: skip
        _price(row, prices, day, per_mile)
        rows.append(row)
    return rows


def _new_depths(log: Log) -> npt.NDArray[np.float64]:
    facts = log.tire_facts.get("new")
    if facts is None:
        return np.full(max(len(log.tire_names), 1), np.nan)
    return np.asarray(measures.convert(np.ascontiguousarray(facts[0]), facts[1], log.depth_measure))


def _under(log: Log, as_of: dt.date | str | None, selection: Selection) -> dict[int, float]:
    """Percent below the cold target at the last reading of each position; 0 at or above it."""
    table = pressures_table(log, as_of, selection)
    found = zip(_results.positions_of(log, table).tolist(), table["deviation_percent"].to_pylist(), strict=True)
    return {p: max(-d, 0.0) for p, d in found if d is not None}


def _per_mile(measure: str) -> Decimal:
    """Miles (or, for mm, kilometres turned into miles) that the distance of a wear rate has."""
    return Decimal(1000) if measure != "mm" else Decimal(1000) / _KM_PER_MILE


def _price(row: dict[str, Any], prices: PriceList, day: int, distance: Decimal) -> None:
    """Fill in amounts; what is missing is said."""
    item = "retread" if row["retread"] else "new_tire"
    price = prices.find(item, day, row)
    if price is None:
        row["reasons"].append(f"no price of {item.replace('_', ' ')}")
        return
    currency = row["currency"] = price.currency
    row["price"] = price.amount

    def also(name: str) -> Decimal:
        found = prices.find(name, day, row)
        if found is not None and found.currency != currency:
            row["reasons"].append(f"{name.replace('_', ' ')} is in {found.currency}: left out")
            return Decimal(0)
        return found.amount if found is not None else Decimal(0)

    row["labor"], row["casing_value"] = also("labor"), also("casing_credit")
    if row["pull"] is None or not row["new"] > row["pull"]:
        row["reasons"].append("no new depth above the pull depth is known")
        return
    cost = row["price"] + row["labor"] - row["casing_value"]
    used = economics.decimal_of(row["new"]) - economics.decimal_of(row["pull"])
    row["cost"] = cost
    per = row["cost_per_depth"] = economics.cost_per_depth(
        row["price"], row["labor"], row["casing_value"], row["new"], row["pull"]
    )
    row["tread_value"] = economics.tread_value(per, row["depth"], row["pull"])
    if row["rate"] is not None and row["rate"] > 0.0:
        row["life_mi"] = used / economics.decimal_of(row["rate"]) * distance
        row["cost_per_mi"] = economics.cost_per_distance(
            row["price"], row["labor"], row["casing_value"], row["life_mi"]
        )
    else:
        row["reasons"].append("no odometer: no cost per mile")
    if row["rate_month"] is not None and row["under_percent"] is not None:
        month = per * economics.decimal_of(row["rate_month"])
        for name, percent in _EFFECTS:
            lost = float(economics.life_lost(row["under_percent"], per_percent=percent))
            row[name] = month * economics.decimal_of(lost)


_EFFECTS = (
    ("under_inflation_low", economics.LIFE_LOST_SPAN[0]),
    ("under_inflation", economics.LIFE_LOST_PER_PERCENT),
    ("under_inflation_high", economics.LIFE_LOST_SPAN[1]),
)


def _each(log: Log, rows: list[dict[str, Any]]) -> pa.Table:
    m = log.depth_measure
    columns: dict[str, Any] = _results.place_columns(log, np.array([r["position"] for r in rows], np.int32))
    for name in ("tire", "make", "design", "size", "role"):
        columns[name] = pa.array([r.get(name) for r in rows], pa.string())
    columns["retread"] = pa.array([r["retread"] for r in rows], pa.bool_())
    for name in ("depth", "pull", "new"):
        columns[f"{name}_{m}"] = _results.numbers(np.array([_nan(r[name]) for r in rows]))
    for name in ("price", "casing_value"):
        columns[name] = _decimals(rows, name)
    columns[f"cost_per_{m}"] = _decimals(rows, "cost_per_depth", 4)
    columns["cost_per_mi"] = _decimals(rows, "cost_per_mi", _FINE)
    columns["tread_value"] = _decimals(rows, "tread_value")
    columns["under_percent"] = _results.numbers(np.array([_nan(r["under_percent"]) for r in rows]))
    for name in ("under_inflation", "under_inflation_low", "under_inflation_high"):
        columns[f"{name}_per_month"] = _decimals(rows, name)
    columns["currency"] = pa.array([r.get("currency") for r in rows], pa.string())
    columns["reason"] = _results.empty(pa.array(["; ".join(r["reasons"]) for r in rows], pa.string()))
    return pa.table(columns)


def _nan(value: float | None) -> float:
    return np.nan if value is None else value


def _decimals(rows: list[dict[str, Any]], name: str, places: int | None = None) -> pa.Array:
    """Amounts, rounded to the decimals of their currencies, or to ``places``."""
    scale = (
        places if places is not None else max((DECIMALS[r["currency"]] for r in rows if r.get("currency")), default=2)
    )
    return pa.array([_rounded(r.get(name), scale) for r in rows], pa.decimal128(PRECISION, scale))


def _rounded(amount: Decimal | None, places: int) -> Decimal | None:
    return None if amount is None else amount.quantize(Decimal(1).scaleb(-places), ROUND_HALF_EVEN)


# ---- by make, design, size


def _by(log: Log, rows: list[dict[str, Any]], by: str) -> pa.Table:
    m = log.depth_measure
    keys = sorted({(r[by] or "", r.get("currency") or "") for r in rows})
    out: list[dict[str, Any]] = []
    for name, currency in keys:
        mine = [r for r in rows if (r[by] or "", r.get("currency") or "") == (name, currency)]
        group: dict[str, Any] = {by: name or None, "currency": currency or None, "tires": len(mine)}
        rates = [r["rate"] for r in mine if r["rate"] is not None]
        group["rate"] = float(np.mean(rates)) if rates else None
        for what in ("tread_value", "casing_value", *(n for n, _ in _EFFECTS)):
            amounts = [r[what] for r in mine if r.get(what) is not None]
            group[what] = sum(amounts, Decimal(0)) if amounts else None
        run = [r for r in mine if r.get("life_mi")]
        if run:
            miles = sum((r["life_mi"] for r in run), Decimal(0))
            group["cost_per_mi"] = economics.cost_per_distance(sum((r["cost"] for r in run), Decimal(0)), 0, 0, miles)
            group["life_cost_per_mi"] = _life_cost(run)
        out.append(group)
    per_distance = "mm_per_1000km" if m == "mm" else "32nds_per_1000mi"
    return pa.table(
        {
            by: pa.array([g[by] for g in out], pa.string()),
            "tires": pa.array([g["tires"] for g in out], pa.int64()),
            f"rate_{per_distance}": _results.numbers(np.array([_nan(g["rate"]) for g in out])),
            "cost_per_mi": _decimals(out, "cost_per_mi", _FINE),
            "life_cost_per_mi": _decimals(out, "life_cost_per_mi", _FINE),
            "tread_value": _decimals(out, "tread_value"),
            "casing_value": _decimals(out, "casing_value"),
            **{
                f"{n}_per_month": _decimals(out, n)
                for n in ("under_inflation", "under_inflation_low", "under_inflation_high")
            },
            "currency": pa.array([g["currency"] for g in out], pa.string()),
        }
    )


def _life_cost(run: list[dict[str, Any]]) -> Decimal | None:
    """A new tire and two retreads, each of the mean of those in use; None where one of the two is missing."""
    lives, casing = [], Decimal(0)
    for retread, times in ((False, 1), (True, _RETREADS)):
        mine = [r for r in run if r["retread"] is retread]
        if not mine:
            return None
        n = Decimal(len(mine))
        life = economics.Life(
            price=sum((r["price"] for r in mine), Decimal(0)) / n,
            service=sum((r["labor"] for r in mine), Decimal(0)) / n,
            depth_used=1,
            distance_per_depth=sum((r["life_mi"] for r in mine), Decimal(0)) / n,
        )
        lives += [life] * times
        casing = sum((r["casing_value"] for r in mine), Decimal(0)) / n
    return economics.life_cost(lives, casing).per_distance


# ---- by pull depth


_GUARD_32NDS = 1.0  # above the legal minimum, for the error of one reading (formulas 9.1: about half a 32nd, twice)


def _pulls(log: Log, rows: list[dict[str, Any]], prices: PriceList, day: int, limits: Limits) -> pa.Table:
    legal = measures.convert(legal_mm(log, limits), "mm", "32nds")
    m = log.depth_measure
    to_32nds = float(measures.convert(np.array([1.0]), m, "32nds")[0])
    run = [r for r in rows if r.get("life_mi") and not r["retread"]]
    out: list[dict[str, Any]] = []
    for role, size in sorted({(r["role"] or "", r["size"] or "") for r in run}):
        mine = [r for r in run if (r["role"] or "", r["size"] or "") == (role, size)]
        call = prices.find("road_call", day, mine[0])
        if call is None or any(r["currency"] != call.currency for r in mine):
            continue
        n = Decimal(len(mine))
        new = float(np.median([r["new"] for r in mine])) * to_32nds
        least = float(max(legal[r["position"]] for r in mine))
        used = sum((economics.decimal_of((r["new"] - r["pull"]) * to_32nds) for r in mine), Decimal(0))
        found = economics.pull_costs(
            [float(d) for d in range(2, int(new))],
            price=sum((r["price"] for r in mine), Decimal(0)) / n,
            service=sum((r["labor"] for r in mine), Decimal(0)) / n,
            casing_value=sum((r["casing_value"] for r in mine), Decimal(0)) / n,
            road_call=call.amount,
            new=new,
            distance_per_depth=float(sum((r["life_mi"] for r in mine), Decimal(0)) / used),
            floor=least + _GUARD_32NDS,
        )
        for i, depth in enumerate(found.depth.tolist()):
            flat = bool(found.allowed[i] and found.excess[i] <= found.flat_within)
            out.append(
                {
                    "role": role or None, "size": size or None, "depth": depth, "casings": found.accepted[i],
                    "calls": found.road_calls[i], "rate": found.per_distance[i] * 1000, "excess": found.excess[i] * 100,
                    "allowed": bool(found.allowed[i]), "best": depth == found.best, "flat": flat,
                    "tires": len(mine), "currency": call.currency,
                }
            )  # fmt: skip
    return pa.table(
        {
            "role": pa.array([r["role"] for r in out], pa.string()),
            "size": pa.array([r["size"] for r in out], pa.string()),
            "tires": pa.array([r["tires"] for r in out], pa.int64()),
            "pull_32nds": _results.numbers(np.array([r["depth"] for r in out], float)),
            "casings_accepted": _results.numbers(np.array([r["casings"] for r in out], float)),
            "road_calls": _results.numbers(np.array([r["calls"] for r in out], float)),
            "cost_per_1000mi": _decimals(out, "rate", 4),
            "excess_percent": _results.numbers(np.array([r["excess"] for r in out], float)),
            "allowed": pa.array([r["allowed"] for r in out], pa.bool_()),
            "best": pa.array([r["best"] for r in out], pa.bool_()),
            "flat": pa.array([r["flat"] for r in out], pa.bool_()),
            "currency": pa.array([r["currency"] for r in out], pa.string()),
        }
    )


# ---- for people

_WORDS = (
    "Per tire, with labor, less the casing. Under-inflation: 1.5 % of tread life per 1 % under target (one maker's "
    "statement), half to one and a half of it in brackets. Currencies are never added."
)
_PULL_WORDS = (
    "Casings accepted and road calls by depth are illustrative curves, not published: put your own in their place "
    "(wheelend.economics.pull_costs). * costs least; ~ within 1 % of it; below: none may run (legal minimum, and 1/32 "
    "in for the error of reading)."
)


def cost_lines(
    table: pa.Table, rows: list[dict[str, Any]], by: str | None, pulls: bool, measure: str, far: str
) -> list[str]:
    """Costs as a short text: by position the dearest and the sums, by group, or by pull depth."""
    import textwrap

    from wheelend._people import WIDTH, aligned, more

    per_far = f"PER 1000 {far.upper()}"
    if pulls:
        if not len(table):
            return textwrap.wrap("no role and size has prices of new tires and road calls, and wear by distance", WIDTH)
        shown = [r for r in table.to_pylist() if r["excess_percent"] <= _MOST_EXCESS]
        lines = aligned(
            ("ROLE", "SIZE", "PULL AT", "PER 1000 MI", "BEYOND", ""),
            [
                (
                    r["role"] or "-", r["size"] or "-", f"{r['pull_32nds']:.0f}/32", f"{r['cost_per_1000mi']:.3f}",
                    f"{r['excess_percent']:.1f} %",
                    ("*" if r["best"] else "~" if r["flat"] else "" if r["allowed"] else "below") + f" {r['currency']}",
                )
                for r in shown
            ],
        )  # fmt: skip
        return [*lines, "", *textwrap.wrap(_PULL_WORDS, WIDTH)]
    if by is not None:
        lines = aligned(
            (by.upper(), "TIRES", per_far, "TREAD LEFT", "CASINGS", "LOW PRESSURE A MONTH", ""),
            [
                (
                    r[by] or "-", str(r["tires"]), _per_1000(r["cost_per_mi"], far), _whole(r["tread_value"]),
                    _whole(r["casing_value"]), _low_pressure(r), r["currency"] or "no price",
                )
                for r in table.to_pylist()
            ],
        )  # fmt: skip
        return [*lines, "", *textwrap.wrap(_WORDS, WIDTH)]
    dearest = sorted((r for r in table.to_pylist() if r["cost_per_mi"] is not None), key=lambda r: -r["cost_per_mi"])
    lines = aligned(
        ("UNIT", "POSITION", "PER " + ("32ND" if measure == "32nds" else measure.upper()), per_far, "TREAD LEFT",
        ""), [
            (
                r["unit"], position_words(r), f"{r[f'cost_per_{measure}']:.2f}", _per_1000(r["cost_per_mi"], far),
                _whole(r["tread_value"]), r["currency"],
            )
            for r in dearest[:_MOST_ROWS]
        ],
    )  # fmt: skip
    sums = []
    for currency in sorted({r["currency"] for r in rows if r.get("currency")}):
        mine = [r for r in rows if r.get("currency") == currency]
        tread, casing, *low = (
            sum((r[n] for r in mine if r.get(n) is not None), Decimal(0))
            for n in ("tread_value", "casing_value", *(n for n, _ in _EFFECTS))
        )
        sums += [
            f"{currency}: tread left {_whole(tread)}, casings {_whole(casing)}, on {len(mine)} tires with a price",
            f"    low pressure costs {_whole(low[1])} a month in tread ({_whole(low[0])} to {_whole(low[2])})",
        ]
    without = sum(1 for r in rows if not r.get("currency"))
    notes = [f"NOT IN IT: {without} tires have no price (column reason)."] if without else []
    others = more(min(len(dearest), _MOST_ROWS), len(dearest), "tires")
    return [*lines, *others, "", *sums, *notes, "", *textwrap.wrap(_WORDS, WIDTH)]


_MOST_ROWS = 10
_MOST_EXCESS = 25.0  # percent beyond the best that are shown


def _per_1000(per_mile: Decimal | None, far: str) -> str:
    """Of a cost per mile, per thousand of the miles or kilometers that the fleet reads."""
    return "-" if per_mile is None else f"{per_mile * 1000 / (_KM_PER_MILE if far == 'km' else 1):.2f}"


def _whole(amount: Decimal | None) -> str:
    return "-" if amount is None else f"{amount:,.0f}"


def _low_pressure(row: dict[str, Any]) -> str:
    middle, low, high = (row[f"under_inflation{n}_per_month"] for n in ("", "_low", "_high"))
    return "-" if middle is None else f"{_whole(middle)} ({_whole(low)} - {_whole(high)})"
