"""What replacements cost: counts of simulated tires times decimal prices, and what the spread of the sum comes from.

Amounts are whole numbers of the smallest part of a currency that its prices use, so that sums are exact.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any

import numpy as np

from wheelend import _core, economics
from wheelend._demand import CAUSES, DAMAGED, SOURCES, Future, bought_of, last_tire, one_group
from wheelend._fleet_wear import DAYS_PER_YEAR
from wheelend._prices import SELECTORS, Price, PriceList
from wheelend.currencies import DECIMALS
from wheelend.errors import BadCall
from wheelend.log import Log, day_number

if TYPE_CHECKING:
    import numpy.typing as npt

    Whole = npt.NDArray[np.int64]

# What money goes to, in the order of the result; each of the items of a price table that a change of tires can cost.
PARTS = ("new_tires", "retreads", "casings", "labor", "disposal", "downtime")
_NEW, _RETREAD = SOURCES.index("new"), SOURCES.index("retread")
_WITH_MATE = CAUSES.index("with_mate")
_MOST = 2**62


@dataclass(frozen=True)
class Terms:
    """How prices move and what a change takes, besides the price table.

    ``growth``, ``growth_sd``: of prices, per year, and the standard deviation of its doubt (one price level for all).
    ``discount``: effective, per year; amounts are then worth of today. ``hours``: downtime of a visit, hours.
    """

    growth: float = 0.0
    growth_sd: float = 0.0
    discount: float = 0.0
    hours: float = 1.0  # of a visit: common practice, no source

    def __post_init__(self) -> None:
        for name, value in (("price_growth", self.growth), ("discount", self.discount)):
            if not (math.isfinite(value) and value > -1.0):
                raise BadCall(f"{name}: expected a number above -1 (0.08 is 8 % a year), got {value!r}")
        if not (math.isfinite(self.growth_sd) and self.growth_sd >= 0.0):
            raise BadCall(f"price_growth_sd: expected 0 or more, got {self.growth_sd!r}")
        if not (math.isfinite(self.hours) and self.hours >= 0.0):
            raise BadCall(f"visit_hours: expected 0 or more, got {self.hours!r}")


@dataclass(frozen=True)
class Spend:
    """Money of one currency, by draw, month, group and part (``PARTS``; casings are credits, below 0).

    In whole numbers of 10 ** -``places``. The sum over the parts is the spend: there is no other.
    """

    currency: str
    places: int
    parts: Whole

    @property
    def total(self) -> Whole:
        return np.asarray(self.parts.sum(axis=3))

    def amount(self, whole: int) -> Decimal:
        return Decimal(int(whole)).scaleb(-self.places)


@dataclass(frozen=True)
class Spending:
    """What a demand costs: one :class:`Spend` per currency; tires bought, and those that have no price.

    Both by draw, month and group.
    """

    of: list[Spend]
    tires: Whole
    unpriced: Whole
    by_cause: dict[str, npt.NDArray[np.float64]]  # of each currency: its sum over all, by draw and cause


# ---- which price holds for which position


def classes(log: Log, day: int) -> tuple[npt.NDArray[np.int32], list[dict[str, str | None]]]:
    """What the prices may ask of each position: its number in the list of all that differ.

    A replacement is taken to be of the size, make and design of the last tire that was written down there.
    """
    columns = {name: texts_of(log, name, day) for name in SELECTORS}
    rows = list(zip(*(columns[name] for name in SELECTORS), strict=True))
    distinct = sorted(set(rows), key=lambda row: tuple(v or "" for v in row))
    number = {row: i for i, row in enumerate(distinct)}
    of = np.array([number[row] for row in rows], np.int32)
    return of, [dict(zip(SELECTORS, row, strict=True)) for row in distinct]


def texts_of(log: Log, name: str, day: int) -> list[str | None]:
    """A selector of prices for each position: of its last tire up to a day, else its own; None: not known."""
    p = log.positions
    n = len(p)
    if name == "role":
        codes = _core.codes["role"]
        return [codes[c] if c >= 0 else None for c in p.columns["role"]] if "role" in p.columns else [None] * n
    if name == "site":
        column = p.columns.get("attribute:site")
        return [log.attribute_names[c] if c >= 0 else None for c in column] if column is not None else [None] * n
    out: list[str | None] = [None] * n
    column = p.columns.get(name)
    if column is not None:
        out = [log.text_names[c] if c >= 0 else None for c in column]
    facts = log.tire_facts.get(name)
    if facts is not None:
        tires = last_tire(log, day)
        out = [log.text_names[facts[t]] if t >= 0 and facts[t] >= 0 else old for t, old in zip(tires, out, strict=True)]
    return out


# ---- money


def spending(
    ahead: Future,
    prices: PriceList,
    group: npt.NDArray[np.int32],
    groups: int,
    terms: Terms,
    changes: Mapping[str, float] | None = None,
) -> Spending:
    """What the tires of :meth:`Future.counts` cost.

    ``group`` of each position from 0, -1: left out. A price holds from the first day that counts of its month.
    """
    of_class, described = classes(ahead.log, ahead.day)
    pairs = sorted({(int(g), int(c)) for g, c in zip(group, of_class, strict=True) if g >= 0})
    number = {pair: i for i, pair in enumerate(pairs)}
    both = np.array([number.get((int(g), int(c)), -1) for g, c in zip(group, of_class, strict=True)], np.int32)
    shape = (ahead.draws, len(ahead.month_ends), groups)
    currencies = {c: _places(prices, c) for c in prices.currencies}
    parts = {c: np.zeros((*shape, len(PARTS)), np.int64) for c in currencies}
    by_cause = {c: np.zeros((ahead.draws, len(CAUSES))) for c in currencies}
    unpriced, tires = np.zeros(shape, np.int64), np.zeros(shape, np.int64)
    days = [day_number(d) for d in ahead.first_days]
    factors = _factors(ahead, terms)
    for first, counts in ahead.counts_in_pieces(both, len(pairs), changes):
        of_pair = np.ascontiguousarray(counts.transpose(2, 1, 0, 3, 4))  # what is added up lies together
        for k in range(len(of_pair)):
            g, c = pairs[first + k]
            tires[:, :, g] += bought_of(of_pair[k], sources=2).sum(axis=2).T
            for m, day in enumerate(days):
                here = of_pair[k, m].astype(np.int64)  # draws, sources, causes
                if here.any():
                    missing = _add(
                        prices, described[c], day, here, terms, currencies, factors[m], parts, by_cause, m, g
                    )
                    unpriced[:, m, g] += missing
    of = [Spend(c, currencies[c], parts[c]) for c in currencies]
    return Spending([s for s in of if s.parts.any()] or of[:1], tires, unpriced, by_cause)


def _places(prices: PriceList, currency: str) -> int:
    """Decimals that a currency's sums need: its own, or as many as its prices have."""
    mine = [max(0, -int(p.amount.normalize().as_tuple().exponent)) for p in prices if p.currency == currency]
    return max([DECIMALS[currency], *mine])


