"""The price table: what is read, which of several rows holds, and what becomes of rows that cannot be used."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from typing import Any

import pandas as pd
import pytest

import wheelend
from conftest import Table
from test_sample import SHIPPED, about_rows, table
from wheelend._prices import PriceList
from wheelend.currencies import DECIMALS
from wheelend.log import day_number, price_list

PRICES = """
item          size        design    role  site  amount currency valid_from valid_to
new_tire      295/75R22.5 -         -     -     430.10 USD      -          -
new_tire      295/75R22.5 -         steer -     470.20 USD      -          -
new_tire      -           Millrace  -     -     480.30 USD      -          -
new_tire      -           -         -     South 410.40 USD      -          -
retread       -           -         -     -     205.5  USD      2025-01-01 2025-12-31
retread       -           -         -     -     211.75 USD      2026-01-01 -
labor         -           -         -     -     38.50  CAD      -          -
"""
DAY = day_number("2025-06-10")


def read(readings: Table, positions: Table, prices: Table) -> wheelend.Log:
    return wheelend.read_log(readings.columns(), positions.columns(), prices=prices.columns())


def found(log: wheelend.Log, item: str, day: int = DAY, **of: str) -> str | None:
    assert log.prices is not None
    price = log.prices.find(item, day, of)
    return None if price is None else f"{price.amount} {price.currency}"


def rules(log: wheelend.Log) -> list[tuple[int, str, str]]:
    return [
        (int(r), str(x), str(e)) for r, x, e in zip(*(log.issues[n] for n in ("row", "rule", "effect")), strict=True)
    ]


def test_the_most_narrowly_meant_price_holds(readings: Table, positions: Table) -> None:
    log = read(readings, positions, Table(PRICES))
    assert rules(log) == []
    assert found(log, "new_tire", size="295/75 R 22.5") == "430.1 USD"  # sizes without their blanks
    assert found(log, "new_tire", size="295/75R22.5", role="steer") == "470.2 USD"
    assert found(log, "new_tire", size="295/75R22.5", role="steer", design="MILLRACE") == "480.3 USD"
    assert found(log, "new_tire", size="11R22.5", site="South") == "410.4 USD"
    assert found(log, "new_tire", size="295/75R22.5", site="South") == "430.1 USD"  # size before site
    assert found(log, "new_tire", size="11R22.5") is None
    assert log.prices is not None
    assert log.prices.currencies == ["CAD", "USD"]


def test_prices_hold_on_their_days_and_days_to_come_are_fine(readings: Table, positions: Table) -> None:
    log = wheelend.read_log(readings.columns(), positions.columns(), prices=Table(PRICES).columns(), today="2025-06-10")
    days = ("2024-12-31", "2025-01-01", "2025-12-31", "2026-01-01", "2040-01-01")
    assert [found(log, "retread", day_number(d)) for d in days] == [None, "205.5 USD", "205.5 USD", *["211.75 USD"] * 2]


def test_amounts_are_the_decimals_that_were_written(readings: Table, positions: Table) -> None:
    for text in ("0.1", "381.50", "123456.123456", "0"):
        prices = Table(PRICES).set(2, "amount", text)
        log = read(readings, positions, prices)
        assert found(log, "new_tire", size="295/75R22.5") == f"{Decimal(repr(float(text)))} USD"
    # A data frame of doubles, and more digits than a double has
    frame = pd.DataFrame({"item": ["new_tire", "labor"], "amount": [0.1, 0.7], "currency": ["usd", "EUR"]})
    log = wheelend.read_log(readings.columns(), positions.columns(), prices=frame)
    assert (found(log, "new_tire"), found(log, "labor")) == ("0.1 USD", "0.7 EUR")
    log = read(readings, positions, Table(PRICES).set(2, "amount", "100000000.1234561234561"))
    assert rules(log) == [(2, "too_fine", "row")]


@pytest.mark.parametrize(
    ("row", "column", "text", "rule"),
    [
        (2, "amount", "about 400", "not_a_number"),
        (2, "amount", "-5", "negative"),
        (2, "amount", "-", "missing_key"),
        (2, "currency", "$", "unknown_currency"),
        (2, "currency", "USX", "unknown_currency"),
        (2, "item", "tyre", "unknown_code"),
        (2, "amount", "1.1234567", "too_fine"),
    ],
)
def test_a_bad_key_costs_the_row(
    row: int, column: str, text: str, rule: str, readings: Table, positions: Table
) -> None:
    log = read(readings, positions, Table(PRICES).set(row, column, text))
    assert rules(log) == [(row, rule, "row")]
    assert found(log, "new_tire", size="295/75R22.5") is None
    assert found(log, "new_tire", size="295/75R22.5", role="steer") == "470.2 USD"
    counts = log.counts["prices"]
    assert (counts.rows_in, counts.rows_used, counts.rows_refused) == (7, 6, 1)


@pytest.mark.parametrize(
    ("column", "text", "rule"), [("role", "front", "unknown_code"), ("valid_to", "soon", "not_a_date")]
)
def test_a_condition_that_cannot_be_read_costs_the_row(
    column: str, text: str, rule: str, readings: Table, positions: Table
) -> None:
    # Without it the price would hold for every role, or for ever
    log = read(readings, positions, Table(PRICES).set(3, column, text))
    assert rules(log) == [(3, rule, "cell"), (3, "unread_condition", "row")]
    assert found(log, "new_tire", size="295/75R22.5", role="steer") == "430.1 USD"


def test_of_two_prices_for_one_thing_neither_holds(readings: Table, positions: Table) -> None:
    other = Table(PRICES).again(3, amount="471.00")
    log = read(readings, positions, other)
    assert sorted(rules(log)) == [(3, "conflict", "row"), (9, "conflict", "row")]
    assert found(log, "new_tire", size="295/75R22.5", role="steer") == "430.1 USD"
    messages = [str(m) for m in log.issues["message"]]
    assert all("valid_from" in m for m in messages)
    assert any("row 9" in m for m in messages)
    assert any("row 3" in m for m in messages)
    # In another currency it is another price too; on other days, or the same amount again, it is none
    assert len(rules(read(readings, positions, Table(PRICES).again(3, currency="CAD")))) == 2
    assert (
        rules(read(readings, positions, Table(PRICES).again(7, valid_from="2024-01-01", valid_to="2024-12-31"))) == []
    )
    assert rules(read(readings, positions, Table(PRICES).again(3))) == []
    # Three of which the first overlaps only the last
    three = Table(PRICES).again(6, amount="1", valid_to="2025-02-01").again(6, amount="2", valid_from="2025-11-01")
    assert [r for r, _, _ in sorted(rules(read(readings, positions, three)))] == [6, 9, 10]


def test_a_price_that_ends_before_it_begins_is_refused(readings: Table, positions: Table) -> None:
    log = read(readings, positions, Table(PRICES).set(6, "valid_to", "2024-12-31"))
    assert rules(log) == [(6, "order", "row")]


def test_a_table_without_a_usable_price_is_refused(readings: Table, positions: Table) -> None:
    with pytest.raises(wheelend.DataRefused, match="none of its 7 rows"):
        read(readings, positions, Table(PRICES).column("currency", "dollars"))
    with pytest.raises(wheelend.DataRefused, match="currency"):
        read(readings, positions, Table(PRICES).drop("currency"))


def test_prices_may_be_given_later(readings: Table, positions: Table) -> None:
    log = wheelend.read_log(readings.columns(), positions.columns())
    assert price_list(log, None) is None
    later = price_list(log, Table(PRICES).set(2, "amount", "x").columns())
    assert isinstance(later, PriceList)
    assert len(later) == 6
    assert rules(log) == [(2, "not_a_number", "row")]
    assert price_list(log, later) is later


def test_the_command_lists_problems_of_prices(run: Any, tmp_path: Any) -> None:
    files = [f"--{name}={SHIPPED / name}.csv" for name in ("readings", "positions", "tires", "prices")]
    shown = run("issues", *files, "-o", tmp_path / "issues.csv")
    assert shown.code == 0
    assert "prices: rows 37 in, 33 used, 4 not;" in shown.err


def test_the_shipped_prices_and_their_mistakes() -> None:
    rows = table(SHIPPED / "prices.csv")
    listed = [(int(row), column.strip("`"), text.strip("`")) for column, row, text, *_ in _mistakes()]
    assert [rows[row - 2][column] for row, column, _ in listed] == [text for *_, text in listed]
    log = wheelend.read_log(SHIPPED / "readings.csv", SHIPPED / "positions.csv", prices=SHIPPED / "prices.csv")
    found = [i for i in log.issues.to_pylist() if i["file"] == "prices.csv"]
    assert sorted((i["row"], i["column"]) for i in found) == sorted((row, column) for row, column, _ in listed)
    assert {i["effect"] for i in found} == {"row"}
    assert log.prices is not None
    assert {p.currency for p in log.prices} == {"USD"}
    assert dt.date(1970, 1, 1) + dt.timedelta(days=min(p.first for p in log.prices if p.first > 0)) == dt.date(
        2025, 1, 1
    )


def _mistakes() -> list[list[str]]:
    text = (SHIPPED / "ABOUT.md").read_text(encoding="utf-8").split("### Prices\n")[1].split("\n#")[0]
    rows = [[cell.strip() for cell in line[1:-1].split("|")] for line in text.splitlines() if line.startswith("| `")]
    assert rows
    assert about_rows()
    return rows


def test_currencies() -> None:
    # ISO 4217: minor units of a few, from memory
    assert {c: DECIMALS[c] for c in ("USD", "EUR", "JPY", "KWD")} == {"USD": 2, "EUR": 2, "JPY": 0, "KWD": 3}
    assert all(len(code) == 3 and code.isupper() for code in DECIMALS)
