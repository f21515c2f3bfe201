"""The sheet: what stands on it and in which order, the plans against the readings, and that it needs nothing else."""

from __future__ import annotations

import datetime as dt
import re
import xml.etree.ElementTree as ET
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa
import pytest

import wheelend
from wheelend import _sheet
from wheelend._sheet import _plan
from wheelend._sheet._texts import languages, texts
from wheelend.verdicts import Selection

ROOT = Path(__file__).resolve().parents[2]
SAMPLE = ROOT / "data" / "samples" / "small_fleet"
LEGAL = ("violation", "out_of_service")


@pytest.fixture(scope="module")
def fleet() -> wheelend.Log:
    names = ("readings", "positions", "tires", "wheelend_readings")
    return wheelend.read_log(*(SAMPLE / f"{name}.csv" for name in names))


@pytest.fixture(scope="module")
def page(fleet: wheelend.Log) -> str:
    return _sheet.render(fleet)


class Text(HTMLParser):
    """Visible text, with a blank between elements; tags and attributes on the side."""

    def __init__(self) -> None:
        super().__init__()
        self.words: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self._silent = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        self._silent = tag in ("style", "script")

    def handle_endtag(self, tag: str) -> None:
        self._silent = False

    def handle_data(self, data: str) -> None:
        if not self._silent:
            self.words.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())


def parsed(html: str) -> Text:
    reader = Text()
    reader.feed(html)
    return reader


def card(page: str, unit: str) -> str:
    match = re.search(rf'<article class=unit data-unit="{unit}".*?</article>', page, re.DOTALL)
    assert match is not None, unit
    return match[0]


def section(page: str, title: str) -> str:
    match = re.search(rf"<h2>{title}</h2>(.*?)(?=<h2>|<footer>)", page, re.DOTALL)
    assert match is not None, title
    return match[1]


# ---- order and completeness


def test_sections_stand_in_the_order_of_urgency(page: str) -> None:
    titles = re.findall(r"<h2>(.*?)</h2>", page)
    wanted = ["May not leave", "Watch and due soon", "Slow leaks", "Wheel ends, brakes and air", "Not read", "All well"]
    assert titles == wanted
    assert page.index("All well</h2>") < page.index("<footer>")


def test_every_unit_stands_where_its_standing_puts_it(fleet: wheelend.Log, page: str) -> None:
    standing = {row["unit"]: row["standing"] for row in wheelend.standing(fleet).to_pylist()}
    cards = re.findall(r'data-unit="(\w+)"', page)
    assert cards == [u for u in standing if standing[u] == "hold"] + [u for u in standing if standing[u] == "watch"]
    held, watched = section(page, "May not leave"), section(page, "Watch and due soon")
    for unit in cards:
        assert f'data-unit="{unit}"' in (held if standing[unit] == "hold" else watched)
    for title, word in (("Not read", "unread"), ("All well", "clear")):
        listed = re.findall(r"<tr><td class=n><b>(\w+)</b>", section(page, title))
        assert sorted(listed) == sorted(u for u in standing if standing[u] == word)
    assert sorted([*cards, *(u for u in standing if standing[u] in ("unread", "clear"))]) == sorted(fleet.units)


def test_every_failing_verdict_is_there_with_reading_limit_margin_and_clause(fleet: wheelend.Log, page: str) -> None:
    fails = [r for r in wheelend.judge(fleet).to_pylist() if r["verdict"] == "fail" and r["severity"] in LEGAL]
    assert len(fails) > 20
    for row in fails:
        text = parsed(card(page, row["unit"])).text
        assert f"{row['limit_id']}: {row['clause']}" in text
        if row["measure"] == "32nds":
            assert (
                f"{row['reading']:g}/32 in {'≥' if row['sense'] == '>=' else row['sense']} {row['limit']:g}/32" in text
            )
            assert f"−{-row['margin']:g}/32 in" in text


def test_a_reading_beyond_several_bounds_is_one_finding(page: str) -> None:
    # V404 axle 2 right inner: 1/32 in; below 2/32 (49 CFR 393.75(c)) and below its pull depth of 4/32
    text = parsed(card(page, "V404")).text
    assert "axle 2 right inner , tread depth 1/32 in ≥ 2/32 in −1/32 in violation: US-T-03: 49 CFR 393.75(c)" in text
    assert "fleet's own, ≥ 4/32 in, margin −3/32 in: OWN-PULL" in text
    assert len(re.findall("<tbody class=one>.*axle 2 right inner", card(page, "V404"))) == 1


