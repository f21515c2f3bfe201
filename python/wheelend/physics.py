"""How tires lose air, what a leak-down shows, what heat and settling cost at the wheel end: formulas on plain numbers.

For studies of one tire, one hole, one drum. Each argument may be a number or an array; arrays are broadcast, and NaN
stays NaN. Formulas 1, 3 and 8 of the references; the manual's page on physics writes them down.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from wheelend import _core
from wheelend._words import expected
from wheelend.errors import BadCall

if TYPE_CHECKING:
    import numpy.typing as npt

ATMOSPHERE = 101_325.0  # Pa, standard, ISO 2533
DISCHARGE = 0.8  # coefficient of a hole with sharp edges, choked: common practice, no source
TEMPERATURE = 293.15  # K, 20 degC


def _each(function: Any, *values: npt.ArrayLike) -> Any:
    """A function of numbers over arrays: a number where all are numbers; NaN where one of them is."""
    arrays = np.broadcast_arrays(*(np.asarray(v, np.float64) for v in values))
    rows = zip(*(a.ravel().tolist() for a in arrays), strict=True)
    found = np.array([np.nan if np.isnan(row).any() else function(*row) for row in rows], np.float64)
    return float(found[0]) if arrays[0].ndim == 0 else found.reshape(arrays[0].shape)


def _above_zero(**values: npt.ArrayLike) -> None:
    for name, value in values.items():
        if (np.asarray(value, np.float64) <= 0).any():
            raise BadCall(f"{name}: expected above 0, got {value!r}")


# ---- air


def standard_pressure(altitude: npt.ArrayLike) -> Any:
    """Pressure of the air at an altitude, by the standard atmosphere (ISO 2533).

    Parameters
    ----------
    altitude : float or array-like
        Geometric, metres; up to 11 km of the geopotential.

    Returns
    -------
    float or array
        Pa.
    """
    return _each(lambda z: _core.standard_pressure_pa(_core.geopotential_m(z)), altitude)


def time_to_fall(
    start: npt.ArrayLike,
    end: npt.ArrayLike,
    loss: npt.ArrayLike,
    *,
    law: Literal["gauge", "absolute"] = "gauge",
    atmosphere: npt.ArrayLike | None = None,
) -> Any:
    """Time until a pressure has fallen to another, if nobody fills the tire.

    Parameters
    ----------
    start, end : float or array-like
        Gauge pressures, in one unit.
    loss : float or array-like
        Lost per unit of time at ``start``, in that unit of pressure: ``2`` where it loses 2 psi a month.
    law : {"gauge", "absolute"}
        What the loss goes with: permeation with the gauge pressure, flow through a choked hole with the absolute one.
    atmosphere : float or array-like, optional
        Pressure of the air in that unit; needed for ``"absolute"``.

    Returns
    -------
    float or array
        In the unit of time of ``loss``. 0 where ``end`` is reached already, infinite where nothing is lost.

    Raises
    ------
    BadCall
        No such law, or no ``atmosphere`` for the absolute one.

    Notes
    -----
    ``ln((start + a) / (end + a)) * (start + a) / loss``, with ``a`` the atmosphere, or 0 for permeation (3.2, 3.4).

    Examples
    --------
    >>> from wheelend import physics
    >>> round(physics.time_to_fall(100, 80, 2.0), 2)  # months, at 2 psi a month
    11.16
    """
    if law not in ("gauge", "absolute"):
        raise BadCall(expected("law", ("gauge", "absolute"), law))
    if law == "absolute" and atmosphere is None:
        raise BadCall("atmosphere: the absolute law needs the pressure of the air, in the unit of the others")
    of_air = 0.0 if atmosphere is None else atmosphere
    return _each(lambda p, q, rate, a: _core.time_to_fall(p, q, rate, a, law), start, end, loss, of_air)


def hole_flow(
    pressure: npt.ArrayLike,
    area: npt.ArrayLike,
    *,
    atmosphere: npt.ArrayLike = ATMOSPHERE,
    discharge: npt.ArrayLike = DISCHARGE,
    temperature: npt.ArrayLike = TEMPERATURE,
) -> Any:
    """Air that flows through a hole: choked above :func:`choked_above`, else by the isentropic nozzle (3.2, 3.3).

    Parameters
    ----------
    pressure : float or array-like
        Gauge pressure inside, Pa.
    area : float or array-like
        Of the hole, m2; above 0.
    atmosphere : float or array-like
        Pressure of the air, Pa; above 0.
    discharge : float or array-like
        Coefficient of discharge; above 0.
    temperature : float or array-like
        Of the gas, K; above 0.

    Returns
    -------
    float or array
        Mass per time, kg/s; 0 where ``pressure`` is not above 0.

    Raises
    ------
    BadCall
        A value is not above 0.
    """
    _above_zero(area=area, atmosphere=atmosphere, discharge=discharge, temperature=temperature)
    return _each(
        lambda p, s, a, c, t: _core.hole_flow(p + a, a, s, c, t), pressure, area, atmosphere, discharge, temperature
    )


def hole_time_constant(
    volume: npt.ArrayLike,
    area: npt.ArrayLike,
    *,
    discharge: npt.ArrayLike = DISCHARGE,
    temperature: npt.ArrayLike = TEMPERATURE,
) -> Any:
    """Time constant with which a vessel empties through a choked hole: p(t) = p(0) exp(-t / tau), absolute (3.4).

    Parameters
    ----------
    volume : float or array-like
        Of the vessel, m3; above 0. A large truck tire holds about 0.12.
    area, discharge, temperature : float or array-like
        As for :func:`hole_flow`.

    Returns
    -------
    float or array
        Seconds.

    Raises
    ------
    BadCall
        A value is not above 0.
    """
    _above_zero(volume=volume, area=area, discharge=discharge, temperature=temperature)
    return _each(_core.hole_time_constant, volume, area, discharge, temperature)


def choked_above(atmosphere: npt.ArrayLike) -> Any:
    """Gauge pressure above which flow through a hole is choked, so that the loss goes with the absolute pressure.

    Parameters
    ----------
    atmosphere : float or array-like
        Pressure of the air, in any unit.

    Returns
    -------
    float or array
        In that unit: 13.1 psi at sea level.
    """
    return _each(_core.choked_above, atmosphere)


def hole_area(
    loss: npt.ArrayLike,
    pressure: npt.ArrayLike,
    volume: npt.ArrayLike,
    *,
    atmosphere: npt.ArrayLike = ATMOSPHERE,
    discharge: npt.ArrayLike = DISCHARGE,
    temperature: npt.ArrayLike = TEMPERATURE,
) -> Any:
    """Area of the one hole that would explain a loss.

    Parameters
    ----------
    loss : float or array-like
        Pa/s.
    pressure : float or array-like
        Gauge pressure at which it is lost, Pa.
    volume : float or array-like
        Of the tire or reservoir, m3; above 0.
    atmosphere, discharge, temperature : float or array-like
        As for :func:`hole_flow`.

    Returns
    -------
    float or array
        Square metres; NaN where the flow would not be choked.

    Raises
    ------
    BadCall
        A value is not above 0.

    Examples
    --------
    >>> from math import pi, sqrt
    >>> from wheelend import physics
    >>> psi = 6894.757293168
    >>> area = physics.hole_area(5 * psi / (30.4375 * 86400), 100 * psi, 0.12)  # 5 psi a month
    >>> round(sqrt(4 * area / pi) * 1e6, 1)  # its diameter, micrometres
    4.0
    """
    _above_zero(volume=volume, atmosphere=atmosphere, discharge=discharge, temperature=temperature)

    def one(lost: float, gauge: float, inside: float, air: float, c: float, kelvin: float) -> float:
        if not gauge > _core.choked_above(air):
            return float("nan")
        return _core.hole_area(lost, gauge + air, inside, c, kelvin)

    return _each(one, loss, pressure, volume, atmosphere, discharge, temperature)


def activation_energy(ratio: npt.ArrayLike, start: npt.ArrayLike, end: npt.ArrayLike) -> Any:
    """Activation energy of permeation that grows with temperature (Arrhenius; 3.1).

    Parameters
    ----------
    ratio : float or array-like
        Loss at ``end`` by that at ``start``; above 0.
    start, end : float or array-like
        Two temperatures, K; above 0.

    Returns
    -------
    float or array
        J/mol.

    Raises
    ------
    BadCall
        A value is not above 0.
    """
    _above_zero(ratio=ratio, start=start, end=end)
    return _each(_core.activation_energy, ratio, start, end)


def leak_down_at(reference: npt.ArrayLike, start: npt.ArrayLike, end: npt.ArrayLike, minutes: npt.ArrayLike) -> Any:
    """Leak-down of a timed test, brought to one starting pressure, so that tests can be compared (3.4, 8.2).

    Parameters
    ----------
    reference : float or array-like
        Starting pressure to bring it to: gauge, psi.
    start, end : float or array-like
        Pressures at which the test began and ended: gauge, psi, above 13 psi.
    minutes : float or array-like
        How long it took; above 0.

    Returns
    -------
    float or array
        Rate at ``reference``, psi per minute; negative where the pressure rose.

    Raises
    ------
    BadCall
        ``minutes`` is not above 0.

    Notes
    -----
    Air that cools reads as a leak: 4.6 psi where 120 psi cool from 120 to 100 degF. Wait until it has cooled.
    """
    _above_zero(minutes=minutes)
    return _each(_core.loss_per_minute_at, reference, start, end, minutes)


# ---- drums and joints


def drum_growth(diameter: npt.ArrayLike, rise: npt.ArrayLike, *, expansion: npt.ArrayLike) -> Any:
    """How much wider a brake drum is when it is hot (8.2).

    Parameters
    ----------
    diameter : float or array-like
        Of the cold drum.
    rise : float or array-like
        By which it is warmer, in degrees.
    expansion : float or array-like
        Coefficient of expansion, per degree; gray cast iron about 6e-6 per degF, 11e-6 per degC
        (from memory).

    Returns
    -------
    float or array
        In the unit of ``diameter``.
    """
    return _each(lambda d, t, alpha: _core.drum_growth(d, alpha, t), diameter, rise, expansion)


def stroke_of_hot_drum(growth: npt.ArrayLike, arm: npt.ArrayLike, cam: npt.ArrayLike) -> Any:
    """Stroke of the pushrod that a grown drum costs: half the growth, through the lever of arm and cam (8.2).

    Parameters
    ----------
    growth : float or array-like
        Of the drum's diameter, as of :func:`drum_growth`.
    arm : float or array-like
        Effective length of the slack adjuster.
    cam : float or array-like
        Effective radius of the cam; above 0.

    Returns
    -------
    float or array
        In the unit of ``growth``.

    Raises
    ------
    BadCall
        ``cam`` is not above 0.

    Notes
    -----
    It is why a stroke near its limit on a cold brake is none to rely on: a hot drum takes what is left. It says nothing
    of fade. Stroke limits are for cold brakes; measure and adjust by the maker's procedure.

    Examples
    --------
    >>> from wheelend import physics
    >>> growth = physics.drum_growth(16.5, 400, expansion=6e-6)  # inches, degF
    >>> round(physics.stroke_of_hot_drum(growth, 5.5, 0.5), 3)
    0.218
    """
    _above_zero(cam=cam)
    return _each(_core.stroke_of_hot_drum, growth, arm, cam)


def settling_loss(
    settles: npt.ArrayLike,
    area: npt.ArrayLike,
    length: npt.ArrayLike,
    *,
    modulus: npt.ArrayLike = 205e9,
    joint_stiffer: npt.ArrayLike = 4.0,
) -> Any:
    """Clamp load that a stud loses when paint, rust or burrs of its joint settle (8.1; form of VDI 2230, from memory).

    Parameters
    ----------
    settles : float or array-like
        By how much, m.
    area : float or array-like
        Stress area of the stud, m2; above 0.
    length : float or array-like
        Clamped length, m; above 0.
    modulus : float or array-like
        Of the stud, Pa; steel by default.
    joint_stiffer : float or array-like
        Stiffness of the joint by that of the stud.

    Returns
    -------
    float or array
        N.

    Raises
    ------
    BadCall
        ``area`` or ``length`` is not above 0.
    """
    _above_zero(area=area, length=length)
    return _each(_core.settling_loss, settles, area, length, modulus, joint_stiffer)
