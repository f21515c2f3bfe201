"""Verdicts on readings: ``judge``, ``pressures``, ``standing`` and ``spot``."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from wheelend import _core, _facts, _loads_of_log, _results, limit_sets, measures
from wheelend._words import expected, position_words
from wheelend.dictionary import QUANTITIES
from wheelend.errors import BadCall, BadValue
from wheelend.limit_sets import DEFAULT, Limits, LimitSet
from wheelend.log import Log, day_number, read_log, read_on, require_log

if TYPE_CHECKING:
    import numpy.typing as npt

    from wheelend._conditions import Condition

REFERENCE = "68 degf"  # that cold pressures are stated at where nothing else is asked for
METHODS = ("auto", "gas_law", "federal_subtraction", "as_read")  # of finding a cold pressure
STANDINGS = ("hold", "unread", "watch", "clear")
DUE_SOON_DAYS = 30  # of the column due_within_30_days
UNREAD_AFTER = 45  # days without a reading after which a unit counts as unread
LEGAL = ("violation", "out_of_service")


def as_of_day(log: Log, as_of: dt.date | str | None) -> int:
    """Day number of ``as_of``; the last reading by default."""
    require_log(log)
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
    limits: Limits = DEFAULT,
    all: bool = False,
    count_unconfirmed: bool = False,
    as_of: dt.date | str | None = None,
    unit: Iterable[str] | str | None = None,
    site: Iterable[str] | str | None = None,
    group: Iterable[str] | str | None = None,
) -> Any:
    """Verdicts of limit sets on the last inspection of each position, and on the last reading of every other quantity.

    Tread and pressure each have their own last inspection, so that a pressure check does not hide the tread that was
    read before it. A position's pull depth is a limit too (``OWN-PULL``, severity ``own``; at the pull depth it
    passes). Comparison is exact, without slack. Readings of an axle or unit have no side, no axle. A reading that no
    row speaks of has one verdict, ``no_verdict`` without limit and clause. A pressure whose ``warm`` is blank counts as
    read cold.

    Parameters
    ----------
    log : Log
        The fleet, from :func:`wheelend.read_log`.
    limits : str, path, or list of them
        Names of sets (``wheelend.limits()`` lists them) or paths of ``.csv`` files of the same form. Several are judged
        together; a fleet's own file adds, tightens or overrides rows of the others.
    all : bool
        Judge every inspection up to ``as_of``. Dual pairs and axles are judged on their last day only. The pressure
        that a load needs (``needed_by_load``) is then known only where the size of the tire never changed.
    count_unconfirmed : bool
        Let rows that rest on memory fail a reading. Without it their verdict is ``no_verdict`` with the reason
        "unconfirmed row ID would fail", and ``would_fail`` is true.
    as_of : date or ISO text, optional
        Readings of later days are left out; the last reading by default.
    unit, site, group : str or list of str, optional
        Only these.

    Returns
    -------
    table of the kind that came in
        One row per limit that applies: see ``wheelend.dictionary.RESULTS["judge"]``. ``reading``, ``limit`` and
        ``margin`` are in ``measure``, the clause's own; ``as_read`` is what was written. Missing values are null.

    Raises
    ------
    BadCall
        There is no such unit, site, group or day, or no such limit set.
    LimitFileError
        A limit file cannot be used as written.
    """
    selection = Selection(unit, site, group)
    return _results.native(judge_table(log, limits, all, as_of, selection, count_unconfirmed), log.kind)


def judge_table(
    log: Log,
    limits: Limits,
    all_inspections: bool,
    as_of: dt.date | str | None,
    selection: Selection,
    count_unconfirmed: bool = False,
) -> pa.Table:
    """:func:`judge` as an Arrow table."""
    return judged(log, limits, all_inspections, as_of, selection, count_unconfirmed).table


@dataclass(frozen=True)
class Judged:
    """Verdicts as a table, and those whose pressure was held to the fleet's target in place of what the load needs."""

    table: pa.Table
    by_target: npt.NDArray[np.bool_]


