"""``wear(of=...)``: linings, strokes, drums, play, torque and leak-down on the one engine, a row of settings each."""

from __future__ import annotations

import csv
import datetime as dt
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa
import pytest

import wheelend
from wheelend import _fleet_wear, _slow, dictionary
from wheelend.cli import main
from wheelend.errors import BadCall

ROOT = Path(__file__).resolve().parents[2]
SAMPLE = ROOT / "data" / "samples" / "small_fleet"
TABLES = [SAMPLE / f"{name}.csv" for name in ("readings", "positions", "tires")]
LEVELS = ("p05", "p10", "p25", "p50", "p75", "p90", "p95")
SHIPPED = (
    "lining_thickness", "pad_thickness", "drum_diameter", "pushrod_stroke", "bearing_end_play", "fastener_torque",
    "static_leak", "applied_leak",
)  # fmt: skip


@pytest.fixture(scope="module")
def fleet() -> wheelend.Log:
    return wheelend.read_log(*TABLES, wheelend_readings=SAMPLE / "wheelend_readings.csv")


def one_unit(rows: list[dict[str, Any]], miles_per_day: float = 300.0, **facts: Any) -> wheelend.Log:
    """A tractor with an odometer, and these wheel-end readings of axle 2 left (day: since 2024-01-01)."""
    start = dt.date(2024, 1, 1)
    days = sorted({row["day"] for row in rows})
    places = [(side, "single") for side in ("left", "right")]
    positions = {
        "unit": ["U1", "U1"], "kind": ["tractor", "tractor"], "role": ["drive", "drive"], "axle": [2, 2],
        "side": [side for side, _ in places], "dual": ["single", "single"],
    }  # fmt: skip
    readings = {
        "unit": ["U1"] * len(days), "axle": [2] * len(days), "side": ["left"] * len(days),
        "dual": ["single"] * len(days), "read_on": [(start + dt.timedelta(d)).isoformat() for d in days],
        "odometer_mi": [100_000 + miles_per_day * d for d in days], "tread_a_32nds": [20.0] * len(days),
    }  # fmt: skip
    base = {"unit": "U1", "axle": 2, "side": "left", **facts}
    full = [{**base, **r, "read_on": (start + dt.timedelta(r["day"])).isoformat()} for r in rows]
    names = [n for n in dict.fromkeys(n for r in full for n in r) if n != "day"]
    table = {n: [r.get(n, "") for r in full] for n in names}
    return wheelend.read_log(readings, positions, wheelend_readings=table)


def lining(values: list[float], every: int = 60, **facts: Any) -> wheelend.Log:
    rows = [{"day": every * i, "quantity": "lining_thickness", "value_in": v} for i, v in enumerate(values)]
    return one_unit(rows, **{"brake": "air_drum", **facts})


def first(table: Any) -> dict[str, Any]:
    return {name: table[name][0] for name in table}


# ---- what comes out


@pytest.mark.parametrize("of", SHIPPED)
def test_columns_are_those_of_the_data_dictionary(fleet: wheelend.Log, of: str) -> None:
    found = wheelend.wear(fleet, of=of).column_names
    words = {"<m>": "(32nds|in|lbft|psi_per_min)", "<quantity>": of, "<distance>": "1000mi"}
    patterns = [re.escape(r.name) for r in dictionary.RESULTS["wear_of"]]
    for mark, word in words.items():
        patterns = [p.replace(mark, word) for p in patterns]
    assert len(found) == len(patterns)
    assert all(re.fullmatch(p, c) for p, c in zip(patterns, found, strict=True))


