"""One example of every kind of event, with every field filled, as today's version writes it."""

from typing import Any

from orchestrator.core.events import EVENTS, Event
from tests.core.by_product_rows import BY_PRODUCTS
from tests.core.demand_rows import DEMAND
from tests.core.handover_rows import handovers
from tests.core.pace_rows import PACES, REDUCTIONS
from tests.core.recipe_events import DRAFTS, RECIPE, TONGUE
from tests.core.stock_rows import STOCK
from tests.fakes.kitchens import at, small_kitchen
from tests.fakes.plans import small_plan

_AT, _WHO = at("Wed 08:00"), "early-cook"
_FACTS = {
    "kind": "order_late",
    "priority": "critical",
    "missed": True,
    "task": "SAT-STALL.B.hand-over",
    "title": "Hand over",
    "lot": "B1",
    "lots": ["B1"],
    "equipment": "bench",
    "probe": "fridge-air",
    "stations": ["counter"],
    "orders": ["SAT-STALL"],
    "since": _AT,
    "limit_at": at("Sat 11:00"),
    "expected_at": at("Sat 11:20"),
    "celsius": 4.5,
    "limit_c": 4.0,
    "reason": "the churn stopped",
    "helps": ["tell_customer"],
    "save_by": at("Sat 10:00"),
    "assumed": True,
}
_FACT = {
    "probe": "hob-1-core",
    "equipment": "hob-1",
    "task": "C1.cook",
    "celsius": 83.25,
    "measured_at": _AT,
    "slope_c_per_min": 1.5,
    "silent_since": _AT,
    "outside_since": _AT,
    "worst_c": 86.0,
    "reached_at": _AT,
    "held_min": 1.5,
    "met_at": _AT,
    "ceiling_broken_at": _AT,
    "arrival_from": _AT,
    "arrival_to": _AT,
    "cooling": "first leg missed",
}
_MOVE = {
    "task": "S1.simmer",
    "title": "Simmer damsons",
    "before": _AT,
    "after": at("Wed 08:10"),
    "what": "later",
    "reason": "the hob is taken",
}
_WEIGHT = {
    "kilograms": 4.25,
    "expected_from": _AT,
    "expected_to": _AT,
    "expected_end": _AT,
    "no_arrival": "too few readings",
}
_DECIDED = {
    "reason": "probe touched the pan",
    "person": "manager",
    "second": "counter-hand",
    "by_code": "the inspector, by telephone",
}
_INSTANTS = {
    "starts": [{"task": "C1.cook", "at": at("Wed 09:00"), "exact": True}],
    "returns": [{"equipment": "churn", "order": "SAT-STALL", "task": "B1.churn", "at": at("Fri 10:00")}],
}
_FIGURES = {"shortest": 31, "usual": 44, "longest": 58}
_STEP = {"recipe": "custard-base", "step": "cook", "written": {"shortest": 30, "usual": 40, "longest": 60}}
_DURATIONS: list[dict[str, Any]] = [
    {"kind": "durations_adopted", **_STEP, "figures": _FIGURES, "samples": 12, "at": _AT, "person": "manager"},
    {"kind": "durations_restored", **_STEP, "at": _AT, "person": "manager"},
]
_FAULT = {"channel": "Mail", "fault": "refused", "code": 401}
_CALL_PLAN = {
    "people": [
        {
            "crew": "manager",
            "channels": [{"name": "Phone", "secret": "CALL_MANAGER_PHONE"}],
            "quiet": [{"start": "22:00", "end": "06:00"}],
        },
        {"role": "Owner", "channels": [{"name": "Mail", "secret": "CALL_OWNER_MAIL"}]},
    ],
    "priorities": ["critical"],
    "first_after": 3,
    "next_after": 7,
    "again_after": 20,
}
_ABOUT = {"alarm": "order_late:SAT-STALL", "why": "next", "title": "Hand over", "passed": ["manager"]}
_CALLS: list[dict[str, Any]] = [
    {"kind": "call_plan_taken", "plan": _CALL_PLAN, "at": _AT},
    {"kind": "channels_checked", "unset": ["CALL_OWNER_MAIL"], "at": _AT},
    {"kind": "call_made", "at": _AT, "to": "role:Owner", "about": [_ABOUT], "person": "manager"},
    {"kind": "call_delivered", "call": 12, "at": _AT, "reached": ["Phone"], "faults": [_FAULT]},
    {"kind": "call_failed", "call": 12, "at": _AT, "faults": [_FAULT]},
    {"kind": "call_gave_up", "call": 12, "at": _AT, "faults": [_FAULT]},
]
_DEVIATION = {"deviation": "DEV-1", "at": _AT}
_DEVIATIONS: list[dict[str, Any]] = [
    {
        "kind": "deviation_opened",
        **_DEVIATION,
        "facts": {
            "cause": "store warm",
            "safety": True,
            "reason": "Freezer warmer than -18 °C since Wed 07:20",
            "lots": ["B1", "H1"],
            "asked": True,
            "equipment": "freezer",
            "task": "C1.cook",
            "since": at("Wed 07:20"),
            "limit": "Keep frozen",
            "applied": "a code, 2022",
            "readings": [(_AT, -12.5)],
            "unit": "C",
            "person": _WHO,
            "served": ["SAT-STALL"],
        },
    },
    {"kind": "deviation_spread", **_DEVIATION, "lots": ["B2"], "again": True},
    {"kind": "place_recovered", **_DEVIATION, "warmest_c": -9.5, "core_at_most_c": -12.25},
    {
        "kind": "action_taken",
        "deviation": "DEV-1",
        "action": {"at": _AT, "person": _WHO, "act": "moved", "text": "to the blast freezer", "lot": "B1"},
    },
    {
        "kind": "lot_answered",
        "equipment": "freezer",
        "answer": {"lot": "B1", "at": _AT, "person": _WHO, "answer": "moved", "to": "blast", "reason": "still hard"},
    },
    {"kind": "deviation_closed", **_DEVIATION, "person": "manager", "note": "seal renewed", "withdrawn": True},
]
_ALARM = {"alarm": "order_late:SAT-STALL", "at": _AT}