def judged(
    log: Log,
    limits: Limits,
    all_inspections: bool,
    as_of: dt.date | str | None,
    selection: Selection,
    count_unconfirmed: bool = False,
) -> Judged:
    """:func:`judge` as an Arrow table, with what the table does not say."""
    rules = limit_sets.load(limits)
    day = as_of_day(log, as_of)
    needed = _loads_of_log.needed_by_load(log, day, changed=not all_inspections)
    found = _core.judge(
        log.core_readings,
        log.core_positions,
        log.core_tires,
        log.core_wheelends,
        _facts.columns_of(log, _facts.Derived(_loads_of_log.sizes_of_ends(log), needed.facts)),
        rules.core_rows(log),
        day,
        all_inspections,
        count_unconfirmed,
    )
    v = _chosen(found, selection.mask(log)[found["position"]])
    own_pull = len(rules.core)
    limit = np.select([v["limit"] == _OWN_PULL, v["limit"] == _NO_LIMIT], [own_pull, -1], v["limit"])
    indexes = [*range(own_pull), -1]
    ids = [rules.id(i) for i in indexes]
    spoken = limit >= 0
    would_fail = (v["notes"].astype(np.int64) & _bit(_WOULD_FAIL)) != 0
    table = pa.table(
        {
            **_results.place_columns(log, v["position"], _level(log, v)),
            "read_on": read_on(log, v["row"], v["of_wheelend"] == 1),
            "quantity": _quantities(log, v, limit, [rules.quantity(i) for i in indexes]),
            "reading": _results.numbers(v["reading"]),
            "measure": _results.empty(_results.names_of(v["measure"], [_label(m) for m in measures.labels()])),
            "limit": _results.numbers(v["bound"]),
            "sense": _results.names_of(np.where(spoken, v["sense"].astype(np.int16), -1), _core.codes["sense"]),
            "margin": _results.numbers(v["margin"]),
            "verdict": _results.names_of(v["verdict"], _core.codes["verdict"]),
            "severity": _results.names_of(v["severity"], _core.codes["severity"]),
            "limit_id": _results.names_of(limit, ids),
            "clause": _results.names_of(limit, [rules.clause(i) for i in indexes]),
            "would_fail": pa.array(would_fail),
            "reason": _reasons(v, rules, needed.why[v["position"]]),
            "as_read": _as_read(log, v),
        }
    )
    stands_in = (v["notes"].astype(np.int64) & _bit(_STANDS_IN)) != 0
    return Judged(table, stands_in & (v["fact"] == _facts.facts()["target"].index))


_OWN_PULL, _NO_LIMIT = -1, -2  # in place of a row: the position's own pull depth; no row speaks of the reading
# Notes of the core that are acted on or put into other words here.
_WOULD_FAIL, _STANDS_IN = "unconfirmed row {id} would fail", "{fact} stands in for what the clause names"
_MISSING, _ASSUMED = "{fact} is not given", "{fact} is not given: held to the row for that"
_BARRED = "not admissible: {fact} is outside what the rule asks for"


def _bit(note: str) -> int:
    return 1 << list(_core.judge_notes).index(note)


def _quantities(log: Log, v: dict[str, Any], limit: npt.NDArray[Any], of_limit: list[str]) -> pa.Array:
    """What each verdict is about: as its row says, else what was read."""
    names = [*of_limit, *(q.name for q in QUANTITIES)]
    code = limit.copy()
    unspoken = np.flatnonzero(limit < 0)
    if len(unspoken):
        code[unspoken] = len(of_limit) + log.core_wheelends["quantity"][v["row"][unspoken]]
    return _results.names_of(code, names)


_AGAINST = ("against", "against_value", "against_position")  # few verdicts have one: columns of their own length


def _chosen(found: dict[str, Any], keep: npt.NDArray[np.bool_]) -> dict[str, Any]:
    """The verdicts that a selection leaves; ``against`` still names its verdicts by their place."""
    if keep.all():
        return found
    chosen = {name: column[keep] for name, column in found.items() if name not in _AGAINST}
    kept = keep[found["against"]]
    place = np.cumsum(keep) - 1
    chosen["against"] = place[found["against"][kept]]
    for name in _AGAINST[1:]:
        chosen[name] = found[name][kept]
    return chosen