def test_due_dates_are_those_of_wear(fleet: wheelend.Log, page: str) -> None:
    wear = [r for r in wheelend.wear(fleet).to_pylist() if (r["remaining_days_p50"] or 0) <= 30 and r["due_p50"]]
    table = re.search(r"<table class=due_all>.*?</table>", section(page, "Watch and due soon"), re.DOTALL)
    assert table is not None
    rows = re.findall(r"<tr><td class=n>(\w+)</td><td>[\w ]+</td>", table[0])  # tires; others name their quantity
    assert sorted(rows) == sorted(r["unit"] for r in wear)
    assert len(rows) > 10
    ahead = [r for r in wear if r["due_p50"] > fleet.last_day]
    assert ahead
    for row in ahead:
        text = parsed(card(page, row["unit"])).text
        first = "now" if row["due_p05"] <= fleet.last_day else row["due_p05"].isoformat()
        assert f"{row['due_p50'].isoformat()} {first} to {row['due_p95'].isoformat()}" in text


def test_quantities_of_wheel_ends_are_due_too(fleet: wheelend.Log, page: str) -> None:
    soon = [
        (row["unit"], row["due_p50"], quantity)
        for quantity in ("pushrod_stroke", "lining_thickness")
        for row in wheelend.wear(fleet, of=quantity).to_pylist()
        if row["remaining_days_p50"] is not None and row["remaining_days_p50"] <= 30
    ]
    assert ("T104", "pushrod_stroke") in [(unit, quantity) for unit, _, quantity in soon]
    table = re.search(r"<table class=due_all>.*?</table>", section(page, "Watch and due soon"), re.DOTALL)
    assert table is not None
    for quantity in ("pushrod_stroke", "lining_thickness"):
        found = re.findall(rf"<tr><td class=n>(\w+)</td><td>[\w ]+, {quantity.replace('_', ' ')}</td>", table[0])
        assert sorted(found) == sorted(unit for unit, _, q in soon if q == quantity)
    assert re.search(r"axle 3 left, pushrod stroke 2\.1\d* in 2 in now", parsed(card(page, "T104")).text)


def test_what_a_unit_of_the_sheet_is_not_read_on_is_said(page: str) -> None:
    assert "2025-11-17 (102 d)" in section(page, "Not read")  # T112, as ABOUT.md of the sample says
    assert "2025-10-22 (128 d)" in section(page, "Not read")  # V413
    assert "8 rows and 7 values of the files could not be used" in page


def test_wheel_end_findings_are_listed_once_more_together(page: str) -> None:
    text = parsed(section(page, "Wheel ends, brakes and air")).text
    for words in ("T104 axle 3 left , pushrod stroke 2.125 in ≤ 2 in −0.125 in", "T110 axle 2 right , lining thickness",
                  "V408 axle 2 right , fasteners loose 1 ≤ 0 −1"):  # fmt: skip
        assert words in text
    assert "0.2188 in (read as 7/32 in) ≥ 0.25 in" in text  # written in 32nds, judged in inches


def test_a_tire_found_low_has_its_caution(page: str) -> None:
    caution = "is not to be inflated on the vehicle"
    with_it = [u for u in re.findall(r'data-unit="(\w+)"', page) if caution in card(page, u)]
    assert with_it == ["V403", "T106"]  # the flat tire and the one at 71 of 100 psi, as ABOUT.md of the sample says
    assert caution in page[page.index("<footer>") :]
    assert "no certificate of roadworthiness" in page[page.index("<footer>") :]


def test_every_card_has_room_to_sign(page: str) -> None:
    cards = re.findall(r"<article.*?</article>", page, re.DOTALL)
    assert len(cards) == 18
    for one in cards:
        text = parsed(one).text
        assert all(word in text for word in ("may leave", "What was done", "Name", "Date", "Signature"))


# ---- leaks


def leak(unit: str, axle: int, side: str, dual: str, **cells: Any) -> dict[str, Any]:
    row = {"unit": unit, "axle": axle, "side": side, "dual": dual, "state": "slow_leak", "rate_psi_per_month": 5.5}
    day = dt.date(2025, 9, 2)
    row |= {
        "rate_low": 4.8,
        "rate_high": 6.21,
        "first_alarm_on": day,
        "below_80_on_p50": None,
        "reason": "it loses air",
    }
    return {**row, **cells}


