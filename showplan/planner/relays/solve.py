"""Where relays stand, and how few: stage after stage, each with what is proven of it."""

from dataclasses import replace

import numpy as np

from showplan.planner.relays import reasons as why
from showplan.planner.relays.answer import MostServed, Reason, RelayAnswer, TradePoint
from showplan.planner.relays.cheapest import EQUAL_COST, Cheapest
from showplan.planner.relays.delivery import node_deliveries
from showplan.planner.relays.failing import Failures
from showplan.planner.relays.most_served import serve_most
from showplan.planner.relays.needs import Needs, costs
from showplan.planner.relays.placing import describe
from showplan.planner.relays.posts import Posts
from showplan.planner.relays.problem import Booleans, RelayProblem
from showplan.planner.relays.refine import Within, best_worst_delivery, least_air, others, within
from showplan.planner.relays.search import Ticker
from showplan.planner.relays.watch import Settings, Unwatched, Watch

CUT_ROUNDS = 25
MOST_LEVELS = 10
SHORT_PROOF = (30, 1000)  # rounds, and tree nodes in each
LONG_PROOF = (300, 200_000)


def solve(problem: RelayProblem, *, watch: Watch | None = None, settings: Settings | None = None) -> RelayAnswer:
    """Fewest (cheapest) relays, at that cost the best worst delivery, at both the least air time.

    The problem was checked when it was made. A cancel, or the end of `settings.seconds`, gives the best so far; the
    state then says what is proven. `cancelled-without` means: nothing found yet, and nothing proven either.
    """
    ticker = Ticker(watch or Unwatched(), settings or Settings())
    posts = Posts(problem)
    needs = Needs(posts)
    ticker.tell("Looking what can be reached", 0.0)
    known = why.never_served(needs) or why.limits_alone(problem, posts)
    if known:
        return _infeasible(known)
    search = _cheapest(needs, ticker, ends=0.6)
    if search.best is None:
        explained = _explained(search, ticker)
        return _infeasible(explained, _most_served(search, explained, ticker)) if explained else _undecided(search)
    return _refined(search, ticker)


def most_sites(problem: RelayProblem) -> int | None:
    """How many relays the truck and, where all repeat, the air time allow."""
    limits = [] if problem.most_relays is None else [problem.most_relays]
    if problem.air is not None and problem.air.kind == "repeated":
        packets = int(np.floor(problem.air.allowed_s / problem.air.packet_s + 1e-9))
        limits.append(packets - problem.gateways_standing)
    return min(limits, default=None)


def most_hops_total(problem: RelayProblem) -> float | None:
    """How many links to all nodes together the air time allows, where each packet is routed."""
    if problem.air is None or problem.air.kind != "routed":
        return None
    return float(np.floor(problem.air.allowed_s / problem.air.packet_s + 1e-9))


def _raise_levelled(search: Cheapest, seed: int) -> bool:
    """The bound by levels; imported only here, because it brings the compiler along."""
    from showplan.planner.relays.raising import raise_levelled

    return raise_levelled(search, seed)


def _cheapest(needs: Needs, ticker: Ticker, ends: float, limited: bool = True, is_aside: bool = False) -> Cheapest:
    """The first stage, in the order that pays soonest."""
    problem = needs.posts.problem
    limits = (most_sites(problem), most_hops_total(problem)) if limited else (None, None)
    search = Cheapest(needs, Failures(needs), ticker, *limits, is_aside)
    search.raise_bound(costs(needs.posts, needs.posts.fixed))
    ticker.share(0.75)
    search.grow_first()
    ticker.tell("First placement", 0.05)
    search.improve(ticker.settings.improvement_rounds, needs.posts.usable, ticker.settings.seed, "Improving placements")
    ticker.tick("Raising the bound", 0.1)
    if not (search.is_proven or _is_hopeless(search)):
        ticker.share(0.85)
        # Levels are those of one graph and one route; where hops hardly count, their copies cost more than they tell.
        has_levels = problem.most_hops <= MOST_LEVELS and not (needs.wants_two.any() or needs.parts)
        if not (has_levels and _raise_levelled(search, ticker.settings.seed + 2)):
            ticker.share(0.3)
            search.relax(CUT_ROUNDS, 10)
        ticker.share(0.3)
        search.improve_along(3 * ticker.settings.improvement_rounds, ticker.settings.seed + 1)
        ticker.share(0.75)
    for budget, done in ((SHORT_PROOF, 0.3), (LONG_PROOF, 0.4)):
        ticker.tick("Proving", done)
        if not (search.is_proven or _is_hopeless(search)):
            search.prove(*budget)
    ticker.share(None)
    ticker.tick("Proving", ends)
    return search


def _is_hopeless(search: Cheapest) -> bool:
    """Whether the bound already says that more relays are needed than allowed."""
    return search.best is None and search.most_sites is not None and _needed(search) > search.most_sites


def _needed(search: Cheapest) -> int:
    """Relays that any placement has at least, from the bound on the cost."""
    dearest = float(search.posts.problem.cost.max())
    return int(np.ceil(min(search.bound, 1e12) / dearest - EQUAL_COST)) if np.isfinite(search.bound) else 0


