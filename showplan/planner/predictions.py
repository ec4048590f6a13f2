"""What the plan predicts at the spots of a walk test, beside what was measured there."""

from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import NDArray

from showplan.planner.faults import Fault
from showplan.planner.links import centre_frequency_mhz
from showplan.planner.propagation import Propagation
from showplan.planner.scene import Network, Scene
from showplan.planner.walk_test import Spot, impossible_readings, usable_spots

Floats = NDArray[np.float64]
Booleans = NDArray[np.bool_]

CANNOT_BE_RIGHT: Final = "it cannot be right"


@dataclass(frozen=True)
class Prediction:
    """The spots of one PHY with what the plan, as it is applied now, expects at each: `predicted_dbm (n,)`.

    `network` names one of the networks with that PHY. A lost spot's measured value is the sensitivity, above which
    nothing arrived.
    """

    network: str
    spots: tuple[Spot, ...]
    predicted_dbm: Floats

    @cached_property
    def is_lost(self) -> Booleans:
        """Which spots were lost (n,)."""
        return np.array([spot.is_lost for spot in self.spots])

    @cached_property
    def errors_db(self) -> Floats:
        """Prediction less measurement (n,): positive where the venue is lossier than planned."""
        measured_dbm: Floats = np.array([spot.mean_dbm for spot in self.spots])
        return self.predicted_dbm - measured_dbm

    @property
    def received_db(self) -> Floats:
        """The errors of the spots that were received."""
        received_db: Floats = self.errors_db[~self.is_lost]
        return received_db


class WalkTest:
    """The readings of a Scene against its plan. They are taken in the empty house, so one serves every state."""

    def __init__(self, scene: Scene) -> None:
        self.scene = scene

    @cached_property
    def impossible(self) -> dict[Fault, int]:
        """Faults of readings that cannot be right, with the index of the reading."""
        return impossible_readings(self.scene)

    @cached_property
    def predictions(self) -> tuple[Prediction, ...]:
        """One for each PHY that has usable readings, in order of network."""
        found = (self._predicted(network) for network in self._measured_networks())
        return tuple(prediction for prediction in found if prediction is not None)

    def _measured_networks(self) -> list[Network]:
        """The first network of each PHY that readings were taken of."""
        labels = {reading.transmitter for reading in self.scene.readings}
        names = {node.network for node in self.scene.nodes if node.label in labels}
        by_phy: dict[str, Network] = {}
        for network in sorted(self.scene.networks, key=lambda network: network.name):
            if network.name in names:
                by_phy.setdefault(network.phy, network)
        return list(by_phy.values())

    def _predicted(self, network: Network) -> Prediction | None:
        frequency_mhz = centre_frequency_mhz(self.scene, network)
        if frequency_mhz is None:
            return None
        left_out = dict.fromkeys(self.impossible.values(), CANNOT_BE_RIGHT)
        spots = usable_spots(self.scene, network, frequency_mhz, left_out)
        if not spots:
            return None
        from_m, to_m = (np.concatenate([getattr(spot, end) for spot in spots]) for end in ("from_m", "to_m"))
        loss_db = Propagation(self.scene, frequency_mhz).path_loss_of_pairs_db(from_m, to_m)
        budget_db = np.array([spot.budget_db for spot in spots])
        return Prediction(network.name, tuple(spots), budget_db - loss_db)
