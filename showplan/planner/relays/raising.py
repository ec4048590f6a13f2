"""First stage, one route to each node: the bound raised by the levelled model while relays are moved beside it."""

import numpy as np

from showplan.planner.relays.cheapest import Cheapest
from showplan.planner.relays.failing import SetCut
from showplan.planner.relays.fewer import Fewer, can_anneal
from showplan.planner.relays.levelled import levelled
from showplan.planner.relays.levelled_bound import LevelledBound
from showplan.planner.relays.needs import Needs, costs
from showplan.planner.relays.posts import Posts
from showplan.planner.relays.pricing import Priced
from showplan.planner.relays.problem import RelayProblem

TURNS = 60
ROUNDS = 4  # of cuts in a turn
# Moves of relays, for each turn before (later turns of cuts take longer), for each round of improvement that the
# settings allow, and for each COPIES copies.
MOVES = 75
LAST = 10  # turns of moves alone when the bound rises no more
COPIES = 50
MOST_COPIES = 2500  # that count so
BATCH = 80  # nodes whose cuts are added in a round
STALLED = 5  # turns in a row that raise the bound by less than SLOW of the dearest site
SLOW = 0.02


def raise_levelled(search: Cheapest, seed: int) -> bool:
    """Turns of cuts and of moved relays, side by side; a turn's work is counted, so that runs repeat.

    False where there is nothing to raise.

    Dominated copies stay where their deputy may hear another gateway, which need not stand, or may lengthen the way
    to a node where links count.
    """
    all_stand = search.posts.problem.gateways_standing == search.posts.problem.n_gateways
    model = levelled(search.needs, clear=all_stand and search.most_hops_total is None)
    if not len(model.post) or not model.ends.shape[0]:
        return False
    raised = LevelledBound(model)
    base = costs(search.posts, search.posts.fixed)
    known = search.best if search.best is not None else search.nearest
    fewer = Fewer(search.needs, known, seed) if known is not None and can_anneal(search.needs) else None
    moves = MOVES * (1 + min(len(model.post), MOST_COPIES) // COPIES) * search.ticker.settings.improvement_rounds
    stalled, before = 0, -np.inf

    def on_round(priced: Priced) -> bool:
        search.raise_bound(base + priced.bound)
        return search.is_proven or search.ticker.tick("Raising the bound")

    for turn in range(TURNS):
        if fewer is not None and turn > 0:
            fewer.begin(turn * moves)
        try:
            is_over = raised.raise_by(ROUNDS, BATCH, on_round)
        finally:
            if fewer is not None:
                _offer(search, fewer, at_once=search.is_proven or search.ticker.seconds_left() <= 0)
        bound = raised.best.bound if raised.best is not None else 0.0
        stalled = stalled + 1 if bound - before < SLOW * model.cost.max() else 0
        before = bound
        if is_over or stalled >= STALLED or search.ticker.tick("Raising the bound"):
            break
    for _ in range(LAST):
        if fewer is None or search.is_proven or search.ticker.tick("Improving placements"):
            break
        fewer.begin(moves)
        _offer(search, fewer)
    _keep(search, raised, base)
    return True


def _offer(search: Cheapest, fewer: Fewer, at_once: bool = False) -> None:
    found = fewer.end(at_once)
    if found is not None:
        search.offer(found)


def _keep(search: Cheapest, raised: LevelledBound, base: float) -> None:
    """For the exact search: cuts over sites, and how the bound rises with each site.

    Both count only copies that are not dominated, so they hold for some cheapest placement and are no use later on.
    """
    best, model = raised.best, raised.model
    if best is None:
        return
    far = best.prices.far[:, :-1].T
    begins = far & (model.is_first[:, None] | (model.heard @ (~far).astype(np.float32) > 0))
    for cut in begins.T:
        search.proof_cuts[SetCut(tuple(int(post) for post in np.unique(model.post[cut])))] = None
    search.rising = np.full(search.posts.count, np.inf)
    search.rising[search.posts.n :] = -np.inf
    search.rising[search.posts.fixed] = -np.inf
    np.minimum.at(search.rising, model.post, base + best.bound + np.maximum(best.reduced, 0.0))


def warm_searches() -> None:
    """Let the compiled searches be compiled, on a site between gateway and node."""
    link = np.ones((1, 1))
    free = np.zeros(1, dtype=bool)
    problem = RelayProblem(
        ("S",), ("N",), np.zeros((1, 1)), link, link, np.zeros((1, 1)), ("G",), np.ones(1), free, free, 2, (1,)
    )
    needs = Needs(Posts(problem))
    raised = LevelledBound(levelled(needs, clear=True))
    raised.broken(np.zeros(1), 1)
    fewer = Fewer(needs, np.ones(2, dtype=bool), 1)
    fewer.begin(1)
    fewer.end()
