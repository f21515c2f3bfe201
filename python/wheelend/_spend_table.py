"""``demand`` with prices: spend per period, group and currency, its totals, and what its spread comes from."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any

import numpy as np
import pyarrow as pa

from wheelend import _results
from wheelend._demand import PERIODS, Future, demand_table, groups_of, period_name, quantiles_of, starts_of
from wheelend._prices import PriceList
from wheelend._spend import PARTS, SPREAD_WORDS, Spend, Terms, spending
from wheelend.dictionary import DEMAND_LEVELS
from wheelend.verdicts import Selection

if TYPE_CHECKING:
    import numpy.typing as npt

PRECISION = 38  # digits of an Arrow decimal128


@dataclass(frozen=True)
class SpendTotal:
    """Spend over a span of months in one currency: mean, and quantiles of the sum."""

    span: str
    group: str
    currency: str
    mean: Decimal
    quantiles: tuple[Decimal, ...]


def money(values: npt.NDArray[np.int64], places: int, scale: int) -> pa.Array:
    """Whole numbers of 10 ** -places as decimals."""
    return pa.array([Decimal(int(v)).scaleb(-places) for v in values], pa.decimal128(PRECISION, scale))


def spend_table(
    ahead: Future,
    by: str | None,
    selection: Selection,
    prices: PriceList,
    terms: Terms,
    per: str = "month",
    changes: Mapping[str, float] | None = None,
) -> tuple[pa.Table, list[SpendTotal], list[Any]]:
    """The table of :func:`demand` with its spend, totals of spend, and totals of tires.

    One row per period, group and currency: currencies are never added, so that with several each has its row.
    """
    table, tire_totals = demand_table(ahead, by, selection, changes, per)
    group, names = groups_of(ahead.log, by, selection, ahead.day)
    found = spending(ahead, prices, group, len(names), terms, changes)
    starts = starts_of(ahead, per)
    scale = max((s.places for s in found.of), default=2)
    pieces = []
    unpriced = _over(found.unpriced, starts).mean(axis=0).ravel()
    for spend in found.of:
        total = _over(spend.total, starts)
        columns = {name: table[name] for name in table.column_names}
        for name, values in zip(DEMAND_LEVELS, quantiles_of(total), strict=True):
            columns[f"spend_{name}"] = money(values.ravel(), spend.places, scale)
        columns["currency"] = pa.repeat(pa.scalar(spend.currency), len(table))
        means = [_means(values) for values in np.moveaxis(_over(spend.parts, starts), -1, 0)]
        columns["spend_mean"] = money(sum(means, np.zeros_like(means[0])), spend.places, scale)
        for part, values in zip(PARTS, means, strict=True):
            columns[f"{part}_mean"] = money(values, spend.places, scale)
        columns["unpriced_mean"] = _results.numbers(unpriced)
        pieces.append(pa.table(columns))
    joined = pa.concat_tables(pieces)
    if len(pieces) > 1:  # the currencies of a period stand together
        order = np.arange(len(joined)).reshape(len(pieces), -1).T.ravel()
        joined = joined.take(pa.array(order))
    return joined, _totals(ahead, found.of, names if by is not None else []), tire_totals


def _over(values: Any, starts: list[int]) -> Any:
    return np.add.reduceat(values, starts, axis=1) if starts else values


def _means(values: npt.NDArray[np.int64]) -> npt.NDArray[np.int64]:
    """Means over the draws, each rounded once; the mean of a sum is then the sum of these."""
    n = max(len(values), 1)
    return np.array([round(Decimal(int(v)) / n) for v in values.sum(axis=0, dtype=np.int64).ravel()], np.int64)


def _totals(ahead: Future, of: list[Spend], names: list[str]) -> list[SpendTotal]:
    """Of each quarter and year where there are several months in it, and of all months; of all groups, then of each."""
    out: list[SpendTotal] = []
    spans: list[tuple[str, slice]] = []
    for per in ("quarter", "year"):
        starts = starts_of(ahead, per)
        ends = [*starts[1:], len(ahead.first_days)]
        for first, end in zip(starts, ends, strict=True):
            day = ahead.first_days[first]
            whole = end - first == PERIODS[per]
            spans.append((period_name(day, per) + ("" if whole else "*"), slice(first, end)))
    spans.append(("all months", slice(0, len(ahead.first_days))))
    for spend in of:
        total = spend.total
        for span, months in spans:
            out.append(_total(spend, span, "", total[:, months].sum(axis=(1, 2))))
        for g, name in enumerate(names):
            out.append(_total(spend, "all months", name or "-", total[:, :, g].sum(axis=1)))
    return out


def _total(spend: Spend, span: str, group: str, values: npt.NDArray[np.int64]) -> SpendTotal:
    mean = round(Decimal(int(values.sum())) / max(len(values), 1))
    levels = tuple(spend.amount(int(q)) for q in quantiles_of(values))
    return SpendTotal(span, group, spend.currency, spend.amount(mean), levels)


# ---- for people

_WORDS = (
    "Amounts hold tires, labor, disposal and downtime, less credits of casings; labor and disposal of tires moved on "
    "too. Of ten futures about eight lie between P10 and P90. Quantiles do not add up; currencies are never added. "
    "* not all of its months."
)


def spend_lines(
    table: pa.Table,
    totals: list[SpendTotal],
    shares: Mapping[str, float],
    by: str | None,
    terms: Terms,
    per: str = "month",
) -> list[str]:
    """Periods with tires and spend, totals of quarters and years, and what the spread of the sum comes from."""
    from wheelend._people import WIDTH, aligned

    rows = table.to_pylist()
    if not rows:
        return ["no months were asked for"]
    header = (per.upper(), *([by.upper()] if by else []), "TIRES", "SPEND P10", "P50", "P90", "")
    lines = aligned(
        header,
        [
            (
                period_name(r["month"], per),
                *([r[by] or "-"] if by else []),
                f"{r['tires_p10']}-{r['tires_p90']}",
                *(_shown(r[f"spend_{q}"]) for q in DEMAND_LEVELS),
                r["currency"],
            )
            for r in rows
        ],
    )
    sums = aligned(
        ("TOTAL", "P10", "P50", "P90", "MEAN", ""),
        [
            (f"{t.span} {t.group}".strip(), *(_shown(q) for q in t.quantiles), _shown(t.mean), t.currency)
            for t in totals
        ],
    )
    spread = [f"{share * 100:4.0f} %  {SPREAD_WORDS[name]}" for name, share in shares.items() if share >= 0.005]
    unpriced = sum(r["unpriced_mean"] for r in rows) / max(len({r["currency"] for r in rows}), 1)
    notes = []
    if unpriced > 0.0:
        notes = textwrap.wrap(
            f"NOT IN IT: {unpriced:.1f} tires (expected) have no price: give one for their size, make, design, role or "
            "site, and for the days ahead.", WIDTH,
        )  # fmt: skip
    moved = []
    if terms.growth or terms.growth_sd or terms.discount:
        moved = textwrap.wrap(
            f"Prices grow by {terms.growth * 100:g} % a year (give or take {terms.growth_sd * 100:g} %); discounted by "
            f"{terms.discount * 100:g} % a year.", WIDTH,
        )  # fmt: skip
    return [
        *lines, "", *sums, "", *(["The spread of the sum comes from", *spread, ""] if spread else []), *notes, *moved,
        *textwrap.wrap(_WORDS, WIDTH),
    ]  # fmt: skip


def _shown(amount: Decimal) -> str:
    """Whole amounts are enough for a forecast."""
    return f"{amount:,.0f}"
