"""The border between NumPy and the core: what is refused and by which name, what is never shared, what always holds."""

from __future__ import annotations

import copy
import datetime as dt
import math
import pickle
from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction
from types import SimpleNamespace
from typing import Any

import numpy as np
import pyarrow as pa
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import wheelend
from wheelend import _core, _facts, limit_sets, measures

Columns = dict[str, Any]
AS_OF = 20_000


def log_of(positions: Columns | None = None) -> Any:
    """What facts and conditions are made from: the positions alone, and no text."""
    return SimpleNamespace(
        position_facts=positions or {}, tire_facts={}, wheelend_facts={}, text_names=[], attribute_names=[]
    )


RULES = limit_sets.load("us-federal").core_rows(log_of())


def facts_of(positions: Columns) -> list[Columns]:
    return _facts.columns_of(log_of(positions))


WHEELENDS: Columns = {
    "position": np.zeros(0, np.int32), "axle": np.zeros(0, np.int32), "side": np.zeros(0, np.int8),
    "dual": np.zeros(0, np.int8), "microsecond": np.zeros(0, np.int64), "day": np.zeros(0, np.int32),
    "quantity": np.zeros(0, np.int32), "value": np.zeros(0), "measure": np.zeros(0, np.uint8),
}  # fmt: skip


def judged(
    readings: Columns, positions: Columns, tires: Columns, rules: list[Any], all: bool, facts: list[Columns]
) -> Columns:
    found: Columns = _core.judge(readings, positions, tires, WHEELENDS, facts, rules, AS_OF, all, False)
    return found


def runs(examples: int) -> Any:
    """A fixed seed: a test run says the same twice. The time of one example depends on the machine, so none is set."""
    return settings(
        max_examples=examples, derandomize=True, deadline=None, suppress_health_check=[HealthCheck.too_slow]
    )


# dtype of every column that the core takes
READINGS = {
    "position": np.int32, "microsecond": np.int64, "day": np.int32, "place": np.int32, "barred": np.uint64,
    "inadmissible": np.uint64, "pressure": np.float64, "inflated_to": np.float64, "warm": np.int8,
    "speed_last_hour": np.float64, "odometer": np.float64, "tire": np.int32, "event": np.int8, "conflict": np.uint8,
}  # fmt: skip
POSITIONS = {
    "kind": np.int8, "role": np.int8, "axle": np.int32, "target": np.float64, "needed": np.float64, "pull": np.float64,
    "sidewall_max": np.float64, "rated_load": np.float64, "retread": np.int8, "regrooved": np.int8,
}  # fmt: skip
MEASURE = {
    "pressure": "psi", "inflated_to": "psi", "speed_last_hour": "mph", "odometer": "mi", "target": "psi",
    "needed": "psi", "pull": "32nds", "sidewall_max": "psi", "rated_load": "lb", "grooves": "32nds", "new": "32nds",
}  # fmt: skip


def with_measure(name: str, values: Any) -> Any:
    return (values, MEASURE[name], []) if name in MEASURE else values


@pytest.fixture
def readings() -> Columns:
    """Three readings of two positions, with every column that the core knows."""
    values = {
        "position": [0, 0, 1], "microsecond": [1, 2, 2], "day": [19_000, 19_001, 19_001], "place": [1, 1, 1],
        "barred": [3, 3, 3], "inadmissible": [0, 0, 0], "pressure": [100, 99, 98], "inflated_to": [100, 100, 100],
        "warm": [0, 0, 0], "speed_last_hour": [0, 0, 0], "odometer": [1000, 2000, 2000], "tire": [0, 0, 1],
        "event": [-1, -1, -1], "conflict": [0, 0, 0],
    }  # fmt: skip
    out = {name: with_measure(name, np.array(values[name], dtype)) for name, dtype in READINGS.items()}
    out["grooves"] = [(np.array([9.0, 8.0, 7.0]), "32nds", []), (np.array([9.0, 8.0, 1.0]), "32nds", [])]
    return out


@pytest.fixture
def positions() -> Columns:
    values = {
        "kind": [1, 3], "role": [0, 2], "axle": [1, 1], "target": [100, 95], "needed": [90, 90], "pull": [6, 4],
        "sidewall_max": [120, 120], "rated_load": [6000, 6000], "retread": [0, 0], "regrooved": [0, 0],
    }  # fmt: skip
    out = {name: with_measure(name, np.array(values[name], dtype)) for name, dtype in POSITIONS.items()}
    out["unit"] = np.array([0, 1], np.int32)
    return out


