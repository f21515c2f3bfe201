"""Spend, costs, orders and what-if cases: laws that hold to the last digit, and numbers worked out by hand."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from decimal import Decimal
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa
import pytest
from python_calamine import CalamineWorkbook

import wheelend
from wheelend import _results, _spend, dictionary, economics
from wheelend._demand import MOVED_ON, Future, demand_table, future, groups_of
from wheelend._orders import orders_table
from wheelend._prices import Price, PriceList
from wheelend._spend import PARTS, SPREAD, Terms, spending, spread_shares, texts_of
from wheelend._spend_table import spend_table
from wheelend._what_if import cases_of, difference, room_to_law, sums_of, what_if_table
from wheelend.errors import BadCall
from wheelend.verdicts import Selection

SAMPLE = Path(__file__).resolve().parents[2] / "data" / "samples" / "small_fleet"
NAMES = ("readings", "positions", "tires", "prices")
FILES = [f"--{name}={SAMPLE / name}.csv" for name in NAMES]
EVERYTHING = Selection(None, None, None)
EVER = (-(10**9), 10**9)


@cache
def log() -> wheelend.Log:
    return wheelend.read_log(*(SAMPLE / f"{n}.csv" for n in NAMES[:3]), prices=SAMPLE / "prices.csv")


@cache
def ahead() -> Future:
    return future(log(), months=7, draws=300, as_of="2025-11-20")


def prices(**amounts: str) -> PriceList:
    """``new_tire="410.25 USD"`` and so on, for everything and ever."""
    rows = []
    for i, (item, text) in enumerate(amounts.items()):
        amount, currency = text.split()
        rows.append(Price(item, Decimal(amount), currency, (None,) * 5, *EVER, i + 2))
    return PriceList(rows)


ALL = prices(
    new_tire="410.25 USD", retread="205.10 USD", casing_credit="40.05 USD", labor="38.5 USD", disposal="9.75 USD",
    downtime_visit="85 USD", downtime_hour="61.999 USD",
)  # fmt: skip


def spent(of: PriceList = ALL, terms: Terms | None = None, by: str | None = None, **changes: float) -> Any:
    group, names = groups_of(log(), by, EVERYTHING, ahead().day)
    return spending(ahead(), of, group, len(names), terms or Terms(), changes)


# ---- spend is the sum of its parts


def test_spend_is_what_the_tires_cost_counted_by_hand() -> None:
    group, _ = groups_of(log(), None, EVERYTHING, ahead().day)
    counts = ahead().counts(group).astype(np.int64)[:, :, 0]  # draws, months, sources, causes
    new, retread, moved = (counts[:, :, i].sum(axis=2) for i in range(3))
    worn, with_mate, damaged = (counts[..., i].sum(axis=2) for i in range(3))
    assert min(x.sum() for x in (new, retread, moved, worn, with_mate, damaged)) > 0
    found = spent()
    assert [s.currency for s in found.of] == ["USD"]
    spend = found.of[0]
    assert spend.places == 3  # 61.999
    by_hand = (
        410_250 * new + 205_100 * retread - 40_050 * (worn + with_mate) + 38_500 * (new + retread + moved)
        + 9_750 * damaged + (85_000 + 61_999) * (worn + damaged)
    )  # fmt: skip
    assert np.array_equal(spend.total[:, :, 0], by_hand)
    assert np.array_equal(spend.total, spend.parts.sum(axis=3))
    assert np.array_equal(found.tires[:, :, 0], new + retread)
    assert np.array_equal(found.by_cause["USD"].sum(axis=1), by_hand.sum(axis=1))
    assert found.unpriced.sum() == 0


def test_groups_and_periods_add_up_to_the_whole() -> None:
    whole = spent().of[0]
    for by in ("role", "site", "size", "unit"):
        parts = spent(by=by).of[0]
        assert np.array_equal(parts.total.sum(axis=2), whole.total[:, :, 0])
    rows = {per: spend_table(ahead(), None, EVERYTHING, ALL, Terms(), per)[0] for per in ("month", "quarter", "year")}
    for table in rows.values():
        assert sum(table["tires_mean"].to_pylist()) == pytest.approx(sum(rows["month"]["tires_mean"].to_pylist()))
        assert sum(table["days"].to_pylist()) == int(ahead().month_ends[-1])
        for row in table.to_pylist():
            assert row["spend_mean"] == sum(row[f"{part}_mean"] for part in PARTS)
    assert [len(t) for t in rows.values()] == [7, 3, 2]  # November to May


def test_a_currency_is_never_added_to_another() -> None:
    two = prices(new_tire="410.25 USD", retread="205.10 USD", labor="51 CAD", disposal="9 CAD")
    found = spent(two)
    assert {s.currency for s in found.of} == {"USD", "CAD"}
    usd = next(s for s in found.of if s.currency == "USD")
    assert usd.parts[..., [PARTS.index(p) for p in ("labor", "disposal", "downtime")]].sum() == 0
    table = spend_table(ahead(), "role", EVERYTHING, two, Terms())[0]
    assert table["currency"].to_pylist()[:2] == ["CAD", "USD"]
    tires = demand_table(ahead(), "role", EVERYTHING)[0]
    assert len(table) == 2 * len(tires)
    one = table.filter(pa.compute.equal(table["currency"], "USD"))
    assert one.select(tires.column_names).equals(tires)


def test_tires_without_a_price_are_told_not_guessed() -> None:
    row = Price("new_tire", Decimal("400"), "USD", (None, "295/75R22.5", None, None, None), *EVER, 2)
    found = spent(PriceList([row]))
    group, _ = groups_of(log(), None, EVERYTHING, ahead().day)
    bought = np.delete(ahead().counts(group), MOVED_ON, axis=3).sum(axis=(2, 3, 4))
    priced = found.of[0].total[:, :, 0] // 40_000
    assert 0 < priced.sum() < bought.sum()
    assert np.array_equal(priced + found.unpriced[:, :, 0], bought)


def test_prices_change_on_their_day() -> None:
    first, other = (Decimal("100"), Decimal("300"))
    day = (ahead().first_days[3] - ahead().first_days[0]).days + wheelend.log.day_number(ahead().first_days[0])
    rows = [
        Price(item, amount, "USD", (None,) * 5, *span, i)
        for i, (amount, span) in enumerate(((first, (EVER[0], day - 1)), (other, (day, EVER[1]))))
        for item in ("new_tire", "retread")
    ]
    found = spent(PriceList(rows))
    assert np.array_equal(found.of[0].total[:, :3], found.tires[:, :3] * 10_000)
    assert np.array_equal(found.of[0].total[:, 3:], found.tires[:, 3:] * 30_000)


def test_growth_and_discount() -> None:
    # 10 % growth and 10 % discount cancel; growth alone, at the middle of the second month, by hand
    flat = prices(new_tire="100.00 USD", retread="100.00 USD")
    plain, both = spent(flat), spent(flat, Terms(growth=0.10, discount=0.10))
    assert np.array_equal(plain.of[0].total, both.of[0].total)
    grown = spent(flat, Terms(growth=0.10)).of[0].total
    days = (int(ahead().month_ends[0]) + int(ahead().month_ends[1])) / 2
    unit = round(Decimal(10_000) * Decimal("1.10") ** (Decimal(days) / Decimal("365.25")))
    assert np.array_equal(grown[:, 1], plain.tires[:, 1] * int(unit))
    # A doubt of the growth widens, and keeps the middle: sums of parts are still exact
    doubt = spent(flat, Terms(growth=0.10, growth_sd=0.3)).of[0]
    assert np.array_equal(doubt.total, doubt.parts.sum(axis=3))
    ratio = doubt.total[:, -1].sum() / grown[:, -1].sum()
    assert ratio == pytest.approx(1.0, abs=0.05)  # exp of a normal of sd 0.14, less than 1 % above 1, and chance
    assert doubt.total.sum(axis=(1, 2)).std() > grown.sum(axis=(1, 2)).std()


def test_shares_of_the_spread_add_up() -> None:
    mask = np.ones(len(log().positions), bool)
    plain = spread_shares(ahead(), ALL, mask, Terms())
    wide = spread_shares(ahead(), ALL, mask, Terms(growth_sd=0.5))
    for shares in (plain, wide, spread_shares(ahead(), None, mask, Terms())):
        assert tuple(shares) == SPREAD
        assert sum(shares.values()) == pytest.approx(1.0)
        assert min(shares.values()) >= 0.0
    assert plain["price"] == 0.0
    assert wide["price"] > 0.2


@pytest.mark.parametrize(
    ("words", "call"),
    [
        ("price_growth", lambda: Terms(growth=-1.0)),
        ("growth_sd", lambda: Terms(growth_sd=-0.1)),
        ("hours", lambda: Terms(hours=float("nan"))),
        ("per", lambda: wheelend.demand(log(), per="week")),
        ("too large", lambda: spent(prices(new_tire="999999999.999999 USD"))),
        ("no prices", lambda: wheelend.costs(wheelend.read_log(SAMPLE / "readings.csv", SAMPLE / "positions.csv"))),
        ("by: expected", lambda: wheelend.costs(log(), by="color")),
        ("service_level", lambda: wheelend.orders(log(), service_level=1.0, draws=5)),
        ("months", lambda: wheelend.orders(log(), months=0)),
        ("together", lambda: wheelend.orders(log(), visits=True, together=999)),
        ("pull_32nds", lambda: wheelend.whatif(log(), pull_32nds=0.0, draws=5)),
        ("tire_wear", lambda: wheelend.whatif(log(), tire_wear=0.0, draws=5)),
        ("changes", lambda: wheelend.whatif(log(), changes={"color": 1.0}, draws=5)),
    ],
)
def test_bad_calls_are_refused(words: str, call: Callable[[], object]) -> None:
    with pytest.raises(BadCall, match=words):
        call()


# ---- what if


def cases(**how: Any) -> list[Any]:
    given = {"pull_32nds": 1.0, "use": 0.1, "tire_wear": None, "tire_wear_se": 0.0, "changes": None} | how
    return cases_of(ahead(), EVERYTHING, "2025-11-20", room_to_law(ahead(), None, "us-federal"), **given)


def test_no_change_is_the_base_case_to_the_last_digit() -> None:
    mask = np.ones(len(log().positions), bool)
    base = sums_of(ahead(), ALL, Terms(), mask, {})
    for changes in ({}, {"use": 1.0, "wear": 1.0, "pull_shift_mm": 0.0, "moved_share": 1.0, "growth_per_year": 0.0}):
        own = cases(changes=changes)[-1]
        less = difference(ahead(), ALL, Terms(), mask, base, own)
        assert not less.tires.any()
        assert not less.spend["USD"].any()
    one, two = (
        wheelend.demand(log(), months=4, draws=50, changes=c).to_pylist() for c in (None, {"use": 1.0, "wear": 1.0})
    )
    assert one == two


def test_cases_go_the_way_they_must() -> None:
    table = what_if_table(ahead(), ALL, Terms(), EVERYTHING, cases(tire_wear=0.5, tire_wear_se=0.1))
    rows = {r["case"]: r for r in table.to_pylist()}
    assert [r.name for r in dictionary.RESULTS["whatif"]] == table.column_names
    assert rows["pull_earlier"]["tires_more"] > 0 > rows["pull_later"]["tires_more"]
    assert rows["use_up"]["tires_more"] > 0 > rows["use_down"]["tires_more"]
    assert rows["no_moves"]["tires_more"] > 0 > rows["pressures_on_target"]["tires_more"]
    for row in rows.values():
        assert row["tires_more_p10"] <= row["tires_more_p50"] <= row["tires_more_p90"]
        assert row["spend_more_p10"] <= row["spend_more_p50"] <= row["spend_more_p90"]
        assert (row["tires_more"] > 0) == (row["spend_more"] > 0) or abs(row["tires_more"]) < 0.1


def test_another_tire_changes_what_its_replacements_need() -> None:
    # Three years: within months hardly any tire that is still to be bought comes to its limit.
    far = future(log(), months=36, draws=100, as_of="2025-11-20")
    room = room_to_law(far, None, "us-federal")
    more = {}
    for ratio, se in ((0.5, 0.0), (1.0, 0.0), (2.0, 0.0), (0.5, 0.1)):
        of = cases_of(far, EVERYTHING, "2025-11-20", room, 1.0, 0.1, ratio, se, None)
        table = what_if_table(far, ALL, Terms(), EVERYTHING, [c for c in of if c.name == "other_tire"])
        more[ratio, se] = table.to_pylist()[0]
    assert more[1.0, 0.0]["tires_more"] == more[1.0, 0.0]["spend_more"] == 0
    for key in ((0.5, 0.0), (0.5, 0.1)):
        assert more[key]["tires_more_p90"] < 0
        assert more[key]["spend_more_p90"] < 0
    assert more[2.0, 0.0]["tires_more_p10"] > 0
    # What is at stake: a fleet of tires that wear half as fast needs fewer, but those in use go on as they were.
    base = more[0.5, 0.0]["tires_base"]
    assert base / 2 < base + more[0.5, 0.0]["tires_more"] < base
    # The doubt of the ratio makes the difference wider
    widths = [more[0.5, se]["tires_more_p90"] - more[0.5, se]["tires_more_p10"] for se in (0.0, 0.1)]
    assert widths[0] < widths[1]


def test_the_pressure_case_holds_the_doubt_of_its_effect() -> None:
    case = next(c for c in cases() if c.name == "pressures_on_target")
    assert case.of_draw is not None
    assert (case.of_draw.min(), case.of_draw.max()) == pytest.approx(economics.LIFE_LOST_SPAN, abs=0.01)
    assert case.by_role is not None
    weak, strong = case.by_role(0.75), case.by_role(2.25)
    assert all(1.0 > weak[r]["wear"] > strong[r]["wear"] for r in weak)
    # By hand: the mean of what each position of a role loses
    found = wheelend.pressures(log(), as_of="2025-11-20").to_pylist()
    steer = [
        r for r, p in zip(found, _roles(found), strict=True) if p == "steer" and r["deviation_percent"] is not None
    ]
    lost = [min(max(-r["deviation_percent"], 0.0), 20.0) * 2.25 / 100 for r in steer]
    assert strong[wheelend._core.codes["role"].index("steer")]["wear"] == pytest.approx(1 - np.mean(lost))


def _roles(rows: list[dict[str, Any]]) -> list[str]:
    at = _results.positions_of(log(), pa.Table.from_pylist(rows))
    codes = wheelend._core.codes["role"]
    return [codes[log().positions.columns["role"][p]] for p in at]


def test_no_tire_is_pulled_below_the_law() -> None:
    # Drive tires of the sample are pulled at 4/32 in, the law asks for 2/32 in; a habit of pulling lower takes from it
    room = room_to_law(ahead(), None, "us-federal")
    drive = wheelend._core.codes["role"].index("drive")
    habit = ahead().fleet.practice["roles"][drive]["pull_mm"]
    assert room[drive] == pytest.approx(2 * 0.79375 + habit)
    at_law = room_to_law(ahead(), "2/32 in", "us-federal")
    case = cases_of(ahead(), EVERYTHING, None, dict.fromkeys(at_law, 0.0), 1.0, 0.1, None, 0.0, None)[1]
    assert case.by_role is not None
    assert case.by_role(1.0) == {}


# ---- costs


def test_costs_by_hand() -> None:
    rows = wheelend.costs(log()).to_pylist()
    wear = {tuple(r[n] for n in ("unit", "axle", "side", "dual")): r for r in wheelend.wear(log()).to_pylist()}
    assert len(rows) == len(wear)
    row = next(r for r in rows if r["unit"] == "T101" and r["axle"] == 1 and r["side"] == "left")
    w = wear["T101", 1, "left", "single"]
    assert (row["price"], row["casing_value"], row["new_32nds"]) == (Decimal("489.50"), Decimal("58.00"), 18.0)
    per = (Decimal("489.50") + Decimal("38.50") - Decimal("58.00")) / (18 - 6)
    assert row["cost_per_32nds"] == per.quantize(Decimal("0.0001"))
    assert float(row["cost_per_mi"]) == pytest.approx(float(per) * w["rate_32nds_per_1000mi"] / 1000, abs=1e-8)
    assert float(row["tread_value"]) == pytest.approx(float(per) * (w["depth_32nds"] - 6), abs=0.0051)
    assert {r["currency"] for r in rows} == {"USD"}
    low = [r for r in rows if r["under_percent"] and r["under_inflation_per_month"] is not None]
    assert low
    for r in low:
        month = (
            float(r["cost_per_32nds"])
            * wear[tuple(r[n] for n in ("unit", "axle", "side", "dual"))]["rate_32nds_per_month"]
        )
        for name, percent in (("", 1.5), ("_low", 0.75), ("_high", 2.25)):
            want = month * min(r["under_percent"], 20) * percent / 100
            assert float(r[f"under_inflation{name}_per_month"]) == pytest.approx(want, abs=0.0051)


def test_costs_of_an_early_day_are_of_the_tires_of_that_day() -> None:
    # The number that stood in the last row of each place up to then; that of some is another today
    early = "2025-08-31"
    written = [r for r in csv.DictReader((SAMPLE / "readings.csv").read_text("utf-8").splitlines()) if r["tire"]]
    last = {(r["unit"], r["axle"], r["side"], r["dual"]): r["tire"] for r in written if r["read_on"][:10] <= early}
    then = wheelend.costs(log(), as_of=early).to_pylist()
    assert len(then) > 200
    for r in then:
        assert r["tire"] == last.get((r["unit"], str(r["axle"]), r["side"], r["dual"])), r
    today = {(r["unit"], r["axle"], r["side"], r["dual"]): r["tire"] for r in wheelend.costs(log()).to_pylist()}
    assert any(r["tire"] != today.get((r["unit"], r["axle"], r["side"], r["dual"])) for r in then)


def test_sums_of_costs_are_those_of_the_positions() -> None:
    rows = wheelend.costs(log()).to_pylist()
    for by in ("make", "design", "size", "role", "site"):
        groups = wheelend.costs(log(), by=by).to_pylist()
        assert sum(g["tires"] for g in groups) == len(rows)
        for name in ("tread_value", "casing_value"):
            whole, parts = (sum((r[name] for r in t if r[name] is not None), Decimal(0)) for t in (rows, groups))
            assert abs(whole - parts) <= Decimal("0.005") * (len(rows) + len(groups))  # each is rounded once


def test_costs_say_what_is_missing() -> None:
    only = PriceList([Price("new_tire", Decimal(400), "USD", (None, "295/75R22.5", None, None, None), *EVER, 2)])
    rows = wheelend.costs(log(), only).to_pylist()
    without = [r for r in rows if r["currency"] is None]
    assert without
    assert all(r["price"] is None and "no price" in r["reason"] for r in without)
    mixed = prices(new_tire="400 USD", retread="200 USD", labor="40 CAD")
    assert {r["reason"] for r in wheelend.costs(log(), mixed).to_pylist()} >= {"labor is in CAD: left out"}


def test_pull_depths_have_a_best_and_a_floor() -> None:
    rows = wheelend.costs(log(), pulls=True).to_pylist()
    assert rows
    for role, size in {(r["role"], r["size"]) for r in rows}:
        mine = [r for r in rows if (r["role"], r["size"]) == (role, size)]
        best = [r for r in mine if r["best"]]
        assert len(best) == 1
        assert best[0]["excess_percent"] == 0.0
        assert best[0]["cost_per_1000mi"] == min(r["cost_per_1000mi"] for r in mine if r["allowed"])
        floor = 5 if role == "steer" else 3  # 49 CFR 393.75(b), (c), and 1/32 in
        assert [r["allowed"] for r in mine] == [r["pull_32nds"] >= floor for r in mine]
        assert all(r["allowed"] for r in mine if r["flat"])


# ---- orders


def test_the_shelf_is_enough_as_often_as_asked() -> None:
    for level in (0.5, 0.9, 0.99):
        table = orders_table(ahead(), level, EVERYTHING)
        roles, names = groups_of(log(), "role", EVERYTHING, ahead().day)
        counts = ahead().counts(roles, len(names)).sum(axis=4)
        k = names.index("steer")
        new = counts[:, :, k, 0].cumsum(axis=1)
        found = [r for r in table.to_pylist() if r["role"] == "steer" and r["tire"] == "new"]
        for m, day in enumerate(ahead().first_days):
            assert sum(r["expected"] for r in found if r["have_by"] == day) == pytest.approx(
                new[:, m].mean() - (new[:, m - 1].mean() if m else 0)
            )
        # Each size by itself: counted again from the sizes of the tires in use
        sizes = sorted({r["size"] for r in found})
        assert len(sizes) > 1
        of = zip(*(texts_of(log(), name, ahead().day) for name in ("role", "size")), strict=True)
        of_size = np.array([sizes.index(s) if role == "steer" and s in sizes else -1 for role, s in of], np.int32)
        each = ahead().counts(of_size, len(sizes))[:, :, :, 0].sum(axis=3).cumsum(axis=1)
        for r in found:
            need = each[:, ahead().first_days.index(r["have_by"]), sizes.index(r["size"])]
            assert (need <= r["tires_so_far"]).mean() >= level
        for r in found:
            before = [o["tires"] for o in found if o["size"] == r["size"] and o["have_by"] <= r["have_by"]]
            assert sum(before) == r["tires_so_far"]


def test_more_service_takes_more_tires() -> None:
    sums = [sum(orders_table(ahead(), p, EVERYTHING)["tires"].to_pylist()) for p in (0.5, 0.8, 0.95, 0.99)]
    assert sums == sorted(sums)
    assert sums[0] < sums[-1]


def test_a_visit_does_what_is_due_soon() -> None:
    visits = wheelend.orders(log(), visits=True, months=6, together=30).to_pylist()
    wear = wheelend.wear(log()).to_pylist()
    last = log().last_day
    horizon = last.toordinal() + round(6 * 365.25 / 12)
    due = [r for r in wear if r["due_p50"] is not None and r["due_p50"].toordinal() <= horizon]
    assert sum(v["tires"] for v in visits) >= len(due)
    assert sum(len(v["positions"].split("; ")) for v in visits) == sum(v["tires"] for v in visits)
    for v in visits:
        assert v["visit_on"] >= last
        assert (v["last_due_p50"] - v["visit_on"]).days <= 30
    for unit in {v["unit"] for v in visits}:
        days = [v["visit_on"] for v in visits if v["unit"] == unit]
        assert all((b - a).days > 30 for a, b in pairwise(days))
    alone = wheelend.orders(log(), visits=True, months=6, together=0).to_pylist()
    assert len(alone) > len(visits)


# ---- the commands


@pytest.mark.parametrize(
    ("arguments", "name", "shows"),
    [
        (["demand", "--draws=60", "--months=5"], "demand", "The spread of the sum comes from"),
        (["demand", "--draws=60", "--months=5", "--by=role", "--per=quarter", "--price-growth=0.03"], "", "2026 Q2"),
        (["costs"], "costs", "USD: tread left"),
        (["costs", "--by=design"], "", "Millrace"),
        (["costs", "--pulls"], "pulls", "illustrative"),
        (["whatif", "--draws=40", "--months=2"], "whatif", "pressures_on_target"),
    ],
)
def test_commands(arguments: list[str], name: str, shows: str, run: Any, tmp_path: Path) -> None:
    shown = run(*arguments, *FILES)
    assert (shown.code, shows in shown.out) == (0, True), shown
    assert max(map(len, shown.out.splitlines())) <= 80
    out = tmp_path / "out.parquet"
    assert run(*arguments, *FILES, "-o", out).code == 0
    table = pa.parquet.read_table(out)
    if name:
        known = [r.name.replace("<m>", "32nds") for r in dictionary.RESULTS[name] if r.name != "<by>"]
        assert table.column_names == known
    assert [f for f in table.schema if pa.types.is_decimal(f.type)]


def test_costs_are_told_by_the_distance_that_is_read(run: Any, tmp_path: Path) -> None:
    """The same fleet with its odometers in kilometers: each cost per 1000 mi by 1.609344 is that per 1000 km."""
    with (SAMPLE / "readings.csv").open(encoding="utf-8") as file:
        head, *rows = list(csv.reader(file))
    at = head.index("odometer_mi")
    head[at] = "odometer_km"
    for row in rows:
        row[at] = row[at] and repr(float(row[at]) * 1.609344)
    with (tmp_path / "readings.csv").open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([head, *rows])
    by_role = {}
    for far, files in (("MI", FILES), ("KM", [f"--readings={tmp_path / 'readings.csv'}", *FILES[1:]])):
        header, *lines = run("costs", "--by=role", *files).out.splitlines()
        assert f"PER 1000 {far}" in header
        by_role[far] = {
            line.split()[0]: float(line.split()[2]) for line in lines if line.startswith(("drive", "steer"))
        }
    for role, per_mi in by_role["MI"].items():
        assert by_role["KM"][role] == pytest.approx(per_mi / 1.609344, abs=0.01)  # both rounded to hundredths


def test_amounts_keep_their_digits_in_files(tmp_path: Path) -> None:
    amounts = [Decimal("12345678901234567.89"), None, Decimal("-0.10")]
    table = pa.table({"amount": pa.array(amounts, pa.decimal128(38, 2))})
    for suffix in (".csv", ".json", ".parquet"):
        _results.write(table, tmp_path / f"out{suffix}")
    assert pa.parquet.read_table(tmp_path / "out.parquet")["amount"].to_pylist() == amounts
    assert (tmp_path / "out.csv").read_text().splitlines()[1:] == ["12345678901234567.89", "", "-0.10"]
    rows = json.loads((tmp_path / "out.json").read_text())
    assert [r["amount"] for r in rows] == ["12345678901234567.89", None, "-0.10"]
    _results.write(table, tmp_path / "out.xlsx")  # a spreadsheet's numbers are doubles: 15 digits
    assert float(CalamineWorkbook.from_path(tmp_path / "out.xlsx").get_sheet_by_index(0).to_python()[3][0]) == -0.1


@pytest.mark.parametrize(
    ("arguments", "name"), [(["orders", "--draws=60"], "orders"), (["orders", "--visits"], "visits")]
)
def test_orders_commands(arguments: list[str], name: str, run: Any, tmp_path: Path) -> None:
    files = [f for f in FILES if "prices" not in f]
    shown = run(*arguments, *files)
    assert shown.code == 0
    assert max(map(len, shown.out.splitlines())) <= 80
    out = tmp_path / "out.parquet"
    assert run(*arguments, *files, "-o", out).code == 0
    assert pa.parquet.read_table(out).column_names == [r.name for r in dictionary.RESULTS[name]]


def test_the_contract_s_columns(run: Any, tmp_path: Path) -> None:
    out = tmp_path / "demand.csv"
    assert run("demand", *FILES, "--months=3", "--draws=40", "-o", out).code == 0
    header = out.read_text().splitlines()[0].replace('"', "").split(",")
    wanted = ["month", "tires_p10", "tires_p50", "tires_p90", "spend_p10", "spend_p50", "spend_p90", "currency"]
    assert [c for c in header if c in wanted] == wanted


def test_the_parts_are_named() -> None:
    assert {f"{p}_mean" for p in PARTS} <= {r.name for r in dictionary.RESULTS["demand"]}
    assert set(_spend.SPREAD_WORDS) == set(SPREAD)