def test_the_slow_leak_of_the_sample_is_shown(page: str) -> None:
    # As ABOUT.md of the sample says: V405 1 right outer loses 5.5 psi a month, topped up on 2025-10-25.
    row = r"<tr><td class=n><b>(\w+)</b></td><td>([\w ]+)</td><td>([\d.]+) psi</td><td>([\d.]+) to ([\d.]+)</td>"
    rows = re.findall(row, section(page, "Slow leaks"))
    found = {(unit, place): tuple(map(float, rates)) for unit, place, *rates in rows}
    rate, low, high = found["V405", "axle 1 right outer"]
    assert low <= 5.5 <= high
    assert abs(rate - 5.5) < 0.5
    assert len(found) <= 3  # of 278 tires
    assert "pressure lost" in parsed(card(page, "V405")).text


def test_leaks_stand_by_urgency_and_on_the_plans(fleet: wheelend.Log, monkeypatch: pytest.MonkeyPatch) -> None:
    from wheelend._sheet import _gather

    table = pa.Table.from_pylist([
        leak("V405", 1, "right", "outer", below_80_on_p50=dt.date(2026, 4, 1)),
        leak("T109", 2, "left", "inner", state="abrupt_loss", below_80_on_p50=dt.date(2026, 3, 1)),  # else all well
        leak("V404", 1, "left", "outer", state="normal"),  # an alarm that later readings did not bear out
    ])  # fmt: skip
    monkeypatch.setattr(_gather, "leaks_table", lambda *_: table)
    html = _sheet.render(fleet)
    leaks = section(html, "Slow leaks")
    rows = parsed(re.sub(r"<article.*?</article>", "", leaks, flags=re.DOTALL)).text
    first, second = rows.index("T109 axle 2 left inner 5.5 psi 4.8 to 6.2 2025-09-02 2026-03-01"), rows.index("V405")
    assert first < second
    assert "sudden loss: it loses air" in rows
    assert "V404" not in rows
    # The unit that is clear but for its leak has its plan here, and is not called all well.
    assert re.findall(r'data-unit="(\w+)"', leaks) == ["T109"]
    assert "watch 1" in [text for _, _, text in words_at(plan(html, "T109"))]
    assert "T109" not in section(html, "All well")
    assert "pressure lost 5.5 psi a month" in parsed(card(html, "V405")).text


# ---- plans


def plan(page: str, unit: str) -> ET.Element:
    """The plan of a unit as XML: attributes get the quotes that HTML does without."""
    match = re.search(r"<svg class=plan.*?</svg>", card(page, unit), re.DOTALL)
    assert match is not None
    text = re.sub(r"(<[^>]*>)", lambda tag: re.sub(r'(\w)=([^\s"<>]+)(?=[\s/>])', r'\1="\2"', tag[1]), match[0])
    return ET.fromstring(text)


def words_at(svg: ET.Element) -> list[tuple[float, float, str]]:
    return [(float(t.get("x", "")), float(t.get("y", "")), t.text or "") for t in svg.iter("text")]


def test_every_wheel_position_is_drawn_in_its_place(fleet: wheelend.Log, page: str) -> None:
    depths = {
        (r["unit"], r["axle"], r["side"], r["dual"]): r["reading"]
        for r in wheelend.judge(fleet).to_pylist()
        if r["limit_id"] in ("US-T-02", "US-T-03") and r["verdict"] != "no_verdict"
    }
    checked = 0
    for unit in ("T103", "V404", "B301", "D501"):
        placed = words_at(plan(page, unit))
        at: dict[tuple[int, str, str], tuple[float, float]] = {}
        for (name, axle, side, dual), depth in depths.items():
            if name != unit:
                continue
            left, outer = side == "left", dual != "inner"
            zone = {
                (True, True): (0, 80),
                (True, False): (80, 154),
                (False, False): (226, 300),
                (False, True): (300, 380),
            }
            low, high = zone[left, outer]
            row = sorted({y for _, y, text in placed if text.startswith("axle ")})[axle - 1]
            found = [
                (x, y) for x, y, text in placed if text == f"{depth:g}/32" and low <= x <= high and abs(y - row) < 20
            ]
            assert found, (unit, axle, side, dual)
            at[axle, side, dual] = found[0]
            checked += 1
        assert len(at) == sum(1 for key in depths if key[0] == unit)
    assert checked == 10 + 8 + 8 + 4