@pytest.fixture
def facts(positions: Columns) -> list[Columns]:
    """Made before a test spoils the columns of the positions."""
    return facts_of(dict(positions))


@pytest.fixture
def judge(readings: Columns, positions: Columns, facts: list[Columns]) -> Callable[..., Columns]:
    def call(tires: Columns | None = None, rules: list[Any] = RULES, all: bool = False) -> Columns:
        return judged(readings, positions, tires or {}, rules, all, facts)

    return call


# ---- refusals


def spoil(name: str, columns: Columns, change: Callable[[Any], Any]) -> None:
    old = columns[name]
    columns[name] = (change(old[0]), *old[1:]) if isinstance(old, tuple) else change(old)


def wrong_type(values: Any) -> Any:
    return values.astype(np.float32 if values.dtype.kind == "f" else np.float64)


def two_dimensions(values: Any) -> Any:
    return values.reshape(1, -1)


def no_dimension(values: Any) -> Any:
    return np.array(values[0])


def with_gaps(values: Any) -> Any:
    return np.repeat(values, 2)[::2]


def backwards(values: Any) -> Any:
    return values[::-1]


def a_list(values: Any) -> Any:
    return values.tolist()


def too_long(values: Any) -> Any:
    return np.concatenate([values, values[:1]])


def swapped_bytes(values: Any) -> Any:
    return values.astype(values.dtype.newbyteorder()) if values.itemsize > 1 else wrong_type(values)


REFUSALS = [wrong_type, two_dimensions, no_dimension, with_gaps, backwards, a_list, too_long, swapped_bytes]


@pytest.mark.parametrize("change", REFUSALS, ids=lambda f: f.__name__)
@pytest.mark.parametrize("name", READINGS)
def test_a_column_of_readings_is_refused_by_name(name: str, change: Any, readings: Columns, judge: Any) -> None:
    spoil(name, readings, change)
    # 'position' sets the number of rows: when it is too long, the first column that differs is named
    named = "microsecond" if (name, change) == ("position", too_long) else name
    with pytest.raises(_core.ColumnError, match=named):
        judge()


@pytest.mark.parametrize("change", REFUSALS, ids=lambda f: f.__name__)
@pytest.mark.parametrize("name", POSITIONS)
def test_a_column_of_positions_is_refused_by_name(name: str, change: Any, positions: Columns, judge: Any) -> None:
    spoil(name, positions, change)
    named = "kind" if (name, change) == ("axle", too_long) else name
    with pytest.raises(_core.ColumnError, match=named):
        judge()


@pytest.mark.parametrize("change", REFUSALS, ids=lambda f: f.__name__)
def test_a_groove_is_refused_by_name(change: Any, readings: Columns, judge: Any) -> None:
    values, measure, texts = readings["grooves"][1]
    readings["grooves"][1] = (change(values), measure, texts)
    with pytest.raises(_core.ColumnError, match="grooves"):
        judge()


@pytest.mark.parametrize("change", [c for c in REFUSALS if c is not too_long], ids=lambda f: f.__name__)
@pytest.mark.parametrize("name", ["sidewall_max", "rated_load", "new", "retread", "regrooved"])
def test_a_column_of_tires_is_refused_by_name(name: str, change: Any, judge: Any) -> None:
    values = np.array([0, 1], np.int8) if name in ("retread", "regrooved") else np.array([100.0, 120.0])
    tires = {name: with_measure(name, values)}
    spoil(name, tires, change)
    with pytest.raises(_core.ColumnError, match=name):
        judge(tires)


def test_the_columns_as_they_are_give_verdicts(judge: Any) -> None:
    # Without this, the refusals above could come from anything.
    found = judge()
    assert len(found["verdict"]) > 10
    assert set(found["position"]) == {0, 1}


@pytest.mark.parametrize("name", [n for n in READINGS if n not in ("position", "microsecond", "day")])
@pytest.mark.parametrize("absent", ["none", "missing"])
def test_an_optional_column_may_be_left_out(name: str, absent: str, readings: Columns, judge: Any) -> None:
    if absent == "none":
        readings[name] = None
    else:
        del readings[name]
    assert len(judge()["verdict"]) > 0


