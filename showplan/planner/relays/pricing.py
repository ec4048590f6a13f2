"""What prices of cuts prove: a bound on the cost, by how much it rises with each copy, and the links that lack.

Prices above or equal 0 prove as much as they sum up to, less what copies would gain by them: a copy that hears another
keeps all cuts whose far side has it and not the other, and a site has one copy at most, which hears one other.
"""

from dataclasses import dataclass

import numpy as np

from showplan.planner.relays.levelled import Levelled
from showplan.planner.relays.posts import Indices
from showplan.planner.relays.problem import Booleans, Floats

NOTHING = 1e-7
MANTISSA = 23  # bits that numbers of single precision have behind the first


@dataclass(frozen=True, eq=False)
class Prices:
    """Cuts by their far sides, and their prices."""

    far: Booleans  # (cuts, copies + 1)
    price: Floats  # (cuts,)

    def towards(self, other: "Prices", share: float) -> "Prices":
        """Between these prices and others: a share of these, the rest of the others."""
        far = np.concatenate([self.far, other.far])
        price = np.concatenate([share * self.price, (1 - share) * other.price])
        _, first, place = np.unique(np.packbits(far, axis=1), axis=0, return_index=True, return_inverse=True)
        return Prices(far[first], np.bincount(place.ravel(), price).astype(np.float64)).cleared()

    def cleared(self) -> "Prices":
        """Without cuts of no price, and on a grid on which sums of single precision are exact."""
        grid = 2.0 ** (np.ceil(np.log2(max(self.price.sum(), 1.0))) + 1 - MANTISSA)
        price = np.floor(self.price / grid) * grid
        return Prices(self.far[price > NOTHING], price[price > NOTHING])


@dataclass(frozen=True, eq=False)
class Priced:
    """What prices prove."""

    prices: Prices
    bound: float
    reduced: Floats  # (copies,) by how much at least the bound rises with each; negative: left out
    hears: Indices  # (copies,) the one heard at which it rises least

    def lacking(self) -> tuple[Indices, Indices]:
        """Senders and receivers of links that would lower the cost."""
        receiver = np.flatnonzero(self.reduced < -NOTHING)
        return self.hears[receiver], receiver


def priced(model: Levelled, prices: Prices) -> Priced:
    """What prices prove; they must be cleared."""
    price = prices.price.astype(np.float32)
    gateways = len(model.post)
    reduced, hears = model.cost.copy(), np.full(gateways, gateways)
    for outer, inner, is_heard in model.steps:  # a level at a time: all of `far` as numbers would take much room
        far = prices.far[:, outer].astype(np.float32)
        reduced[outer] -= price @ far
        if len(inner):
            both = (far * price[:, None]).T @ prices.far[:, inner].astype(np.float32)
            both[~is_heard] = np.inf
            hears[outer] = inner[both.argmin(axis=1)]
            reduced[outer] += both.min(axis=1)
    of_site = np.full(int(model.post.max(initial=-1)) + 1, np.inf)
    np.minimum.at(of_site, model.post, reduced)
    return Priced(prices, float(prices.price.sum() + np.minimum(of_site, 0.0).sum()), reduced, hears)
