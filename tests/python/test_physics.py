"""Formulas of air, drums and joints against the project's worked rows (A, E, H, K, B, V, Z) and the published anchors.

Numbers are those of the rows named beside each; they do not come from the code. Row numbers are of the formula
reference; a printed number is good to half a unit of its last digit.
"""

from __future__ import annotations

import doctest
import math

import numpy as np
import pytest

from wheelend import physics
from wheelend.errors import BadCall

PSI = 6894.757293168  # Pa, SP811
ATMOSPHERE_PSI = 14.695948775513  # 101325 Pa
MILLIMETER_HOLE = math.pi / 4 * 0.001**2


# ---- air


def test_pressure_of_the_air() -> None:
    """U.S. Standard Atmosphere 1976 prints 8.9876e4 Pa at 1000 m geometric, 79501 at 2000 (from memory)."""
    assert physics.standard_pressure(0.0) == 101_325.0
    assert physics.standard_pressure([1000.0, 2000.0]) == pytest.approx([89_876, 79_501], abs=0.6)


def test_days_to_80_percent_by_permeation() -> None:
    """K1 to K4: 100 to 80 psi, printed to 0.01 d."""
    found = physics.time_to_fall(100.0, 80.0, np.array([1.0, 2.0, 3.0, 5.0])) * 30.4375
    assert found == pytest.approx([679.19, 339.60, 226.40, 135.84], abs=0.006)


def test_time_to_fall_where_nothing_falls() -> None:
    assert physics.time_to_fall([80.0, 100.0, 100.0], 80.0, [1.0, 0.0, np.nan]) == pytest.approx(
        [0.0, np.inf, np.nan], nan_ok=True
    )


def test_a_hole_empties_a_vessel() -> None:
    """H1 to H3: 0.12 m3, Cd 0.8, 293.15 K, holes of 0.1, 0.5 and 1 mm; 100 to 80 psi."""
    area = math.pi / 4 * (np.array([0.1, 0.5, 1.0]) / 1000) ** 2
    tau = physics.hole_time_constant(0.12, area)
    assert tau == pytest.approx([96151.3, 3846.05, 961.513], rel=1e-5)
    start = 100 * PSI
    fall = physics.time_to_fall(
        start, 80 * PSI, (start + physics.ATMOSPHERE) / tau, law="absolute", atmosphere=physics.ATMOSPHERE
    )
    assert fall == pytest.approx([18423.9, 736.96, 184.239], rel=1e-5)


def test_flow_through_a_hole() -> None:
    """H4 and H5 (by 3.3), printed to six and five digits, and where flow ceases to be choked: 13.12 psi."""
    found = physics.hole_flow([100 * PSI, 5 * PSI, 0.0], MILLIMETER_HOLE) * 1000
    assert found == pytest.approx([1.17285, 0.17886, 0.0], rel=3e-5)
    assert physics.choked_above(physics.ATMOSPHERE) / PSI == pytest.approx(13.12, abs=0.005)
    assert physics.choked_above(ATMOSPHERE_PSI) == pytest.approx(13.12, abs=0.005)


def test_the_hole_of_a_loss() -> None:
    """H6 and H7: 1 psi a day and 5 psi a month at 100 psi, 0.12 m3, Cd 0.8: 9.85 and 3.99 micrometers."""
    loss = np.array([1.0 / 86400, 5.0 / (30.4375 * 86400)]) * PSI
    diameter = np.sqrt(4 * physics.hole_area(loss, 100 * PSI, 0.12) / np.pi)
    assert diameter * 1e6 == pytest.approx([9.85, 3.99], abs=0.006)
    # The flow through that hole is the loss: V dp/dt = R T dm/dt, R of dry air 287.05287 (ISO 2533)
    flow = physics.hole_flow(100 * PSI, physics.hole_area(loss, 100 * PSI, 0.12))
    assert flow * 287.05287 * physics.TEMPERATURE / 0.12 == pytest.approx(loss, rel=1e-9)
    assert math.isnan(physics.hole_area(1.0, 10 * PSI, 0.12))  # not choked: another law


def test_activation_energy_of_permeation() -> None:
    """E1: loss doubles from 70 to 90 degF (Tire Science & Technology 13(1), midpoints): 46.61 kJ/mol."""
    assert physics.activation_energy(2.0, 294.261, 305.372) / 1000 == pytest.approx(46.61, abs=0.006)


