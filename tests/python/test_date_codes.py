"""Date codes and calendar ages against the rules that define them, and against the calendar of Python's datetime."""

from __future__ import annotations

import datetime as dt
from itertools import pairwise

import numpy as np
import pytest

from wheelend import _core
from wheelend.date_codes import DateCode, age_years, date_code
from wheelend.errors import BadCall

TODAY = dt.date(2025, 6, 10)
EPOCH = dt.date(1970, 1, 1)


def read(text: str | None, today: dt.date = TODAY) -> DateCode:
    return date_code(text, today=today)


def number(day: dt.date) -> int:
    return (day - EPOCH).days


def sundays(year: int) -> list[dt.date]:
    """By datetime alone."""
    days = (dt.date(year, 1, 1) + dt.timedelta(n) for n in range(366))
    return [day for day in days if day.isoweekday() == 7 and day.year == year]


# ---- the code: 49 CFR 574.5(b)(3); week 01 begins on the first Sunday, SOR/2013-198 s. 6(4)(c)


@pytest.mark.parametrize(
    ("code", "begins", "ends"),
    [
        ("0511", "2011-01-30", "2011-02-05"),
        ("5323", "2023-12-31", "2024-01-06"),
        ("0124", "2024-01-07", "2024-01-13"),
    ],
)
def test_a_code_of_four_digits_is_a_week(code: str, begins: str, ends: str) -> None:
    got = read(code)
    assert (got.status, str(got.week_begins), str(got.week_ends), got.candidates) == ("week", begins, ends, ())
    assert got.words == f"week {code[:2]} of 20{code[2:]}, Sunday {begins} to Saturday {ends}"


def test_a_week_that_its_year_has_not() -> None:
    got = read("5322")
    assert (got.status, got.week_begins, got.week_ends, got.candidates) == ("no_such_week", None, None, ())
    assert got.words == "there is no week 53 of 2022: its weeks are 01 to 52"


def test_three_digits_do_not_record_the_decade() -> None:
    got = read("317")  # 64 FR 36807
    assert (got.status, got.week_begins, got.week_ends) == ("decade_unknown", None, None)
    want = tuple(sundays(year)[30] for year in (1977, 1987, 1997, 2007, 2017))
    assert got.candidates == want
    assert "week 31 of a year ending in 7" in got.words
    assert "1977, 1987, 1997, 2007, 2017" in got.words
    assert read("317", want[-1]).candidates == want
    assert read("317", want[-1] - dt.timedelta(1)).candidates == want[:-1]


def test_every_code_of_2000_to_2040_is_a_sunday_of_datetime() -> None:
    for year in range(2000, 2041):
        days = sundays(year)
        assert _core.weeks_of_year(year) == len(days)
        for week in range(100):
            got = read(f"{week:02d}{year % 100:02d}", dt.date(2041, 12, 31))
            if 1 <= week <= len(days):
                assert (got.status, got.week_begins) == ("week", days[week - 1])
                assert got.week_ends == days[week - 1] + dt.timedelta(6)
            else:
                assert (got.status, got.week_begins) == ("no_such_week", None)


def test_weeks_are_not_those_of_iso_8601() -> None:
    got = read("5323")
    assert got.week_begins is not None
    assert got.week_begins.isocalendar()[:2] == (2023, 52)  # ISO 2023 has no week 53
    with pytest.raises(ValueError, match="53"):
        dt.date.fromisocalendar(2023, 53, 1)


def test_a_week_that_has_not_begun() -> None:
    sunday = sundays(2025)[22]
    assert read("2325", sunday).status == "week"
    got = read("2325", sunday - dt.timedelta(1))
    assert (got.status, got.week_begins) == ("in_the_future", None)
    assert got.words.startswith(f"week 23 of 2025 has not begun by {sunday - dt.timedelta(1)}")
    assert read("3198").status == "in_the_future"  # never 1998: it had three digits


def test_today_is_the_machines_date_unless_given() -> None:
    assert date_code("0511").status == "week"
    assert date_code("0511", today="2011-01-29").status == "in_the_future"
    assert date_code("0511", today=dt.datetime(2011, 1, 30, 12)).status == "week"


