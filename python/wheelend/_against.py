"""``demand --against``: purchases beside what was forecast before them, and what explains the difference."""

from __future__ import annotations

import datetime as dt
import textwrap
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any

import numpy as np
import pyarrow as pa

from wheelend import _results, measures
from wheelend._demand import Future, future, one_group, quantiles_of
from wheelend._fleet_wear import learned_wear, limit_mm
from wheelend._prices import PriceList, amount_of, currency_of
from wheelend._spend import Terms, spending
from wheelend._spend_table import PRECISION, money
from wheelend._words import EPOCH
from wheelend.dictionary import DEMAND_LEVELS
from wheelend.errors import BadCall
from wheelend.limit_sets import Limits
from wheelend.log import Log, day_number, read_purchases
from wheelend.verdicts import Selection

if TYPE_CHECKING:
    import numpy.typing as npt

_GONE_DAYS = 90  # a unit not read for so long before the end is taken to have left (a quarter: common practice)
_BEFORE_DAYS = 365


@dataclass(frozen=True)
class Purchase:
    """Tires bought on a day, and what was paid for them, where it was written."""

    day: int
    tires: int
    amount: Decimal | None
    currency: str | None


@dataclass(frozen=True)
class Against:
    """Months of purchases beside their forecast, and the difference of all months by what explains it."""

    months: pa.Table
    explained: pa.Table


def purchases_of(log: Log, table: Any) -> list[Purchase]:
    """A table of purchases, checked as every table is; problems become rows of ``log.issues``."""
    checked, texts = read_purchases(log, table)
    out = []
    for i in range(len(checked)):
        c = checked.columns
        amount = amount_of(checked, i) if "amount" in c and not np.isnan(c["amount"][i]) else None
        written = texts[c["currency"][i]] if "currency" in c and c["currency"][i] >= 0 else None
        currency = currency_of(written)
        if amount is not None and currency is None:
            message = "an amount without the code of its currency (ISO 4217, e.g. USD): only the tires are counted"
            header = checked.headers["amount"]
            log.issue_list.add(checked.place, checked.rows[i : i + 1], header, str(amount), "currency", "note", message)
            amount = None
        out.append(
            Purchase(int(c["bought_on"][i]), int(c["tires"][i]), amount, currency if amount is not None else None)
        )
    return out


def against_table(
    log: Log,
    purchases: list[Purchase],
    prices: PriceList | None,
    terms: Terms,
    limit: str | None,
    limits: Limits,
    as_of: dt.date | str | None,
    selection: Selection,
    draws: int,
    seed: int,
) -> Against:
    """The forecast from before the first purchase beside the purchases, month by month."""
    first = EPOCH + dt.timedelta(days=min(p.day for p in purchases))
    last = EPOCH + dt.timedelta(days=max(p.day for p in purchases))
    start = day_number(as_of) if as_of is not None else day_number(first.replace(day=1)) - 1
    if start >= day_number(first):
        raise BadCall(f"as_of: {EPOCH + dt.timedelta(days=start)} is not before the first purchase, {first}")
    if start < day_number(log.first_day):
        raise BadCall(f"against: nothing was read before the first purchase, {first}: nothing to forecast from")
    begins = EPOCH + dt.timedelta(days=start + 1)
    months = (last.year - begins.year) * 12 + last.month - begins.month + 1
    then = future(log, limit, limits, EPOCH + dt.timedelta(days=start), months, draws, seed)
    end = start + int(then.month_ends[-1])
    known = _read_by(log, start)
    mask = selection.mask(log)
    group = one_group(mask & known[log.positions.unit])
    counts = then.bought(group).sum(axis=(2, 3))
    bought = np.zeros(months, np.int64)
    for p in purchases:
        bought[_month(then, p.day)] += p.tires
    quantiles = quantiles_of(counts)
    columns: dict[str, Any] = {
        "month": pa.array([d.replace(day=1) for d in then.first_days], pa.date32()),
        "days": pa.array(np.diff(then.month_ends, prepend=0), pa.int32()),
    }
    for name, values in zip(DEMAND_LEVELS, quantiles, strict=True):
        columns[f"tires_{name}"] = pa.array(values, pa.int64())
    columns["tires_mean"] = _results.numbers(counts.mean(axis=0).astype(np.float64))
    columns["tires_bought"] = pa.array(bought)
    columns["tires_within"] = pa.array((quantiles[0] <= bought) & (bought <= quantiles[-1]))
    table = pa.table(columns)
    spent: dict[str, Any] = {}
    if prices is not None:
        table, spent = _with_spend(then, prices, terms, group, purchases, table)
    parts = _explained(log, then, start, min(end, day_number(log.last_day)), limit, limits, group, mask, known)
    return Against(table, _explanation(parts, counts, bought, spent))