@pytest.mark.parametrize("of", [q for q in SHIPPED if q not in ("pad_thickness", "drum_diameter")])
def test_every_place_that_was_read_has_an_answer_with_a_width(fleet: wheelend.Log, of: str) -> None:
    table = wheelend.wear(fleet, of=of)
    core = fleet.core_wheelends
    code = _slow.quantity_code(of)
    there = core["quantity"] == code
    keys = {
        tuple(int(c[i]) for c in (fleet.positions.unit[core["position"]], core["axle"], core["side"], core["place"]))
        for i in np.flatnonzero(there)
    }
    assert len(table) == len(keys) > 0
    for row in table.to_pylist():
        assert row["status"] != "no_limit"
        days = [row[f"remaining_days_{q}"] for q in LEVELS]
        known = [d for d in days if d is not None]
        assert known == sorted(known)
        assert known == days[: len(known)]  # what is missing lies beyond ten years
        if (days[3] or 0) > 0:
            assert days[0] < days[3]  # type: ignore[operator]
            assert days[6] is None or days[6] > days[3]  # type: ignore[operator]


def test_the_planted_lining_stroke_and_leak_are_due(fleet: wheelend.Log) -> None:
    """What ABOUT.md of the sample says is planted: each is beyond its limit at the last inspection."""
    for of, unit, axle, side, limit in [
        ("lining_thickness", "T110", 2, "right", "US-A-10"),
        ("pushrod_stroke", "T104", 3, "left", "US-B-11-30"),
        ("applied_leak", "K203", None, None, "CDL-04 (advice)"),
    ]:
        rows = [r for r in wheelend.wear(fleet, of=of).to_pylist() if r["status"] in ("at_limit", "read_again")]
        assert [(r["unit"], r["axle"], r["side"]) for r in rows] == [(unit, axle, side)]
        assert rows[0]["remaining_days_p10"] == 0.0
        assert f"limit: {limit}" in rows[0]["reason"]


def test_one_worn_lining_by_the_formula() -> None:
    """V1: 0.75 in new, 0.53 in at 120 000 mi is 1.83333 mil per 1000 mi and leaves 152 727.3 mi to 0.25 in."""
    wear_in = [0.75 - 0.22 * i / 8 for i in range(9)]
    log = lining(wear_in, every=50)  # 400 days of 300 mi: 120 000 mi
    row = first(wheelend.wear(log, of="lining_thickness"))
    assert row["limit_in"] == pytest.approx(0.25)
    assert row["rate_in_per_1000mi"] * 1000 == pytest.approx(1.83333, rel=0.06)  # nine readings of 0.015 in
    assert row["remaining_mi_p05"] < 152727.3 < row["remaining_mi_p95"]
    assert row["remaining_mi_p50"] == pytest.approx(152727.3, rel=0.08)


# ---- directions, resets


def test_a_new_lining_begins_anew() -> None:
    values = [0.45, 0.40, 0.35, 0.74, 0.69, 0.64]
    row = first(wheelend.wear(lining(values), of="lining_thickness"))
    assert row["readings_used"] == 3
    assert row["fitted_on"] == dt.date(2024, 1, 1) + dt.timedelta(180)
    assert "taken for relined" in row["reason"]
    assert row["lining_thickness_in"] == pytest.approx(0.64, abs=0.02)


def test_a_stroke_rises_to_its_limit_and_falls_when_adjusted() -> None:
    values = [1.5, 1.6, 1.7, 1.8, 1.375, 1.4375, 1.5, 1.5625]
    rows = [{"day": 60 * i, "quantity": "pushrod_stroke", "value_in": v} for i, v in enumerate(values)]
    facts = {"brake": "air_drum", "chamber": "clamp", "chamber_size": "30", "reservoir_psi": 95}
    row = first(wheelend.wear(one_unit(rows, **facts), of="pushrod_stroke"))
    assert row["readings_used"] == 4
    assert "taken for adjusted" in row["reason"]
    assert row["rate_in_per_month"] > 0
    assert row["remaining_days_p50"] == pytest.approx(0.4375 / 0.0625 * 60, rel=0.4)
    assert row["limit_in"] == pytest.approx(2.0)  # 49 CFR 393.47(e)(1), type 30 standard


def test_a_drum_rises_to_the_figure_cast_in_it() -> None:
    values = [16.5 + 0.01 * i for i in range(6)]
    rows = [
        {"day": 90 * i, "quantity": "drum_diameter", "value_in": v, "marked_in": 16.62} for i, v in enumerate(values)
    ]
    row = first(wheelend.wear(one_unit(rows), of="drum_diameter"))
    assert row["limit_in"] == pytest.approx(16.62)
    assert row["drum_diameter_in"] == pytest.approx(16.55, abs=0.006)
    assert row["remaining_days_p50"] == pytest.approx(7 * 90, rel=0.35)