def test_settling_of_a_joint() -> None:
    """B9: 35 mm stud, E 205 GPa, joint four times stiffer, 10 um: 15.606 kN."""
    assert physics.settling_loss(10e-6, 333.06e-6, 0.035) / 1000 == pytest.approx(15.606, abs=0.002)


def test_stroke_of_a_hot_drum() -> None:
    """V6 to V9: 16.5 in, 6e-6 per F, arm 5.5 in, cam 0.5 in."""
    for rise, growth, stroke in [(100, 0.00990, 0.05445), (400, 0.03960, 0.21780), (600, 0.05940, 0.32670)]:
        grown = physics.drum_growth(16.5, rise, expansion=6.0e-6)
        assert grown == pytest.approx(growth, abs=5e-6)
        assert physics.stroke_of_hot_drum(grown, 5.5, 0.5) == pytest.approx(stroke, abs=5e-6)
    per_degree = physics.stroke_of_hot_drum(physics.drum_growth(16.5, 1.0, expansion=6.0e-6), 5.5, 0.5)
    assert 0.19 / per_degree == pytest.approx(349, abs=0.5)  # V9: the reserve of V2 is gone


def test_leak_down_at_one_starting_pressure() -> None:
    """Z5: the hole of 2 psi/min at 120 psig loses 1.7030 at 100 and 1.5546 at 90."""
    for start, loss in [(100.0, 1.7030), (90.0, 1.5546)]:
        # a minute of that hole: p(t) = p(0) exp(-t / tau), tau by 2 psi/min at 120 psig
        end = (start + ATMOSPHERE_PSI) * math.exp(-2.0 / (120.0 + ATMOSPHERE_PSI)) - ATMOSPHERE_PSI
        assert (start + ATMOSPHERE_PSI) * 2.0 / (120.0 + ATMOSPHERE_PSI) == pytest.approx(loss, abs=5e-5)
        assert physics.leak_down_at(120.0, start, end, 1.0) == pytest.approx(2.0, rel=1e-12)


def test_ten_minutes_are_not_ten_times_one() -> None:
    """Z6: 2 psi/min at 120 psig left for ten minutes ends at 101.414, not at 100."""
    assert physics.leak_down_at(120.0, 120.0, 101.414, 10.0) == pytest.approx(2.0, abs=1e-4)


def test_cooling_reads_as_a_leak() -> None:
    """Z7: reservoir air that cools from 120 to 100 F at 120 psig loses 4.647 psi without a leak."""
    pressure = (120.0 + ATMOSPHERE_PSI) * (100 + 459.67) / (120 + 459.67) - ATMOSPHERE_PSI
    assert 120.0 - pressure == pytest.approx(4.647, abs=5e-4)
    assert physics.leak_down_at(120.0, 120.0, pressure, 10.0) > 0.45  # which is why the caution says to wait


# ---- calls


def test_numbers_give_numbers_and_arrays_arrays() -> None:
    assert isinstance(physics.drum_growth(16.5, 100, expansion=6e-6), float)
    table = physics.drum_growth([[16.5], [15.0]], [100, 400, np.nan], expansion=6e-6)
    assert table.shape == (2, 3)
    assert np.isnan(table[:, 2]).all()
    assert table[0, :2] == pytest.approx([0.0099, 0.0396])


def test_bad_calls_are_refused() -> None:
    for words, call in {
        "did you mean gauge": lambda: physics.time_to_fall(1, 1, 1, law="gage"),  # type: ignore[arg-type]  # the wrong word is the case
        "the pressure of the air": lambda: physics.time_to_fall(1, 1, 1, law="absolute"),
        "area: expected above 0": lambda: physics.hole_flow(1e5, 0.0),
        "volume: expected above 0": lambda: physics.hole_time_constant([0.1, -0.1], 1e-6),
        "minutes: expected above 0": lambda: physics.leak_down_at(120, 120, 110, 0),
        "cam: expected above 0": lambda: physics.stroke_of_hot_drum(0.01, 5.5, 0.0),
        "ratio: expected above 0": lambda: physics.activation_energy(0.0, 290.0, 300.0),
        "length: expected above 0": lambda: physics.settling_loss(1e-6, 1e-4, 0.0),
    }.items():
        with pytest.raises(BadCall, match=words):
            call()


def test_the_examples_hold() -> None:
    done = doctest.testmod(physics)
    assert done.attempted > 4
    assert done.failed == 0
