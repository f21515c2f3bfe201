"""Readings of wheel ends: judged against their limits, followed to the day they reach them.

A pass here is no certificate of roadworthiness: local codes, the makers' figures and licensed inspectors decide.
"""

from typing import TYPE_CHECKING, Any

try:
    from wheelend._core import __version__
except ImportError as error:  # pragma: no cover - only in a checkout that was not built
    raise ImportError(
        f"the compiled part of wheelend is missing ({error}): build it with 'pip install .' in the checkout, or run "
        "'sh tests/run.sh'"
    ) from error

from wheelend._backtest import backtest, recalibrate
from wheelend._clamp import ClampLoad, clamp_load, retention
from wheelend._costs import costs
from wheelend._demand import demand
from wheelend._doubts import doubts
from wheelend._fitments import fitments
from wheelend._form._make import form
from wheelend._hubs import hubs
from wheelend._leaks import leaks
from wheelend._mates import mates
from wheelend._notebook import load_ipython_extension as load_ipython_extension  # `%load_ext wheelend`
from wheelend._notebook import show
from wheelend._orders import orders
from wheelend._patterns import patterns
from wheelend._records import records
from wheelend._sheet import sheet
from wheelend._what_if import whatif
from wheelend.errors import BadCall, BadValue, DataRefused, LimitFileError, WheelendError, WheelendWarning
from wheelend.limit_sets import explain, limits
from wheelend.log import Log, read_log
from wheelend.trends import wear
from wheelend.verdicts import Spot, judge, pressures, spot, standing

if TYPE_CHECKING:
    from wheelend.sample import write_sample

__all__ = [
    "BadCall",
    "BadValue",
    "ClampLoad",
    "DataRefused",
    "LimitFileError",
    "Log",
    "Spot",
    "WheelendError",
    "WheelendWarning",
    "__version__",
    "backtest",
    "clamp_load",
    "costs",
    "demand",
    "doubts",
    "explain",
    "fitments",
    "form",
    "hubs",
    "judge",
    "leaks",
    "limits",
    "mates",
    "orders",
    "patterns",
    "pressures",
    "read_log",
    "recalibrate",
    "records",
    "retention",
    "sheet",
    "show",
    "spot",
    "standing",
    "wear",
    "whatif",
    "write_sample",
]


def __getattr__(name: str) -> Any:
    """Loaded only when asked for: few need the sample's generator or pictures, and every import would pay."""
    if name == "write_sample":
        from wheelend.sample import write_sample

        return write_sample
    if name == "pictures":
        import importlib

        return importlib.import_module("wheelend.pictures")
    raise AttributeError(f"module 'wheelend' has no attribute {name!r}")