def _rows() -> list[dict[str, Any]]:
    plan = small_plan()
    act = {"task": "C1.cook", "at": _AT, "person": _WHO}
    gate = {"says": "Base at most 4 °C", "met": True, "celsius": 3.5, "measured_at": _AT}
    return [
        {"kind": "kitchen_imported", "kitchen": small_kitchen()},
        {"kind": "task_started", **act, "equipment": "hob-1", "gates": [gate], "override_reason": "in a hurry"},
        {"kind": "task_finished", **act, "measured": {"volume_l": 4.75}, "override_reason": "spilt"},
        {"kind": "tray_finished", **act, "pieces": 8},
        {"kind": "task_extended", **act, "minutes": 10},
        {"kind": "problem_reported", **act, "what": "quality", "text": "grainy"},
        {"kind": "task_skipped", **act, "reason": "bought in"},
        {"kind": "temperature_entered", **act, "celsius": 82.5},
        {"kind": "weight_entered", **act, **_WEIGHT},
        {"kind": "act_undone", "act": 7, "at": _AT, "person": _WHO},
        {
            "kind": "machine_stopped",
            "equipment": "churn",
            "at": _AT,
            "until": at("Wed 10:00"),
            "reason": "belt",
            "person": _WHO,
        },
        {"kind": "task_held", **act, "start": at("Wed 09:00")},
        {"kind": "task_freed", **act},
        {"kind": "stop_assumed", "equipment": "churn", "at": _AT, "until": at("Wed 10:00")},
        {"kind": "machine_returned", "equipment": "churn", "at": _AT, "person": _WHO},
        {"kind": "lot_held", "lot": "C1", "at": _AT, "reason": "ceiling passed", "task": "C1.cook", "made_from": "S1"},
        {"kind": "lot_decided", "lot": "C1", "at": _AT, "decision": "release", **_DECIDED},
        {"kind": "record_looked_through", "lot": "C1", "at": _AT, "person": "manager", "upto": 41, "note": "again"},
        {"kind": "plan_adopted", "plan": plan, "at": _AT, "person": "manager", "moves": [_MOVE], "provisional": False},
        {
            "kind": "plan_proposed",
            "plan": plan,
            "at": _AT,
            "moves": [_MOVE],
            "waits_for": ["S1.simmer would be moved"],
            "decide_by": at("Wed 08:30"),
        },
        {"kind": "plan_declined", "proposal": 9, "at": _AT, "person": "manager"},
        {"kind": "replan_wanted", "at": _AT, "reason": "first plan"},
        {"kind": "instants_found", "at": _AT, "revision": 3, **_INSTANTS},
        {"kind": "fact_recorded", "fact": _FACT, "at": _AT},
        {"kind": "alarm_raised", **_ALARM, "facts": {**_FACTS, "missed": False, "priority": "warning"}},
        {"kind": "alarm_escalated", **_ALARM, "facts": _FACTS},
        {"kind": "alarm_acknowledged", **_ALARM, "person": _WHO},
        {"kind": "alarm_returned", **_ALARM},
        {"kind": "alarm_shelved", **_ALARM, "person": _WHO, "until": at("Wed 08:20"), "reason": "the driver is told"},
        {"kind": "alarm_unshelved", **_ALARM, "person": _WHO},
    ]