@pytest.mark.parametrize(
    "text",
    ["DOT 1AB C2D3E4 0511", "1ABC2D3E40511", "DOT-1AB-C2D3E4-0511", "ABC0511", "A1B2C3D 0511", " 0511 ", "\u00a00511"],
)
def test_an_identification_number_ends_in_its_code(text: str) -> None:
    got = read(text)  # 13 symbols or 7, 49 CFR 574.5(a); 8 to 12 before 80 FR 19553 (from memory)
    assert (got.text, str(got.week_begins)) == (text, "2011-01-30")


@pytest.mark.parametrize(
    "text",
    ["05 11", "05/11", "12", "10511", "-0511", "511.0", "20230511", "2023-05-11", "May 2023",
     "\uff10\uff15\uff11\uff11", "DOT 1AB C2D3EF", "AB0511", "\ud800", "x"],
)  # fmt: skip
def test_nothing_is_guessed(text: str) -> None:
    got = read(text)
    assert (got.status, got.week_begins, got.candidates) == ("not_a_date_code", None, ())
    assert repr(text) in got.words


@pytest.mark.parametrize("text", [None, "", "  ", "n/a", "None"])
def test_a_missing_code(text: str | None) -> None:
    assert (read(text).status, read(text).words) == ("missing", "no date code given")


def test_a_number_is_refused_since_its_leading_zero_is_lost() -> None:
    with pytest.raises(BadCall, match="leading zero"):
        date_code(511)  # type: ignore[arg-type]
    with pytest.raises(BadCall, match="today"):
        date_code("0511", today=20250610)  # type: ignore[arg-type]
    with pytest.raises(BadCall, match="YYYY-MM-DD"):
        date_code("0511", today="10.6.2025")


# ---- ages


def test_the_ten_year_rule_of_the_uk() -> None:
    # Construction and Use amendment of 2020: steer tires of heavy goods vehicles, 10 years from manufacture
    youngest, oldest = age_years("0511", "2021-02-10")
    assert 10.0 < youngest < oldest
    assert age_years("0511", "2021-02-05")[0] == 10.0
    assert age_years("0511", "2021-01-30")[1] == 10.0
    assert age_years("0511", "2021-01-30")[0] < 10.0


def test_age_within_the_week_itself() -> None:
    # A tire seen on the Tuesday was made between Sunday and that day: 2011-01-30 to 2012-01-30 are 365 days
    assert age_years("0511", "2011-02-01") == (0.0, 2 / 365)


def test_three_digits_leave_decades_between_the_ages() -> None:
    youngest, oldest = age_years("317", "2017-08-05")
    first, last = sundays(1977)[30], sundays(2017)[30] + dt.timedelta(6)
    assert (str(first), str(last)) == ("1977-07-31", "2017-08-05")
    assert youngest == 0.0
    assert oldest == 40 + 5 / 365  # since 31 July 2017, of the 365 days to 31 July 2018


def test_an_age_takes_what_date_code_gave() -> None:
    assert age_years(read("0511"), dt.date(2021, 2, 10)) == age_years("0511", "2021-02-10")
    # The day of the age counts, not the day on which the code was read.
    assert age_years(date_code("0511", today="2010-01-01"), "2021-02-10") == age_years("0511", "2021-02-10")


@pytest.mark.parametrize("code", ["", "5322", "05-11", "0525", "317x"])
def test_no_age_without_a_week(code: str) -> None:
    with pytest.raises(BadCall, match="no age without a week"):
        age_years(code, "2025-01-01")
    with pytest.raises(BadCall, match="on: expected a date"):
        age_years("0511", 2021)  # type: ignore[arg-type]


# ---- months and years of the core


def test_a_report_is_kept_for_14_months() -> None:
    # 49 CFR 396.21(b): dated 15 Jan 2024, kept through 15 Mar 2025
    assert _core.add_months(number(dt.date(2024, 1, 15)), 14) == number(dt.date(2025, 3, 15))


def test_an_inspection_of_13_months_ago_is_older_than_12() -> None:
    # 49 CFR 396.17: at least one every 12 months
    last = number(dt.date(2024, 5, 10))
    assert _core.calendar_months(last, number(dt.date(2025, 6, 10))) == 13.0
    assert _core.calendar_months(last, number(dt.date(2025, 5, 10))) == 12.0