def _explained(search: Cheapest, ticker: Ticker) -> list[Reason]:
    """Reasons, where it is proven that there is no placement; else none."""
    problem = search.posts.problem
    hopeless = _is_hopeless(search)
    if not hopeless and search.bound != np.inf:
        return []
    sites = search.most_sites
    if sites is not None:
        needed, exact = _fewest(search, ticker)
        if needed > sites:
            found = []
            if problem.most_relays is not None and needed > problem.most_relays:
                found.append(why.too_few_relays(problem, needed, exact))
            if problem.air is not None and problem.air.kind == "repeated" and sites != problem.most_relays:
                found.append(why.too_much_repeating(problem, needed, exact))
            return found
    standing = problem.gateways_standing
    for more in range(standing + 1, problem.n_gateways + 1):
        wider = _cheapest(Needs(Posts(replace(problem, gateways_to_choose=more))), ticker, 0.9, is_aside=True)
        if wider.best is not None:
            return [why.too_few_gateways(problem, more)]
    return [why.together()]


def _fewest(search: Cheapest, ticker: Ticker) -> tuple[int, bool]:
    """The fewest relays when nothing limits them, and whether that is exact or a bound; 0 when not even that is."""
    problem = search.posts.problem
    counted = replace(problem, cost=np.ones(problem.n_sites), most_relays=None, air=None)
    free = _cheapest(Needs(Posts(counted)), ticker, 0.8, limited=False, is_aside=True)
    if free.best is None and free.bound == np.inf:
        return 0, False
    return max(int(free.bound), _needed(search)), free.best is not None and free.is_proven


def _most_served(search: Cheapest, explained: list[Reason], ticker: Ticker) -> MostServed | None:
    """What the relays allowed can do, where their number stands in the way."""
    air = search.posts.problem.air
    is_too_few = any(one.code in ("too-few-relays", "too-much-air") for one in explained)
    if search.most_sites is None or not is_too_few or (air is not None and air.kind == "routed"):
        return None
    return serve_most(search.needs, search.most_sites, ticker, search.posts.problem.n_nodes - 1)


def _infeasible(found: list[Reason], most_served: MostServed | None = None) -> RelayAnswer:
    return RelayAnswer("infeasible", None, np.inf, 0.0, reasons=tuple(found), most_served=most_served)


def _undecided(search: Cheapest) -> RelayAnswer:
    return RelayAnswer("cancelled-without", None, search.bound, 1.0)


def _refined(search: Cheapest, ticker: Ticker) -> RelayAnswer:
    """Second and third stage, other placements, and what more relays would bring."""
    posts = search.posts
    assert search.best is not None
    limits = within(search)
    ticker.share(0.4)
    best, is_best_delivery = best_worst_delivery(limits, search.best, ticker, "Seeking the best worst delivery")
    ticker.best = describe(posts, best)
    ticker.tick("Seeking the least air time", 0.75)
    ticker.share(0.4)
    best, is_least_air = least_air(limits, best, ticker, "Seeking the least air time")
    placement = ticker.best = describe(posts, best)
    ticker.tick("Looking for other placements", 0.85)
    ticker.share(0.5)
    further = [describe(posts, other) for other in others(limits, best, ticker.settings.alternatives, ticker)]
    ticker.share(None)
    trade = _trade(limits, best, is_best_delivery and search.is_proven, ticker)
    bound = min(search.bound, placement.cost)
    proven = placement.cost - bound <= EQUAL_COST
    ticker.tell("Done", 1.0)
    return RelayAnswer(
        state="optimal" if proven else "feasible",
        placement=placement,
        bound=placement.cost if proven else bound,
        gap=0.0 if proven else (placement.cost - bound) / placement.cost,
        stages_proven=(proven, proven and is_best_delivery, proven and is_best_delivery and is_least_air),
        alternatives=tuple(other for other in further if abs(other.cost - placement.cost) <= EQUAL_COST),
        trade=tuple(trade),
    )


def _trade(limits: Within, best: Booleans, is_proven: bool, ticker: Ticker) -> list[TradePoint]:
    """The best worst delivery with as many relays as the placement has, and with some more."""
    posts = limits.posts
    problem = posts.problem
    fewest = int(best[: posts.n].sum())
    top = min(fewest + ticker.settings.trade_steps, problem.n_sites, limits.most_sites or problem.n_sites)
    points: list[TradePoint] = []
    current, proven = best, is_proven and bool((problem.cost == problem.cost[0]).all())
    for allowed in range(fewest, top + 1):
        if allowed > fewest or not proven:
            ticker.share(1.0 / (top - allowed + 2))
            wider = Within(limits.needs, np.inf, allowed, limits.most_hops_total, limits.cuts)
            current, proven = best_worst_delivery(wider, current, ticker, "Weighing more relays", 20)
            ticker.share(None)
        placement = describe(posts, current)
        points.append(TradePoint(allowed, float(node_deliveries(posts, current).min()), proven, placement))
        ticker.tick("Weighing more relays", 0.9 + 0.1 * (allowed - fewest + 1) / (top - fewest + 1))
        if ticker.is_cancelled:
            break
    return points