@dataclass(frozen=True)
class _Factor:
    """What a price is multiplied by in a month: sure, and by draw where the price level is in doubt."""

    sure: Decimal
    by_draw: npt.NDArray[np.float64] | None


def _factors(ahead: Future, terms: Terms) -> list[_Factor]:
    ends = ahead.month_ends.astype(float)
    middle = (ends + np.concatenate([[0.0], ends[:-1]])) / 2.0 / DAYS_PER_YEAR if len(ends) else ends
    out = []
    level = _price_level(ahead, terms) if terms.growth_sd > 0.0 else None
    for years in middle:
        sure = economics.growth_factor(terms.growth, years) * economics.growth_factor(terms.discount, -years)
        out.append(_Factor(sure, None if level is None else np.exp(level * years)))
    return out


def _price_level(ahead: Future, terms: Terms) -> npt.NDArray[np.float64]:
    """Doubt of the log growth, one number a draw, evenly spread over the normal law: no chance is left in it.

    Its order is that of a hash of the draw, so that it goes with nothing else of the draw.
    """
    from statistics import NormalDist

    n = ahead.draws
    order = np.argsort(np.random.default_rng([ahead.seed, 0x7072696365]).random(n), kind="stable")
    z = np.array([NormalDist().inv_cdf((i + 0.5) / n) for i in range(n)])
    return terms.growth_sd / (1.0 + terms.growth) * z[order]


def _add(
    prices: PriceList,
    of: Mapping[str, str | None],
    day: int,
    counts: Whole,
    terms: Terms,
    currencies: Mapping[str, int],
    factor: _Factor,
    parts: Mapping[str, Whole],
    by_cause: Mapping[str, npt.NDArray[np.float64]],
    m: int,
    g: int,
) -> Whole:
    """Add one class of positions in one month; returns its tires without a price, by draw."""
    missing = np.zeros(len(counts), np.int64)

    def book(part: str, item: str, number: Whole, times: Decimal = Decimal(1)) -> bool:
        """``number``: by draw and cause."""
        price = prices.find(item, day, of)
        if price is None:
            return False
        c = price.currency
        unit = _whole(price, times * factor.sure, currencies[c])
        if abs(unit) * int(np.abs(number).max(initial=0)) * parts[c].size > _MOST:
            raise BadCall(f"row {price.row} of the prices: {price.amount} {c} is too large to be summed over the fleet")
        money = number * unit
        if factor.by_draw is not None:
            money = np.rint(money * factor.by_draw[:, None]).astype(np.int64)
        parts[c][:, m, g, PARTS.index(part)] += money.sum(axis=1)
        by_cause[c] += money
        return True

    for part, item, source in (("new_tires", "new_tire", _NEW), ("retreads", "retread", _RETREAD)):
        number = counts[:, source]
        if number.any() and not book(part, item, number):
            missing += number.sum(axis=1)
    off = counts.sum(axis=1)  # every one of them takes a tire off, moved on or bought
    worn = off.copy()
    worn[:, DAMAGED] = 0
    if not book("casings", "casing_credit", worn, Decimal(-1)):
        book("disposal", "disposal", worn)
    book("disposal", "disposal", off - worn)
    book("labor", "labor", off)
    visits = off.copy()
    visits[:, _WITH_MATE] = 0  # their mates' visit
    book("downtime", "downtime_visit", visits)
    book("downtime", "downtime_hour", visits, economics.decimal_of(terms.hours))
    return missing


