"""Clamp load of a wheel stud from its torque, as a range: ``clamp_load``."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from wheelend import _core, _data, measures
from wheelend._words import did_you_mean
from wheelend.errors import BadCall

_NEWTON_PER_LBF = 0.45359237 * 9.80665  # pound-force: SP811, appendix B
_PROOF_MPA = 830.0  # property class 10.9, ISO 898-1, from memory

CAUTION = (
    "A torque says little of the clamp load: friction decides, and a torque wrench alone scatters it by about 30 "
    "percent. Follow the maker's torque, sequence and recheck; this is advice only."
)


@dataclass(frozen=True)
class ClampLoad:
    """Range of the clamp load of one stud at one torque.

    Attributes
    ----------
    low_lbf, high_lbf, low_kn, high_kn : float
        Ends of the range, pounds-force and kilonewtons.
    k_low, k_high : float
        Nut factors that they belong to: the high factor gives the low load.
    low_of_proof, high_of_proof : float
        Shares of the proof load of a class 10.9 stud of that thread (ISO 898-1, from memory); NaN where its pitch is
        not known.
    thread : str
        Condition of the threads that was taken.
    sources : tuple of str
        Where nut factors and stud are printed.
    """

    low_lbf: float
    high_lbf: float
    low_kn: float
    high_kn: float
    k_low: float
    k_high: float
    low_of_proof: float
    high_of_proof: float
    thread: str
    sources: tuple[str, ...]


def clamp_load(*, torque: str, thread: str | None = None, stud: str = "m22") -> ClampLoad:
    """Range of clamp load that a torque may stand for: never one number, for the threads decide.

    Parameters
    ----------
    torque : str
        Tightening torque with its measure, e.g. ``"475 lbft"`` or ``"640 nm"``; above 0, at most 1500 lbf ft.
    thread : str, optional
        ``"oiled"``, ``"dry"`` or ``"rough"`` (rust, paint, damage). Without it the range spans them all.
    stud : str
        A stud or fastener system of ``data/priors/studs.csv`` (``"m22"``, ``"m20"``, ``"cap_nut"``, ...) or a
        diameter such as ``"22 mm"``.

    Returns
    -------
    ClampLoad
        Both ends of the range, with the nut factors and sources that they rest on.

    Raises
    ------
    BadCall
        The torque, thread or stud cannot be used as written.

    Notes
    -----
    F = T / (K D); the ranges of K stand with their sources in ``data/priors/threads.csv``. What a joint loses when it
    settles, and the scatter of the wrench, come on top.
    """
    text, measure = measures.parse_quantity(torque, "torque", "torque")
    newton_metre = float(measures.convert(np.array([float(text)]), measure, "nm")[0])
    most = float(measures.convert(np.array([1500.0]), "lbft", "nm")[0])
    if not 0.0 < newton_metre <= most:
        raise BadCall(f"torque: expected above 0 and at most 1500 lbf ft, got {torque!r}")
    k_low, k_high, sources = _nut_factors(thread)
    diameter_mm, pitch_mm, source = _stud(stud)
    low, high = (_core.clamp_load(newton_metre, k, diameter_mm / 1000) for k in (k_high, k_low))
    proof = _core.stress_area(diameter_mm, pitch_mm) * _PROOF_MPA  # mm2 times N/mm2; NaN without a pitch
    return ClampLoad(
        low_lbf=low / _NEWTON_PER_LBF, high_lbf=high / _NEWTON_PER_LBF, low_kn=low / 1000, high_kn=high / 1000,
        k_low=k_low, k_high=k_high, low_of_proof=low / proof, high_of_proof=high / proof,
        thread=thread or "not known", sources=(*sources, source),
    )  # fmt: skip


def retention(fitted: float, rechecked: float) -> float:
    """Share of the torque that is left at the recheck: both in one measure, ``fitted`` above 0.

    475 then 460 is 0.968: 3.2 percent lost. A recheck reads the torque that moves the nut further, mostly more than
    what is left.

    Parameters
    ----------
    fitted : float
        Torque when fitted, above 0.
    rechecked : float
        Torque at the recheck, in the same measure, 0 or more.

    Returns
    -------
    float
        0 or more; above 1 where the recheck read more.

    Raises
    ------
    BadCall
        A torque is negative or not a number, or the first is 0.
    """
    if not (fitted > 0.0 and rechecked >= 0.0):
        raise BadCall(f"retention: expected torques, the first above 0, got {fitted!r} and {rechecked!r}")
    return rechecked / fitted


@cache
def _threads() -> dict[str, dict[str, str]]:
    return {row["thread"]: row for row in _data.read_rows(_data.root() / "priors" / "threads.csv")}


@cache
def studs() -> dict[str, dict[str, str]]:
    """Studs and fastener systems by name."""
    return {row["stud"]: row for row in _data.read_rows(_data.root() / "priors" / "studs.csv")}


def _nut_factors(thread: str | None) -> tuple[float, float, tuple[str, ...]]:
    known = _threads()
    if thread is not None and thread not in known:
        raise BadCall(f"thread: {thread!r} is none of {', '.join(known)}{did_you_mean(thread, list(known))}")
    rows = list(known.values()) if thread is None else [known[thread]]
    low, high = min(float(r["k_low"]) for r in rows), max(float(r["k_high"]) for r in rows)
    return low, high, tuple(r["source"] for r in rows)


def _stud(stud: str) -> tuple[float, float, str]:
    if (row := studs().get(stud)) is not None:
        return float(row["diameter_mm"]), float(row["pitch_mm"]), row["source"]
    if not stud[:1].isdigit():
        raise BadCall(f"stud: {stud!r} is none of {', '.join(studs())}; or give a diameter, e.g. '22 mm'")
    text, measure = measures.parse_quantity(stud, "length", "stud")
    diameter = float(measures.convert(np.array([float(text)]), measure, "mm")[0])
    if not 5.0 <= diameter <= 60.0:
        raise BadCall(f"stud: a wheel stud is 5 to 60 mm thick, got {stud!r}")
    return diameter, float("nan"), "diameter as given"


def clamp_lines(found: ClampLoad, torque: str) -> list[str]:
    """The range for people."""
    from wheelend._people import _wrap

    lines = [
        f"{torque}, threads {found.thread}: {_round(found.low_lbf):,} to {_round(found.high_lbf):,} lbf per stud "
        f"({found.low_kn:.0f} to {found.high_kn:.0f} kN), nut factor {found.k_high:.3f} to {found.k_low:.3f}.",
    ]
    if found.low_of_proof == found.low_of_proof:
        lines.append(
            f"That is {found.low_of_proof:.0%} to {found.high_of_proof:.0%} of the proof load of a class 10.9 stud "
            "(from memory)."
        )
    lines += [*(f"Source: {s}." for s in found.sources), CAUTION]
    return [line for text in lines for line in _wrap(text, "")]


def _round(lbf: float) -> int:
    """To hundreds: more digits would be an accuracy that nobody has."""
    return round(lbf / 100) * 100