def test_more_grooves_than_bits_are_refused(readings: Columns, judge: Any) -> None:
    readings["grooves"] = [readings["grooves"][0]] * 65
    with pytest.raises(_core.ColumnError, match="grooves: at most 64"):
        judge()


@pytest.mark.parametrize("index", [2, 99, 2**31 - 1])
def test_a_position_that_is_not_there(index: int, readings: Columns, judge: Any) -> None:
    readings["position"][1] = index
    with pytest.raises(_core.ColumnError, match="position"):
        judge()


@pytest.mark.parametrize("index", [-1, -2, -(2**31)])
def test_a_negative_position_leaves_the_row_out(index: int, readings: Columns, judge: Any) -> None:
    readings["position"][:] = [0, index, index]
    assert set(judge()["position"]) == {0}


@pytest.mark.parametrize("index", [2, 2**31 - 1])
@pytest.mark.parametrize("name", ["sidewall_max", "rated_load", "new", "retread", "regrooved"])
def test_a_tire_that_is_not_there(name: str, index: int, readings: Columns, judge: Any) -> None:
    values = np.array([0, 1], np.int8) if name in ("retread", "regrooved") else np.array([100.0, 120.0])
    readings["tire"][2] = index
    with pytest.raises(_core.ColumnError, match="tire"):
        judge({name: with_measure(name, values)})


# The core indexes tables by these codes.
@pytest.mark.parametrize("code", [99, "first beyond"])
@pytest.mark.parametrize("name", ["kind", "role"])
def test_a_code_that_is_not_there(name: str, code: Any, positions: Columns, judge: Any) -> None:
    positions[name][1] = len(_core.codes[name]) if code == "first beyond" else code
    with pytest.raises(_core.ColumnError, match=name):
        judge()


@pytest.mark.parametrize("units", [0, 1])
def test_a_unit_that_is_not_there(units: int, readings: Columns, positions: Columns) -> None:
    with pytest.raises(_core.ColumnError, match="unit"):
        _core.odometers_out_of_line(readings, positions, units)


@pytest.mark.parametrize("key", ["statistic", "sense", "severity"])
def test_unknown_words_of_a_limit(key: str, judge: Any) -> None:
    rules = copy.deepcopy(RULES)
    rules[0][key] = "no such word"
    with pytest.raises(_core.LimitError, match=f"{key} 'no such word' is not one of"):
        judge(rules=rules)


def test_unknown_relation_of_a_condition(judge: Any) -> None:
    rules = copy.deepcopy(RULES)
    next(r for r in rules if r["where"])["where"][0]["relation"] = "=="
    with pytest.raises(_core.LimitError, match="relation '=='"):
        judge(rules=rules)


# Numbers of rows and facts index the core's tables.
@pytest.mark.parametrize("beyond", [-2, 10_000])
@pytest.mark.parametrize(("key", "change"), [
    ("except", lambda row, i: row.update({"except": [i]})),
    ("where", lambda row, i: row["where"][0].update(fact=i)),
    ("where", lambda row, i: row.update(needs=[{**row["where"][0], "fact": i}])),
    ("base", lambda row, i: row.update(bases=[i])),
    ("or_base", lambda row, i: row.update(alternative={"bound": row["bound"], "bases": [i]})),
    ("same", lambda row, i: row.update(same=[i])),
])  # fmt: skip
def test_what_a_limit_names_must_be_there(key: str, change: Any, beyond: int, judge: Any) -> None:
    rules = copy.deepcopy(RULES)
    change(next(r for r in rules if r["where"] and r["bound"]), beyond)
    with pytest.raises(_core.LimitError, match=f"'{key}' names something that is not there"):
        judge(rules=rules)


@pytest.mark.parametrize("bound", ["", "four", "4,5", "0x4", "1e", "nan", "inf", "4 "])
def test_a_bound_that_is_no_decimal(bound: str, judge: Any) -> None:
    rules = copy.deepcopy(RULES)
    first = next(i for i, r in enumerate(rules) if r["bound"])
    rules[first]["bound"] = (bound, rules[first]["bound"][1])
    with pytest.raises(_core.Error):
        judge(rules=rules)


def test_unknown_measures() -> None:
    one = np.array([1.0])
    for call in (
        lambda: _core.convert(one, "furlong", "mm"),
        lambda: _core.convert(one, "mm", ""),
        lambda: _core.convert(one, "mm", "psi"),
        lambda: _core.compare("1", "mm", "1", "psi"),
        lambda: _core.compare("1", "ell", "1", "mm"),
    ):
        with pytest.raises(_core.MeasureError):
            call()


