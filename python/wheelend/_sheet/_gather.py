"""What the sheet says, unit by unit: drawn from the tables of the other functions, with nothing of its look."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from wheelend import _core, _results, _slow, _standing, measures
from wheelend._leaks import USUAL_FALSE_ALARMS, leaks_table
from wheelend._sheet._states import DUE, FAILS, FINE, OF_STANDING, STATES, UNREAD, WATCH
from wheelend._words import EPOCH, UNLIKE, limit_words, number, place_key, value_words, with_measure
from wheelend.dictionary import QUANTITIES
from wheelend.trends import days_to_plan
from wheelend.verdicts import DUE_SOON_DAYS, LEGAL, as_of_day

if TYPE_CHECKING:
    from wheelend._sheet._texts import Texts
    from wheelend.limit_sets import Limits
    from wheelend.log import Log
    from wheelend.verdicts import Selection

Place = tuple[int | None, str | None, str | None]  # axle, side, dual
_OF_WHEELENDS = frozenset(q.name for q in QUANTITIES)
_LEAKING = ("slow_leak", "refilled_leak", "abrupt_loss")  # states of a tire that loses air now
_LOW = ("demount", "flat")  # states of a pressure at which a tire is not to be inflated on the vehicle


@dataclass
class Finding:
    """A reading outside its limits: the worst of them, and every clause that says so; cells as text."""

    unit: str
    at: Place
    place: str
    what: str
    reading: str
    limit: str
    margin: str
    state: str
    clauses: list[tuple[str, str]]  # severity and, where it is another, the bound; id and clause
    reason: str
    read_on: str
    of_wheelends: bool
    number: int = 0


@dataclass
class Due:
    """What reaches its limit on which day: a tire, or a quantity of a wheel end, axle or unit."""

    unit: str
    at: Place
    place: str
    now: str
    limit: str
    day: str
    span: list[str]  # 90 % range: first and last day, or the one word for both
    days: float


@dataclass
class Wheel:
    """A wheel position as the plan draws it. ``above`` and ``pull`` in millimeters above the line its bar stands on.

    That is the legal minimum, else, where none was judged, the pull depth; None where there is neither.
    """

    at: Place
    state: str
    depth: str
    pressure: str
    above: float | None
    pull: float | None
    has_minimum: bool
    numbers: list[int]


@dataclass
class Unit:
    """A unit with a place of its own on the sheet."""

    name: str
    what: str  # kind, site, group
    standing: str
    state: str
    why: str
    read: str
    findings: list[Finding]
    due: list[Due]
    next_due: Due | None
    wheels: list[Wheel]
    roles: dict[int, str]
    do_not_inflate: bool


@dataclass
class Line:
    """A unit in one line: not read, or all well."""

    name: str
    what: str
    read: str
    next_due: Due | None


@dataclass
class Leak:
    """A tire that loses pressure; cells as text."""

    unit: str
    place: str
    rate: str
    interval: str
    alarm: str
    below_80: str
    state: str
    reason: str


@dataclass
class Content:
    """All that is on the sheet."""

    day: str
    count: dict[str, int]
    limits: str
    part: str
    hold: list[Unit]
    watch: list[Unit]
    due: list[Due]
    leaks: list[Leak]
    leaking: list[Unit]  # units with a leak that have no place of their own above
    wheelends: list[Finding] | None
    unread: list[Line]
    clear: list[Line]
    bad_rows: int = 0
    bad_cells: int = 0
    lost_columns: list[str] = field(default_factory=list)


def gather(
    log: Log,
    t: Texts,
    limits: Limits,
    unread_after: int,
    as_of: dt.date | str | None,
    selection: Selection,
    count_unconfirmed: bool,
) -> Content:
    """Everything that the sheet says of the units that are chosen."""
    day = as_of_day(log, as_of)
    found = _standing.find(log, limits, as_of, selection, count_unconfirmed)
    standing = _standing.stand(log, found, unread_after, as_of, selection).to_pylist()
    leaks = leaks_table(log, USUAL_FALSE_ALARMS, as_of, selection)
    fleet = _Fleet(log, t, found, day, leaks.filter(pc.is_in(leaks["state"], pa.array(_LEAKING))))
    for due in fleet.wheelends_due(limits, as_of, selection):
        fleet.due.setdefault(due.unit, []).append(due)
        if due.unit not in fleet.next or due.days < fleet.next[due.unit].days:
            fleet.next[due.unit] = due
    rows: dict[str, list[dict[str, Any]]] = {name: [] for name in OF_STANDING}
    for row in standing:
        rows[row["standing"]].append(row)
    # A unit that is clear but for a leak gets its plan with the leaks.
    leaking = [row for row in rows["clear"] if row["unit"] in fleet.leaking]
    clear = [row for row in rows["clear"] if row["unit"] not in fleet.leaking]
    fleet.prepare([row["unit"] for row in (*rows["hold"], *rows["watch"], *leaking)])
    hold, watch = ([fleet.unit(row) for row in rows[name]] for name in ("hold", "watch"))
    issues = log.issue_list.counts
    return Content(
        day=_iso(day),
        count={
            **{name: len(rows[name]) for name in OF_STANDING},
            "watch": len(watch) + len(leaking),
            "clear": len(clear),
        },
        limits=_names([limits] if isinstance(limits, str) or not isinstance(limits, Iterable) else limits),
        part=_names([*_given(selection.unit), *_given(selection.site), *_given(selection.group)]),
        hold=hold,
        watch=watch,
        due=sorted((d for of_unit in fleet.due.values() for d in of_unit), key=lambda d: (d.days, d.unit)),
        leaks=fleet.leaks(),
        leaking=[fleet.unit({**row, "standing": "watch"}) for row in leaking],
        wheelends=[f for unit in (*hold, *watch) for f in unit.findings if f.of_wheelends]
        if log.core_wheelends
        else None,
        unread=[fleet.line(row) for row in rows["unread"]],
        clear=[fleet.line(row) for row in sorted(clear, key=lambda r: r["unit"])],
        bad_rows=issues["row"],
        bad_cells=issues["cell"],
        lost_columns=list(log.lost_columns),
    )


def _given(value: Any) -> list[str]:
    return [] if value is None else [value] if isinstance(value, str) else [str(v) for v in value]


def _names(values: Iterable[Any]) -> str:
    return ", ".join(str(v).replace("\\", "/").rsplit("/", 1)[-1] for v in values)


def _iso(day: int) -> str:
    return (EPOCH + dt.timedelta(days=day)).isoformat()


def _at(row: dict[str, Any]) -> Place:
    return (row["axle"], row["side"], row["dual"])


def _minus(text: str) -> str:
    return text.replace("-", "\N{MINUS SIGN}", 1) if text.startswith("-") else text


@dataclass(frozen=True)
class _Depth:
    """Depth in the log's measure; the rest as of :class:`Wheel`."""

    depth: float
    above: float | None
    pull: float | None
    has_minimum: bool


