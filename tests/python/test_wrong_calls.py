"""Calls that cannot be answered say what was expected, whatever comes in the place of an argument."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import pytest

import wheelend as typed
from wheelend import pictures as typed_pictures
from wheelend.errors import BadCall

wheelend: Any = typed  # called as no type checker would allow
pictures: Any = typed_pictures
SAMPLE = Path(__file__).resolve().parents[2] / "data" / "samples" / "small_fleet"


@cache
def log() -> typed.Log:
    names = ("readings", "positions", "tires", "wheelend_readings", "prices")
    return typed.read_log(*(SAMPLE / f"{name}.csv" for name in names[:4]), prices=SAMPLE / f"{names[4]}.csv")


CALLS: dict[str, Callable[[], Any]] = {
    "limit: expected a number and a measure": lambda: wheelend.wear(log(), limit=4),
    "expected a date, or its text as YYYY-MM-DD, got 20260101": lambda: wheelend.judge(log(), as_of=20260101),
    "expected what wheelend.read_log returns, got str": lambda: wheelend.wear("readings.csv"),
    "read_log returns, got PosixPath": lambda: wheelend.fitments(SAMPLE / "readings.csv"),
    "read_log returns, got dict": lambda: wheelend.costs({"unit": ["T1"]}),
    "limits: expected names of sets": lambda: wheelend.judge(log(), limits=3),
    "months: expected 0 to 120, got 2.5": lambda: wheelend.demand(log(), months=2.5),
    "a seed from 0: got 10 and 1.5": lambda: wheelend.demand(log(), draws=10, seed=1.5),
    "use from 0 to 10, got 'x'": lambda: wheelend.demand(log(), changes={"use": "x"}),
    "service_level: expected a number": lambda: wheelend.orders(log(), service_level="high"),
    "torque: expected a number and a measure": lambda: wheelend.clamp_load(torque=475),
    "unread_after: expected days": lambda: wheelend.standing(log(), unread_after=-1),
    "depth: expected a number and a measure": lambda: wheelend.spot(kind="tractor", role="steer", depth=5),
    "most: expected 1 or more, got 'a'": lambda: pictures.due_data(log(), most="a"),
    "site: 'West' is not in the data (there are North, South)": lambda: wheelend.pressures(log(), site="West"),
    "by: the positions carry no column 'color' (there are role, ": lambda: wheelend.demand(log(), by="color"),
}


@pytest.mark.parametrize("words", CALLS)
def test_what_was_expected_is_said(words: str) -> None:
    with pytest.raises(BadCall) as refused:
        CALLS[words]()
    assert words in str(refused.value)


def test_a_unit_number_may_be_a_number() -> None:
    with pytest.raises(BadCall, match="unit: '104' is not in the data; did you mean T104"):
        wheelend.pressures(log(), unit=104)
    numbered = {
        "unit": [104], "axle": [1], "side": ["left"], "dual": ["single"], "kind": ["truck"], "role": ["steer"],
        "read_on": ["2025-06-10"], "pressure_psi": [100],
    }  # fmt: skip
    found = wheelend.pressures(wheelend.read_log(numbered), unit=104)
    assert found["unit"] == ["104"]