def _level(log: Log, v: dict[str, Any]) -> npt.NDArray[np.uint8]:
    """Of what each verdict is one; that of a wheel end or brake has no place in a dual pair."""
    level: npt.NDArray[np.uint8] = v["level"].astype(np.uint8)
    wheelend = (v["of_wheelend"] == 1) & (v["row"] >= 0)
    if wheelend.any():
        dual = log.core_wheelends["dual"][v["row"][wheelend]]
        level[wheelend] = np.where(
            (level[wheelend] == _results.WHEEL) & (dual < 0), _results.WHEEL_END, level[wheelend]
        )
    return level


def _reasons(v: dict[str, Any], rules: LimitSet, unneeded: npt.NDArray[np.int64]) -> pa.Array:
    """Words of the notes, with the fact and the row that they speak of. Built once per combination that occurs.

    ``unneeded``: why the load tables give no pressure, for each verdict.
    """
    said = np.flatnonzero(v["notes"])  # most verdicts have nothing to say
    notes, fact = v["notes"][said].astype(np.int64), v["fact"][said].astype(np.int64)
    row = v["limit"][said].astype(np.int64)
    noted = v["noted_limit"][said].astype(np.int64)
    why = unneeded[said]
    first, inverse = _distinct(notes, fact, row, noted, why)
    words = []
    for i in first.tolist():
        bits = int(notes[i])
        texts = [text for bit, text in enumerate(_core.judge_notes) if (bits >> bit) & 1]
        of = int(noted[i]) if noted[i] >= 0 else int(row[i])
        words.append("; ".join(_note_words(t, rules, int(row[i]), of, int(fact[i]), int(why[i])) for t in texts))
    index = np.full(len(v["notes"]), -1, np.int32)
    index[said] = inverse
    return _results.names_of(index, words)


def _distinct(*columns: npt.NDArray[np.int64]) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]]:
    """Where each distinct combination stands first, and which one each entry is."""
    key = np.zeros(len(columns[0]), np.int64)
    for column in columns:
        met, code = np.unique(column, return_inverse=True)
        key = key * max(len(met), 1) + code
    _, first, inverse = np.unique(key, return_index=True, return_inverse=True)
    return first, inverse


def _note_words(note: str, rules: LimitSet, row: int, noted: int, fact: int, why: int) -> str:
    """One note in words; those on conditions and bases say what the row asks for."""
    name = _facts.names()[fact] if fact >= 0 else ""
    if row >= 0 and fact >= 0:
        rule = rules.row(row)
        bases = [_facts.names()[b] for b in rule.amount.bases] if rule.amount else []
        if note == _ASSUMED:
            return f"{name} is not given: judged as {_asked([*rule.where, *rule.needs], name)}"
        if note == _BARRED:
            return f"not admissible: the rule asks for {_asked(rule.needs, name)}"
        if note == _STANDS_IN:
            return f"judged by {name}: {bases[0]} is not given"
        if note == _MISSING and len(bases) > 1 and name == bases[-1]:
            table = f" ({_loads_of_log.WHY[why]})" if "needed_by_load" in bases and why > 0 else ""
            return f"none of {', '.join(bases)} is given{table}"
    return note.format(fact=name, id=rules.id(noted) if noted >= 0 else "")


def _asked(conditions: Iterable[Condition], name: str) -> str:
    """'reservoir >= 80 psi, <= 690 kpa': what the conditions ask of one fact."""
    asked = [str(c).removesuffix(" or not stated") for c in conditions if c.fact.name == name]
    return ", ".join([*asked[:1], *(text.removeprefix(f"{name} ") for text in asked[1:])])


def _label(label: str) -> str:
    return "" if label == "yes_no" else label