def stroke(values: list[float]) -> wheelend.Log:
    rows = [{"day": 60 * i, "quantity": "pushrod_stroke", "value_in": v} for i, v in enumerate(values)]
    return one_unit(rows, brake="air_drum", chamber="clamp", chamber_size="30", reservoir_psi=95)


def drum(values: list[float]) -> wheelend.Log:
    rows = [{"day": 60 * i, "quantity": "drum_diameter", "value_in": v} for i, v in enumerate(values)]
    return one_unit(rows, marked_in=16.62)


def play(values: list[float]) -> wheelend.Log:
    return one_unit([{"day": 60 * i, "quantity": "bearing_end_play", "value_in": v} for i, v in enumerate(values)])


def leak_down(values: list[float]) -> wheelend.Log:
    rows = [{"day": 60 * i, "quantity": "static_leak", "axle": "", "side": "", "start_psi": 120, "end_psi": 120 - v,
             "duration_s": 60} for i, v in enumerate(values)]  # fmt: skip
    return one_unit(rows, combination_units=1)


BEYOND = {  # the last reading is beyond the limit, those before it are not
    "lining_thickness": (lining, [0.70, 0.69, 0.68, 0.67, 0.66], 0.22),
    "pushrod_stroke": (stroke, [1.40, 1.42, 1.44, 1.46, 1.48], 2.4),
    "drum_diameter": (drum, [16.500, 16.505, 16.510, 16.515, 16.520], 16.70),
    "bearing_end_play": (play, [0.0020, 0.0020, 0.0025, 0.0020, 0.0025], 0.012),
    "static_leak": (leak_down, [0.5, 0.6, 0.5, 0.6, 0.7], 6.0),
}


@pytest.mark.parametrize("of", BEYOND)
def test_a_last_reading_beyond_its_limit_is_due_now_unless_it_is_a_slip(of: str) -> None:
    """``judge`` fails that reading, so no forecast may say less than: perhaps now, read it again."""
    make, values, last = BEYOND[of]
    log = make([*values, last])
    judged = pa.table(dict(wheelend.judge(log, limits=_slow.find(of).limits))).to_pylist()
    assert any(v["quantity"] == of and v["verdict"] == "fail" for v in judged)
    row = first(wheelend.wear(log, of=of))
    day = dt.date(2024, 1, 1) + dt.timedelta(300)
    # 60 days after the one before: 0.016 that it changed against 0.02 that it is a slip, 4 in 9
    assert [row[f"due_{q}"] for q in ("p05", "p10", "p25")] == [day] * 3
    assert row["due_p50"] > day
    assert row["status"] == "read_again"
    assert "the last reading is beyond the limit" in row["reason"]
    assert "read it again" in row["reason"]
    # What the others say is not lost: the later half is theirs.
    without = first(wheelend.wear(make(values), of=of, as_of=day))
    late = row["remaining_days_p95"]
    assert np.isnan(late) or late > without["remaining_days_p50"]  # missing: beyond ten years


@pytest.mark.parametrize(("of", "after"), [("lining_thickness", 0.65), ("pushrod_stroke", 1.50)])
def test_once_it_was_read_again_the_slip_is_over(of: str, after: float) -> None:
    make, values, last = BEYOND[of]
    row = first(wheelend.wear(make([*values, last, after]), of=of))
    assert row["status"] == "from_readings"
    assert row["remaining_days_p05"] > 90


def test_read_twice_beyond_its_limit_it_is_there() -> None:
    make, values, last = BEYOND["lining_thickness"]
    row = first(wheelend.wear(make([*values, last, last]), of="lining_thickness"))
    assert row["status"] == "at_limit"
    assert row["remaining_days_p90"] == 0.0