def bars(svg: ET.Element, fill: str) -> dict[int, list[int]]:
    """Heights of the bars of one fill by their left edge; below the minimum negative."""
    out: dict[int, list[int]] = {}
    for path in svg.iter("path"):
        if path.get("fill") == fill and path.get("stroke-width") == ".6":
            for x, up in re.findall(r"M(\d+) \d+v(-?\d+)h", path.get("d", "")):
                out.setdefault(int(x), []).append(-int(up))
    return out


def test_bars_are_as_long_as_the_tread_above_the_minimum(page: str) -> None:
    from wheelend._sheet._states import FAILS, FILLS, FINE

    svg = plan(page, "T103")
    # axle 1 left: 3/32 in, 1/32 below the minimum of a front tire; axle 2: 24, 28, 25, 24 and axle 3: 22, 22, 27, 27
    hanging = [h for heights in bars(svg, FILLS[FAILS]).values() for h in heights]
    assert len(hanging) == 1
    assert hanging[0] < 0
    fine = bars(svg, FILLS[FINE])
    assert {x: len(h) for x, h in fine.items()} == {9: 2, 87: 2, 277: 2, 355: 2}
    scale = fine[9][0] / (24 - 2)
    for x, depths in {9: (24, 22), 87: (28, 22), 277: (25, 27), 355: (24, 27)}.items():
        for height, depth in zip(fine[x], depths, strict=True):
            assert abs(height - scale * (depth - 2)) <= 1 + 0.5 / (24 - 2) * (depth - 2)  # whole pixels, both


def test_bars_fill_their_room_and_no_more() -> None:
    heights = [_plan.bar_height(mm) for mm in (-30, -3.2, -0.1, 0, 0.8, 10, 20.6, 40)]
    assert heights == sorted(heights)
    assert heights[3] == 0
    assert heights[2] < 0 < heights[4]
    assert heights[0] > -12
    assert heights[-1] < 56


def test_the_numbers_on_the_plan_are_those_of_the_findings(page: str) -> None:
    assert "fails 1" in [text for _, _, text in words_at(plan(page, "V404"))]
    assert "watch 3" in [text for _, _, text in words_at(plan(page, "V404"))]
    # findings 1 and 2 of T104 are of a brake: at the left end of axle 3, on no wheel
    svg = words_at(plan(page, "T104"))
    brake = [(x, y) for x, y, text in svg if text == "1,2"]
    axle = next(y for _, y, text in svg if text == "axle 3")
    assert len(brake) == 1
    assert 110 < brake[0][0] < 166
    assert abs(brake[0][1] - axle) < 20


def test_a_reader_who_hears_the_plan_is_told_what_is_not_fine(page: str) -> None:
    label = plan(page, "T103").get("aria-label") or ""
    assert label.startswith("T103 from above, front at the top. axle 1 left: 3/32, 109 psi, fails;")
    assert label.endswith("All other wheels: fine.")


# ---- it needs nothing else


def test_it_is_one_file_that_loads_nothing_and_runs_nothing(page: str) -> None:
    tags = parsed(page).tags
    assert {tag for tag, _ in tags} & {
        "script",
        "link",
        "img",
        "iframe",
        "object",
        "embed",
        "base",
        "form",
        "a",
    } == set()
    for tag, attributes in tags:
        assert {"src", "href", "srcset", "style", "action"} & set(attributes) == set(), tag
        assert [name for name in attributes if name.startswith("on")] == [], tag
    assert re.search(r"url\(|@import|https?:|//", page) is None


def test_the_same_log_gives_the_same_bytes(fleet: wheelend.Log, page: str) -> None:
    assert _sheet.render(fleet) == page


def test_what_users_write_stays_text(tmp_path: Path) -> None:
    unit = "<b>\"T&1'</b>"
    row = {
        "unit": [unit], "kind": ["truck"], "role": ["steer"], "axle": [1], "side": ["left"], "dual": ["single"],
        "read_on": ["2025-06-10"], "tread_a_32nds": ["1"], "site": ["</style><script>"],
    }  # fmt: skip
    log = wheelend.read_log(row)
    html = _sheet.render(log)
    wheelend.sheet(log, tmp_path / "s.html")
    assert (tmp_path / "s.html").read_text(encoding="utf-8") == html
    assert "<script" not in html
    assert unit not in html
    assert unit in parsed(html).text


