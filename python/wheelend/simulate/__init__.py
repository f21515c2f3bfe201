"""Simulated fleets whose truth is known: to try a forecast on, and to say how good it could be.

``fleet`` draws a fleet, ``Process`` holds every number that it draws from, ``knows`` is the forecaster that knows those
numbers, the measure of all others.
"""

from wheelend.simulate._fleet import Simulated, Truth, fleet, process_of
from wheelend.simulate._knows import knows
from wheelend.simulate._knows_leaks import knows_leaks
from wheelend.simulate._process import Process, parameters
from wheelend.simulate._scenarios import SCENARIOS, Scenario

__all__ = [
    "SCENARIOS",
    "Process",
    "Scenario",
    "Simulated",
    "Truth",
    "fleet",
    "knows",
    "knows_leaks",
    "parameters",
    "process_of",
]