def test_a_reading_just_beyond_its_limit_is_now_at_the_earliest() -> None:
    """Within the error of the gauge nothing is a slip, but that reading fails as well."""
    row = first(wheelend.wear(drum([16.600, 16.603, 16.606, 16.609, 16.612, 16.621]), of="drum_diameter"))
    assert row["remaining_days_p05"] == 0.0
    assert row["status"] in ("at_limit", "read_again")
    at = first(wheelend.wear(drum([16.600, 16.603, 16.606, 16.609, 16.612, 16.620]), of="drum_diameter"))
    assert at["status"] in ("at_limit", "from_readings")  # "at most": the limit itself passes


def test_an_adjustment_that_cannot_be_told_from_an_error_is_in_the_width() -> None:
    """End play, read to 0.0008 in: 0.0047 then 0.0032 is an adjustment or an error; read thrice more it is one."""
    worn = [0.0040, 0.0042, 0.0046, 0.0048, 0.0047]

    def followed(values: list[float]) -> dict[str, Any]:
        return first(wheelend.wear(play(values), of="bearing_end_play"))

    before, once = followed(worn), followed([*worn, 0.0032])
    often = followed([*worn, 0.0032, 0.0031, 0.0033, 0.0034])
    assert before["remaining_days_p25"] == 0.0
    assert once["remaining_days_p05"] == 0.0  # it was an error
    assert once["remaining_days_p75"] > 365  # it was adjusted
    assert often["fitted_on"] == dt.date(2024, 1, 1) + dt.timedelta(300)
    assert "taken for adjusted" in often["reason"]
    assert often["remaining_days_p05"] > 60
    assert often["readings_used"] == 4


def test_two_values_of_one_place_at_one_time_stay_out() -> None:
    rows = [{"day": 60 * i, "quantity": "lining_thickness", "value_in": v} for i, v in enumerate([0.7, 0.68, 0.66])]
    both = [*rows, {"day": 180, "quantity": "lining_thickness", "value_in": 0.64},
            {"day": 180, "quantity": "lining_thickness", "value_in": 0.2}]  # fmt: skip
    row = first(wheelend.wear(one_unit(both, brake="air_drum"), of="lining_thickness"))
    assert row["readings_used"] == 3
    assert row["last_read_on"] == dt.date(2024, 1, 1) + dt.timedelta(120)


# ---- limits


@pytest.mark.parametrize(
    ("facts", "inches", "limit_id"),
    [
        ({"brake": "air_drum"}, 0.25, "US-A-10"),  # 49 CFR 396 App. A 1(a)(6)(c), with 393.47(d)(2): 1/4 in
        ({"brake": "hydraulic_drum"}, 0.0625, "US-A-11"),  # 1/16 in
    ],
)
def test_the_limit_is_that_of_the_kind_of_brake(facts: dict[str, str], inches: float, limit_id: str) -> None:
    row = first(wheelend.wear(lining([0.7, 0.68, 0.66], **facts), of="lining_thickness"))
    assert row["limit_in"] == pytest.approx(inches)
    assert f"limit: {limit_id}" in row["reason"]


def test_without_the_fact_that_decides_there_is_no_limit_and_it_says_which() -> None:
    row = first(wheelend.wear(lining([0.7, 0.68, 0.66], brake=""), of="lining_thickness"))
    assert row["status"] == "no_limit"
    assert "brake is not stated" in row["reason"]
    assert np.isnan(row["limit_in"])
    assert np.isnan(row["remaining_days_p50"])
    assert row["rate_in_per_month"] > 0  # the answer without a limit is how fast it goes
    given = first(wheelend.wear(lining([0.7, 0.68, 0.66], brake=""), of="lining_thickness", limit="8/32 in"))
    assert given["limit_in"] == pytest.approx(0.25)
    assert "limit as given" in given["reason"]


def test_limits_of_a_band_are_those_of_its_near_side(fleet: wheelend.Log) -> None:
    """450 to 500 lbf ft: torque falls to 450. 0.001 to 0.005 in: end play rises to 0.005."""
    assert set(wheelend.wear(fleet, of="fastener_torque")["limit_lbft"].to_pylist()) == {450.0}
    assert set(wheelend.wear(fleet, of="bearing_end_play")["limit_in"].to_pylist()) == {0.005}


