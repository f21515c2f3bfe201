"""Pictures for a meeting or a paper: each is a table and a drawing of it.

``NAME_data(log, ...)`` gives the table, of the kind that came in, with every number that is drawn; ``plot_NAME(table,
ax=None)`` draws that table, nothing else, and returns the matplotlib axes. Nothing is shown, no style is set for other
pictures, and matplotlib is loaded only when something is drawn. ``wheelend picture NAME -o FILE`` does both.
"""

from wheelend.pictures._across import across_data, plot_across
from wheelend.pictures._coverage import coverage_data, plot_coverage
from wheelend.pictures._demand import demand_data, plot_demand, plot_spend, spend_data
from wheelend.pictures._depth import depth_data, plot_depth
from wheelend.pictures._due import due_data, plot_due
from wheelend.pictures._pressure import plot_pressure, pressure_data

__all__ = [
    "across_data",
    "coverage_data",
    "demand_data",
    "depth_data",
    "due_data",
    "plot_across",
    "plot_coverage",
    "plot_demand",
    "plot_depth",
    "plot_due",
    "plot_pressure",
    "plot_spend",
    "pressure_data",
    "spend_data",
]