def _as_read(log: Log, v: dict[str, Any]) -> pa.Array:
    """'3.17 mm, outer groove, place 2': number, measure and groove as they were written."""
    number = _plain_numbers(v["as_read"])
    label = _results.names_of(v["as_read_measure"], measures.labels())
    counted = v["as_read_measure"] == measures.labels().index("count")
    text = pc.if_else(pa.array(counted), number, pc.binary_join_element_wise(number, label, " "))
    flag = v["as_read_measure"] == measures.labels().index("yes_no")
    if flag.any():
        word = pa.array(np.where(v["as_read"] == 1, "yes", "no"), pa.string(), mask=np.isnan(v["as_read"]))
        text = pc.if_else(pa.array(flag), word, text)
    groove = _results.names_of(v["groove"], [f", {g} groove" for g in log.grooves])
    place = np.where(v["place"] >= 0, v["place"], 0)
    placed = pc.binary_join_element_wise(", place ", pa.array(place).cast(pa.string()), "")
    placed = pc.if_else(pa.array((v["place"] >= 0) & ((v["groove"] >= 0) | (v["of_wheelend"] == 1))), placed, "")
    text = pc.binary_join_element_wise(text, pc.fill_null(groove, ""), placed, "")
    return _with_against(log, v, text) if len(v["against"]) else text


def _plain_numbers(values: npt.NDArray[np.float64]) -> pa.Array:
    return pc.replace_substring_regex(_results.numbers(values).cast(pa.string()), r"\.0$", "")


def _with_against(log: Log, v: dict[str, Any], text: pa.Array) -> pa.Array:
    """'6 psi apart: 100 psi at axle 2 left outer', '0.125 in beyond 2 in', '2 of 10'."""
    texts = text.to_pylist()
    places = _results.place_columns(log, np.maximum(v["against_position"], 0), _level(log, v)[v["against"]])
    where = pa.table(places).to_pylist()
    labels = measures.labels()
    for i, value, position, place in zip(v["against"], v["against_value"], v["against_position"], where, strict=True):
        label = "" if labels[v["as_read_measure"][i]] == "count" else f" {labels[v['as_read_measure'][i]]}"
        if position >= 0:
            texts[i] = f"{texts[i]} apart: {value:.15g}{label} at {position_words(place)}"
        elif labels[v["as_read_measure"][i]] == "percent":
            texts[i] = f"{v['as_read'][i] * value / 100.0:g} of {value:g}"
        else:
            texts[i] = f"{texts[i]} beyond {value:.15g}{label}"
    return pa.array(texts, pa.string())


