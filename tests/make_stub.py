"""Writes python/wheelend/_core.pyi from the compiled module. Run it after a change of the bindings.

pybind11-stubgen leaves containers without parameters, which strict type checking refuses; they are filled in here.
"""

from __future__ import annotations

import re
import subprocess
import sys
import tempfile
from pathlib import Path

STUB = Path(__file__).resolve().parents[1] / "python" / "wheelend" / "_core.pyi"
_FILL = {"dict": "dict[str, typing.Any]", "list": "list[typing.Any]", "tuple": "tuple[typing.Any, ...]"}


def stub_text() -> str:
    """The stub of the module that is installed now."""
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run(
            [sys.executable, "-m", "pybind11_stubgen", "wheelend._core", "-o", folder],
            check=True,
            capture_output=True,
        )
        text = (Path(folder) / "wheelend" / "_core.pyi").read_text()
    for bare, full in _FILL.items():
        text = re.sub(rf"(?<=: ){bare}(?=[,)= ])", full, text)
        text = re.sub(rf"-> {bare}:", f"-> {full}:", text)
    text = re.sub(r": (\w+) = None(?=[,)])", r": \1 | None = None", text)  # pybind11 lets None stand for any pointer
    text = re.sub(r"__version__: str = '[^']*'", "__version__: str", text)
    # Values of the tables are those of the core; the stub only says what they are.
    text = re.sub(
        r"^(codes): dict\[str, typing.Any\] = .*$|^codes: dict = .*$",
        "codes: dict[str, list[str]]",
        text,
        flags=re.M,
    )
    text = re.sub(r"^quantity_of: dict.* = .*$", "quantity_of: dict[str, str]", text, flags=re.M)
    text = re.sub(r"^quantile_levels: list.* = .*$", "quantile_levels: list[float]", text, flags=re.M)
    return text


if __name__ == "__main__":
    STUB.write_text(stub_text())