def test_torque_says_what_clamp_load_it_may_stand_for(fleet: wheelend.Log) -> None:
    reasons = wheelend.wear(fleet, of="fastener_torque")["reason"].to_pylist()
    assert all("lbf of clamp load" in r for r in reasons)


# ---- leak-down


def leak(rows: list[dict[str, Any]], **facts: Any) -> dict[str, Any]:
    full = [{"day": 60 * i, "quantity": "static_leak", "axle": "", "side": "", **r} for i, r in enumerate(rows)]
    return first(wheelend.wear(one_unit(full, combination_units=1, **facts), of="static_leak"))


def test_leak_down_is_brought_to_one_starting_pressure() -> None:
    """Z5: 1.7030 psi/min at 100 psig is the hole of 2 psi/min at 120."""
    row = leak([{"start_psi": 100.0, "value_psi_per_min": 1.7030}])
    assert row["last_psi_per_min"] == pytest.approx(2.0, abs=0.02)  # the minute's loss decays by 0.7 %
    timed = leak([{"start_psi": 120.0, "end_psi": 101.414, "duration_min": 10}])
    assert timed["last_psi_per_min"] == pytest.approx(2.0, abs=1e-4)  # Z6


def test_a_leak_timed_with_the_first_drop_does_not_count() -> None:
    row = leak([{"start_psi": 120, "end_psi": 119, "duration_s": 60},
                {"start_psi": 120, "end_psi": 110, "before_psi": 120, "duration_s": 60}])  # fmt: skip
    assert row["readings_used"] == 1
    assert row["last_psi_per_min"] == pytest.approx(1.0, abs=0.01)


def test_leak_down_goes_with_time() -> None:
    row = leak([{"start_psi": 120, "end_psi": 120 - x, "duration_s": 60} for x in (0.5, 0.7, 0.9, 1.1, 1.3)])
    assert np.isnan(row["rate_psi_per_min_per_1000mi"])
    assert np.isnan(row["remaining_mi_p50"])
    assert row["rate_psi_per_min_per_month"] > 0.03
    assert row["limit_psi_per_min"] == 2.0  # CDL-01, brakes released, single unit


# ---- the same whatever the order, the threads, the measure


def test_order_of_rows_and_threads_change_nothing(fleet: wheelend.Log, monkeypatch: pytest.MonkeyPatch) -> None:
    rng = np.random.default_rng(5)
    tables = [pa.csv.read_csv(path) for path in (*TABLES[:1], SAMPLE / "wheelend_readings.csv")]
    shuffled = [t.take(pa.array(rng.permutation(len(t)))) for t in tables]
    other = wheelend.read_log(shuffled[0], TABLES[1], TABLES[2], wheelend_readings=shuffled[1])
    for of in ("lining_thickness", "pushrod_stroke", "static_leak"):
        monkeypatch.setattr(_fleet_wear, "_threads", lambda: 1)
        one = wheelend.wear(fleet, of=of)
        monkeypatch.setattr(_fleet_wear, "_threads", lambda: 2)
        two = wheelend.wear(other, of=of)
        assert one.equals(wheelend.wear(fleet, of=of))
        assert _sorted(one) == _sorted(two)


def _sorted(table: Any) -> list[str]:
    rows = table.to_pylist() if isinstance(table, pa.Table) else pa.table(dict(table)).to_pylist()
    return sorted(repr(list(r.values())) for r in rows)


def test_metric_readings_give_metric_columns() -> None:
    rows = [{"day": 60 * i, "quantity": "lining_thickness", "value_mm": v} for i, v in enumerate([18.0, 17.4, 16.8])]
    row = first(wheelend.wear(one_unit(rows, brake="air_drum"), of="lining_thickness"))
    assert row["limit_mm"] == pytest.approx(6.35)
    assert row["lining_thickness_mm"] == pytest.approx(16.8, abs=0.4)
    assert row["rate_mm_per_1000km"] > 0


# ---- a new quantity is a row