@pytest.mark.parametrize("text", ["", ".", "-", "1,5", "1e", "e5", "nan", "inf", "0x1", "1 ", "١", "1e999999"])
def test_compare_refuses_what_is_no_decimal(text: str) -> None:
    with pytest.raises(_core.ColumnError, match=r"not a decimal number|finite numbers"):
        _core.compare(text, "mm", "1", "mm")


def test_unknown_order_of_dates() -> None:
    with pytest.raises(_core.Error):
        _core.parse_dates(np.array([0, 10]), np.frombuffer(b"2025-06-10", np.uint8), None, "ymd")


def test_a_mark_is_one_character() -> None:
    with pytest.raises(_core.ColumnError, match="one character"):
        _core.parse_numbers(np.array([0, 1]), np.frombuffer(b"1", np.uint8), None, "::", "")


BYTES = np.frombuffer(b"12", np.uint8)


@pytest.mark.parametrize("parse", ["numbers", "dates"])
@pytest.mark.parametrize(("offsets", "data", "valid", "name"), [
    (np.array([0, 3]), BYTES, None, "offsets"),  # beyond the data
    (np.array([0, 2, 1]), BYTES, None, "offsets"),  # falling
    (np.array([-1, 2]), BYTES, None, "offsets"),
    (np.array([0, 2**62]), BYTES, None, "offsets"),
    (np.array([2**63 - 1, -(2**63)]), BYTES, None, "offsets"),
    (np.array([0, 2], np.int32), BYTES, None, "offsets"),
    ([0, 2], BYTES, None, "offsets"),
    (np.array([0, 2]), b"12", None, "data"),
    (np.array([0, 2]), BYTES.astype(np.int8), None, "data"),
    (np.array([0, 2]), BYTES, np.array([1, 1], np.uint8), "valid"),
    (np.array([0, 2]), BYTES, np.array([True]), "valid"),
])  # fmt: skip
def test_text_columns_are_refused_by_name(parse: str, offsets: Any, data: Any, valid: Any, name: str) -> None:
    style = (".", "") if parse == "numbers" else ("iso",)
    with pytest.raises(_core.ColumnError, match=name):
        getattr(_core, f"parse_{parse}")(offsets, data, valid, *style)


def test_text_columns_as_they_should_be() -> None:
    values, status = _core.parse_numbers(np.array([0, 2]), BYTES, None, ".", "")
    assert (values.tolist(), status.tolist()) == ([12.0], [0])
    values, status = _core.parse_numbers(np.array([0, 2]), BYTES, np.array([0], np.uint8), ".", "")
    assert (math.isnan(values[0]), status.tolist()) == (True, [1])
    empty, _ = _core.parse_numbers(np.zeros(1, np.int64), np.zeros(0, np.uint8), None, ".", "")
    assert len(empty) == 0


def test_errors_are_value_errors() -> None:
    for name in ("MeasureError", "ColumnError", "LimitError"):
        error = getattr(_core, name)
        assert issubclass(error, _core.Error)
        assert issubclass(error, ValueError)
        assert issubclass(error, Exception)


@pytest.mark.parametrize("call", [
    lambda x, y: _core.fit_line(x, y[:-1]), lambda x, y: _core.fit_line(x[:1], y[:1]),
    lambda x, y: _core.fit_line(x * 0, y), lambda x, y: _core.fit_line(x, y * np.nan),
    lambda x, y: _core.value_at(x, y, 1.0, 1.0, True), lambda x, y: _core.where_reaches(x, y, 1.0, 0.0, True),
    lambda x, y: _core.pairwise_slopes(x * 0, y, 0.9), lambda x, y: _core.repeated_median(x * 0, y),
    lambda x, y: _core.fit_through_origin(x * 0, y),
])  # fmt: skip
def test_lines_refuse_what_has_no_answer(call: Any) -> None:
    with pytest.raises(_core.ColumnError):
        call(np.array([0.0, 1.0, 2.0]), np.array([3.0, 2.0, 1.0]))


# ---- what is equal is taken: the type of an array, not the object that stands for it