def _legal(row: dict[str, Any]) -> bool:
    return bool(row["verdict"] == "fail" and row["severity"] in LEGAL)


def _margin(row: dict[str, Any]) -> str:
    return "" if row["sense"] == "absent" else _minus(with_measure(row["margin"], row["measure"]))


_WRITTEN = re.compile(r"(-?[\d.]+) ([a-z0-9_]+)(?:,.*)?")


def _written(row: dict[str, Any]) -> str:
    """The reading as it was written, where that was in another measure than the clause's."""
    match = _WRITTEN.fullmatch(row["as_read"] or "")
    if match is None or match[2] == row["measure"] or measures.find(match[2]) is None:
        return ""
    return with_measure(float(match[1]), match[2], 4)


def _due_soon(wear: pa.Table) -> pa.Table:
    return wear.filter(pa.array(days_to_plan(wear) <= DUE_SOON_DAYS))


class _Fleet:
    """Tables by unit and position, so that each unit is put together from look-ups."""

    def __init__(self, log: Log, t: Texts, found: _standing.Findings, day: int, leaks: pa.Table) -> None:
        self.log, self.t, self.found, self.day = log, t, found, day
        self.leaking: dict[str, list[dict[str, Any]]] = {}
        for row in leaks.to_pylist():
            self.leaking.setdefault(row["unit"], []).append(row)
        self.next = self._next_due()
        self.due: dict[str, list[Due]] = {}
        for row in _due_soon(found.wear).to_pylist():
            self.due.setdefault(row["unit"], []).append(self._due(row))
        p = log.positions
        self.first_position = dict(zip(p.unit[::-1].tolist(), range(len(p) - 1, -1, -1), strict=True))
        self.unit_number = {name: i for i, name in enumerate(p.units)}
        self.last_position = dict(zip(p.unit.tolist(), range(1, len(p) + 1), strict=True))

    def prepare(self, units: list[str]) -> None:
        """Depths, limits and pressures of the units that are drawn."""
        of = pa.array(units, pa.string())
        self.depths = self._depths(of)
        m = self.log.pressure_measure
        p = self.found.pressures
        rows = p.filter(pc.is_in(p["unit"], of)).select(["unit", "axle", "side", "dual", f"pressure_{m}", "state"])
        self.pressures = {(r["unit"], _at(r)): (r[f"pressure_{m}"], r["state"]) for r in rows.to_pylist()}

    # ---- units

    def unit(self, row: dict[str, Any]) -> Unit:
        name = row["unit"]
        findings = self._findings(name)
        due = sorted(self.due.get(name, []), key=lambda d: (d.days, d.place))
        wheels, roles = self._wheels(name, findings, {d.at for d in due})
        return Unit(
            name=name,
            what=self._what(row),
            standing=row["standing"],
            state=OF_STANDING[row["standing"]],
            why=signs(f"{row['worst_position']}: {row['reason']}"),
            read=self._read(row),
            findings=findings,
            due=due,
            next_due=self.next.get(name),
            wheels=wheels,
            roles=roles,
            do_not_inflate=any(self.pressures.get((name, w.at), (None, ""))[1] in _LOW for w in wheels),
        )

    def line(self, row: dict[str, Any]) -> Line:
        name = row["unit"]
        return Line(name, self._what(row), self._last_read(row), self.next.get(name))

    def _what(self, row: dict[str, Any]) -> str:
        """Kind, site and group."""
        p = self.log.positions
        at = self.first_position[self.unit_number[row["unit"]]]
        columns = [p.columns.get(f"attribute:{name}") for name in ("site", "group")]
        codes = [int(c[at]) for c in columns if c is not None]
        kind = [self.t.word("kind", row["kind"])] if row["kind"] else []
        return ", ".join([*kind, *(self.log.attribute_names[c] for c in codes if c >= 0)])

    def _read(self, row: dict[str, Any]) -> str:
        since = row["days_since_read"]
        if since is None:
            return self.t("note.never")
        return self.t("note.read" if since else "note.read_today", day=_iso(self.day - since), days=since)

    def _last_read(self, row: dict[str, Any]) -> str:
        since = row["days_since_read"]
        if since is None:
            return self.t("note.never_read")
        return self.t("note.last_read", day=_iso(self.day - since), days=since)

    # ---- findings

    def _findings(self, unit: str) -> list[Finding]:
        rows = sorted([*self.found.failed.get(unit, []), *self.found.would.get(unit, [])], key=_standing.worst_first)
        found = [self._finding(row) for row in _standing.together(rows, _standing.ONE_READING)]
        of_pressure = {f.at for f in found if f.what == self.t.word("quantity", "pressure")}
        found += [self._off_target(row) for row in self.found.off.get(unit, []) if _at(row) not in of_pressure]
        found += [self._leak_finding(row) for row in self.leaking.get(unit, [])]
        found.sort(key=lambda f: STATES.index(f.state))  # stable: within a state the worst stays first
        for i, finding in enumerate(found, 1):
            finding.number = i
        return found

    def _finding(self, row: dict[str, Any]) -> Finding:
        t = self.t
        # What is not counted never leads over what fails, whatever its severity.
        row = min(row["together"], key=lambda r: (not _legal(r), r["would_fail"])) | {"together": row["together"]}
        absent = row["sense"] == "absent"
        reading = UNLIKE.get(row["quantity"], t("finding.present")) if absent else value_words(row)
        if not absent:
            written = _written(row)
            reading = f"{reading} ({t('finding.read_as', text=written)})" if written else reading
        return Finding(
            unit=row["unit"],
            at=_at(row),
            place=t.place(row),
            what=t.word("quantity", row["quantity"]),
            reading=reading,
            limit=self._limit(row),
            margin=_margin(row),
            state=FAILS if _legal(row) else WATCH,
            clauses=[(self._severity(r, row), f"{r['limit_id']}: {r['clause']}") for r in row["together"]],
            reason="; ".join(
                dict.fromkeys(r["reason"] for r in row["together"] if r["reason"] and not r["would_fail"])
            ),
            read_on=str(row["read_on"])[:10],
            of_wheelends=row["quantity"] in _OF_WHEELENDS,
        )

    def _limit(self, row: dict[str, Any]) -> str:
        return self.t("finding.none_allowed") if row["sense"] == "absent" else signs(limit_words(row))

    def _severity(self, row: dict[str, Any], shown: dict[str, Any]) -> str:
        """'violation'; with bound and margin where they are not those that are shown."""
        words = [self.t.word("severity", row["severity"])]
        if row["would_fail"]:
            words.append(self.t("note.from_memory"))
        if (self._limit(row), _margin(row)) != (self._limit(shown), _margin(shown)):
            words.append(self.t("finding.other_bound", limit=self._limit(row), margin=_margin(row)))
        return ", ".join(words)

    def _off_target(self, row: dict[str, Any]) -> Finding:
        """A pressure off its target, or above the figure on the sidewall."""
        t, m = self.t, self.log.pressure_measure
        over = "figure" in row
        against = row["figure"] if over else row[f"target_{m}"]
        cold = row[f"cold_{m}"] if row[f"cold_{m}"] is not None else row[f"pressure_{m}"]
        reading = with_measure(cold, m, 1)
        as_found = with_measure(row[f"pressure_{m}"], m, 1)
        if as_found != reading:
            reading = t("finding.cold", cold=reading, found=as_found)
        margin = "" if against is None else _minus(with_measure(against - cold if over else cold - against, m, 1))
        clause = t("finding.off_sidewall" if over else "finding.off_target")
        return Finding(
            unit=row["unit"],
            at=_at(row),
            place=t.place(row),
            what=t.word("quantity", "pressure"),
            reading=reading,
            limit="" if against is None else t("finding.sidewall" if over else "finding.target",
                                               value=with_measure(against, m, 1)),
            margin=margin,
            state=WATCH,
            clauses=[(t.word("pressure", "over" if over else row["state"]), clause)],
            reason=row["reason"] or "",
            read_on=str(row["read_on"])[:10],
            of_wheelends=False,
        )  # fmt: skip

    def _leak_finding(self, row: dict[str, Any]) -> Finding:
        t = self.t
        return Finding(
            unit=row["unit"],
            at=_at(row),
            place=t.place(row),
            what=t("finding.loss"),
            reading=t("finding.a_month", rate=self._rate(row)),
            limit="",
            margin="",
            state=WATCH,
            clauses=[(t.word("leak", row["state"]), row["reason"] or "")],
            reason="",
            read_on="",
            of_wheelends=False,
        )

    def _rate(self, row: dict[str, Any]) -> str:
        m = self.log.pressure_measure
        return with_measure(row[f"rate_{m}_per_month"], m, 2 if m == "bar" else 1)

    # ---- due

    def _due(self, row: dict[str, Any]) -> Due:
        m = self.log.depth_measure
        return self._due_of(row, self.t.place(row), row[f"depth_{m}"], m, 1)

    def wheelends_due(self, limits: Limits, as_of: dt.date | str | None, selection: Selection) -> list[Due]:
        """Linings, strokes, torques and the like that are due soon."""
        core, found = self.log.core_wheelends, []
        read = set(np.unique(core["quantity"]).tolist()) if core else set()
        for name, of in _slow.settings().items():
            if of.code not in read:
                continue
            table = _slow.slow_table(self.log, name, None, limits, as_of, selection)
            m = _slow.measure_of(self.log, of)
            for row in _due_soon(table).to_pylist():
                words = [self.t.place(row), *([self.t("place.nth", n=row["place"])] if row["place"] else [])]
                place = ", ".join([" ".join(words), self.t.word("quantity", name)])
                found.append(self._due_of(row, place, row[f"{name}_{m}"], m, 1))
        return found

    def _due_of(self, row: dict[str, Any], place: str, now: float | None, measure: str, places: int) -> Due:
        again = row["status"] == "read_again"
        return Due(
            unit=row["unit"],
            at=_at(row),
            place=place,
            now=with_measure(now, measure, places),
            limit=with_measure(row[f"limit_{measure}"], measure, places),
            day=self.t("note.read_again") if again else self._day(row["due_p50"]),
            span=self._span(self._day(row["due_p05"]), self._day(row["due_p95"])),
            days=0.0 if again else row["remaining_days_p50"],
        )

    def _day(self, day: dt.date | None) -> str:
        if day is None:
            return self.t("note.later")
        return self.t("note.already") if (day - EPOCH).days <= self.day else day.isoformat()

    @staticmethod
    def _span(first: str, last: str) -> list[str]:
        return list(dict.fromkeys([first, last]))

    def _next_due(self) -> dict[str, Due]:
        """The tire of each unit that is due first."""
        wear = self.found.wear
        days = days_to_plan(wear)
        units = wear["unit"].to_numpy(zero_copy_only=False)
        first: dict[str, int] = {}
        for i in np.argsort(days, kind="stable").tolist():
            if np.isnan(days[i]):
                break
            first.setdefault(units[i], i)
        rows = wear.take(pa.array(list(first.values()), pa.int64())).to_pylist()
        return {row["unit"]: self._due(row) for row in rows}

    # ---- plan

    def _wheels(self, unit: str, findings: list[Finding], due: set[Place]) -> tuple[list[Wheel], dict[int, str]]:
        p, number_of = self.log.positions, self.unit_number[unit]
        numbers: dict[Place, list[int]] = {}
        worst: dict[Place, str] = {}
        for f in findings:
            numbers.setdefault(f.at, []).append(f.number)
            worst.setdefault(f.at, f.state)
        wheels, roles = [], {}
        for i in range(self.first_position[number_of], self.last_position[number_of]):
            side, dual = _core.codes["side"][p.side[i]], _core.codes["dual"][p.dual[i]]
            at: Place = (int(p.axle[i]), side, dual)
            role = int(p.columns["role"][i])
            roles[int(p.axle[i])] = self.t.word("role", _core.codes["role"][role]) if role >= 0 else ""
            depth = self.depths.get((unit, at))
            pressure, _ = self.pressures.get((unit, at), (None, ""))
            state = worst.get(at, "")
            if state != FAILS and at in due:
                state = DUE
            if not state:
                state = UNREAD if depth is None and pressure is None else FINE
            wheels.append(
                Wheel(
                    at=at,
                    state=state,
                    depth="" if depth is None else _short(depth.depth, self.log.depth_measure),
                    pressure="" if pressure is None else _short(pressure, self.log.pressure_measure),
                    above=None if depth is None else depth.above,
                    pull=None if depth is None else depth.pull,
                    has_minimum=depth is not None and depth.has_minimum,
                    numbers=numbers.get(at, []),
                )
            )
        return wheels, roles

    def _depths(self, units: pa.Array) -> dict[tuple[str, Place], _Depth]:
        """Depth of each position, and what it is above: the legal minimum that leaves least, else the pull depth.

        Where no legal minimum was judged, the depth is the one that wear estimates.
        """
        m = self.log.depth_measure
        pulls = self.log.core_positions.get("pull")
        of = np.full(len(self.log.positions), np.nan) if pulls is None else measures.convert(pulls[0], pulls[1], "mm")
        wear = self.found.wear
        rows = wear.filter(pc.and_(pc.is_in(wear["unit"], units), pc.is_valid(wear[f"depth_{m}"])))
        rows = rows.select(["unit", "axle", "side", "dual", f"depth_{m}"])
        own = of[_results.positions_of(self.log, rows)]
        in_mm = _in_mm(rows[f"depth_{m}"], pa.chunked_array([pa.array([m] * len(rows), pa.string())]))
        depths = {}
        for r, depth, pull in zip(rows.to_pylist(), in_mm, own, strict=True):
            above, stands_on = (None, None) if np.isnan(pull) else (float(depth - pull), 0.0)
            depths[r["unit"], _at(r)] = _Depth(r[f"depth_{m}"], above, stands_on, False)
        v = self.found.verdicts.table
        of_depth = pc.and_(pc.equal(v["quantity"], "tread_depth"), pc.is_in(v["severity"], pa.array(LEGAL)))
        judged = v.filter(pc.and_(pc.and_(of_depth, pc.is_valid(v["margin"])), pc.is_in(v["unit"], units)))
        judged = judged.filter(pc.is_valid(judged["dual"]))
        judged = judged.select(["unit", "axle", "side", "dual", "reading", "limit", "measure"])
        reading, limit = (_in_mm(judged[name], judged["measure"]) for name in ("reading", "limit"))
        shown = measures.convert(reading, "mm", m)
        own = of[_results.positions_of(self.log, judged)]
        least: dict[tuple[str, Place], float] = {}
        for i, row in enumerate(judged.to_pylist()):
            key = (row["unit"], _at(row))
            above = float(reading[i] - limit[i])
            if above < least.get(key, np.inf):
                least[key] = above
                depths[key] = _Depth(
                    float(shown[i]), above, None if np.isnan(own[i]) else float(own[i] - limit[i]), True
                )
        return depths

    # ---- leaks

    def leaks(self) -> list[Leak]:
        t, places = self.t, 2 if self.log.pressure_measure == "bar" else 1
        rows = [row for rows in self.leaking.values() for row in rows]
        rows.sort(key=lambda r: (r["below_80_on_p50"] or dt.date.max, r["unit"], *place_key(r)[1:]))
        return [
            Leak(
                unit=r["unit"],
                place=t.place(r),
                rate=self._rate(r),
                interval=f"{number(r['rate_low'], places)} {t('due.to')} {number(r['rate_high'], places)}",
                alarm="" if r["first_alarm_on"] is None else str(r["first_alarm_on"])[:10],
                below_80=self._day(r["below_80_on_p50"]),
                state=t.word("leak", r["state"]),
                reason=r["reason"] or "",
            )
            for r in rows
        ]


def _in_mm(values: pa.ChunkedArray, measure: pa.ChunkedArray) -> np.ndarray:
    """Depths of several measures in millimeters."""
    number_of = values.to_numpy().astype(np.float64)
    names = np.asarray(measure.to_pylist(), object)
    out = np.full(len(number_of), np.nan)
    for label in set(names):
        here = names == label
        out[here] = measures.convert(np.ascontiguousarray(number_of[here]), str(label), "mm")
    return out


def _short(value: float, measure: str) -> str:
    """A reading as short as a plan needs it: '7/32', '98 psi', '7.85 bar'."""
    places = {"bar": 2, "mm": 1, "32nds": 1, "in": 0}.get(measure, 0)
    return with_measure(value, measure, places).removesuffix("/32 in") + ("/32" if measure == "32nds" else "")


def signs(text: str) -> str:
    """'≥ 4/32 in' for '>= 4/32 in'."""
    return text.replace(">=", "≥").replace("<=", "≤")