def _read_by(log: Log, day: int) -> npt.NDArray[np.bool_]:
    """Which units had been read by a day: others were not in the fleet, as far as the record says."""
    first, _ = _spans(log)
    return np.asarray(first <= day)


def _spans(log: Log) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.int64]]:
    """First and last day on which each unit was read."""
    r = log.core_readings
    unit = log.positions.unit[r["position"]]
    first = np.full(len(log.units), np.iinfo(np.int64).max)
    last = np.full(len(log.units), np.iinfo(np.int64).min)
    np.minimum.at(first, unit, r["day"])
    np.maximum.at(last, unit, r["day"])
    return first, last


def _month(then: Future, day: int) -> int:
    """Number of the month of a day."""
    return int(np.searchsorted(then.month_ends, day - then.day, side="left"))


def _with_spend(
    then: Future,
    prices: PriceList,
    terms: Terms,
    group: npt.NDArray[np.int32],
    purchases: list[Purchase],
    table: pa.Table,
) -> tuple[pa.Table, dict[str, Any]]:
    """Add forecast and actual spend of tires alone: a purchase has no labor and no casing in it."""
    found = spending(then, prices, group, 1, terms)
    paid_in = sorted({p.currency for p in purchases if p.currency is not None} | {s.currency for s in found.of})
    if len(paid_in) != 1 or not found.of:
        return table, {}  # one currency, or the two cannot be set side by side
    spend = found.of[0]
    tires = spend.parts[:, :, 0, :2].sum(axis=2)  # new tires and retreads
    actual = [Decimal(0)] * len(then.month_ends)
    priced = 0
    for p in purchases:
        if p.amount is not None:
            actual[_month(then, p.day)] += p.amount
            priced += p.tires
    columns = {name: table[name] for name in table.column_names}
    scale = max(spend.places, max((-int(a.as_tuple().exponent) for a in actual), default=0))
    for name, values in zip(DEMAND_LEVELS, quantiles_of(tires), strict=True):
        columns[f"spend_{name}"] = money(values, spend.places, scale)
    columns["spent"] = pa.array(actual, pa.decimal128(PRECISION, scale))
    columns["currency"] = pa.repeat(pa.scalar(spend.currency), len(table))
    expected = spend.amount(round(tires.sum(axis=1).mean()))
    return pa.table(columns), {
        "currency": spend.currency, "scale": scale, "expected": expected, "actual": sum(actual, Decimal(0)),
        "priced": priced,
    }  # fmt: skip


# ---- what explains it

CAUSE_WORDS = {
    "use": "the fleet ran more or less than in the year before",
    "wear": "tires wore faster or slower than they had seemed to",
    "early": "more or fewer tires were lost early",
    "units_added": "units that were not read before",
    "units_sold": "units that were no longer read",
    "chance": "what is left: chance, stock, and what no record tells",
    "no_amount": "purchases of which no amount was written",
    "price": "tires cost more or less than the prices said",
}