def test_arrays_that_were_pickled_are_taken(readings: Columns, positions: Columns, judge: Any) -> None:
    # NumPy gives an unpickled array a dtype object of its own; it is the same type all the same.
    want = judge()
    again = pickle.loads(pickle.dumps((readings, positions)))
    found = judged(*again, {}, RULES, False, facts_of(again[1]))
    for name, column in want.items():
        np.testing.assert_array_equal(found[name], column)
    assert _core.convert(pickle.loads(pickle.dumps(np.array([25.4]))), "mm", "in").tolist() == [1.0]


def test_a_type_of_another_name_and_the_same_form_is_taken(readings: Columns, judge: Any) -> None:
    same = np.longlong if np.dtype(np.int64) is np.dtype(np.int_) else np.int_
    if np.dtype(same).itemsize != 8:
        pytest.skip("on this platform no second type has the form of int64")
    readings["microsecond"] = readings["microsecond"].astype(same)
    assert len(judge()["verdict"]) > 0


# ---- sharing


def arrays_in(value: Any) -> list[np.ndarray]:
    if isinstance(value, np.ndarray):
        return [value]
    if isinstance(value, dict):
        value = list(value.values())
    return [a for part in value for a in arrays_in(part)] if isinstance(value, list | tuple) else []


def core_calls(readings: Columns, positions: Columns) -> dict[str, Callable[[], Any]]:
    states = list(limit_sets.pressure_states())
    one = np.array([1.0, 2.0, 4.0])
    prior = {"mm_per_km": [1e-4] * 8, "km_per_day": [100.0] * 6, "full_mm": [15.0] * 8}
    due_at = np.array([3.0, 1.5])
    return {
        "judge": lambda: judged(readings, positions, {}, RULES, True, facts_of(positions)),
        "cold_pressures": lambda: _core.cold_pressures(readings, positions, {}, states, AS_OF, True, 293.15, "none"),
        "wear": lambda: _core.wear(readings, positions, {}, 2, due_at, prior, AS_OF, 2),
        "find_repeats": lambda: _core.find_repeats(readings, 2),
        "odometers_out_of_line": lambda: _core.odometers_out_of_line(readings, positions, 2),
        "legal_minimum_mm": lambda: _core.legal_minimum_mm(RULES, facts_of(positions), positions),
        "convert": lambda: _core.convert(one, "mm", "mm"),
        "parse_numbers": lambda: _core.parse_numbers(np.array([0, 1, 2]), BYTES, None, ".", ""),
        "parse_dates": lambda: _core.parse_dates(np.array([0, 1, 2]), BYTES, None, "iso"),
    }


NAMES = (
    "judge", "cold_pressures", "wear", "find_repeats", "odometers_out_of_line", "legal_minimum_mm",
    "convert", "parse_numbers", "parse_dates",
)  # fmt: skip


@pytest.mark.parametrize("name", NAMES)
def test_results_share_no_memory_and_inputs_stay_as_they_were(name: str, readings: Columns, positions: Columns) -> None:
    before = copy.deepcopy((readings, positions))
    call = core_calls(readings, positions)[name]
    first, second = arrays_in(call()), arrays_in(call())
    assert first
    given_ = [*arrays_in(readings), *arrays_in(positions), BYTES]
    for result in first:
        assert not any(np.shares_memory(result, other) for other in [*given_, *second])
        assert result.flags.writeable
        assert result.flags.owndata or result.base is not None
    for was, now in zip(arrays_in(before), arrays_in((readings, positions)), strict=True):
        np.testing.assert_array_equal(was, now)


def test_convert_to_the_same_measure_is_a_copy() -> None:
    values = np.array([1.0, np.nan, 3.0])
    found = _core.convert(values, "mm", "mm")
    found[:] = 0.0
    np.testing.assert_array_equal(values, [1.0, np.nan, 3.0])


@pytest.mark.parametrize("name", NAMES)
def test_read_only_columns_are_taken(name: str, readings: Columns, positions: Columns) -> None:
    for array in [*arrays_in(readings), *arrays_in(positions)]:
        array.flags.writeable = False
    assert arrays_in(core_calls(readings, positions)[name]())


