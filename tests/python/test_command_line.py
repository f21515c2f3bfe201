"""The command line as a program: forms of the result, where it goes, pipes, interrupts, exit codes, completion."""

from __future__ import annotations

import csv
import inspect
import io
import json
import os
import pty
import shlex
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pyarrow.parquet as pq
import pytest
import typer
from python_calamine import CalamineWorkbook

import wheelend
from conftest import Table
from made.commands import all_commands
from wheelend.cli import app
from wheelend.limit_sets import DEFAULT

FORMS = ("csv", "json", "parquet", "xlsx")


@pytest.fixture
def files(tmp_path: Path, readings: Table, positions: Table) -> list[str]:
    """A tiny fleet with one bald tire on a steer axle: `judge` ends with 1."""
    made = []
    for name, table in (("readings", readings), ("positions", positions)):
        (tmp_path / f"{name}.csv").write_text(table.csv(), encoding="utf-8")
        made += [f"--{name}", str(tmp_path / f"{name}.csv")]
    return made


def program(*arguments: str, **how: Any) -> subprocess.CompletedProcess[bytes]:
    command = [sys.executable, "-m", "wheelend", *arguments]
    return subprocess.run(command, capture_output=True, check=False, **how)


def rows_of(form: str, data: bytes) -> list[dict[str, Any]]:
    """Rows of a result, read by a library of their own format; numbers and dates as text."""
    if form == "csv":
        return list(csv.DictReader(io.StringIO(data.decode())))
    if form == "json":
        found = json.loads(data)
    elif form == "parquet":
        found = pq.read_table(io.BytesIO(data)).to_pylist()
    else:
        head, *rest = CalamineWorkbook.from_filelike(io.BytesIO(data)).get_sheet_by_index(0).to_python()
        found = [dict(zip(head, row, strict=True)) for row in rest]
    return [{k: _text(v) for k, v in row.items()} for row in found]


def _text(value: Any) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, float):
        return f"{value:g}"
    return "" if value is None else str(value)


# ---- forms of the result


def test_every_form_on_stdout_gives_the_same_rows(files: list[str]) -> None:
    found = {}
    for form in FORMS:
        done = program("judge", *files, "--format", form)
        assert done.returncode == 1, done.stderr
        assert done.stderr.startswith(b"As of 2025-06-10")  # messages never mix with the data
        found[form] = rows_of(form, done.stdout)
    assert len(found["csv"]) > 10
    assert found["csv"] == found["json"] == found["parquet"] == found["xlsx"]


def test_the_format_beats_the_name_of_the_file(files: list[str], tmp_path: Path, run: Any) -> None:
    out = tmp_path / "verdicts.dat"
    assert run("judge", *files, "-o", out).code == 2
    assert not out.exists()
    assert run("judge", *files, "-o", out, "--format", "csv").code == 1
    assert out.read_text(encoding="utf-8").startswith('"unit","axle"')
    assert run("judge", *files, "--format", "table", "-o", out).code == 1
    assert out.read_text(encoding="utf-8").startswith("UNIT ")


def test_issues_and_limits_take_a_format(files: list[str], run: Any) -> None:
    assert run("limits", "us-federal", "--format", "csv").out.startswith('"id",')
    assert run("issues", *files, "--format", "csv").out.startswith('"file","sheet","row"')


def test_a_format_that_is_not_known_is_wrong_usage(files: list[str], run: Any) -> None:
    done = run("judge", *files, "--format", "pdf")
    assert done.code == 2
    assert "parquet" in done.err


# ---- where it goes


def test_a_reader_that_has_seen_enough_is_no_error(files: list[str]) -> None:
    """``| head``: quiet, and the exit code still says what was found."""
    for form in ("table", "csv", "xlsx"):
        end, start = os.pipe()
        os.close(end)  # nobody reads
        command = [sys.executable, "-m", "wheelend", "judge", *files, "--format", form]
        done = subprocess.run(command, stdout=start, stderr=subprocess.PIPE, check=False)
        os.close(start)
        assert (done.returncode, done.stderr.count(b"\n")) == (1, 1), (form, done.stderr)


