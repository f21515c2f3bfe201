"""Messages: what a verdict says of a difference, of a missing fact, of a reading that no limit speaks of."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

import wheelend
from cases import axles, seen, write
from test_standing import TODAY, log_of, table
from wheelend._words import did_you_mean, number, verdict_words, with_measure

TRACTOR = axles("T1", "tractor", "steer", "drive")


def rows(log: wheelend.Log, **how: Any) -> dict[str, dict[str, Any]]:
    found = wheelend.judge(log, **how)
    every = [dict(zip(found, values, strict=True)) for values in zip(*found.values(), strict=True)]
    return {row["limit_id"] or "": row for row in every}


def duals(**cells: list[str]) -> wheelend.Log:
    positions = [
        {"unit": "T1", "kind": "tractor", "axle": "2", "side": "left", "dual": dual, "role": "drive"}
        for dual in ("outer", "inner")
    ]
    readings = {
        "unit": ["T1"] * 2, "axle": ["2"] * 2, "side": ["left"] * 2, "dual": ["outer", "inner"],
        "read_on": ["2025-06-10"] * 2, "tire": ["a", "b"], **cells,
    }  # fmt: skip
    tires = {"tire": ["a", "b"], "size": ["11R22.5"] * 2, "make": ["A"] * 2, "design": ["D"] * 2}
    return wheelend.read_log(readings, table(positions), tires, today=TODAY)


# ---- numbers


def test_numbers_are_shown_as_they_are_read() -> None:
    assert with_measure(0.0625, "in") == "0.0625 in"
    assert with_measure(2.125, "in") == "2.125 in"
    assert number(-0.001) == number(0.0) == "0"
    assert with_measure(4.0, "32nds") == "4/32 in"


def test_the_likeliest_word_is_named() -> None:
    assert did_you_mean("R", ["radial", "bias"]) == "; did you mean radial?"
    assert did_you_mean("xyz", ["radial", "bias"]) == did_you_mean("", ["radial"]) == ""


# ---- differences


def test_a_difference_says_what_it_is_one_of() -> None:
    """Duals of one size, make and design: not more than 4/32 in apart (trade press)."""
    found = rows(duals(tread_a_32nds=["12", "7"]), limits="trade")["DU-03"]
    assert found["as_read"] == "5 32nds apart: 12 32nds at axle 2 left outer"
    assert verdict_words(found).startswith("5/32 in apart (12/32 in at axle 2 left outer), limit <= 4/32 in, ")


def stroke(axle: str, side: str, **cells: str) -> dict[str, str]:
    facts = {"chamber": "clamp", "chamber_size": "30", "stroke_family": "standard", "reservoir_psi": "90"}
    return seen("pushrod_stroke", axle, side, **{**facts, "value_in": "1.5", **cells})


def test_a_stroke_beyond_its_limit_says_by_how_much() -> None:
    """49 CFR 393.47(e): 2 in for a standard type 30."""
    found = rows(log_of(stroke("2", "left", value_in="2.5")))["OS-B-02"]
    assert verdict_words(found).startswith("pushrod stroke 0.5 in beyond 2 in, limit < 0.25 in, ")


def test_the_share_of_defective_brakes_is_counted_in_words() -> None:
    brakes = [(axle, side) for axle in ("1", "2") for side in ("left", "right")]
    strokes = [stroke(a, s, value_in="2.5" if (a, s) == ("2", "left") else "1.5") for a, s in brakes]
    found = rows(log_of(*strokes))["OS-B-01"]
    assert found["verdict"] == "fail"  # one of four is 25 %, the criterion 20 %
    assert verdict_words(found).startswith("1 of 4 brakes defective (25 %), limit < 20%, ")


def test_a_slack_adjuster_has_no_place_in_a_pair() -> None:
    """49 CFR 393.47(c): one effective length at both ends of an axle."""
    lengths = [seen("slack_length", "2", side, value_in=v) for side, v in (("left", "5.5"), ("right", "6"))]
    duals = [
        {"unit": "T1", "kind": "tractor", "axle": "2", "side": side, "dual": dual, "role": "drive"}
        for side in ("left", "right")
        for dual in ("outer", "inner")
    ]
    found = rows(log_of(*lengths, positions=duals))["US-B-10"]
    assert found["as_read"].endswith(" at axle 2 right") or found["as_read"].endswith(" at axle 2 left")


def test_what_must_be_alike_is_named() -> None:
    """49 CFR 393.47(b), 396 Appendix A item 10(a)."""
    unlike = [stroke("2", side, chamber_size=size) for side, size in (("left", "24"), ("right", "30"))]
    assert verdict_words(rows(log_of(*unlike))["US-B-09"]) == "chambers of unlike size on one axle, 49 CFR 393.47(b)"
    positions = [p | {"construction": c} for p, c in zip(TRACTOR[:2], ("radial", "bias"), strict=True)]
    log = wheelend.read_log(
        table([{"unit": "T1", "axle": "1", "side": s, "dual": "single", "read_on": "2025-06-10", "tread_a_32nds": "9"}
               for s in ("left", "right")]), table(positions), today=TODAY,
    )  # fmt: skip
    assert verdict_words(rows(log)["US-A-03-MIXED"]).startswith("radial and bias on one axle, ")


def test_the_place_of_a_wheel_end_reading_is_shown_and_parts_findings(tmp_path: Path, run: Any) -> None:
    """Makers' manuals: 450 to 500 lbf ft, threads oiled."""
    nuts = [
        seen("fastener_torque", "2", "left", fastener="m22_flange_nut", thread="oiled", place=str(i), value_lbft=v)
        for i, v in enumerate(("440", "300", "200"), 1)
    ]
    log = log_of(*nuts)
    found = wheelend.judge(log, limits="trade")
    assert sorted(found["as_read"]) == ["200 lbft, place 3", "300 lbft, place 2", "440 lbft, place 1"]
    files = [
        f"--{name}={write(tmp_path / f'{name}.csv', what)}"
        for name, what in (("positions", TRACTOR), ("wheelend-readings", nuts))
    ]
    out = run("judge", *files, "--limits", "trade").out
    assert [v for v in ("440", "300", "200") if f"fastener torque {v} lbf ft" in out] == ["440", "300", "200"]


