"""Clamp load, retention and hub scores against the project's formulas (rows B, J).

Numbers are those of the published anchors and worked rows named beside each; they do not come from the code.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

import wheelend
from wheelend import _core
from wheelend.errors import BadCall

NM_PER_LBFT = 0.45359237 * 9.80665 * 0.3048  # SP811
N_PER_LBF = 0.45359237 * 9.80665


def test_clamp_load_of_one_nut_factor() -> None:
    """B1 to B5: T = K D F, M22."""
    expected = [(475, 0.110, 59826.4), (475, 0.132, 49855.4), (475, 0.150, 43872.7), (475, 0.200, 32904.5),
                (500, 0.330, 20991.7)]  # fmt: skip
    for torque, k, lbf in expected:
        assert _core.clamp_load(torque * NM_PER_LBFT, k, 0.022) / N_PER_LBF == pytest.approx(lbf, abs=0.05)


def test_clamp_load_is_a_range_that_holds_what_is_published() -> None:
    """B6: 475 lbf ft gives 50 000 to 60 000 lbf when oiled; 500 gave as little as 20 000 with excess friction."""
    oiled = wheelend.clamp_load(torque="475 lbft", thread="oiled")
    assert oiled.low_lbf < 50000 < oiled.high_lbf
    assert oiled.high_lbf == pytest.approx(59826.4, abs=0.1)  # B1
    assert oiled.low_lbf == pytest.approx(43872.7, abs=0.1)  # B3
    rough = wheelend.clamp_load(torque="500 lbft", thread="rough")
    assert rough.low_lbf == pytest.approx(20000, rel=0.003)  # 0.346 for 0.34636: three digits are what is printed
    unknown = wheelend.clamp_load(torque="475 lbft")
    assert unknown.low_lbf < oiled.low_lbf
    assert unknown.high_lbf >= oiled.high_lbf


def test_clamp_load_in_metric_and_by_diameter_is_the_same() -> None:
    one = wheelend.clamp_load(torque="475 lbft", thread="dry", stud="m22")
    other = wheelend.clamp_load(torque=f"{475 * NM_PER_LBFT:.9f} nm", thread="dry", stud="22 mm")
    assert other.low_kn == pytest.approx(one.low_kn, rel=1e-9)
    assert math.isnan(other.low_of_proof)  # no pitch, no stress area


def test_share_of_proof_load() -> None:
    """B7: 333.06 mm2 of M22 x 1.5; B8: 50 000 lbf is 80.5 % of proof at 830 MPa."""
    area = _core.stress_area(22.0, 1.5)
    assert area == pytest.approx(333.06, abs=0.005)
    assert 50000 * N_PER_LBF / (area * 830.0) == pytest.approx(0.805, abs=0.0005)
    found = wheelend.clamp_load(torque="475 lbft", thread="oiled")
    assert found.low_of_proof == pytest.approx(found.low_kn * 1000 / (area * 830.0), rel=1e-12)


def test_retention() -> None:
    """B10, B11: 475 to 460 is 3.16 % lost, to 430 9.47 %."""
    assert 1 - wheelend.retention(475, 460) == pytest.approx(0.0316, abs=5e-5)
    assert 1 - wheelend.retention(475, 430) == pytest.approx(0.0947, abs=5e-5)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        ({"torque": "475"}, "a number and a measure"),
        ({"torque": "0 lbft"}, "above 0"),
        ({"torque": "475 psi"}, "torque"),
        ({"torque": "475 lbft", "thread": "oild"}, "did you mean oiled"),
        ({"torque": "475 lbft", "stud": "m23"}, "give a diameter"),
        ({"torque": "475 lbft", "stud": "3 mm"}, "5 to 60 mm"),
    ],
)
def test_clamp_load_refuses_what_it_cannot_use(call: dict[str, str], words: str) -> None:
    with pytest.raises(BadCall, match=words):
        wheelend.clamp_load(**call)


def test_robust_score_of_hubs() -> None:
    """J1: median 144.5, MAD 3.0; 171 scores 5.9581, 139 -1.2366."""
    scores = _core.robust_scores(np.array([142.0, 145.0, 139.0, 171.0, 148.0, 144.0]))
    assert scores[3] == pytest.approx(5.9581, abs=5e-5)
    assert scores[2] == pytest.approx(-1.2366, abs=5e-5)


def test_robust_score_says_nothing_where_it_cannot() -> None:
    assert np.isnan(_core.robust_scores(np.array([1.0, 2.0]))).all()
    assert np.isnan(_core.robust_scores(np.array([5.0, 5.0, 5.0, 9.0]))).all()
    one_missing = _core.robust_scores(np.array([1.0, np.nan, 2.0, 4.0]))
    assert np.isnan(one_missing[1])
    assert not np.isnan(one_missing[[0, 2, 3]]).any()


# ---- hubs of a log


def _hub_log(temperatures: dict[tuple[int, str], float], measure: str = "degf") -> wheelend.Log:
    places = sorted(temperatures)
    positions = {
        "unit": ["U1"] * len(places), "kind": ["tractor"] * len(places), "axle": [a for a, _ in places],
        "side": [s for _, s in places], "dual": ["single"] * len(places), "role": ["drive"] * len(places),
    }  # fmt: skip
    readings = {
        "unit": ["U1"] * len(places), "axle": [a for a, _ in places], "side": [s for _, s in places],
        "read_on": ["2025-06-10"] * len(places), "quantity": ["hub_temperature"] * len(places),
        f"value_{measure}": [temperatures[p] for p in places],
    }  # fmt: skip
    return wheelend.read_log(None, positions, wheelend_readings=readings)


def test_a_hub_hotter_than_the_others_stands_out() -> None:
    """J1 as a vehicle: 171 F is named, against the others and against its mate (27 F apart is not 50)."""
    log = _hub_log({(1, "left"): 142, (1, "right"): 145, (2, "left"): 139, (2, "right"): 171, (3, "left"): 148,
                    (3, "right"): 144})  # fmt: skip
    found = wheelend.hubs(log)
    hot = [i for i, state in enumerate(found["state"]) if state == "hot"]
    assert len(hot) == 1
    i = hot[0]
    assert (found["axle"][i], found["side"][i]) == (2, "right")
    assert found["score"][i] == pytest.approx(5.9581, abs=5e-5)
    assert found["above_mate_degf"][i] == pytest.approx(32)
    assert "other side" not in found["reason"][i]
    closer = wheelend.hubs(log, apart="25 degf")
    assert "other side" in closer["reason"][i]


def test_hubs_in_celsius_and_too_few() -> None:
    found = wheelend.hubs(_hub_log({(1, "left"): 60.0}, "degc"))
    assert found["temperature_degc"][0] == pytest.approx(60.0)
    assert found["state"][0] == "unknown"
    with pytest.raises(BadCall, match="above 0"):
        wheelend.hubs(_hub_log({(1, "left"): 60.0}), apart="0 degf")