# ---- other fleets


def test_a_metric_fleet_is_shown_in_its_measures() -> None:
    base = {"unit": "U1", "kind": "trailer", "role": "trailer", "axle": "1", "side": "left", "dual": "single"}
    rows = [{**base, "read_on": "2025-06-10", "tread_a_mm": "1.5", "pressure_kpa": "655", "target_kpa": "760"},
            {**base, "side": "right", "read_on": "2025-06-10", "tread_a_mm": "9.55", "pressure_kpa": "",
             "target_kpa": "760"}]  # fmt: skip
    log = wheelend.read_log({name: [row[name] for row in rows] for name in rows[0]})
    html = _sheet.render(log, limits=["eu"])
    words = [text for _, _, text in words_at(plan(html, "U1"))]
    assert {"1.5 mm", "655 kPa", "9.6 mm"} <= set(words)
    assert "655 kPa ≥" not in html
    assert "32" not in " ".join(words)


def test_a_position_without_readings_is_unread_and_a_reading_without_depth_is_not() -> None:
    base = {"unit": "U1", "kind": "truck", "role": "drive", "axle": "2"}
    rows = [
        {**base, "side": "left", "dual": "outer", "read_on": "2025-06-10", "tread_a_32nds": "1", "pressure_psi": "100"},
        {**base, "side": "left", "dual": "inner", "read_on": "2025-06-10", "tread_a_32nds": "", "pressure_psi": "98"},
    ]
    positions = [{**base, "side": s, "dual": d} for s in ("left", "right") for d in ("outer", "inner")]
    log = wheelend.read_log(*({name: [r[name] for r in t] for name in t[0]} for t in (rows, positions)))
    words = [text for _, _, text in words_at(plan(_sheet.render(log), "U1"))]
    assert words.count("unread") == 2
    assert words.count("fine") == 1
    assert words.count("fails 1") == 1


def test_a_fleet_without_findings_says_so() -> None:
    row = {
        "unit": ["U1"], "kind": ["truck"], "role": ["drive"], "axle": [2], "side": ["left"], "dual": ["single"],
        "read_on": [dt.date(2025, 6, 10)], "tread_a_32nds": [20.0],
    }  # fmt: skip
    text = parsed(_sheet.render(wheelend.read_log(row))).text
    assert "No violation and no out-of-service finding in what was read." in text
    assert "Nothing to watch." in text
    assert "No wheel-end readings were given" in text


def test_filters_and_day(fleet: wheelend.Log) -> None:
    html = _sheet.render(fleet, as_of="2025-12-31", selection=Selection(site="North"))
    north = set(wheelend.standing(fleet, site="North")["unit"].to_pylist())
    assert "as of 2025-12-31" in html
    assert "only: North" in html
    shown = set(re.findall(r"\b[A-Z]\d{3}\b", parsed(html).text)) & set(fleet.units)
    assert shown == north


def test_a_row_from_memory_is_shown_as_such_and_never_leads(page: str) -> None:
    text = parsed(card(page, "V408")).text
    assert "violation: US-W-03: 49 CFR 393.205(c) violation, from memory, not counted: US-A-06" in text


# ---- calls


@pytest.mark.parametrize(("how", "words"), [
    ({"path": "sheet.csv"}, r"-o sheet.csv: a sheet is written to a name ending in .html or .pdf"),
    ({"path": "sheet.html", "paper": "a3"}, "paper: expected one of letter, a4, got 'a3'"),
    ({"path": "sheet.html", "language": "xx"}, "language: there is no text file for 'xx'; there is en"),
])  # fmt: skip
def test_bad_calls(fleet: wheelend.Log, how: dict[str, Any], words: str, tmp_path: Path) -> None:
    path = tmp_path / how.pop("path")
    with pytest.raises(wheelend.BadCall, match=words):
        wheelend.sheet(fleet, path, **how)
    assert list(tmp_path.iterdir()) == []


