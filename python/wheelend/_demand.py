"""Tires needed in the months to come: ``demand``."""

from __future__ import annotations

import datetime as dt
import hashlib
import math
import textwrap
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import pyarrow as pa

from wheelend import _core, _results
from wheelend._fleet_wear import learned_wear, limit_mm, watched
from wheelend._words import EPOCH, did_you_mean, is_number, is_whole
from wheelend.dictionary import DEMAND_LEVELS
from wheelend.errors import BadCall
from wheelend.limit_sets import DEFAULT, Limits
from wheelend.log import Log
from wheelend.verdicts import Selection, as_of_day

if TYPE_CHECKING:
    import numpy.typing as npt

    Whole = npt.NDArray[np.int32]

DRAWS = 2000
_MOST_MONTHS = 120  # ten years, as far as due dates are told
_MOST_COUNTS = 64_000_000  # of one run of the core, four bytes each
SOURCES = tuple(_core.codes["tire_source"])
CAUSES = tuple(_core.codes["removal_cause"])
MOVED_ON = SOURCES.index("moved_on")
DAMAGED = CAUSES.index("damaged")


@dataclass(frozen=True)
class Future:
    """A fleet that can be simulated, from ``day`` on over calendar months.

    ``first_days``: first day of each month that counts (the day after ``day``, then firsts of months).
    ``month_ends``: days from ``day`` to the end of each month.
    """

    log: Log
    fleet: _core.DemandFleet
    day: int
    first_days: list[dt.date]
    month_ends: Whole
    draws: int
    seed: int

    def counts(self, group: Whole | None = None, groups: int = 1, changes: Mapping[str, float] | None = None) -> Whole:
        """Tires fitted as replacements, by draw, month, group, source (``SOURCES``) and cause (``CAUSES``).

        ``group``: of each position of the log, from 0; -1: not counted. ``changes``: fields of ``DemandChanges`` in
        demand.hpp; runs with other changes meet the same chances, so that their difference is that of the changes.
        Tires of the source ``moved_on`` are no purchase.
        """
        of_position = np.zeros(len(self.log.positions), np.int32) if group is None else group
        of_place = np.ascontiguousarray(of_position[self.fleet.position], np.int32)
        size = self.draws * len(self.month_ends) * groups * len(SOURCES) * len(CAUSES)
        if size > _MOST_COUNTS * 8:
            raise BadCall(
                f"demand: {groups} groups are too many to count at once over {self.draws} draws: ask for fewer"
            )
        run = (self.fleet, self.month_ends, of_place, groups, 0, self.draws, self.seed, dict(changes or {}))
        counts: Whole = watched("demand", _core.simulate_demand, *run)
        return counts

    def bought(self, group: Whole | None = None, groups: int = 1, changes: Mapping[str, float] | None = None) -> Whole:
        """Tires that are purchases of :meth:`counts`, by draw, month, group and cause."""
        return bought_of(self.counts(group, groups, changes))

    def counts_in_pieces(
        self, group: Whole, groups: int, changes: Mapping[str, float] | None = None
    ) -> Iterator[tuple[int, Whole]]:
        """:meth:`counts` of many groups, some at a time, each piece with the number of its first group."""
        if not len(self.month_ends) or not groups:
            return
        at_once = max(_MOST_COUNTS // (self.draws * len(self.month_ends) * len(SOURCES) * len(CAUSES)), 1)
        for first in range(0, groups, at_once):
            count = min(at_once, groups - first)
            mine = np.where((group >= first) & (group < first + count), group - first, -1).astype(np.int32)
            yield first, self.counts(mine, count, changes)


def bought_of(counts: Whole, sources: int = 3) -> Whole:
    """Of counts with an axis of ``sources`` those that are purchases, all sources together: none that was moved on."""
    kept: Whole = np.delete(counts, MOVED_ON, axis=sources).sum(axis=sources, dtype=counts.dtype)
    return kept


def quantiles_of(
    values: npt.NDArray[Any], levels: Iterable[float] = tuple(DEMAND_LEVELS.values())
) -> list[npt.NDArray[Any]]:
    """Quantiles over draws (first axis), each the value of a draw (inverse of their distribution): none is rounded."""
    n = len(values)
    # To a billionth: 0.55 of 2000 draws is 1100.0000000000002 in doubles.
    ranks = [max(math.ceil(level * n - 1e-9) - 1, 0) for level in levels]
    ordered = np.partition(values, ranks, axis=0)
    return [ordered[rank] for rank in ranks]


def future(
    log: Log,
    limit: str | None = None,
    limits: Limits = DEFAULT,
    as_of: dt.date | str | None = None,
    months: int = 12,
    draws: int = DRAWS,
    seed: int = 1,
) -> Future:
    """Learn a fleet and lay out the months to come; arguments as for :func:`demand`."""
    if not is_whole(months) or not 0 <= months <= _MOST_MONTHS:
        raise BadCall(f"months: expected 0 to {_MOST_MONTHS}, got {months!r}")
    if not is_whole(draws) or not is_whole(seed) or draws < 1 or seed < 0:
        raise BadCall(f"draws from 1 and a seed from 0: got {draws!r} and {seed!r}")
    day = as_of_day(log, as_of)
    first_days, ends = calendar_months(day, max(months, 1))
    found = learned_wear(log, limit_mm(log, limit, limits), day, demand_days=float(ends[-1]))
    fleet = found["demand"]
    fleet.set_keys(np.array([_key(name) for name in log.units], np.uint64))
    return Future(log, fleet, day, first_days[:months], ends[:months], draws, seed)


def calendar_months(day: int, months: int) -> tuple[list[dt.date], Whole]:
    """The months after a day: the first day that counts of each, and days from ``day`` to its end."""
    first = EPOCH + dt.timedelta(days=day + 1)
    firsts, ends = [], []
    for m in range(months):
        year, month = divmod(first.year * 12 + first.month - 1 + m, 12)
        after = divmod(first.year * 12 + first.month + m, 12)
        firsts.append(first if m == 0 else dt.date(year, month + 1, 1))
        ends.append((dt.date(after[0], after[1] + 1, 1) - EPOCH).days - day - 1)
    return firsts, np.array(ends, np.int32)


def _key(unit: str) -> int:
    """What a unit's random numbers hang on: its name, so that other units do not change them."""
    return int.from_bytes(hashlib.blake2b(unit.encode(), digest_size=8).digest(), "little")


# ---- groups


def one_group(mask: npt.NDArray[np.bool_]) -> Whole:
    """Positions that are counted together, as :meth:`Future.counts` takes them; the others are left out."""
    return np.where(mask, 0, -1).astype(np.int32)


def groups_of(log: Log, by: str | None, selection: Selection, day: int) -> tuple[Whole, list[str]]:
    """Group of each position, -1 where the selection leaves it out, and the groups' names."""
    mask = selection.mask(log)
    if by is None:
        return one_group(mask), [""]
    texts = _texts(log, by, day)
    names = sorted({t for t, keep in zip(texts, mask, strict=True) if keep})
    number = {name: i for i, name in enumerate(names)}
    return np.array([number[t] if keep else -1 for t, keep in zip(texts, mask, strict=True)], np.int32), names


def _texts(log: Log, by: str, day: int) -> list[str]:
    """A column of the positions as text; of the tires table what the last tire at each position has."""
    p = log.positions
    if by == "unit":
        return [p.units[u] for u in p.unit]
    if by == "axle":
        return [str(a) for a in p.axle]
    if by in ("side", "dual"):
        return [_core.codes[by][c] for c in getattr(p, by)]
    if by in ("role", "kind"):
        return [_core.codes[by][c] if c >= 0 else "" for c in p.columns[by]]
    if (column := p.columns.get(f"attribute:{by}")) is not None:
        return [log.attribute_names[c] if c >= 0 else "" for c in column]
    if by in log.tire_facts and not isinstance(log.tire_facts[by], tuple):
        names, facts = log.text_names, log.tire_facts[by]
        return [names[facts[t]] if t >= 0 and facts[t] >= 0 else "" for t in last_tire(log, day)]
    own = [c.removeprefix("attribute:") for c in p.columns if c.startswith("attribute:")]
    of_tires = [name for name, fact in log.tire_facts.items() if not isinstance(fact, tuple)]
    known = list(dict.fromkeys(["role", "kind", "unit", "axle", "side", "dual", *own, *of_tires]))
    near = did_you_mean(by, known, most=3) or f" (there are {', '.join(known)})"
    raise BadCall(f"by: the positions carry no column {by!r}{near}")


def last_tire(log: Log, day: int) -> npt.NDArray[np.int64]:
    """Number of the last tire that was written down at each position up to a day; -1: none was."""
    r = log.core_readings
    out = np.full(len(log.positions), -1, np.int64)
    if "tire" not in r:
        return out
    order = np.argsort(r["microsecond"], kind="stable")
    position, tire = r["position"][order], r["tire"][order]
    known = (position >= 0) & (tire >= 0) & (r["day"][order] <= day)
    out[position[known]] = tire[known]
    return out


# ---- the table


def demand(
    log: Log,
    *,
    months: int = 12,
    prices: Any = None,
    against: Any = None,
    explained: bool = False,
    by: str | None = None,
    per: str = "month",
    price_growth: float = 0.0,
    price_growth_sd: float = 0.0,
    discount: float = 0.0,
    visit_hours: float = 1.0,
    limit: str | None = None,
    limits: Limits = DEFAULT,
    changes: Mapping[str, float] | None = None,
    draws: int = DRAWS,
    seed: int = 1,
    as_of: dt.date | str | None = None,
    unit: Iterable[str] | str | None = None,
    site: Iterable[str] | str | None = None,
    group: Iterable[str] | str | None = None,
) -> Any:
    """Tires that will be fitted as replacements in each month to come, for any reason, with their interval.

    Every unit is run on and its tires worn, read, pulled, lost and replaced in many simulated futures, replacements of
    replacements included. At which depth the fleet really pulls, how often a mate goes along, how many tires are lost
    early and how many positions get a tire that was moved on from elsewhere (which is no purchase) is learned from its
    record. Tires that only change places are not counted. Months are calendar months; the first is the rest of the
    month after ``as_of``.

    Parameters
    ----------
    log : Log
        The fleet, from :func:`wheelend.read_log`.
    months : int
        0 to 120; the first may be part of a month (column ``days``).
    prices : table or PriceList, optional
        Prices as :func:`wheelend.read_log` takes them; by default those of the log. With prices there is spend, one row
        per month (and group) and currency.
    against : table, optional
        Purchases (``bought_on``, ``tires``, and where known ``amount``, ``currency``): the answer is then the forecast
        from before the first of them (or ``as_of``) beside what was bought. ``months``, ``by``, ``per`` and ``changes``
        do not count.
    explained : bool
        With ``against``: the difference by what explains it, in place of the months.
    by : str, optional
        A column of the positions (``role``, ``site``, ``unit``, ``size``, ...) or a text column of the tires: one row
        per month and value.
    per : {"month", "quarter", "year"}
        Calendar span of a row.
    price_growth, price_growth_sd : float
        Of prices a year (0.03 is 3 %), and the standard deviation of its doubt.
    discount : float
        Effective, a year; spend is then its worth at ``as_of``.
    visit_hours : float
        Downtime of a visit, for prices of ``downtime_hour``.
    limit : str, optional
        As for :func:`wheelend.wear`: the depth at which tires are due. The fleet's own habit of pulling above or below
        it is learned.
    limits : str or list of str
        Set that gives the legal minimum.
    changes : dict of str to float, optional
        What will be other than in the record: ``use`` and ``wear`` (factors), ``fresh_wear`` (factor of tires still to
        be bought), ``pull_shift_mm`` (above 0: pulled so much deeper), ``damage_per_year`` (share of tires),
        ``with_mate`` (share of worn tires whose mate goes along), ``moved_share`` (factor of the share of tires moved
        on), ``growth_per_year`` (share of units added, below 0: sold; new units bring their tires).
    draws : int
        Simulated futures, from 1.
    seed : int
        From 0. The same seed gives the same answer, whatever the threads and the order of rows.
    as_of : date or ISO text, optional
        As for :func:`wheelend.judge`.
    unit, site, group : str or list of str, optional
        As for :func:`wheelend.judge`. The whole fleet is learned from, whatever the filter.

    Returns
    -------
    table of the kind that came in
        One row per month (and group): see ``wheelend.dictionary.RESULTS["demand"]``. Quantiles of months do not add up
        to those of a year. Amounts are decimals. With ``against``: ``["against"]`` or ``["explained"]``.

    Raises
    ------
    BadCall
        A number out of its range, or a column that is not there.

    Notes
    -----
    Renewal process at every position, formulas 7.3; written up in ``python/docs/demand.md``. A replacement is taken to
    be of the size, make and design of the last tire that was written down at its position. A tire taken off worn brings
    its casing credit (disposal where there is no such price), one lost early costs disposal; every change costs labor,
    and downtime of one visit unless it is done along with its mate. Road calls are not in it.
    """
    from wheelend._spend import Terms
    from wheelend._spend_table import spend_table
    from wheelend.log import price_list

    terms = Terms(price_growth, price_growth_sd, discount, visit_hours)
    of = price_list(log, prices)
    if against is not None:
        from wheelend._against import against_table, purchases_of

        found = against_table(
            log, purchases_of(log, against), of, terms, limit, limits, as_of, Selection(unit, site, group), draws, seed
        )
        return _results.native(found.explained if explained else found.months, log.kind)
    ahead = future(log, limit, limits, as_of, months, draws, seed)
    selection = Selection(unit, site, group)
    if of is None:
        return _results.native(demand_table(ahead, by, selection, changes, per)[0], log.kind)
    return _results.native(spend_table(ahead, by, selection, of, terms, per, changes)[0], log.kind)


@dataclass(frozen=True)
class Total:
    """All months together: quantiles of the sum, of all groups or one."""

    group: str
    days: int
    mean: float
    quantiles: tuple[int, ...]


def demand_table(
    ahead: Future,
    by: str | None,
    selection: Selection,
    changes: Mapping[str, float] | None = None,
    per: str = "month",
) -> tuple[pa.Table, list[Total]]:
    """:func:`demand` as an Arrow table, and the totals over its months: of each group, then of all."""
    check_changes(changes)
    group, names = groups_of(ahead.log, by, selection, ahead.day)
    bought = _bought(ahead, group, names, changes)
    starts = starts_of(ahead, per)
    n = len(starts)
    of_month = np.repeat(np.arange(n), len(names))
    if n:
        bought = np.add.reduceat(bought, starts, axis=1)
    total = bought.sum(axis=3)
    quantiles = quantiles_of(total)
    firsts = [ahead.first_days[s].replace(day=1) for s in starts]
    columns: dict[str, Any] = {"month": pa.array(firsts, pa.date32()).take(pa.array(of_month))}
    if by is not None:
        columns[by] = _results.empty(pa.array(names * n, pa.string()))
    ends = ahead.month_ends[[*(s - 1 for s in starts[1:]), -1]] if n else ahead.month_ends
    columns["days"] = pa.array(np.diff(ends, prepend=0)[of_month], pa.int32())
    for name, values in zip(DEMAND_LEVELS, quantiles, strict=True):
        columns[f"tires_{name}"] = pa.array(values.ravel(), pa.int64())
    columns["tires_mean"] = _results.numbers(total.mean(axis=0).ravel().astype(np.float64))
    worn = bought.mean(axis=0).reshape(-1, len(CAUSES)) if n else np.zeros((0, len(CAUSES)))
    for i, cause in enumerate(CAUSES):
        columns[f"{cause}_mean"] = _results.numbers(worn[:, i].astype(np.float64))
    totals = _totals(ahead, names if by is not None else [], total)
    return pa.table(columns), totals


PERIODS = {"month": 1, "quarter": 3, "year": 12}


def period_name(day: dt.date, per: str) -> str:
    """'2026-02', '2026 Q1' or '2026': the month, quarter or year of a day."""
    quarter = (day.month - 1) // PERIODS["quarter"] + 1
    return {"month": f"{day:%Y-%m}", "quarter": f"{day.year} Q{quarter}", "year": f"{day.year}"}[per]


def starts_of(ahead: Future, per: str) -> list[int]:
    """Number of the first month of each calendar month, quarter or year."""
    if per not in PERIODS:
        raise BadCall(f"per: expected one of {', '.join(PERIODS)}, got {per!r}{did_you_mean(per, list(PERIODS))}")
    number = [(d.year * 12 + d.month - 1) // PERIODS[per] for d in ahead.first_days]
    return [i for i, k in enumerate(number) if i == 0 or k != number[i - 1]]


def _bought(ahead: Future, group: Whole, names: list[str], changes: Mapping[str, float] | None) -> Whole:
    """Tires bought, by draw, month, group and cause. Many groups are counted some at a time."""
    none = np.zeros(
        (ahead.draws, len(ahead.month_ends), 0 if len(ahead.month_ends) else len(names), len(CAUSES)), np.int32
    )
    parts = [bought_of(counts) for _, counts in ahead.counts_in_pieces(group, len(names), changes)]
    return np.concatenate([none, *parts], axis=2)


def _totals(ahead: Future, names: list[str], total: Whole) -> list[Total]:
    over_months = total.sum(axis=1)
    days = int(ahead.month_ends[-1]) if len(ahead.month_ends) else 0
    rows = [(name, over_months[:, g]) for g, name in enumerate(names)] + [("", over_months.sum(axis=1))]
    return [Total(name, days, float(v.mean()), tuple(int(q) for q in quantiles_of(v))) for name, v in rows]


_CHANGES = {
    "use": (0.0, 10.0), "wear": (0.01, 100.0), "fresh_wear": (0.01, 100.0), "pull_shift_mm": (-20.0, 20.0),
    "damage_per_year": (0.0, 10.0), "with_mate": (0.0, 1.0), "moved_share": (0.0, 100.0),
    "growth_per_year": (-5.0, 5.0),
}  # fmt: skip


def check_changes(changes: Mapping[str, float] | None) -> None:
    for name, value in (changes or {}).items():
        if name not in _CHANGES:
            raise BadCall(f"changes: there is no {name!r}{did_you_mean(name, list(_CHANGES), most=3)}")
        low, high = _CHANGES[name]
        if not is_number(value) or not low <= value <= high:
            raise BadCall(f"changes: {name} from {low:g} to {high:g}, got {value!r}")


# ---- for people

_WORDS = (
    "Tires to be fitted as replacements, worn or damaged, replacements of replacements included. Of ten futures about "
    "eight lie between P10 and P90. The total has a band of its own: quantiles of months do not add up."
)


def demand_lines(table: pa.Table, totals: list[Total], by: str | None, per: str = "month") -> list[str]:
    """Months (and groups) with their band, and the totals over all months."""
    from wheelend._people import WIDTH, aligned

    rows = table.to_pylist()
    if not rows:
        return ["no months were asked for"]
    most = max((r["tires_p90"] for r in rows), default=1) or 1
    header = (per.upper(), *([by.upper()] if by else []), "P10", "P50", "P90", "")
    room = WIDTH - sum(len(h) for h in header) - 8 - (10 if by else 0)
    lines = aligned(
        header,
        [
            (
                period_name(r["month"], per) + ("" if r["days"] >= _FULL else "*"),
                *([r[by] or "-"] if by else []),
                *(str(r[f"tires_{q}"]) for q in DEMAND_LEVELS),
                _band(r, most, min(room, 40)),
            )
            for r in rows
        ],
    )
    sums = aligned(
        ("ALL MONTHS", "P10", "P50", "P90", "MEAN"),
        [(t.group or "all", *(str(q) for q in t.quantiles), f"{t.mean:.1f}") for t in totals],
    )
    n = rows[0]["days"]
    short = [f"* {n} day{' that is' if n == 1 else 's that are'} left of the month."] if n < _FULL else []
    return [*lines, "", *sums, "", *short, *textwrap.wrap(_WORDS, WIDTH)]


_FULL = 28  # days of the shortest month


def _band(row: dict[str, Any], most: int, width: int) -> str:
    """P10 to P90 as a bar, P50 within it."""
    low, middle, high = (round(row[f"tires_{q}"] / most * (width - 1)) for q in DEMAND_LEVELS)
    return "".join("|" if i == middle else "-" if low <= i <= high else " " for i in range(width)).rstrip()