# ---- facts and conditions


def test_what_is_assumed_is_said() -> None:
    found = rows(log_of({"tread_a_32nds": "9"}, positions=TRACTOR), limits="at")["AT-T-01"]
    assert found["reason"] == "gvwr is not given: judged as gvwr > 3500 kg"  # KDV 1967, 4(4)


def test_what_a_test_needs_is_said() -> None:
    """49 CFR 396 Appendix A: 80 to 90 psi; roadside practice 90 to 100 psi."""
    found = rows(log_of(stroke("2", "left", reservoir_psi="70")))["US-B-11-30"]
    assert found["reason"] == "not admissible: the rule asks for reservoir >= 80 psi, <= 690 kpa"


def test_which_pressures_would_do_is_said() -> None:
    found = rows(log_of({"pressure_psi": "100"}, positions=TRACTOR))["US-T-11"]
    assert found["reason"] == "none of needed, needed_by_load, target is given"
    loaded = [p | {"axle_load_lb": "12000", "size": "999/99R99"} for p in TRACTOR]
    found = rows(log_of({"pressure_psi": "100"}, positions=loaded))["US-T-11"]
    assert found["reason"].endswith("(the load tables have no row for this size and load)")


# ---- readings that no limit speaks of


UNSPOKEN = "no limit of these sets speaks of this reading"


@pytest.mark.parametrize(
    "quantity", ["sidewall_cut", "valve_cap_missing", "valve_stem_damaged", "rust_streak", "hub_leak"]
)
def test_a_reading_of_which_no_row_speaks_has_a_line(quantity: str) -> None:
    found = rows(log_of(seen(quantity, "1", "left", dual="single", present="yes")))
    (row,) = (r for r in found.values() if r["quantity"] == quantity)
    assert (row["verdict"], row["severity"], row["reason"]) == ("no_verdict", "advice", UNSPOKEN)
    assert [row[name] for name in ("limit_id", "clause", "sense")] == [None] * 3
    assert row["would_fail"] is False or not row["would_fail"]


def test_an_answer_without_verdicts_says_why(run: Any, tmp_path: Path) -> None:
    out = run("spot", "--kind", "bus", "--role", "steer", "--limits", "uk", "--depth", "5 mm").out
    assert out.startswith("1 reading, but no limit of these sets speaks of it.")
    here = {"unit": "T1", "axle": "1", "side": "left", "dual": "single", "read_on": "2025-06-10", "pressure_psi": "100"}
    files = [
        f"--{name}={write(tmp_path / f'{name}.csv', what)}"
        for name, what in (("positions", TRACTOR), ("readings", [here]))
    ]
    assert run("judge", *files, "--limits", "us-maryland").out.startswith("1 reading, but no limit of these sets")
    early = run("judge", *files, "--as-of", "2025-01-01").out
    assert early.startswith("Nothing was judged: no reading up to that day")


# ---- explain


def test_every_id_that_is_printed_can_be_explained(run: Any) -> None:
    out = run("explain", "OWN-PULL").out
    assert "passes:    tread depth >= pull" in out
    for limit_id, file in (
        ("US-T-04", "us-federal"),
        ("US-T-12", "us-federal"),
        ("ZA-T-03", "za"),
        ("CDL-11", "cdl-test"),
    ):
        done = run("explain", limit_id)
        assert done.code == 2
        assert f"{limit_id} has no row in {file}: " in done.err
