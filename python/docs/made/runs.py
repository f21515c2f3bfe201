"""What a command prints on the shipped sample: run while the manual is built."""

from __future__ import annotations

import contextlib
import functools
import io
import shlex
import tempfile
import textwrap
from pathlib import Path

from wheelend.cli import main
from wheelend.sample import write_sample

TABLES = "--readings readings.csv --positions positions.csv --tires tires.csv"


@functools.cache
def folder() -> str:
    """A folder with the sample, once per build."""
    name = tempfile.mkdtemp(prefix="manual-")
    write_sample(Path(name))
    return name


def output(line: str) -> tuple[str, int]:
    """Stdout and exit code of a command line in the sample's folder."""
    out = io.StringIO()
    with contextlib.chdir(folder()), contextlib.redirect_stdout(out), contextlib.redirect_stderr(io.StringIO()) as said:
        try:
            main(shlex.split(line.replace("TABLES", TABLES)))
            code = 0
        except SystemExit as end:
            code = int(end.code or 0)
    if code not in (0, 1):
        raise RuntimeError(f"wheelend {line}: ended with {code}: {said.getvalue()}")
    return out.getvalue(), code


def _folded(line: str) -> str:
    """A command on lines that fit beside the text: what a shell takes for one line."""
    return "\n    ".join(textwrap.wrap(line, 70, break_long_words=False, break_on_hyphens=False)).replace("\n", " \\\n")


def command(line: str) -> str:
    """A command as a reader types it."""
    return f"```sh\n{_folded('wheelend ' + line.replace('TABLES', TABLES))}\n```"


def run(arguments: str) -> str:
    """``run LINES COMMAND ...``: the command and its first lines; ``TABLES`` stands for the sample's tables."""
    most, _, line = arguments.partition(" ")
    text, code = output(line)
    lines = text.rstrip().splitlines()
    shown = lines if len(lines) <= int(most) else [*lines[: int(most)], "..."]
    typed = _folded(f"$ wheelend {line.replace('TABLES', TABLES)}")
    end = f"\nThe exit code is {code}.\n" if code else ""
    return "\n".join(["```text", typed, *shown, "```", end])