@pytest.fixture
def with_rotors(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """The shipped rows and one more, in a folder of its own."""
    rows = list(csv.DictReader(_slow.settings_file().read_text(encoding="utf-8").splitlines()))
    rotor = {
        "quantity": "rotor_thickness", "direction": "falls", "goes_with": "distance", "measure": "mm", "fresh": "45",
        "fresh_spread": "0.5", "rate": "1.5", "rate_spread": "0.7", "unit": "0.2", "axle": "0.15", "place": "0.2",
        "severity": "0.1", "severity_days": "120", "reading": "0.2", "statistic": "as_read",
        "limits": "us-federal;us-inspection", "renewed": "new rotor", "source": "common practice, no source",
    }  # fmt: skip
    file = tmp_path / "slow_quantities.csv"
    with file.open("w", encoding="utf-8", newline="") as f:
        writer = csv.DictWriter(f, list(rows[0]), restval="", lineterminator="\n")
        writer.writeheader()
        writer.writerows([*rows, rotor])
    monkeypatch.setattr(_slow, "settings_file", lambda: file)
    _slow.settings.cache_clear()
    yield
    _slow.settings.cache_clear()


@pytest.mark.usefixtures("with_rotors")
def test_a_new_quantity_is_one_row_of_settings() -> None:
    values = [44.0 - 0.5 * i for i in range(6)]
    rows = [{"day": 90 * i, "quantity": "rotor_thickness", "value_mm": v, "marked_in": 37 / 25.4}
            for i, v in enumerate(values)]  # fmt: skip
    row = first(wheelend.wear(one_unit(rows), of="rotor_thickness"))
    assert row["limit_mm"] == pytest.approx(37.0)
    assert row["remaining_days_p50"] == pytest.approx(4.5 / 0.5 * 90, rel=0.3)
    assert "US-I-08-ROTOR" in row["reason"]  # 49 CFR 570.59(b): the figure embossed on the rotor


def test_without_its_row_a_quantity_is_not_followed() -> None:
    with pytest.raises(BadCall, match=r"'rotor_thickness' is not followed; tread, lining_thickness"):
        wheelend.wear(lining([0.7]), of="rotor_thickness")


def test_rows_of_settings_that_cannot_be_used_are_named(tmp_path: Path) -> None:
    text = _slow.settings_file().read_text(encoding="utf-8").replace("pad_thickness,falls", "pad_thickness,sinks")
    file = tmp_path / "slow_quantities.csv"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(BadCall, match="pad_thickness"):
        _slow.settings(file)


def test_shipped_rows_are_quantities_of_the_dictionary_with_a_source() -> None:
    assert tuple(_slow.settings()) == SHIPPED
    assert all(s.source for s in _slow.settings().values())


def test_no_code_knows_a_slow_quantity_by_name() -> None:
    """The engine takes settings; the names stand in data, in the dictionary and, of hubs, nowhere near it."""
    for path in [*ROOT.glob("cpp/src/slow*"), *ROOT.glob("cpp/src/limit_of_place*"), ROOT / "python/wheelend/_slow.py"]:
        text = path.read_text(encoding="utf-8")
        assert [q for q in SHIPPED if q in text] == [], path.name


# ---- the command


def test_command_writes_and_tells(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    files = [f"--{n}={p}" for n, p in zip(("readings", "positions", "tires"), TABLES, strict=True)]
    files.append(f"--wheelend-readings={SAMPLE / 'wheelend_readings.csv'}")
    with pytest.raises(SystemExit) as end:
        main(["wear", "--of", "lining_thickness", *files])
    told = capsys.readouterr()
    assert end.value.code == 0
    assert "T110  axle 2 right  7     6.7   8/32 in  now" in told.out
    out = tmp_path / "lining.parquet"
    with pytest.raises(SystemExit):
        main(["wear", "--of", "lining_thickness", *files, "-o", str(out)])
    assert out.exists()
    capsys.readouterr()
    with pytest.raises(SystemExit) as end:
        main(["wear", "--of", "pad_thickness", *files])
    assert end.value.code == 0
    assert "No usable reading of pad_thickness" in capsys.readouterr().out
    with pytest.raises(SystemExit) as end:
        main(["wear", "--of", "pads", *files])
    assert end.value.code == 2