@pytest.mark.parametrize("name", ["none/v.csv", "none/v.xlsx", "none/v.parquet", "none/v.json"])
def test_a_folder_that_is_not_there_is_one_message(files: list[str], tmp_path: Path, run: Any, name: str) -> None:
    done = run("judge", *files, "-o", tmp_path / name)
    assert done.code == 2
    *_, last = done.err.splitlines()
    assert last.startswith(f"wheelend: {tmp_path / name}: No such file or directory; check the name")
    assert not (tmp_path / "none").exists()


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="a device of Linux that is always full")
@pytest.mark.parametrize("form", ["table", "csv", "xlsx"])
def test_a_full_disk_is_one_message(files: list[str], form: str) -> None:
    with open("/dev/full", "wb") as full:
        command = [sys.executable, "-m", "wheelend", "judge", *files, "--format", form]
        done = subprocess.run(command, stdout=full, stderr=subprocess.PIPE, check=False)
    assert done.returncode == 2
    assert b"Traceback" not in done.stderr
    assert b"No space left on device" in done.stderr


# ---- help


def commands() -> list[str]:
    root = typer.main.get_command(app)
    return [name for name, command in root.commands.items() if not command.hidden]  # type: ignore[attr-defined]


def example_of(text: str) -> str:
    """The example of a help text, as a shell would take it."""
    lines = text.splitlines()
    at = lines.index("  Example:")
    command = []
    for line in lines[at + 1 :]:
        command.append(line.strip().removesuffix("\\"))
        if not line.endswith("\\"):
            break
    return " ".join(command)


@pytest.mark.parametrize("name", commands())
def test_help_begins_with_an_example_that_is_a_call_of_the_command(run: Any, name: str) -> None:
    text = run(name, "--help").out
    usage, blank, first, *_ = text.splitlines()
    assert usage.startswith(f"Usage: wheelend {name}")
    assert (blank, first) == ("", "  Example:")
    assert max(len(line) for line in text.splitlines()) <= 80
    words = shlex.split(example_of(text))
    assert words[:2] == ["wheelend", name]
    command = typer.main.get_command(app).commands[name]  # type: ignore[attr-defined]
    command.make_context(name, words[2:])  # every option and argument of it is known


JUDGES = ("judge", "standing", "spot", "sheet", "limits", "explain")


@pytest.mark.parametrize(
    ("names", "words"),
    [(JUDGES, "no certificate of roadworthiness"), (("pressures",), "29 CFR 1910.177(f)"),
     (("wear",), "a due date is a forecast"), (("patterns",), "never a verdict"), (("form",), "secure the unit")],
)  # fmt: skip
def test_help_ends_with_the_cautions_of_the_command(run: Any, names: tuple[str, ...], words: str) -> None:
    for name in names:
        *_, last = run(name, "--help").out.rstrip().split("\n\n")
        assert last.strip().startswith("Caution: ")
        assert words in " ".join(last.split()), name


def test_the_list_of_commands_gives_whole_sentences(run: Any) -> None:
    text = run("--help").out
    assert "..." not in text.partition("Commands:")[2]
    assert all(f"\n  {name} " in text for name in commands())


# ---- likely words


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["jugde"], "did you mean judge?"),
        (["standig"], "did you mean standing?"),
        (["judge", "--reading", "r.csv"], "--readings"),
        (["judge", "--limits", "us-fedral"], "did you mean us-federal?"),
        (["judge", "--dates", "mdx"], "did you mean mdy?"),
        (["words", "brak"], "did you mean brake?"),
        (["records", "perodic_report"], "did you mean periodic_report?"),
        (["spot", "--kind", "tracter", "--role", "steer"], "did you mean tractor?"),
        (["spot", "--kind", "tractor", "--role", "steer", "--pressure", "92 pis"], "did you mean psi?"),
        (["spot", "--kind", "tractor", "--role", "steer", "--pressure", "9 kpaa"], "did you mean kpa?"),
        (["pressures", "--method", "gaslaw"], "did you mean gas_law?"),
    ],
    ids=lambda value: " ".join(value[:3]) if isinstance(value, list) else "",
)
def test_a_word_that_is_none_is_answered_with_a_likely_one(
    files: list[str], run: Any, arguments: list[str], said: str
) -> None:
    reads = files if arguments[0] in ("judge", "pressures") and "--reading" not in arguments else []
    done = run(*arguments, *reads)
    assert done.code == 2
    assert said in " ".join(done.err.split())


# ---- completion