def test_without_the_pdf_library_the_message_says_what_to_do(
    fleet: wheelend.Log, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import sys

    monkeypatch.setitem(sys.modules, "weasyprint", None)
    with pytest.raises(wheelend.BadCall, match=r"pip install weasyprint\b.*libharfbuzz-subset0.*print the HTML"):
        wheelend.sheet(fleet, tmp_path / "sheet.pdf")
    assert list(tmp_path.iterdir()) == []


def test_command_line(run: Any, tmp_path: Path, page: str) -> None:
    names = ("readings", "positions", "tires", "wheelend_readings")
    files = [f"--{name.replace('_', '-')}={SAMPLE / name}.csv" for name in names]
    done = run("sheet", *files, "-o", tmp_path / "sheet.html")
    assert (done.code, done.out) == (0, "")
    assert "Sheet written to sheet.html" in done.err
    assert (tmp_path / "sheet.html").read_text(encoding="utf-8") == page
    missing = run("sheet", *files)
    assert missing.code == 2
    assert "'-o'" in missing.err
    assert run("sheet", *files, "-o", tmp_path / "sheet.docx").code == 2


# ---- texts


def test_every_text_is_used_and_every_language_has_all_of_them(page: str) -> None:
    def names(tables: dict[str, Any], before: str = "") -> set[str]:
        found = set()
        for name, value in tables.items():
            found |= names(value, f"{before}{name}.") if isinstance(value, dict) else {before + name}
        return found

    english = names(texts("en")._tables)
    assert "en" in languages()
    for language in languages():
        assert names(texts(language)._tables) == english
        assert texts(language)("language") == language
    sources = "".join(
        p.read_text(encoding="utf-8")
        for p in Path(_sheet.__file__).parent.iterdir()
        if p.suffix != ".toml" and p.is_file()
    )
    # Tables that are looked up by the words of the data.
    by_code = {"side", "dual", "kind", "role", "state", "standing", "severity", "pressure", "quantity", "units", "leak"}
    by_code |= {"cautions", "sign"}  # looped over in the template
    assert [n for n in english if n.split(".")[0] not in by_code and n not in sources and n != "language"] == []


def test_a_second_language_is_one_file(
    fleet: wheelend.Log, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, page: str
) -> None:
    from wheelend._sheet import _texts

    english = (Path(_sheet.__file__).parent / "en.toml").read_text(encoding="utf-8")
    other = re.sub(r'^(\w+ = ")([a-zA-Z][^"]*)', r"\1~\2", english, flags=re.MULTILINE).replace('"~en"', '"xx"')
    (tmp_path / "xx.toml").write_text(other, encoding="utf-8")
    monkeypatch.setattr(_texts, "_HERE", tmp_path)
    html = _sheet.render(fleet, language="xx", selection=Selection(unit="T104"))
    assert "<html lang=xx>" in html
    text = parsed(html).text
    assert "~axle 3 ~left , pushrod stroke 2.125 in ≤ 2 in" in text  # words of data stay, places are put in words
    for words in ("May not leave", "What was done", "Due", "front", "due"):
        assert f"~{words}" in text
    for words in ("May not leave", "What was done", "front"):
        assert not re.search(rf"(?<!~){words}", text)


# ---- size


def test_two_thousand_units_stay_under_ten_megabytes() -> None:
    """Of every three units one has a worn tire, one a low one, one nothing: two of three have a plan."""
    units, wheels = 2000, 10
    rng = np.random.default_rng(11)
    unit = np.repeat(np.arange(units), wheels)
    wheel = np.tile(np.arange(wheels), units)
    axle = np.array([1, 1, 2, 2, 2, 2, 3, 3, 3, 3])[wheel]
    side = np.array(["left", "right", "left", "left", "right", "right", "left", "left", "right", "right"])[wheel]
    dual = np.array(["single", "single", *["outer", "inner"] * 4])[wheel]
    depth = rng.integers(10, 20, len(unit)).astype(float)
    pressure = rng.integers(97, 103, len(unit)).astype(float)
    worst = wheel == unit % wheels
    depth[worst & (unit % 3 == 0)] = 1
    pressure[worst & (unit % 3 == 1)] = 85
    table = pa.table({
        "unit": [f"U{u:05d}" for u in unit], "kind": ["tractor"] * len(unit), "axle": axle, "side": side, "dual": dual,
        "role": np.where(axle == 1, "steer", "drive"), "target_psi": np.full(len(unit), 100.0),
        "read_on": pa.array([dt.date(2025, 6, 10)] * len(unit)), "tread_a_32nds": depth, "pressure_psi": pressure,
    })  # fmt: skip
    html = _sheet.render(wheelend.read_log(table))
    assert html.count("<article") == 1334
    assert html.count("<tr><td class=n><b>") == 666
    assert len(html.encode()) < 10_000_000