def _explained(
    log: Log,
    then: Future,
    start: int,
    end: int,
    limit: str | None,
    limits: Limits,
    group: npt.NDArray[np.int32],
    mask: npt.NDArray[np.bool_],
    known: npt.NDArray[np.bool_],
) -> dict[str, tuple[float, str]]:
    """Expected tires that each cause adds, one after the other, with what was found, in words."""

    def mean(of: npt.NDArray[np.int32], changes: Mapping[str, float]) -> npt.NDArray[np.float64]:
        """By month."""
        return np.asarray(then.bought(of, 1, changes).sum(axis=(2, 3)).mean(axis=0))

    due = limit_mm(log, limit, limits)
    found = learned_wear(log, due, end, demand_days=30.0)
    practice = found["demand"].practice
    before = learned_wear(log, due, start, demand_days=30.0)
    out: dict[str, tuple[float, str]] = {}
    changes: dict[str, float] = {}
    last = mean(group, {})
    steps = (
        ("use", _use_factor(log, start, end), "use"),
        ("wear", _wear_factor(before, found), "wear"),
        ("early", practice["damage_per_year"], "damage_per_year"),
    )
    for cause, value, field in steps:
        if value is None:
            out[cause] = (0.0, "not known: too little was read")
            continue
        changes[field] = value
        now = mean(group, changes)
        words = f"{value * 100:.1f} % a year" if cause == "early" else f"{(value - 1) * 100:+.1f} %"
        out[cause] = (float((now - last).sum()), words)
        last = now
    first, gone = _spans(log)
    here = log.positions.unit
    new = (first > start) & (first <= end) & ~known
    added = one_group(mask & new[here])
    out["units_added"] = (float(mean(added, changes).sum()) if new.any() else 0.0, _units(new))
    left = known & (gone > start) & (gone < end - _GONE_DAYS)
    lost = 0.0
    for u in np.flatnonzero(left):
        of = one_group(mask & (here == u))
        lost -= float(mean(of, changes)[_month(then, int(gone[u])) + 1 :].sum())
    out["units_sold"] = (lost, _units(left))
    return out


def _units(mask: npt.NDArray[np.bool_]) -> str:
    n = int(mask.sum())
    return f"{n} unit" + ("" if n == 1 else "s")


def _use_factor(log: Log, start: int, end: int) -> float | None:
    """Distance after ``start`` by what the same units would have run at their pace of the year before."""
    r = log.core_readings
    if "odometer" not in r:
        return None
    km = measures.convert(np.ascontiguousarray(r["odometer"][0]), r["odometer"][1], "km")
    unit, day = log.positions.unit[r["position"]], r["day"]
    ran, expected = 0.0, 0.0
    for u in range(len(log.units)):
        mine = (unit == u) & ~np.isnan(km)
        then = mine & (day <= start) & (day >= start - _BEFORE_DAYS)
        later = mine & (day > start) & (day <= end)
        if not then.any() or not later.any():
            continue
        a, b, c = day[then].min(), day[then].max(), day[later].max()
        at_a, at_b, at_c = km[then & (day == a)].min(), km[then & (day == b)].max(), km[later & (day == c)].max()
        if b > a and at_b > at_a and at_c >= at_b:
            ran += at_c - at_b
            expected += (at_b - at_a) / (b - a) * (c - b)
    return float(ran / expected) if expected > 0.0 else None


def _wear_factor(before: Mapping[str, Any], after: Mapping[str, Any]) -> float | None:
    """Wear per distance of the tires that are still there, as it is known now, by what it seemed to be then."""
    then = {int(p): i for i, p in enumerate(before["position"])}
    pairs = [
        (before["rate_mm_per_km"][then[int(p)]], after["rate_mm_per_km"][k])
        for k, p in enumerate(after["position"])
        if int(p) in then and before["fitted_day"][then[int(p)]] == after["fitted_day"][k]
    ]
    known = np.array([pair for pair in pairs if not np.isnan(pair).any()]).reshape(-1, 2)
    return float(known[:, 1].sum() / known[:, 0].sum()) if len(known) else None


