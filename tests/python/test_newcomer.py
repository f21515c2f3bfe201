"""A newcomer's way: the sample as README shows it, then a table of their own with other headers, put right by nothing
but what the messages say, until it is judged."""

from __future__ import annotations

import csv
import re
import shlex
from pathlib import Path
from typing import Any

import pytest

OWN = """\
Truck No,Unit Type,Axle Number,Axle Type,Side,Inner/Outer,Date,Mileage,Tread Outer (32nds),Tread Inner (32nds),PSI,Notes
81,tractor,1,steer,L,S,03/14/2026,201400,3,5,101,
81,tractor,1,steer,R,S,03/14/2026,201400,9,10,104,
81,tractor,2,drive,L,O,03/14/2026,201400,12,12,97,
81,tractor,2,drive,L,I,03/14/2026,201400,12,11,96,new valve
"""


class Newcomer:
    """Reads what is said, changes the table as it says, and tries again."""

    def __init__(self, path: Path, run: Any) -> None:
        self.path, self.run = path, run
        self.options: list[str] = []
        self.header, *self.rows = list(csv.reader(OWN.splitlines()))
        self.save()

    def save(self) -> None:
        with self.path.open("w", newline="", encoding="utf-8") as f:
            csv.writer(f).writerows([self.header, *self.rows])

    def rename(self, written: str, name: str) -> bool:
        if written not in self.header:
            return False
        self.header[self.header.index(written)] = name
        return True

    def try_once(self) -> tuple[int, str]:
        done = self.run("judge", "--readings", self.path, *self.options)
        found = self.run("issues", "--readings", self.path, "--format", "csv", *self.options)
        return done.code, f"{done.err}\n{done.out}\n{found.out}"

    def follow(self, said: str) -> list[str]:
        """What is changed by what was said; nothing is known besides."""
        changed = []
        for name, written in re.findall(r"'(\w+)' \(is it '([^']+)'\?\)", said):
            changed += [f"{written} -> {name}"] if self.rename(written, name) else []
        for row in csv.DictReader(said[said.find('"file"') :].splitlines()) if '"file"' in said else []:
            message = row["message"] or ""
            if (likely := re.search(r"it looks like '(\w+)': rename it so", message)) is not None:
                changed += [f"{row['column']} -> {likely[1]}"] if self.rename(row["column"], likely[1]) else []
            elif (meant := re.search(r"did you mean (\w+)\?", message)) is not None and row["text"]:
                at = self.header.index(row["column"])
                self.rows = [
                    [meant[1] if i == at and c == row["text"] else c for i, c in enumerate(r)] for r in self.rows
                ]
                changed.append(f"{row['text']} -> {meant[1]}")
            elif (option := re.search(r"--dates mdy", message)) is not None and option[0] not in " ".join(self.options):
                self.options += option[0].split()
                changed.append(option[0])
        self.save()
        return changed


def test_own_table_is_put_right_by_its_messages(tmp_path: Path, run: Any) -> None:
    person = Newcomer(tmp_path / "mine.csv", run)
    codes, changed = [], []
    for _ in range(8):
        code, said = person.try_once()
        codes.append(code)
        if not (now := person.follow(said)):
            break
        changed += now
    assert codes[0] == 3
    assert codes[-1] == 1, said  # 3/32 in on a steer tire: 49 CFR 393.75(b) asks for 4/32 in
    assert person.header == [
        "unit", "kind", "axle", "role", "Side", "dual", "read_on", "odometer_mi", "tread_outer_32nds",
        "tread_inner_32nds", "pressure_psi", "Notes",
    ]  # fmt: skip
    assert person.options == ["--dates", "mdy"]
    assert {r[4] for r in person.rows} == {"left", "right"}
    assert {r[5] for r in person.rows} == {"single", "outer", "inner"}
    assert "3/32 in" in said
    # What is left for the clipboard:
    sheet = tmp_path / "sheet.html"
    done = run("sheet", "--readings", person.path, *person.options, "-o", sheet)
    assert done.code == 0, done.err
    text = sheet.read_text(encoding="utf-8")
    assert "49 CFR 393.75(b)" in text
    assert "81" in text
    found = [line for line in said.splitlines() if '"mine.csv"' in line]
    assert len(found) == 1  # a column of notes is nobody's mistake: it is noted, and not read
    assert "Notes" in found[0]


def test_no_value_of_a_misnamed_column_is_lost_without_a_word(tmp_path: Path, run: Any) -> None:
    """A pressure under another name is called out by every command, not only by `issues`."""
    path = tmp_path / "readings.csv"
    path.write_text(
        "unit,kind,axle,role,side,dual,read_on,tread_a_32nds,Air Pressure (psi),Target PSI\n"
        "81,tractor,1,steer,left,single,2026-03-14,9,60,100\n",
        encoding="utf-8",
    )
    done = run("standing", "--readings", path)
    for header, name in (("Air Pressure (psi)", "pressure_psi"), ("Target PSI", "target_psi")):
        said = f"NOT USED: readings.csv, column {header}: not a column of this table, but it looks like '{name}'"
        assert said in done.err


def test_columns_of_ones_own_stay_ones_own(tmp_path: Path, run: Any) -> None:
    """What only resembles a column that the table has under its own name is no other spelling of it."""
    path = tmp_path / "positions.csv"
    path.write_text(
        "unit,kind,axle,side,dual,role,target_psi,Type,Vehicle,PSI class,site\n"
        "81,tractor,1,left,single,steer,100,day cab,blue,high,North\n",
        encoding="utf-8",
    )
    readings = tmp_path / "readings.csv"
    readings.write_text("unit,axle,side,dual,read_on,pressure_psi\n81,1,left,single,2026-03-14,99\n", encoding="utf-8")
    done = run("pressures", "--readings", readings, "--positions", path, "--site", "North")
    assert (done.code, done.err) == (0, "As of 2026-03-14 (last reading).\n")


def test_readme_leads_to_the_sample(tmp_path: Path, root: Path, run: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """The first commands of README, run in the folder that `sample` writes, say what README shows."""
    readme = (root / "README.md").read_text(encoding="utf-8")
    assert "sample DIR" in readme
    assert run("sample", tmp_path / "fleet").code == 0
    monkeypatch.chdir(tmp_path / "fleet")
    shown = re.findall(r"^\$ wheelend (standing .*)\n((?:.+\n)+)", readme, re.MULTILINE)
    assert shown
    for command, lines in shown:
        done = run(*shlex.split(command))
        assert done.code in (0, 1)
        assert done.out.startswith(lines)
