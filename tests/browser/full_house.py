"""The example kitchen on its first Thursday, with something of everything: for tests that look at every page."""

import re
from datetime import datetime, timedelta
from functools import cache
from pathlib import Path
from typing import Final

from flask import Flask
from playwright.sync_api import Page

from orchestrator.core.errors import Refusal
from orchestrator.core.events import PlanAdopted
from orchestrator.core.ids import CommandId
from orchestrator.core.models import Kitchen, Order, OrderLine, PlanRequest, StockLot
from orchestrator.core.models.questions import Answer, Question
from orchestrator.gateway.vitals import BackupFacts, Check, ClockFacts, DiskFacts, PlannerFacts, Vitals
from orchestrator.kitchen.read import read_kitchen
from orchestrator.planner.answers import answer
from orchestrator.planner.plan import make_plan
from orchestrator.ports.planning import OnBetter
from tests.core.script import Script
from tests.fakes.kitchen_gateway import FakePractice, KitchenGateway

CONFIG: Final = Path(__file__).parents[2] / "config"

EXAMPLES: Final = {
    "station": ("stove", "pastry", "counter"),
    "task": ("C1.cook", "C1.age.B1", "G1.weigh"),
    "probe": ("hob-1-core", "freezer-air"),
    "order": ("SAT-STALL",),
    "recipe": ("custard-base", "basil-custard"),
    "lot": ("C1", "H1"),
    "equipment": ("freezer",),
    "trial": ("1",),
    "/machines/<name>/later": ("churn",),
    "who": ("early-cook",),
    "/deviations/<name>": ("DEV-1",),
    "/drills/<name>": ("DRILL-1",),
    "/orders/<name>/change": ("SAT-STALL",),
    "/papers/<name>": ("order", "pull"),
    "/papers/<name>/<which>": (),
    "/drafts/<int:number>": ("1",),
    "/drafts/<int:number>/edit": ("1",),
    "/drafts/<int:number>/trials/<int:trial>/approve": ("1",),
    "/handover/<int:number>": (),  # one is made where there is something to hand over: see `MORE`
    "/orders/<order>/help/<int:number>": (),  # a remedy, made by the planner: its page is that of the preview
    "/recipes/<recipe>/take-up": (),  # a former revision: its page is that of a change, as an approval's is
}
"""What stands in an address: by the name of its part, or by the rule where that name says too little."""
MORE: Final = (
    "/no-such-page",
    "/board?by=order",
    "/board?by=crew&span=hour&open=C1.cook",
    "/receiving?ingredient=Egg+yolk",
    "/trace?lot=C",
)
"""Pages that look otherwise with something asked, and the one that says that there is none."""
NO_PAGES: Final = re.compile(
    r"^/(api|static|csv|calendar)/|\.(csv|pdf|yaml|ics|js)$|^/changes$|^/pair(/state)?$|^/sign-in$"
)
"""Rules that answer with data, files or a redirect; the way in is looked at where there is a door to it."""


def addresses(web: Flask) -> list[str]:
    """Every page that can be got, each with an example or two.

    Raises:
        KeyError: a new page: say in `EXAMPLES` what stands in its address.
    """
    found = []
    for rule in sorted(web.url_map.iter_rules(), key=str):
        if "GET" not in (rule.methods or ()) or NO_PAGES.search(rule.rule):
            continue
        parts = re.findall(r"<(?:\w+:)?(\w+)>", rule.rule)
        if not parts:
            found.append(rule.rule)
            continue
        chosen = EXAMPLES[rule.rule] if rule.rule in EXAMPLES else EXAMPLES[parts[0]]
        for example in chosen:
            found.append(re.sub(r"<[^>]*>", example, rule.rule))
    (note,) = script().state.handovers
    return [*found, *MORE, f"/handover/{note.number}"]


@cache
def script() -> Script:
    """Thursday 13:30: a base on the hob, a lot in doubt, a stopped churn, a warm freezer, a drill, a draft, a trial.

    And an order a day past its time that nobody decided about, and a tub past its best-before.
    """
    planned = read_kitchen(CONFIG)
    kitchen = _with_what_passed(planned)
    told = Script(kitchen=kitchen)
    start = kitchen.planning_start
    told.give(start, "import_kitchen", kitchen=kitchen)
    plan = make_plan(PlanRequest(kitchen=planned, now=start), effort="repair", seconds=1).plan
    assert plan is not None
    told.record(CommandId("plan"), (PlanAdopted(plan=plan, at=start, person=None),))
    times = {task.id: task for task in plan.tasks}
    weigh, cook = times["C1.weigh"], times["C1.cook"]
    _work(told, weigh.start, cook.start)
    _desk(told, cook.start + timedelta(minutes=20))
    return told


def _with_what_passed(kitchen: Kitchen) -> Kitchen:
    """Cones that the plan leaves out, due on Wednesday at nine, and custard of 25 days that is at its best for 21.

    Neither is in the plan: nothing of it is late, so the kitchen's screens show their cold places and not alarms alone.
    """
    start = kitchen.planning_start
    cones = OrderLine.model_validate({"product": "wafer-cones", "quantity": "10 each"})
    order = {"id": "WED-FAIR", "customer": "Village fair", "due": start + timedelta(hours=3), "lines": (cones,)}
    dates = {"made": start - timedelta(days=25), "use_by": start + timedelta(days=5)}
    tub = {"lot": "B0", "recipe": "basil-custard", "quantity": "0.5 L", "place": "freezer", **dates}
    orders, stock = (*kitchen.orders, Order.model_validate(order)), (*kitchen.stock, StockLot.model_validate(tub))
    return kitchen.model_copy(update={"orders": orders, "stock": stock})