FLEET = {
    "unit": ["U0", "U1", None, "U2", "U3", "U4"],
    "kind": ["truck"] * 6,
    "role": ["drive"] * 6,
    "axle": [2] * 6,
    "side": ["left"] * 6,
    "dual": ["outer"] * 6,
    "read_on": [dt.date(2025, 6, d) for d in range(1, 7)],
    "tread_a_32nds": [9.0, 1.0, 5.0, None, 2.0, 3.0],
    "tread_b_mm": ["9", "8.5", "x", "3.17", None, "1.5875"],
    "pressure_psi": [100, 99, None, 60, 80, 101],
    "warm": [True, False, None, False, True, None],
}


def outcome(table: Any) -> tuple[Any, Any]:
    found = wheelend.read_log(table)
    as_rows = pa.table(wheelend.judge(found, all=True)).to_pylist()
    return as_rows, pa.table(found.issues).to_pylist()


@pytest.mark.parametrize("first", [0, 1, 2, 3])
@pytest.mark.parametrize("pieces", [1, 2])
def test_sliced_arrow_tables_are_read_as_copies_of_them_are(first: int, pieces: int) -> None:
    whole = pa.table(FLEET)
    sliced = whole.slice(first, 3)
    if pieces == 2:
        sliced = pa.concat_tables([whole.slice(first, 1), whole.slice(first + 1, 2)])
    fresh = pa.table({name: values[first : first + 3] for name, values in FLEET.items()}, schema=whole.schema)
    assert sliced.equals(fresh)
    assert outcome(sliced) == outcome(fresh)


@pytest.mark.parametrize(
    "kind", [pa.string(), pa.large_string(), pa.string_view(), pa.dictionary(pa.int32(), pa.string())]
)
def test_every_form_of_arrow_text_is_read_alike(kind: pa.DataType) -> None:
    whole = pa.table(FLEET)
    at = whole.column_names.index("tread_b_mm")
    other = whole.set_column(at, "tread_b_mm", whole["tread_b_mm"].cast(kind)).slice(1, 4)
    assert outcome(other) == outcome(whole.slice(1, 4))


def test_read_only_columns_of_a_dict_are_read() -> None:
    columns = {name: np.array(["" if v is None else str(v) for v in values]) for name, values in FLEET.items()}
    columns["tread_a_32nds"] = np.array([9.0, 1.0, 5.0, np.nan, 2.0, 3.0])
    want = repr(outcome(dict(columns)))  # as text, since a missing number is NaN here
    for array in columns.values():
        array.flags.writeable = False
    assert repr(outcome(columns)) == want
    assert columns["tread_a_32nds"][1] == 1.0


# ---- what always holds

INCH = Fraction(254, 10_000)  # m; NIST SP 811: 1 in = 25.4 mm exactly
POUND_FORCE = Fraction("4.4482216152605")  # N; NIST SP 811
EXACT = {
    "length": {
        "32nds": INCH / 32, "mm": Fraction(1, 1000), "in": INCH, "mil": INCH / 1000, "m": Fraction(1), "ft": INCH * 12,
        "mi": INCH * 12 * 5280, "km": Fraction(1000),
    },
    "pressure": {"psi": POUND_FORCE / INCH**2, "kpa": Fraction(1000), "bar": Fraction(100_000)},
}  # fmt: skip
PAIRS = [(a, b) for known in EXACT.values() for a in known for b in known]
SI = {label: size for known in EXACT.values() for label, size in known.items()}


def test_every_measure_of_length_and_pressure_is_compared_below() -> None:
    for dimension, known in EXACT.items():
        assert {m.label for m in measures.table().values() if m.dimension == dimension} == set(known)


decimals = st.decimals(allow_nan=False, allow_infinity=False, min_value=-(10**12), max_value=10**12)


def written(number: Decimal, style: str) -> str:
    return f"{number:f}" if style == "f" else f"{number:e}"


@pytest.mark.parametrize(("first", "second"), PAIRS, ids=lambda label: label)
@runs(25)
@given(a=decimals, b=decimals, style=st.sampled_from("fe"))
def test_compare_agrees_with_fractions(first: str, second: str, a: Decimal, b: Decimal, style: str) -> None:
    left, right = Fraction(a) * SI[first], Fraction(b) * SI[second]
    assert _core.compare(written(a, style), first, written(b, style), second) == (left > right) - (left < right)


