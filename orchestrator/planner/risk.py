"""How likely a plan keeps its orders and windows when steps take shorter or longer than usual."""

from collections import defaultdict
from collections.abc import Callable
from math import sqrt
from typing import Any

import numpy as np
from numpy.typing import NDArray

from orchestrator.core.ids import OrderId, TaskId
from orchestrator.core.models import Outlook, Plan, PlanRequest, TaskKind, WindowClass
from orchestrator.core.models.risk import ASSUMES, Cause, OrderChance, Risk, WindowChance
from orchestrator.planner.indices import floor_min
from orchestrator.planner.risk_net import NEVER, Net, OpenWindow, Step
from orchestrator.planner.risk_pose import pose_risk
from orchestrator.planner.risk_run import Runs, simulate
from orchestrator.planner.risk_spread import draw, shares_of
from orchestrator.planner.risk_tables import Flags, Ints

RUNS = 2000
"""With so many the 95 % interval of a chance of nine in ten is 1.3 points to either side."""
_MOST_WORK = 400_000
"""Runs times pieces of work; what a large plan has more is left out of its runs, so that it takes no longer."""
_LEAST_RUNS = 200
_TOGETHER = 1000
"""Runs side by side: with more, arrays leave the processor's cache; with fewer, each costs more of the interpreter."""
_Z_95 = 1.959964
_MOST_CAUSES = 3
_SHAKY = 0.95
"""Windows that are kept more often than this are not named one by one."""
_MOST_SHAKY = 30
"""The log holds adopted plans whole."""
_LEAST_GAIN = 0.01