def _whole(price: Price, times: Decimal, places: int) -> int:
    return int((price.amount * times).scaleb(places).to_integral_value())


# ---- what the spread comes from

SPREAD = ("use", "wear", "damage", "price", "chance")
SPREAD_WORDS = {
    "use": "how far the whole fleet runs",
    "wear": "how fast tires wear and where they are pulled, as far as no record tells",
    "damage": "tires lost early",
    "price": "the price level",
    "chance": "single units (their use, how hard it is) and single tires",
}
_STEP = 0.05  # of the logs of use and wear, for the slope of the mean


def spread_shares(
    ahead: Future,
    prices: PriceList | None,
    mask: npt.NDArray[np.bool_],
    terms: Terms,
    changes: Mapping[str, float] | None = None,
    currency: str | None = None,
) -> dict[str, float]:
    """Shares of the variance of the sum over all months, by what it comes from; they add up to 1.

    ``use`` and ``wear``: what all units, and all tires of a role, share in a draw: (slope of the mean) ^ 2 times the
    variance of the doubt, by runs with a little more and less of it that meet the same chances (formulas 7.3).
    ``damage``: covariance of the sum with that of tires lost early. ``price``: what the doubt of the price level adds.
    ``chance``: the rest. Of tires where ``prices`` is None.
    """
    roles = ahead.log.positions.columns.get("role", np.full(len(ahead.log.positions), -1, np.int8))
    practice = ahead.fleet.practice
    group = one_group(mask)
    sure = Terms(terms.growth, 0.0, terms.discount, terms.hours)

    def sums(how: Mapping[str, float], by: npt.NDArray[np.int32], groups: int, with_terms: Terms) -> tuple[Any, Any]:
        """By draw: the sum of each group, and of each cause."""
        if prices is None:
            bought = ahead.bought(by, groups, how)
            return bought.sum(axis=(1, 3)).astype(float), bought.sum(axis=(1, 2)).astype(float)
        found = spending(ahead, prices, by, groups, with_terms, how)
        mine = next((s for s in found.of if s.currency == currency), found.of[0])
        return mine.total.sum(axis=1).astype(float), found.by_cause[mine.currency]

    base = dict(changes or {})
    total, causes = sums(base, group, 1, sure)
    all_of = total.sum(axis=1)
    with_price = all_of
    if prices is not None and terms.growth_sd > 0.0:
        with_price = sums(base, group, 1, terms)[0].sum(axis=1)
    variance = float(np.var(with_price))
    if variance <= 0.0:
        return dict.fromkeys(SPREAD, 0.0)

    def slope(name: str, by: npt.NDArray[np.int32], groups: int) -> npt.NDArray[np.float64]:
        ends = [base.get(name, 1.0) * math.exp(sign * _STEP) for sign in (-1, 1)]
        low, high = (sums({**base, name: end}, by, groups, sure)[0].mean(axis=0) for end in ends)
        return np.asarray((high - low) / (2.0 * _STEP))

    of_role = np.where(mask & (roles >= 0), roles, len(practice["roles"]) - 1 if mask.any() else 0)
    by_role = np.where(mask, of_role, -1).astype(np.int32)
    wear = slope("wear", by_role, len(practice["roles"]))
    doubt = np.array([r["wear_doubt"] for r in practice["roles"]])
    shares = {
        "use": float(slope("use", group, 1)[0] ** 2 * practice["use_doubt"] ** 2) / variance,
        "wear": float((wear**2 * doubt**2).sum()) / variance,
        "damage": max(float(np.cov(causes[:, DAMAGED], all_of, bias=True)[0, 1]), 0.0) / variance,
        "price": max(variance - float(np.var(all_of)), 0.0) / variance,
    }
    known = sum(shares.values())
    if known > 1.0:  # their slopes are read off finite draws
        shares = {name: share / known for name, share in shares.items()}
        known = 1.0
    return {**shares, "chance": 1.0 - known}