@pytest.mark.parametrize(("first", "second"), PAIRS, ids=lambda label: label)
@runs(25)
@given(a=st.decimals(min_value=0, max_value=1000, places=3), digits=st.integers(1, 30), up=st.booleans())
def test_compare_tells_neighbours_apart(first: str, second: str, a: Decimal, digits: int, up: bool) -> None:
    # the decimal of so many places nearest to the same quantity in the other measure, and not in general equal to it
    exact = Fraction(a) * SI[first] / SI[second]
    scaled = math.ceil(exact * 10**digits) if up else math.floor(exact * 10**digits)
    near = Fraction(scaled, 10**digits)
    text = f"{scaled // 10**digits}.{scaled % 10**digits:0{digits}d}"
    assert _core.compare(f"{a:f}", first, text, second) == (exact > near) - (exact < near)


LINEAR = [
    (m.label, n.label)
    for m in measures.table().values()
    for n in measures.table().values()
    if m.dimension == n.dimension != "temperature" and m is not n
]


@pytest.mark.parametrize(("first", "second"), LINEAR, ids=lambda label: label)
@runs(40)
@given(values=st.lists(st.floats(-1e200, 1e200).filter(lambda v: v == 0 or abs(v) > 1e-200), min_size=1))
def test_round_trips_come_back_within_four_ulp(first: str, second: str, values: list[float]) -> None:
    back = _core.convert(_core.convert(np.array(values), first, second), second, first)
    for value, found in zip(values, back, strict=True):
        assert abs(found - value) <= 4 * math.ulp(value)


@pytest.mark.parametrize(("first", "second"), [(a, b) for a in ("degf", "degc", "k") for b in ("degf", "degc", "k")])
@runs(100)
@given(value=st.floats(-400, 1e6))
def test_temperatures_come_back_within_four_ulp_of_their_distance_from_absolute_zero(
    first: str, second: str, value: float
) -> None:
    # A temperature near the zero of a scale is a small difference of large numbers: the unit is that of the larger.
    back = _core.convert(_core.convert(np.array([value]), first, second), second, first)[0]
    assert abs(back - value) <= 4 * math.ulp(abs(value) + 460.0)


def test_missing_stays_missing() -> None:
    for first, second in LINEAR:
        assert np.isnan(_core.convert(np.array([np.nan]), first, second)).all()


@pytest.mark.parametrize("label", ["32nds", "mm", "in"])
@runs(60)
@given(
    depths=st.lists(st.decimals(min_value=0, max_value=20, places=4), min_size=2, max_size=40),
    kind=st.integers(0, 4),
    role=st.integers(0, 6),
    axle=st.integers(1, 4),
)
def test_verdicts_are_monotone_in_depth(label: str, depths: list[Decimal], kind: int, role: int, axle: int) -> None:
    # One position per depth, all of one kind: along growing depth no pass may be followed by a fail.
    n = len(depths)
    values = np.array(sorted(float(d) for d in depths))
    where = np.arange(n, dtype=np.int32)
    day = np.full(n, 19_000, np.int32)
    readings = {
        "position": where, "microsecond": day.astype(np.int64) * 86_400_000_000, "day": day,
        "grooves": [(values, label, []), (values.copy(), label, [])],
    }  # fmt: skip
    positions = {
        "kind": np.full(n, kind, np.int8), "role": np.full(n, role, np.int8), "axle": np.full(n, axle, np.int32),
        "pull": (np.full(n, 6.0), "32nds", []),
    }  # fmt: skip
    found = judged(readings, positions, {}, RULES, False, facts_of(positions))
    depth_rows = 0
    for limit in np.unique(found["limit"]):
        mine = found["limit"] == limit
        if limit >= 0 and _core.quantity_of[RULES[limit]["statistic"]] != "tread_depth":
            continue
        verdicts = found["verdict"][mine][np.argsort(found["position"][mine])]
        words = [_core.codes["verdict"][v] for v in verdicts]
        if limit >= 0 and RULES[limit]["statistic"] == "adjacent_pair_three_places":
            assert set(words) <= {"no_verdict", "pass"}  # one place is not three
            continue
        depth_rows += 1
        assert words == sorted(words), "fail sorts before pass"
        assert set(words) <= {"fail", "pass"}
        margins = found["margin"][mine][np.argsort(found["position"][mine])]
        assert (np.diff(margins) >= 0).all()
    assert depth_rows >= 3  # use, yearly inspection, pull depth


def column_of(texts: list[bytes]) -> tuple[Any, Any]:
    offsets = np.cumsum([0, *map(len, texts)]).astype(np.int64)
    return offsets, np.frombuffer(b"".join(texts), np.uint8)