def completed(line: str, **environment: str) -> list[str]:
    """What bash is offered at the end of a line, by the protocol of the script of `--show-completion`."""
    words = line.split(" ")
    asked = {"_WHEELEND_COMPLETE": "complete_bash", "COMP_WORDS": line, "COMP_CWORD": str(len(words) - 1)}
    code = "from wheelend.cli import main; main()"
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, check=False, env={**os.environ, **asked, **environment}
    )
    assert done.stderr == b""
    return done.stdout.decode().split()


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("wheelend ju", ["judge"]),
        ("wheelend judge --limits us-f", ["us-federal"]),
        ("wheelend judge --format ", ["table", *FORMS]),
        ("wheelend form --quantity pushrod", ["pushrod_stroke"]),
        ("wheelend words chamber_", ["chamber_size"]),
        ("wheelend explain US-T-03", ["US-T-03"]),
        ("wheelend judge --measure inflated_to=p", ["inflated_to=psi"]),
        ("wheelend judge --positions none.csv --unit T", []),
    ],
)
def test_words_are_completed(line: str, words: list[str]) -> None:
    assert completed(line) == words


def test_units_of_the_files_are_completed(files: list[str]) -> None:
    assert completed(f"wheelend judge {' '.join(files)} --unit T") == ["T1"]
    assert completed(f"wheelend judge {' '.join(files)} --site s") == []


def test_the_script_of_completion_is_printed() -> None:
    # what --show-completion prints, without its look at the processes above for the shell in use
    done = program(env={**os.environ, "_WHEELEND_COMPLETE": "source_bash"})
    assert (done.returncode, b"COMP_WORDS" in done.stdout) == (0, True)


# ---- terminals and interrupts


def on_terminal(*arguments: str, **environment: str) -> tuple[int, str]:
    """The program with a terminal on stdout and stderr."""
    outer, inner = pty.openpty()
    command = [sys.executable, "-m", "wheelend", *arguments]
    with subprocess.Popen(
        command, stdout=inner, stderr=inner, stdin=inner, env={**os.environ, "TERM": "xterm-256color", **environment}
    ) as started:
        os.close(inner)
        shown = b""
        while True:
            try:
                piece = os.read(outer, 65536)
            except OSError:  # the other end was closed
                break
            if not piece:
                break
            shown += piece
    os.close(outer)
    return started.returncode, shown.decode()


@pytest.mark.parametrize("environment", [{"NO_COLOR": "1"}, {"FORCE_COLOR": "1"}], ids=str)
def test_no_colour_and_no_boxes_even_on_a_terminal(files: list[str], environment: dict[str, str]) -> None:
    for arguments in (["judge", *files], ["judge", "--help"], ["jugde"], ["judge", "--readings", "none.csv"]):
        _, shown = on_terminal(*arguments, **environment)
        assert "\x1b" not in shown
        assert not set(shown) & set("─│╭╮╰╯┌┐└┘━┃")


def test_binary_is_not_written_to_a_terminal(files: list[str]) -> None:
    code, shown = on_terminal("judge", *files, "--format", "xlsx")
    assert code == 2
    assert "not for a terminal" in shown


def test_an_interrupt_ends_quietly_with_130(tmp_path: Path) -> None:
    started = subprocess.Popen(
        [sys.executable, "-c", _WAITS], stdout=subprocess.PIPE, stderr=subprocess.PIPE, cwd=tmp_path
    )
    assert started.stdout is not None
    assert started.stdout.readline() == b"waits\n"
    time.sleep(0.2)
    started.send_signal(signal.SIGINT)
    out, err = started.communicate(timeout=30)
    assert (started.returncode, out, err) == (130, b"", b"")


_WAITS = """
import time
from wheelend import log
from wheelend.cli import main

def waits(*given, **how):
    print("waits", flush=True)
    time.sleep(60)

import wheelend._options
wheelend._options.read_log = waits
main(["judge", "--readings", "readings.csv"])
"""


# ---- options


@pytest.mark.parametrize("name", sorted(set(all_commands()) & set(wheelend.__all__) - {"limits"}))
def test_what_is_usual_is_the_same_in_the_command_and_in_the_function(name: str) -> None:
    usual = inspect.signature(getattr(wheelend, name)).parameters
    options = {o.name: o.default for o in all_commands()[name].params if o.param_type_name == "option"}
    shared = {option: value for option, value in options.items() if option in usual}
    assert shared
    for option, value in shared.items():
        wanted = usual[option].default
        if wanted not in (inspect.Parameter.empty, DEFAULT):  # not to be left out; of the sets help says it
            assert value == wanted, option