def pressures(
    log: Log,
    *,
    reference: str = REFERENCE,
    method: str = METHODS[0],
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
        The fleet, from :func:`wheelend.read_log`.
    reference : str
        Temperature at which cold pressures are stated, e.g. ``"68 degf"`` or ``"20 degc"``.
    method : {"auto", "gas_law", "federal_subtraction", "as_read"}
        Only this method; readings for which it is not possible are ``unknown``.
    all : bool
        Every inspection with a pressure, not only the last.
    as_of : date or ISO text, optional
        As for :func:`judge`.
    unit, site, group : str or list of str, optional
        As for :func:`judge`.

    Returns
    -------
    table of the kind that came in
        One row per position with a pressure; pressures in the measure of the pressure column. States: ``flat`` (half
        of the sidewall maximum or less), ``demount`` (80 % of target or less), ``under``, ``over`` (more than 5 psi
        off), ``on_target``, ``unknown``; thresholds in data/limits/pressure_states.csv.

    Raises
    ------
    BadCall
        No such method or temperature, unit, site, group or day.
    """
    selection = Selection(unit, site, group)
    return _results.native(pressures_table(log, as_of, selection, reference, method, all), log.kind)


def pressures_table(
    log: Log,
    as_of: dt.date | str | None,
    selection: Selection,
    reference: str = REFERENCE,
    method: str = METHODS[0],
    all_inspections: bool = False,
) -> pa.Table:
    """:func:`pressures` as an Arrow table."""
    number, label = measures.parse_quantity(reference, "temperature", "reference")
    kelvin = float(measures.convert(np.array([float(number)]), label, "k")[0])
    if method not in METHODS:
        raise BadCall(expected("method", METHODS, method))
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
            "reason": _results.bits_to_text(v["notes"], _core.cold_notes),
        }
    )


def standing(
    log: Log,
    *,
    limits: Limits = DEFAULT,
    unread_after: int = UNREAD_AFTER,
    count_unconfirmed: bool = False,
    as_of: dt.date | str | None = None,
    unit: Iterable[str] | str | None = None,
    site: Iterable[str] | str | None = None,
    group: Iterable[str] | str | None = None,
) -> Any:
    """Whether each unit may leave: one row per unit, worst first.

    ``hold``: a violation or an out-of-service criterion fails. ``unread``: no reading for ``unread_after`` days, or
    never. ``watch``: a limit of the fleet's own or advice fails, a row that rests on memory would, a pressure is under
    its target or above the figure on the sidewall, or a tire is due within 30 days. ``clear``: none of these. A
    standing is no certificate of roadworthiness.

    Parameters
    ----------
    log : Log
        The fleet, from :func:`wheelend.read_log`.
    limits : str or list of str
        As for :func:`judge`.
    unread_after : int
        Days without a reading after which a unit counts as unread.
    count_unconfirmed : bool
        As for :func:`judge`.
    as_of : date or ISO text, optional
        As for :func:`judge`.
    unit, site, group : str or list of str, optional
        As for :func:`judge`.

    Returns
    -------
    table of the kind that came in
        See ``wheelend.dictionary.RESULTS["standing"]``.

    Raises
    ------
    BadCall
        There is no such unit, site, group or day, or no such limit set.
    LimitFileError
        A limit file cannot be used as written.
    """
    selection = Selection(unit, site, group)
    return _results.native(standing_table(log, limits, unread_after, as_of, selection, count_unconfirmed), log.kind)


def standing_table(
    log: Log,
    limits: Limits,
    unread_after: int,
    as_of: dt.date | str | None,
    selection: Selection,
    count_unconfirmed: bool = False,
) -> pa.Table:
    """:func:`standing` as an Arrow table."""
    from wheelend._standing import build

    return build(log, limits, unread_after, as_of, selection, count_unconfirmed)


@dataclass(frozen=True)
class Spot:
    """What one reading means.

    Attributes
    ----------
    verdicts : pyarrow.Table
        As of :func:`judge`.
    pressures : pyarrow.Table or None
        As of :func:`pressures`; None where no pressure was given.
    """

    verdicts: pa.Table
    pressures: pa.Table | None

    def __repr__(self) -> str:
        """The words that ``wheelend spot`` prints."""
        from wheelend._people import spot_lines

        return "\n".join(spot_lines(self))

    @property
    def fails(self) -> bool:
        """Whether a violation or an out-of-service limit fails."""
        return legal_failures(self.verdicts) > 0


def readings_to_judge(log: Log, as_of: dt.date | str | None, selection: Selection) -> int:
    """Rows of readings, those of wheel ends too, up to a day and of the positions that are left."""
    day, mask = as_of_day(log, as_of), selection.mask(log)
    tables = [core for core in (log.core_readings, log.core_wheelends) if core]
    return sum(int((mask[core["position"]] & (core["day"] <= day)).sum()) for core in tables)


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
    limits: Limits = DEFAULT,
    count_unconfirmed: bool = False,
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
    limits : str, path, or list of them
        As for :func:`judge`.
    count_unconfirmed : bool
        As for :func:`judge`.

    Returns
    -------
    Spot
        Verdicts and the state of the pressure, as Arrow tables.

    Raises
    ------
    BadCall
        A quantity lacks its measure, or neither depth nor pressure is given.
    """
    for name, word in (("kind", kind), ("role", role)):
        if word not in _core.codes[name]:
            raise BadCall(expected(name, _core.codes[name], word))
    depths: list[Any]
    if isinstance(depth, Iterable) and not isinstance(depth, str):
        depths = list(depth)
    else:
        depths = [] if depth is None else [depth]
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
    cold = pressures_table(log, None, selection) if pressure is not None else None
    verdicts = judge_table(log, limits, False, None, selection, count_unconfirmed)
    there = {"tread_depth": bool(depths), "pressure": pressure is not None, "retread": retread is not None}
    asked = [quantity for quantity, given in there.items() if given]
    return Spot(verdicts.filter(pc.is_in(verdicts["quantity"], pa.array(asked))), cold)
