"""The price table: which amount holds for which tire, where and on which day. Amounts are decimals, never doubles."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any

import numpy as np

from wheelend._facts import spelled_size
from wheelend._words import did_you_mean
from wheelend.currencies import DECIMALS
from wheelend.dictionary import ITEMS, columns

if TYPE_CHECKING:
    from wheelend._cells import Coder
    from wheelend._intake import Checked
    from wheelend._issues import Issues

# What a price may be narrowed to, the strongest first: a price by design beats one by size, and so on.
SELECTORS = ("design", "size", "make", "role", "site")
MOST_DECIMALS = 6  # so that sums of a fleet stay whole numbers of 64 bits
_EVER = (-(10**9), 10**9)


@dataclass(frozen=True)
class Price:
    """One row: ``amount`` of ``currency`` for ``item``, for what ``only`` names, from day ``first`` to ``last``."""

    item: str
    amount: Decimal
    currency: str
    only: tuple[str | None, ...]  # as SELECTORS
    first: int
    last: int
    row: int

    @property
    def weight(self) -> int:
        """Which of several that fit holds: the most narrowly meant, by the order of SELECTORS."""
        return sum(2 ** (len(SELECTORS) - 1 - i) for i, value in enumerate(self.only) if value is not None)

    def fits(self, of: tuple[str | None, ...], day: int) -> bool:
        return self.first <= day <= self.last and all(
            mine is None or mine == theirs for mine, theirs in zip(self.only, of, strict=True)
        )


class PriceList:
    """Prices of a fleet; made by ``read_log(prices=...)``."""

    def __init__(self, rows: list[Price]) -> None:
        self._rows: dict[str, list[Price]] = defaultdict(list)
        for price in sorted(rows, key=lambda p: (-p.weight, p.row)):
            self._rows[price.item].append(price)

    def __len__(self) -> int:
        return sum(map(len, self._rows.values()))

    def __iter__(self) -> Iterator[Price]:
        return (price for item in ITEMS for price in self._rows.get(item, []))

    @property
    def currencies(self) -> list[str]:
        return sorted({price.currency for price in self})

    def find(self, item: str, day: int, of: Mapping[str, str | None]) -> Price | None:
        """The price of ``item`` on a day for what ``of`` describes by the names of SELECTORS; None: there is none.

        Where several rows fit, the most narrowly meant holds: design before size, make, role and site.
        """
        key = tuple(_key(name, of.get(name)) for name in SELECTORS)
        return next((p for p in self._rows.get(item, []) if p.fits(key, day)), None)


def _key(name: str, value: str | None) -> str | None:
    """A value as it is compared: sizes in one spelling, words without their case."""
    if value is None or value == "":
        return None
    return spelled_size(value) if name == "size" else value.strip().casefold()


def build(table: Checked, coders: Mapping[str, Coder], issues: Issues) -> PriceList:
    """Prices of a checked table. Rows that cannot be used are refused: none is applied more widely than it says."""
    _refuse_unread(table, issues)
    rows = [row for i in range(len(table)) if (row := _row(table, coders, i, issues)) is not None]
    bad = set(range(len(table))) - {i for i, _ in rows}
    bad |= _conflicting(table, rows, issues)
    table.keep(np.array([i not in bad for i in range(len(table))], bool))
    return PriceList([price for i, price in rows if i not in bad])


def _refuse_unread(table: Checked, issues: Issues) -> None:
    narrowing = [n for n in (*SELECTORS, "valid_from", "valid_to") if n in table.headers]
    unread = np.isin(table.rows, issues.rows_that_lost(table.place, [table.headers[n] for n in narrowing]))
    if unread.any():
        message = "what the price holds for, or when, cannot be read: correct it, or the price would hold for too much"
        issues.add(table.place, table.rows[unread], "", "", "unread_condition", "row", message)
        table.keep(~unread)


def _row(table: Checked, coders: Mapping[str, Coder], i: int, issues: Issues) -> tuple[int, Price] | None:
    def refuse(column: str, text: str, rule: str, message: str) -> None:
        issues.add(table.place, table.rows[i : i + 1], table.headers[column], text, rule, "row", message)

    c = table.columns
    written = coders["text"].names[c["currency"][i]]
    currency = currency_of(written)
    if currency is None:
        hint = did_you_mean(written.upper(), sorted(DECIMALS)) if len(written) == 3 else ""
        refuse("currency", written, "unknown_currency", f"not a currency's code: write ISO 4217, e.g. USD{hint}")
        return None
    amount = amount_of(table, i)
    if -_exponent(amount) > MOST_DECIMALS:
        refuse("amount", str(amount), "too_fine", f"more than {MOST_DECIMALS} decimals: round it")
        return None
    first, last = (_day(c, name, i, ever) for name, ever in zip(("valid_from", "valid_to"), _EVER, strict=True))
    if first > last:
        refuse("valid_to", "", "order", "ends before it begins: correct valid_from or valid_to")
        return None
    item = ITEMS[c["item"][i]]
    only = tuple(_selector(c, coders, name, i) for name in SELECTORS)
    return i, Price(item, amount, currency, only, first, last, int(table.rows[i]))


def currency_of(written: str | None) -> str | None:
    """The code of ISO 4217 as it is written there; None where it is none."""
    code = (written or "").upper()
    return code if code in DECIMALS else None


def amount_of(table: Checked, i: int) -> Decimal:
    """The decimal that was written: a double stands for its shortest decimal."""
    long = dict(table.long_texts.get("amount", []))
    return Decimal(long[i]) if i in long else Decimal(repr(float(table.columns["amount"][i])))


def _exponent(amount: Decimal) -> int:
    exponent = amount.normalize().as_tuple().exponent
    assert isinstance(exponent, int)
    return exponent


def _day(c: Mapping[str, Any], name: str, i: int, ever: int) -> int:
    return int(c[name][i]) if name in c and not np.isnan(c[name][i]) else ever


def _selector(c: Mapping[str, Any], coders: Mapping[str, Coder], name: str, i: int) -> str | None:
    if name not in c or c[name][i] < 0:
        return None
    if name == "role":
        return columns("prices")["role", False].codes[int(c[name][i])]
    return _key(name, coders["text"].names[c[name][i]])


def _conflicting(table: Checked, rows: list[tuple[int, Price]], issues: Issues) -> set[int]:
    """Rows that give two prices for one thing on one day: neither is used."""
    groups: dict[tuple[Any, ...], list[tuple[int, Price]]] = defaultdict(list)
    for i, price in rows:
        groups[price.item, price.only].append((i, price))
    bad: set[int] = set()
    for group in groups.values():
        group.sort(key=lambda one: (one[1].first, one[1].last, one[1].row))
        running: list[tuple[int, Price]] = []
        for i, price in group:
            running = [(k, other) for k, other in running if other.last >= price.first]
            for k, other in running:
                if (other.amount, other.currency) != (price.amount, price.currency):
                    for mine, theirs in ((i, other), (k, price)):
                        if mine not in bad:
                            message = (
                                f"row {theirs.row} gives another price for the same item on the same days: neither is "
                                "used; keep one, or part them by valid_from and valid_to"
                            )
                            text = str(amount_of(table, mine))
                            at = table.rows[mine : mine + 1]
                            issues.add(table.place, at, table.headers["amount"], text, "conflict", "row", message)
                        bad.add(mine)
            running.append((i, price))
    return bad