like_numbers = st.text("0123456789.,+-eE '\u00a0\u202fn/aNIf%٣", max_size=40)
like_dates = st.text("0123456789-/.:TZ+ ", max_size=35)
cells = st.lists(
    st.one_of(
        st.text(max_size=60).map(lambda t: t.encode("utf-8", "surrogatepass")),
        st.binary(max_size=60),
        like_numbers.map(str.encode),
        like_dates.map(str.encode),
    ),
    max_size=20,
)


@runs(300)
@given(texts=cells, decimal=st.sampled_from([".", ","]), thousands=st.sampled_from(["", ",", ".", " ", "'"]))
def test_no_text_of_a_number_raises(texts: list[bytes], decimal: str, thousands: str) -> None:
    if decimal == thousands:
        return
    offsets, data = column_of(texts)
    values, status = _core.parse_numbers(offsets, data, None, decimal, thousands)
    assert len(values) == len(status) == len(texts)
    usable = (status == 0) | (status == 6)  # number, and number of more digits than a double keeps
    assert np.isfinite(values[usable]).all()
    assert np.isnan(values[~usable]).all()


@runs(300)
@given(texts=cells, order=st.sampled_from(["iso", "mdy", "dmy"]))
def test_no_text_of_a_date_raises(texts: list[bytes], order: str) -> None:
    offsets, data = column_of(texts)
    days, micros, status = _core.parse_dates(offsets, data, None, order)
    assert len(days) == len(micros) == len(status) == len(texts)
    assert (status <= 8).all()


@runs(300)
@given(value=st.floats(allow_nan=False, allow_infinity=False))
def test_the_shortest_decimal_of_a_double_is_read_back_as_it(value: float) -> None:
    offsets, data = column_of([repr(value).encode()])
    values, status = _core.parse_numbers(offsets, data, None, ".", "")
    assert (values[0], status[0]) == (value, 0)


@runs(300)
@given(day=st.dates(dt.date(1900, 1, 1), dt.date(2199, 12, 31)))
def test_a_date_is_read_as_it_was_written(day: dt.date) -> None:
    want = (day - dt.date(1970, 1, 1)).days
    for text, order in ((day.isoformat(), "iso"), (f"{day:%m/%d/%Y}", "mdy"), (f"{day:%d.%m.%Y}", "dmy")):
        days, micros, status = _core.parse_dates(*column_of([text.encode()]), None, order)
        assert (days[0], micros[0], status[0]) == (want, want * 86_400_000_000, 0), text


@runs(300)
@given(
    text=st.one_of(st.text(max_size=30), st.from_regex(r"[-+]?\d{1,4}(\.\d*)?( ?/ ?\d{1,3})? ?(in|mm|32nds|psi|k)?"))
)
def test_a_quantity_is_read_or_refused_by_its_name(text: str) -> None:
    try:
        number, label = measures.parse_quantity(text, "length", "depth")
    except wheelend.BadCall as error:
        refusal = str(error)
    else:
        refusal = ""
    if refusal:
        assert refusal.startswith("depth: ")
        return
    assert label in EXACT["length"]
    assert _core.compare(number, label, number, label) == 0  # a decimal that the core takes


@runs(60)
@given(
    depth=st.text(max_size=12), day=st.text(max_size=12), unit=st.text(max_size=8), side=st.text(max_size=8),
    flag=st.text(max_size=8), pressure=st.one_of(st.floats(), st.integers(-(2**40), 2**40), st.none()),
)  # fmt: skip
def test_no_cell_raises_anything_but_a_refusal(
    depth: str, day: str, unit: str, side: str, flag: str, pressure: Any
) -> None:
    good = {"unit": "U", "kind": "truck", "role": "drive", "axle": "2", "side": "left", "dual": "outer"}
    bad = {**good, "unit": unit, "side": side}
    rows = {name: [good[name], good[name], bad[name]] for name in good}
    log = wheelend.read_log(
        {**rows, "read_on": ["2025-06-10", day, "2025-06-10"], "tread_a_32nds": ["9", depth, depth],
         "pressure_psi": [100.0, pressure, pressure], "warm": ["no", flag, flag]},
    )  # fmt: skip
    for name in ("judge", "pressures", "standing", "wear"):
        getattr(wheelend, name)(log)
    counts = log.counts["readings"]
    assert counts.rows_in == 3 == counts.rows_used + counts.rows_refused