def risk(
    request: PlanRequest, plan: Plan, *, runs: int = RUNS, seed: int = 0, stop: Callable[[], bool] = lambda: False
) -> Risk:
    """Simulate a plan many times.

    Args:
        request: What it was made from.
        plan: A plan that passed the checker.
        runs: How many; fewer are made of a very large plan, and the answer says how many.
        seed: Same plan, runs and seed, same answer.
        stop: Asked after every few hundred runs; True answers with those that have been made.

    Returns:
        Chances with 95 % intervals and the steps behind what is missing to certainty.
    """
    net = pose_risk(request, plan)
    runs = min(runs, max(_LEAST_RUNS, _MOST_WORK // max(1, len(net.pieces))))
    totals = _totals(plan, net, runs, seed)
    outcome = _outcome(net, _lengths(net, totals), stop)
    judge = _Judge(plan, net, totals[: len(outcome.start)])
    return Risk(
        runs=len(outcome.start),
        seed=seed,
        orders=tuple(_orders(request, plan, net, outcome, judge)),
        windows=tuple(sorted(_windows(plan, net, outcome, judge), key=lambda w: (w.chance, w.task, w.after))),
        assumes=ASSUMES,
    )


def with_chances(request: PlanRequest, plan: Plan, *, seed: int = 0) -> Plan:
    """The same plan, with how likely it keeps what it promises.

    Args:
        request: What it was made from.
        plan: A plan that passed the checker.
        seed: Of the simulation.
    """
    told = risk(request, plan, seed=seed)
    chances = {chance.order: chance for chance in told.orders}
    outlooks = tuple(_told(outlook, chances.get(outlook.order)) for outlook in plan.outlooks)
    shaky = tuple(window for window in told.windows if window.chance < _SHAKY)[:_MOST_SHAKY]
    return plan.model_copy(update={"outlooks": outlooks, "shaky": shaky, "simulated_runs": told.runs})


def _told(outlook: Outlook, chance: OrderChance | None) -> Outlook:
    if chance is None:
        return outlook
    known = {"chance": chance.chance, "chance_low": chance.low, "chance_high": chance.high, "causes": chance.causes}
    return outlook.model_copy(update=known)


def _totals(plan: Plan, net: Net, runs: int, seed: int) -> Ints:
    """Minutes of each open step in each run."""
    totals = np.zeros((runs, len(net.steps)), np.int32)
    for index, step in enumerate(net.steps):
        totals[:, index] = draw(step.spread, shares_of(plan.tasks[step.task].id, runs, seed), spent=step.spent)
    return totals


def _lengths(net: Net, totals: Ints) -> Ints:
    """Minutes of each piece: an end that needs hands keeps its minutes, what comes before it takes the rest."""
    lengths = np.zeros((len(totals), len(net.pieces)), np.int32)
    for index, step in enumerate(net.steps):
        lengths[:, step.first] = totals[:, index]
        if step.last != step.first:
            lengths[:, step.first] = np.maximum(totals[:, index] - step.end_min, step.spent)
            lengths[:, step.last] = np.maximum(totals[:, index] - lengths[:, step.first], 1)
    return lengths


def _outcome(net: Net, lengths: Ints, stop: Callable[[], bool]) -> Runs:
    parts = []
    for first in range(0, len(lengths), _TOGETHER):
        parts.append(simulate(net, lengths[first : first + _TOGETHER]))
        if stop():
            break
    return Runs(np.concatenate([part.start for part in parts]), np.concatenate([part.end for part in parts]))


def _orders(request: PlanRequest, plan: Plan, net: Net, outcome: Runs, judge: "_Judge") -> list[OrderChance]:
    step = {s.task: s for s in net.steps}
    own: dict[OrderId, list[int]] = defaultdict(list)
    for index, task in enumerate(plan.tasks):
        if task.order is not None:
            own[task.order].append(index)
    met = {outlook.order for outlook in plan.outlooks if outlook.met}
    found = []
    for order in (order for order in request.kitchen.orders if order.id in met):
        due = floor_min(plan.start, order.due)
        kept = np.ones(len(outcome.end), bool)
        for index in own[order.id]:
            if index in step:
                kept &= outcome.end[:, step[index].last] <= due
            elif plan.tasks[index].kind is TaskKind.WORK and plan.tasks[index].end > order.due:
                kept[:] = False  # handed over too late already
        found.append(OrderChance(order=order.id, **judge.chance(kept, due)))
    return found


def _windows(plan: Plan, net: Net, outcome: Runs, judge: "_Judge") -> list[WindowChance]:
    found = []
    for window in net.windows:
        if window.window is WindowClass.PREFERENCE:
            continue
        kept, by = _kept(window, outcome), net.pieces[window.piece].planned
        task, told = plan.tasks[net.pieces[window.piece].task], judge.chance(kept, by)
        names = {"task": task.id, "title": task.title, "after": TaskId(window.after)}
        found.append(WindowChance(**names, window=window.window, **told))
    return found


def _kept(window: OpenWindow, outcome: Runs) -> Flags:
    since = np.full(len(outcome.start), -NEVER, np.int32)
    for origin in window.origins:
        ended = outcome.end[:, origin.piece] if origin.piece is not None else 0
        since = np.maximum(since, ended + origin.minutes)
    begun = outcome.start[:, window.piece]
    kept: Flags = (begun < NEVER) & (begun - since <= window.most)
    return kept


class _Judge:
    """Turns what was kept in each run into a chance and its causes."""

    def __init__(self, plan: Plan, net: Net, totals: Ints) -> None:
        varied = [i for i in range(len(net.steps)) if totals[:, i].min() < totals[:, i].max()]
        self.tasks = [plan.tasks[net.steps[i].task] for i in varied]
        usual = np.array([_usual(net.steps[i]) for i in varied], np.int32)
        self.usual: NDArray[np.float32] = (totals[:, varied] <= usual).astype(np.float32)
        self.times: NDArray[np.float32] = self.usual.sum(axis=0)
        self.planned = np.array([net.pieces[net.steps[i].first].planned for i in varied], np.int32)

    def chance(self, kept: Flags, by: int) -> dict[str, Any]:
        """The fields of a `Chance` that is decided at a minute of the plan: what is planned later causes nothing."""
        low, high = wilson(int(kept.sum()), len(kept))
        chance = float(kept.mean())
        return {"chance": chance, "low": low, "high": high, "causes": self._causes(kept, chance, by)}

    def _causes(self, kept: Flags, chance: float, by: int) -> tuple[Cause, ...]:
        """Steps with which the promise would be kept more often if they took no longer than usual.

        A difference counts from one point on and from three times its standard error on: less may be luck.
        """
        if not self.tasks or kept.all() or not kept.any():
            return ()
        share = (kept.astype(np.float32) @ self.usual) / np.maximum(self.times, 1)
        error = np.sqrt(chance * (1 - chance) * np.maximum(1 / np.maximum(self.times, 1) - 1 / len(kept), 0))
        gain = np.where(self.planned < by, share - chance, 0.0)
        first = np.argsort(-gain, kind="stable")[:_MOST_CAUSES]
        worst = [i for i in first if gain[i] >= max(_LEAST_GAIN, 3 * error[i])]
        return tuple(
            Cause(task=self.tasks[i].id, title=self.tasks[i].title, chance_if_usual=min(1.0, float(share[i])))
            for i in worst
        )


def _usual(step: Step) -> int:
    return max(step.spread[1], step.spent)


def wilson(kept: int, runs: int) -> tuple[float, float]:
    """The 95 % interval of a share that was counted.

    Args:
        kept: So many runs out of
        runs: so many, at least 1.

    Source: E. B. Wilson, "Probable Inference, the Law of Succession, and Statistical Inference", Journal of the
        American Statistical Association 22 (1927).
    """
    share, square = kept / runs, _Z_95 * _Z_95
    middle = share + square / (2 * runs)
    reach = _Z_95 * sqrt(share * (1 - share) / runs + square / (4 * runs * runs))
    low, high = ((middle + side * reach) / (1 + square / runs) for side in (-1, 1))
    return max(0.0, min(low, share)), min(1.0, max(high, share))