_PROBE = {"probe": "hob-1-core", "at": _AT, "person": _WHO}
_CHECK = {"point": "boiling", "expected_c": 99.87, "shown_c": 101.5, "tolerance_c": 1.0, "source": "FDA Food Code 2022"}
_FINDING = {
    "sign": "drifting",
    "since": _AT,
    "amount": 1.25,
    "limit": 1.0,
    "unit": "degrees",
    "hint": "one of two",
    "other": "hob-2-core",
}
_PROBES: list[dict[str, Any]] = [
    {
        "kind": "probe_checked",
        **_PROBE,
        **_CHECK,
        "passed": False,
        "altitude_m": 30,
        "doubt_since": _AT,
        "in_doubt": ["C1", "S1"],
    },
    {"kind": "probe_offset_applied", **_PROBE, "offset_c": -1.6, "before_c": 0.1},
    {"kind": "probe_assigned", **_PROBE, "equipment": "hob-1", "task": "C1.cook", "reads": "core", "before": "hob-2"},
    {
        "kind": "probe_wash_asked",
        "probe": "hob-1-core",
        "at": _AT,
        "task": "S1.simmer",
        "lot": "S1",
        "after": ["C1"],
        "allergens": ["eggs", "milk"],
    },
    {"kind": "probe_washed", **_PROBE},
    {
        "kind": "fact_recorded",
        "fact": {**_FACT, "health": [_FINDING], "cannot_say": [["noisy", "few readings"]], "offset_c": -1.6},
        "at": _AT,
    },
    {"kind": "alarm_raised", **_ALARM, "facts": {**_FACTS, "health": [_FINDING]}},
    {
        "kind": "task_started",
        "task": "B1.churn",
        "at": _AT,
        "person": _WHO,
        "equipment": "churn",
        "gates": [{"says": "Base at most 4 °C", "met": True, "checked": True, "doubt": "the probe is stuck"}],
    },
]

_ORDER = {
    "id": "FRI-PARTY",
    "customer": "Birthday",
    "due": at("Fri 15:00"),
    "earliest": at("Fri 12:00"),
    "weight": 2,
    "lines": [{"product": "basil-custard", "quantity": "2 L"}],
}
_LOT = {
    "lot": "B90",
    "recipe": "basil-custard",
    "quantity": "4 L",
    "made": at("Wed 05:00"),
    "use_by": at("Sun 12:00"),
    "place": "freezer",
}
_SPAN = {"start": at("Thu 08:00"), "end": at("Thu 12:00")}
_CHANGES: list[dict[str, Any]] = [
    {"change": "add order", "order": _ORDER},
    {"change": "change order", "order": "FRI-PARTY", "due": at("Fri 16:00"), "weight": 3},
    {"change": "smaller batch", "order": "FRI-PARTY", "product": "basil-custard", "quantity": "1 L"},
    {"change": "drop order", "order": "FRI-PARTY"},
    {"change": "extra shift", "crew": "early-cook", "start": at("Thu 18:00"), "end": at("Thu 20:00")},
    {
        "change": "weekly shifts",
        "crew": "early-cook",
        "since": "2026-11-27",
        "shifts": [{"days": ["mon", "fri"], "start": "05:00", "end": "13:00", "breaks": ["09:00-09:30"]}],
    },
    {"change": "start earlier", "crew": "early-cook", "start": at("Fri 05:00")},
    {"change": "absent", "crew": "counter-hand", **_SPAN},
    {"change": "machine stopped", "equipment": "churn", **_SPAN},
    {"change": "machine back", "equipment": "churn", "at": at("Thu 10:00")},
    {"change": "stock lot", "lot": _LOT},
    {"change": "revise recipe", "recipe": RECIPE, "draft": 3, "trial": 2},
    {
        "change": "add recipe",
        "recipe": {**RECIPE, "id": "plum-sorbet", "code": "PS", "revision": 1},
        "draft": 4,
        "trial": 1,
    },
    {"change": "allow break", "task": "B1.churn", "after": "C1.age.B1", "side": "too early", "minutes": 60},
]
_BY_HAND: list[dict[str, Any]] = [
    {"kind": "kitchen_changed", "changes": _CHANGES, "at": _AT, "person": "manager", "reason": "asked for by telephone"}
]

_INGREDIENTS: list[dict[str, Any]] = [
    {
        "kind": "ingredients_taken",
        "at": _AT,
        "ingredients": [
            {
                "id": "goat-milk",
                "name": "Goat's milk",
                "also": ["Milk"],
                "per_100g": {"water": 87, "fat": 4, "milk_solids_not_fat": 9, "milk_fat": 4, "lactose": 4.5},
                "density_g_per_ml": 1.03,
                "density_source": "weighed",
                "cost_per_kg": 2.4,
                "allergens": ["milk"],
                "source": "the supplier's sheet",
            }
        ],
    }
]

_DAYS: list[dict[str, Any]] = [
    {
        "kind": "days_moved",
        "at": at("Wed 08:00"),
        "planning_start": at("Wed 06:00"),
        "horizon_days": 9,
        "lots": ["C1"],
        "orders": ["SAT-STALL"],
        "shifts": {"early-cook": [{"start": at("Fri 06:00"), "end": at("Fri 14:00")}]},
        "tasks": ["C1.cook"],
    }
]

_ALL = (
    *_rows(), *handovers(_FACTS), *_BY_HAND, *DEMAND, *_INGREDIENTS, *_DURATIONS, *_DEVIATIONS, *_CALLS, *_PROBES,
    *STOCK, *DRAFTS, *TONGUE, *PACES, *BY_PRODUCTS, *REDUCTIONS,
    {"kind": "clock_set", "at": _AT, "seconds": -3600.4, "while_away": True}, *_DAYS,
)  # fmt: skip
ALL_EVENTS: tuple[Event, ...] = tuple(EVENTS.validate_python(row) for row in _ALL)
