"""Verdicts on readings: ``judge``, ``pressures``, ``standing`` and ``spot``."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from wheelend import _core, _results, limit_sets, measures
from wheelend.errors import BadCall, BadValue
from wheelend.log import Log, day_number, read_log, read_on

if TYPE_CHECKING:
    import numpy.typing as npt

# Bits of Note in verdict.hpp.
JUDGE_NOTES = {
    1 << 0: "not read",
    1 << 1: "no admissible reading: every groove read lies on a tie bar, hump or fillet, or has no wear indicator",
    1 << 2: "readings on a tie bar, hump or fillet left out",
    1 << 3: "grooves without a wear indicator left out",
    1 << 4: "within one step of the gauge",
    1 << 5: "kind or role of the position is missing",
    1 << 6: "no target pressure is given",
    1 << 7: "the sidewall maximum is not given",
    1 << 8: "read warm, and the rule gives no estimate for it: read again cold",
    1 << 9: "read warm: cold pressure estimated by 49 CFR 393.75(i)(2)",
    1 << 10: "too low even while warm",
    1 << 11: "the fleet's target stands in for the pressure that the load needs",
    1 << 12: "low at fewer than three places: the rule asks for three",
    1 << 13: "no two adjacent grooves were read",
    1 << 14: "not read since the tire was changed",
    1 << 15: "the rated load is not given",
    1 << 16: "not stated whether the tire is a retread",
    1 << 17: "two readings disagree: the lower is judged",
}  # fmt: skip
COLD_NOTES = {
    1 << 0: "no target pressure is given",
    1 << 1: "read warm without a tire temperature, and the federal rule gives no estimate for it: read again cold",
    1 << 2: "corrected with the ambient temperature",
    1 << 3: "no temperature was read: taken as it is",
    1 << 4: "not read since the tire was changed",
    1 << 5: "two readings disagree: the lower is used",
    1 << 6: "temperature or altitude out of the range of the formulas",
    1 << 7: "the method asked for is not possible with this reading",
}
STANDINGS = ("hold", "unread", "watch", "clear")
DUE_SOON_DAYS = 30  # of the column due_within_30_days
LEGAL = ("violation", "out_of_service")


def as_of_day(log: Log, as_of: dt.date | str | None) -> int:
    """Day number of ``as_of``; the last reading by default."""
    return day_number(log.last_day) if as_of is None else day_number(as_of)


@dataclass(frozen=True)
class Selection:
    """Which positions a result speaks of."""

    unit: Iterable[str] | str | None = None
    site: Iterable[str] | str | None = None
    group: Iterable[str] | str | None = None

    def mask(self, log: Log) -> npt.NDArray[np.bool_]:
        return _results.chosen(log, self.unit, self.site, self.group)


def judge(
    log: Log,
    *,
    limits: str = "us-federal",
    all: bool = False,
    as_of: dt.date | str | None = None,
    unit: Iterable[str] | str | None = None,
    site: Iterable[str] | str | None = None,
    group: Iterable[str] | str | None = None,
) -> Any:
    """Verdicts of a limit set on the last inspection of each position.

    Tread and pressure each have their own last inspection, so that a pressure check does not hide the tread that was
    read before it. A position's pull depth is a limit too (``OWN-PULL``, severity ``own``; at the pull depth it
    passes). Depth is judged by the lowest admissible groove at any place; comparison is exact, without slack.

    Parameters
    ----------
    log : Log
    limits : str
        Name of a set (``wheelend.limits()`` lists them) or path of a ``.csv`` file of the same form.
    all : bool
        Judge every inspection up to ``as_of``.
    as_of : date or ISO text, optional
        Readings of later days are left out; the last reading by default.
    unit, site, group : str or list of str, optional
        Only these.

    Returns
    -------
    table of the kind that came in
        One row per limit that applies: see ``wheelend.dictionary.RESULTS["judge"]``. ``reading``, ``limit`` and
        ``margin`` are in ``measure``, the clause's own; ``as_read`` is what was written. Missing values are null.
    """
    return _results.native(judge_table(log, limits, all, as_of, Selection(unit, site, group)), log.kind)


def judge_table(
    log: Log, limits: str, all_inspections: bool, as_of: dt.date | str | None, selection: Selection
) -> pa.Table:
    """:func:`judge` as an Arrow table."""
    rules = limit_sets.load(limits)
    found = _core.judge(
        log.core_readings,
        log.core_positions,
        log.core_tires,
        list(rules.core),
        as_of_day(log, as_of),
        all_inspections,
    )
    keep = selection.mask(log)[found["position"]]
    v = found if keep.all() else {name: column[keep] for name, column in found.items()}
    limit = np.where(v["limit"] < 0, len(rules.rows), v["limit"])
    indexes = [*range(len(rules.rows)), -1]
    senses = [*(r["sense"] for r in rules.core), ">="]
    return pa.table(
        {
            **_results.place_columns(log, v["position"]),
            "read_on": read_on(log, v["row"]),
            "quantity": _results.names_of(limit, [rules.quantity(i) for i in indexes]),
            "reading": _results.numbers(v["reading"]),
            "measure": _results.empty(_results.names_of(v["measure"], [_label(m) for m in measures.labels()])),
            "limit": _results.numbers(v["bound"]),
            "sense": _results.names_of(limit, senses),
            "margin": _results.numbers(v["margin"]),
            "verdict": _results.names_of(v["verdict"], _core.codes["verdict"]),
            "severity": _results.names_of(v["severity"], _core.codes["severity"]),
            "limit_id": _results.names_of(limit, [rules.id(i) for i in indexes]),
            "clause": _results.names_of(limit, [rules.clause(i) for i in indexes]),
            "reason": _results.bits_to_text(v["notes"], JUDGE_NOTES),
            "as_read": _as_read(log, v),
        }
    )


def _label(label: str) -> str:
    return "" if label == "yes_no" else label


def _as_read(log: Log, v: dict[str, Any]) -> pa.Array:
    """'3.17 mm, outer groove, place 2': number, measure and groove as they were written."""
    number = pc.replace_substring_regex(_results.numbers(v["as_read"]).cast(pa.string()), r"\.0$", "")
    flag = v["as_read_measure"] == measures.labels().index("yes_no")
    label = _results.names_of(v["as_read_measure"], measures.labels())
    text = pc.binary_join_element_wise(number, label, " ")
    if flag.any():
        word = pa.array(np.where(v["as_read"] == 1, "yes", "no"), pa.string(), mask=np.isnan(v["as_read"]))
        text = pc.if_else(pa.array(flag), word, text)
    groove = _results.names_of(v["groove"], [f", {g} groove" for g in log.grooves])
    place = np.where(v["place"] >= 0, v["place"], 0)
    placed = pc.binary_join_element_wise(", place ", pa.array(place).cast(pa.string()), "")
    placed = pc.if_else(pa.array((v["place"] >= 0) & (v["groove"] >= 0)), placed, "")
    return pc.binary_join_element_wise(text, pc.fill_null(groove, ""), placed, "")


def pressures(
    log: Log,
    *,
    reference: str = "68 degf",
    method: str = "auto",
    all: bool = False,
    as_of: dt.date | str | None = None,
    unit: Iterable[str] | str | None = None,
    site: Iterable[str] | str | None = None,
    group: Iterable[str] | str | None = None,
) -> Any:
    """How far each cold pressure is off its target.

    Methods, in the order of choice: gas law on absolute pressures with the temperature of the tire; a warm reading
    without one by the federal subtraction (49 CFR 393.75(i)(2), only 41 to 55 mph over the last hour); a cold one by
    the gas law with the ambient temperature; a cold one as read. Altitude enters through the standard atmosphere
    (ISO 2533) and is the same on both sides: pressures stay gauge at the place of reading.

    Parameters
    ----------
    log : Log
    reference : str
        Temperature at which cold pressures are stated, e.g. ``"68 degf"`` or ``"20 degc"``.
    method : {"auto", "gas_law", "federal_subtraction", "as_read"}
        Only this method; readings for which it is not possible are ``unknown``.
    all : bool
        Every inspection with a pressure, not only the last.
    as_of, unit, site, group
        As for :func:`judge`.

    Returns
    -------
    table of the kind that came in
        One row per position with a pressure; pressures in the measure of the pressure column. States: ``flat`` (half
        of the sidewall maximum or less), ``demount`` (80 % of target or less), ``under``, ``over`` (more than 5 psi
        off), ``on_target``, ``unknown``; thresholds in data/limits/pressure_states.csv.
    """
    selection = Selection(unit, site, group)
    return _results.native(pressures_table(log, reference, method, all, as_of, selection), log.kind)


def pressures_table(
    log: Log,
    reference: str,
    method: str,
    all_inspections: bool,
    as_of: dt.date | str | None,
    selection: Selection,
) -> pa.Table:
    """:func:`pressures` as an Arrow table."""
    number, label = measures.parse_quantity(reference, "temperature", "reference")
    kelvin = float(measures.convert(np.array([float(number)]), label, "k")[0])
    methods = ("auto", "gas_law", "federal_subtraction", "as_read")
    if method not in methods:
        raise BadCall(f"method: expected one of {', '.join(methods)}, got {method!r}")
    v = _core.cold_pressures(
        log.core_readings, log.core_positions, log.core_tires, list(limit_sets.pressure_states()),
        as_of_day(log, as_of), all_inspections, kelvin, "none" if method == "auto" else method,
    )  # fmt: skip
    keep = selection.mask(log)[v["position"]]
    v = {name: column[keep] for name, column in v.items()}
    m = log.pressure_measure
    return pa.table(
        {
            **_results.place_columns(log, v["position"]),
            "read_on": read_on(log, v["row"]),
            f"pressure_{m}": _results.numbers(v["found"]),
            f"cold_{m}": _results.numbers(v["cold"]),
            f"target_{m}": _results.numbers(v["target"]),
            f"deviation_{m}": _results.numbers(v["deviation"]),
            "deviation_percent": _results.numbers(v["deviation_percent"]),
            "method": _results.names_of(v["method"], _core.codes["method"]),
            "state": _results.names_of(v["state"], _core.codes["state"]),
            "reason": _results.bits_to_text(v["notes"], COLD_NOTES),
        }
    )


def standing(
    log: Log,
    *,
    limits: str = "us-federal",
    unread_after: int = 45,
    as_of: dt.date | str | None = None,
    unit: Iterable[str] | str | None = None,
    site: Iterable[str] | str | None = None,
    group: Iterable[str] | str | None = None,
) -> Any:
    """Whether each unit may leave: one row per unit, worst first.

    ``hold``: a violation or an out-of-service criterion fails. ``unread``: no reading for ``unread_after`` days, or
    never. ``watch``: a limit of the fleet's own fails, a pressure is under, or a tire is due within 30 days.
    ``clear``: none of these. A standing is no certificate of roadworthiness.

    Parameters
    ----------
    log : Log
    limits : str
        As for :func:`judge`.
    unread_after : int
        Days without a reading after which a unit counts as unread.
    as_of, unit, site, group
        As for :func:`judge`.

    Returns
    -------
    table of the kind that came in
        See ``wheelend.dictionary.RESULTS["standing"]``.
    """
    selection = Selection(unit, site, group)
    return _results.native(standing_table(log, limits, unread_after, as_of, selection), log.kind)


def standing_table(
    log: Log, limits: str, unread_after: int, as_of: dt.date | str | None, selection: Selection
) -> pa.Table:
    """:func:`standing` as an Arrow table."""
    from wheelend._standing import build

    return build(log, limits, unread_after, as_of, selection)


@dataclass(frozen=True)
class Spot:
    """What one reading means: verdicts and, with a pressure, the cold deviation. Arrow tables."""

    verdicts: pa.Table
    pressures: pa.Table | None

    @property
    def fails(self) -> bool:
        """Whether a violation or an out-of-service limit fails."""
        return legal_failures(self.verdicts) > 0


def legal_failures(verdicts: pa.Table) -> int:
    """Number of verdicts that fail as a violation or as out of service."""
    fails = pc.and_(pc.equal(verdicts["verdict"], "fail"), pc.is_in(verdicts["severity"], pa.array(LEGAL)))
    return int(pc.sum(fails).as_py() or 0)


def spot(
    *,
    kind: str,
    role: str,
    depth: str | Iterable[str] | None = None,
    pressure: str | None = None,
    target: str | None = None,
    sidewall_max: str | None = None,
    axle: int | None = None,
    warm: bool = False,
    retread: bool | None = None,
    limits: str = "us-federal",
) -> Spot:
    """Verdicts on one wheel position, without any file.

    Parameters
    ----------
    kind, role : str
        As in the positions table.
    depth : str or list of str, optional
        Depths of the grooves, outer to inner, each with its measure: ``"5/32 in"``, ``"4.1 mm"``.
    pressure, target, sidewall_max : str, optional
        Gauge pressures with their measure: ``"92 psi"``.
    axle : int, optional
        From the front; by default 1 for ``steer`` and for units without an engine, else 2.
    warm : bool
        The vehicle ran within three hours.
    retread : bool, optional
        Whether the tire is a retread.
    limits : str
        As for :func:`judge`.

    Returns
    -------
    Spot

    Raises
    ------
    BadCall
        A quantity lacks its measure, or neither depth nor pressure is given.
    """
    for name, word in (("kind", kind), ("role", role)):
        if word not in _core.codes[name]:
            raise BadCall(f"{name}: expected one of {', '.join(_core.codes[name])}, got {word!r}")
    depths = [depth] if isinstance(depth, str) else list(depth or [])
    if not depths and pressure is None:
        raise BadCall("spot: give a depth, a pressure, or both (--depth '5/32 in' --pressure '92 psi')")
    first = 1 if role == "steer" or kind in ("trailer", "dolly") else 2
    row: dict[str, list[Any]] = {
        "unit": ["this"], "axle": [first if axle is None else axle], "side": ["left"],
        "dual": ["single"], "kind": [kind], "role": [role],
        "read_on": [dt.date.today().isoformat()], "warm": ["yes" if warm else "no"],
    }  # fmt: skip
    if retread is not None:
        row["retread"] = ["yes" if retread else "no"]
    for i, text in enumerate(depths, 1):
        decimal, label = measures.parse_quantity(text, "length", "depth")
        row[f"tread_{i}_{label}"] = [decimal]
    for name, given in (("pressure", pressure), ("target", target), ("sidewall_max", sidewall_max)):
        if given is not None:
            decimal, label = measures.parse_quantity(given, "pressure", name)
            row[f"{name}_{label}"] = [decimal]
    try:
        log = read_log(row, on_bad="raise")
    except BadValue as error:  # there is no file here: the argument is what is wrong
        raise BadCall(f"spot: {error}") from None
    selection = Selection()
    cold = pressures_table(log, "68 degf", "auto", False, None, selection) if pressure is not None else None
    verdicts = judge_table(log, limits, False, None, selection)
    there = {"tread_depth": bool(depths), "pressure": pressure is not None, "retread": retread is not None}
    asked = [quantity for quantity, given in there.items() if given]
    return Spot(verdicts.filter(pc.is_in(verdicts["quantity"], pa.array(asked))), cold)