def test_anniversaries_are_those_of_datetime() -> None:
    made = dt.date(2003, 7, 14)
    for years in range(40):
        day = number(made.replace(year=2003 + years))
        assert _core.calendar_years(number(made), day) == years
        assert years < _core.calendar_years(number(made), day + 1) < years + 1
        if years:
            assert years - 1 < _core.calendar_years(number(made), day - 1) < years


def test_29_february_has_its_anniversary_in_february() -> None:
    # Regulation (EEC, Euratom) No 1182/71, Art. 3(2)(c): a period of years ends in the month in which it began
    leap = number(dt.date(2012, 2, 29))
    assert _core.calendar_years(leap, number(dt.date(2022, 2, 28))) == 10.0
    assert _core.calendar_years(leap, number(dt.date(2022, 3, 1))) > 10.0
    assert _core.calendar_years(leap, number(dt.date(2016, 2, 29))) == 4.0
    assert _core.calendar_years(leap, number(dt.date(2016, 2, 28))) < 4.0


def test_columns_give_what_single_days_give() -> None:
    days = np.arange(number(dt.date(2019, 12, 25)), number(dt.date(2024, 3, 5)), 3, dtype=np.int32)
    later = _core.add_months(days, 13)
    assert later.dtype == np.int32
    assert later.tolist() == [_core.add_months(int(d), 13) for d in days]
    on = number(TODAY)
    for age in (_core.calendar_years, _core.calendar_months):
        single = [age(int(d), on) for d in days]
        assert age(days, on).tolist() == single
        assert age(days, np.full(len(days), on, np.int32)).tolist() == single
        assert all(a > b for a, b in pairwise(single))
        first = int(days[0])
        assert age(first, days).tolist() == [age(first, int(d)) for d in days]
        assert len(age(days[:0], on)) == 0


def test_the_core_refuses_bad_calls() -> None:
    day = number(TODAY)
    for age in (_core.calendar_years, _core.calendar_months):
        with pytest.raises(_core.ColumnError, match="2025-06-09 lies before 2025-06-10"):
            age(day, day - 1)
        with pytest.raises(_core.ColumnError, match="expected length 2, got 3"):
            age(np.zeros(2, np.int32), np.zeros(3, np.int32))
        with pytest.raises(_core.ColumnError, match="from_day"):
            age(1.5, day)
        with pytest.raises(_core.ColumnError, match="to_day"):
            age(day, np.zeros(2))
    with pytest.raises(_core.ColumnError, match="calendar"):
        _core.add_months(2**31 - 1, 1)
    with pytest.raises(_core.ColumnError, match="day"):
        _core.add_months("2025-06-10", 1)
    with pytest.raises(_core.ColumnError, match="9999"):
        _core.weeks_of_year(10_000)


def test_a_column_of_codes() -> None:
    texts = [b"0511", b"317", b"5322", b"3198", b"x", b"", b"DOT 1AB C2D3E4 5323"]
    offsets = np.cumsum([0, *map(len, texts)]).astype(np.int64)
    valid = np.array([1, 1, 1, 1, 1, 1, 1], np.uint8)
    cells = (offsets, np.frombuffer(b"".join(texts), np.uint8))
    status, first, last = _core.parse_date_codes(*cells, valid, number(TODAY))
    names = [_core.codes["date_code"][s] for s in status]
    assert names == ["week", "decade_unknown", "no_such_week", "in_the_future", "not_a_date_code", "missing", "week"]
    zeros = [0] * 5
    assert first.tolist() == [number(dt.date(2011, 1, 30)), *zeros, number(dt.date(2023, 12, 31))]
    assert last.tolist() == [number(dt.date(2011, 2, 5)), *zeros, number(dt.date(2024, 1, 6))]
    assert (status.dtype, first.dtype, last.dtype) == (np.uint8, np.int32, np.int32)
    valid[0] = 0
    assert _core.parse_date_codes(*cells, valid, number(TODAY))[0][0] == 5  # missing, as date_codes.hpp numbers it