def _work(told: Script, weigh: datetime, cook: datetime) -> None:
    """The base was weighed and stands on the hob at 71 °C; it will reach its target in a few minutes."""
    told.give(weigh, "come_in", person="early-cook")
    # Its use-by passes while the base is on the hob: somebody is asked to discard it.
    cream = {"ingredient": "Double cream", "quantity": {"value": 1.5, "unit": "L"}, "keep": "cold", "celsius": 4.0}
    until = {"use_by": cook + timedelta(minutes=10), "place": "fridge", "person": "early-cook"}
    told.give(weigh, "receive_delivery", outcome="accepted", **cream, **until)
    told.give(weigh, "start_task", task="C1.weigh", person="early-cook")
    told.give(cook, "finish_task", task="C1.weigh", person="early-cook")
    told.give(cook, "start_task", task="C1.cook", person="early-cook")
    now = cook + timedelta(minutes=20)
    arrives = {"arrival_from": now + timedelta(minutes=4), "arrival_to": now + timedelta(minutes=6)}
    told.reads("hob-1-core", "hob-1", task="C1.cook", celsius=71.3, slope_c_per_min=1.6, measured_at=now, **arrives)
    told.reads("freezer-air", "freezer", celsius=-9.0, worst_c=-9.0, outside_since=cook, measured_at=now)
    told.reads("fridge-air", "fridge", celsius=3.2, measured_at=now)
    told.reads("blast-air", "blast", silent_since=now - timedelta(minutes=15))


def _desk(told: Script, now: datetime) -> None:
    """What is read seated: doubts, a stop, stock, drafts, a hand-over."""
    manager = {"person": "manager"}
    told.give(now, "report_problem", task="C1.weigh", what="quality", hold_lot=True, text="smells", person="early-cook")
    told.give(now, "stop_machine", equipment="churn", until=now + timedelta(hours=2), reason="belt slips", **manager)
    told.give(now, "check_probe", probe="fridge-air", point="ice", shown_c=0.2, **manager)
    milk = {"quantity": {"value": 10, "unit": "L"}, "keep": "cold", "celsius": 4.0, "supplier": "Dairy"}
    told.give(now, "receive_delivery", ingredient="Whole milk", outcome="accepted", **milk, **manager)
    told.give(now, "start_drill", lot="H1", **manager)
    recipe = next(one for one in told.kitchen.recipes if one.id == "custard-base")
    told.give(
        now,
        "write_draft",
        recipe={**recipe.model_dump(), "revision": recipe.revision + 1},
        of="custard-base",
        note="less sweet",
        **manager,
    )
    trial = {"factor": 0.5, "made": now, "brix": 31.0, "weight_kg": 2.4, "notes": "rounder than before"}
    told.give(now, "record_trial", draft=1, trial=trial, **manager)
    told.give(now, "hand_over", text="The churn's belt slips; a new one comes at four.", person="early-cook")
    told.give(now, "tick")


def settled(page: Page, address: str) -> None:
    """Open a page, and again while it says that the planner is still at work for it."""
    answer = page.goto(address, wait_until="load")
    while answer is not None and "refresh" in answer.headers:
        page.wait_for_timeout(500)
        answer = page.goto(address, wait_until="load")


class AnsweringKitchen(KitchenGateway):
    """The planner's own code answers, in this process and with little time."""

    def ask(self, question: Question, timeout_s: float = 60.0, on_better: OnBetter | None = None) -> Answer | Refusal:
        """As the planner does."""
        short = {"seconds": 1.0} if "seconds" in type(question).model_fields else {}
        return answer(question.model_copy(update=short), lambda: False)


def full_house() -> KitchenGateway:
    """The door to it, as in a demo."""
    told = script()
    gateway = AnsweringKitchen(told.state, told.now, facts=told.facts, practice=FakePractice())
    gateway.records = list(told.log)
    gateway.told = told_vitals(told.now)
    return gateway


def told_vitals(now: datetime) -> Vitals:
    """A service with something of everything: well, to be looked at, wrong, and long names."""
    place = "/var/lib/coldwright/market-stall"
    trouble = f"{place}/events.db cannot grow: the disk is full; free some space on the disk"
    return Vitals(
        checks=(
            Check("pen", True, True, "pen_held", {"place": place, "holder": "kitchen-pc, process 4711"}),
            Check("log", False, True, "log_refuses", {"trouble": trouble}),
            Check("clock", True, True, "clock_well"),
            Check("backup", False, False, "backup_old", {"at": now - timedelta(days=3), "trouble": ""}),
            Check("proof", False, False, "proof_changed", {"seq": 117}),
        ),
        version="0.1.0",
        started_at=now - timedelta(days=40),
        place=place,
        holder="kitchen-pc, process 4711",
        turns=3,
        seq=12_345,
        head=f"12345:{'0123456789abcdef' * 4}",
        broker="mqtt://broker.market-stall.example:8883",
        heard_at=now,
        lag_s=0.031,
        clock=ClockFacts("Europe/London", -0.7, now - timedelta(hours=2), 0.012),
        disk=DiskFacts(place, 3 * 1024**3, 64 * 1024**3),
        backup=BackupFacts(f"{place}/backups", now - timedelta(days=3), 14, now + timedelta(hours=9), "12000:ab", ""),
        planners=(
            PlannerFacts("coldwright-planner-quick", True, 1),
            PlannerFacts("coldwright-planner-search", False, 2),
        ),
    )
