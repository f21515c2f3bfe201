"""The command line: arguments in, tables out. Data on stdout, messages on stderr."""

from __future__ import annotations

import sys
from importlib import import_module
from typing import Annotated, Any

import typer

from wheelend import __version__
from wheelend._commands._common import INTERRUPTED, REFUSED, USAGE, app, say
from wheelend.errors import BadValue, DataRefused, WheelendError

# Modules of _commands, in the order of `wheelend --help`.
_SUBJECTS = ("judging", "following", "planning", "pictures", "sheets", "forms", "tables", "lookups")
for _subject in _SUBJECTS:
    import_module(f"wheelend._commands.{_subject}")
_REMEDY = "check the name, the folder, the rights and the space that is left"


def _version(value: bool) -> None:
    if value:
        typer.echo(__version__)
        raise typer.Exit


@app.callback()
def _common(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Show the version and exit.")
    ] = False,
) -> None:
    pass


def main(arguments: list[str] | None = None) -> Any:
    """Entry point: errors of the package become one message and an exit code."""
    try:
        app(arguments, prog_name="wheelend")
    except (DataRefused, BadValue) as error:
        say(f"wheelend: {error}")
        sys.exit(REFUSED)
    except WheelendError as error:
        say(f"wheelend: {error}")
        sys.exit(USAGE)
    except OSError as error:  # a folder that is not there, no right to write, a full disk
        say(f"wheelend: {error.filename or 'stdout'}: {error.strerror or error}; {_REMEDY}")
        sys.exit(USAGE)
    except KeyboardInterrupt:
        sys.exit(INTERRUPTED)