def _explanation(
    parts: Mapping[str, tuple[float, str]], counts: Any, bought: npt.NDArray[np.int64], spent: Mapping[str, Any]
) -> pa.Table:
    expected, actual = float(counts.sum(axis=1).mean()), float(bought.sum())
    rest = actual - expected - sum(value for value, _ in parts.values())
    rows: list[dict[str, Any]] = [{"cause": name, "tires": v, "found": w} for name, (v, w) in parts.items()]
    rows.append({"cause": "chance", "tires": rest, "found": ""})
    scale = spent.get("scale", 2)
    if spent:
        one, unit = _per_tire(spent["expected"], expected), Decimal(1).scaleb(-scale)
        without = int(actual) - spent["priced"]
        for row in rows:
            row["spend"] = (one * Decimal(repr(row["tires"]))).quantize(unit)
        none = {
            "cause": "no_amount",
            "tires": 0.0,
            "found": f"{without} tires",
            "spend": (-one * without).quantize(unit),
        }
        found = f"{spent['priced']} tires with an amount"
        price = spent["actual"] - spent["expected"] - sum((r["spend"] for r in [*rows, none]), Decimal(0))
        rows += [none, {"cause": "price", "tires": 0.0, "found": found, "spend": price}]
    columns: dict[str, Any] = {
        "cause": pa.array([r["cause"] for r in rows], pa.string()),
        "tires": _results.numbers(np.array([r["tires"] for r in rows], float)),
    }
    if spent:
        columns["spend"] = pa.array([r["spend"] for r in rows], pa.decimal128(PRECISION, scale))
        columns["currency"] = pa.repeat(pa.scalar(spent["currency"]), len(rows))
    columns["found"] = _results.empty(pa.array([r["found"] for r in rows], pa.string()))
    return pa.table(columns)


def _per_tire(amount: Decimal, number: float) -> Decimal:
    """Amount per tire; 0 where none was expected."""
    return amount / Decimal(repr(number)) if number > 0.0 else Decimal(0)


# ---- for people


def against_lines(found: Against) -> list[str]:
    """Months with forecast and purchases, and the causes of the difference."""
    from wheelend._people import WIDTH, aligned

    rows = found.months.to_pylist()
    money_too = "spent" in found.months.column_names
    lines = aligned(
        ("MONTH", "P10", "P50", "P90", "BOUGHT", "", *(("SPEND P50", "SPENT", "") if money_too else ())),
        [
            (
                f"{r['month']:%Y-%m}", *(str(r[f"tires_{q}"]) for q in DEMAND_LEVELS), str(r["tires_bought"]),
                "" if r["tires_within"] else "outside",
                *((f"{r['spend_p50']:,.0f}", f"{r['spent']:,.0f}", r["currency"]) if money_too else ()),
            )
            for r in rows
        ],
    )  # fmt: skip
    expected, bought = (sum(r[n] for r in rows) for n in ("tires_mean", "tires_bought"))
    causes = []
    for r in found.explained.to_pylist():
        what = f"{r['tires']:+7.1f} tires" if r["cause"] not in ("price", "no_amount") else " " * 13
        amount = f"  {r['spend']:+12,.0f} {r['currency']}" if money_too else ""
        text = f"{what}{amount}  {CAUSE_WORDS[r['cause']]}" + (f" ({r['found']})" if r["found"] else "")
        causes += textwrap.wrap(text, WIDTH, subsequent_indent=" " * 15)
    inside = sum(r["tires_within"] for r in rows)
    head = (
        f"{bought} tires were bought; {expected:.1f} were expected. {inside} of {len(rows)} months lie between P10 and "
        "P90; about eight in ten should. What explains the difference:"
    )
    words = (
        "One cause after the other, from what was read since; they add up. Spend here is of tires alone, without labor "
        "and casings."
    )
    return [*lines, "", *textwrap.wrap(head, WIDTH), *causes, "", *textwrap.wrap(words, WIDTH)]
