"""Worked verdicts 61-66 (age and identification), 113 and 114 (records) of the project's list of limits."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import pytest

from cases import FAIL, NO_ROW, Case, P, drive, faults, judged, steer, tire, trailer
from wheelend.date_codes import date_code

AGE = "C&U Regulations 1986 as amended in 2020"
INSPECTION = "49 CFR 396.17"

CASES = [
    # The week of 0511 began on Sunday 30 Jan 2011; ten years are over on 5 Feb 2021 at the latest.
    Case(
        "61",
        AGE,
        [steer("9", "9", kind="truck", tire="X1", gvwr_kg="18000", read_on="2021-02-10")],
        {"UK-T-05": FAIL},
        tire(date_code="0511"),
        limits=("uk",),
        options=("--as-of", "2021-02-10"),
    ),
    Case(
        "62",
        AGE,
        [drive("9", "9", kind="truck", tire="X1", gvwr_kg="18000", read_on="2021-02-10")],
        {"UK-T-05": NO_ROW},
        tire(date_code="0511"),
        limits=("uk",),
        options=("--as-of", "2021-02-10"),
    ),
    # 13 months ago; the day itself and the next one are the project's own
    Case("114", INSPECTION, [trailer("9", "9", inspected_on="2024-05-10")], {"US-R-06": FAIL}),
    Case("114, 12 months", INSPECTION, [trailer("9", "9", inspected_on="2024-06-10")], {"US-R-06": P}),
    Case("114, 12 months and a day", INSPECTION, [trailer("9", "9", inspected_on="2024-06-09")], {"US-R-06": FAIL}),
]


@pytest.mark.parametrize("case", CASES, ids=lambda c: c.id)
def test_worked_verdict(case: Case, tmp_path: Path, run: Any) -> None:
    assert faults(case, judged(case, tmp_path, run)) == []


# Week 01 starts on the first Sunday of the year, weeks run from Sunday to Saturday: SOR/2013-198 s. 6(4)(c);
# 49 CFR 574.5(b)(3) (from memory).


def test_63_week_53_of_2023_is_there() -> None:
    found = date_code("5323")
    assert (found.status, found.week_begins, found.week_ends) == ("week", dt.date(2023, 12, 31), dt.date(2024, 1, 6))


def test_64_week_01_of_2024_begins_on_7_january() -> None:
    assert date_code("0124").week_begins == dt.date(2024, 1, 7)


def test_65_week_53_of_2022_is_not_there() -> None:
    found = date_code("5322")
    assert (found.status, found.week_begins) == ("no_such_week", None)


def test_66_three_digits_do_not_give_the_decade() -> None:
    found = date_code("317")  # 64 FR 36807: week, last digit of the year
    assert (found.status, found.week_begins) == ("decade_unknown", None)
    assert {week.year % 10 for week in found.candidates} == {7}
    assert len(found.candidates) > 1
    assert "week 31 of a year ending in 7" in found.words


def test_113_a_periodic_report_is_kept_for_14_months(run: Any) -> None:
    result = run("records", "periodic_report", "--dated", "2024-01-15")
    assert result.code == 0
    assert "49 CFR 396.21(b)" in result.out
    assert "through 2025-03-15" in result.out
