"""Packet simulation: every frame of a network, sent, sensed, disturbed, received or lost.

    result = simulate(SimulationInput(...), replications=10)    from arrays
    result = simulate(from_scene(scene, network, state).given)  from a Scene

The loop over the events is compiled (`compiled.py`) and loaded when a simulation is run, not before.
"""

from showplan.planner.simulation.from_scene import NetworkSimulation, Wishes, from_scene
from showplan.planner.simulation.inputs import (
    EVERYBODY,
    Background,
    FrameTimes,
    MediumAccess,
    Packet,
    Reception,
    SimulationError,
    SimulationInput,
    Source,
)
from showplan.planner.simulation.results import Estimate, SimulationResult
from showplan.planner.simulation.running import simulate

__all__ = [
    "EVERYBODY",
    "Background",
    "Estimate",
    "FrameTimes",
    "MediumAccess",
    "NetworkSimulation",
    "Packet",
    "Reception",
    "SimulationError",
    "SimulationInput",
    "SimulationResult",
    "Source",
    "Wishes",
    "from_scene",
    "simulate",
]
