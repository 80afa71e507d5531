"""Station views as a kitchen in mid-week would give them: calm, in trouble, and with nothing in hand."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any

from orchestrator.core.models.alarm import Alarm
from orchestrator.core.views.models import (
    FillBlock,
    IdleView,
    LastActView,
    PersonView,
    StationView,
    StoreView,
    TaskView,
    TemperatureView,
    WindowView,
)
from orchestrator.ports.event_log import Reading
from tests.fakes.kitchens import at

NOW = at("Thu 09:42")


def later(minutes: float) -> datetime:
    """So many minutes after the canned now."""
    return NOW + timedelta(minutes=minutes)


def window(
    opens: float | None, planned: float | None, closes: float | None, state: str = "open", **more: Any
) -> WindowView:
    """A window by minutes from now."""
    marks = {
        name: None if minutes is None else later(minutes)
        for name, minutes in (("opens", opens), ("planned", planned), ("closes", closes))
    }
    return WindowView.model_validate({"state": state, **marks, **more})


def task(id_: str, title: str, **more: Any) -> TaskView:
    """A task that waits, of the second custard lot, at the stove."""
    lot = id_.partition(".")[0]
    start = more.pop("start", 20)
    length = more.get("usual_min", 25)
    data: dict[str, Any] = {
        "task": id_,
        "kind": "work",
        "title": title,
        "process": "cook",
        "lot": lot,
        "order": None,
        "recipe_name": "Custard base",
        "step_number": 4,
        "step_count": 6,
        "station": "stove",
        "equipment": "hob-1",
        "equipment_name": "Hob 1",
        "status": "waiting",
        "quantity": "5 L",
        "started_at": None,
        "planned_start": later(start),
        "planned_end": later(start + length),
        "usual_min": 25,
        "longest_min": 40,
        "hands_min": 25,
        "crew": ("Early cook",),
        "method": (),
        "cautions": (),
        "allergens": (),
        "amounts": (),
        "gates": (),
        "temperature": None,
        "window": None,
        "measure": None,
    }
    return TaskView.model_validate({**data, **more})


def heating(**more: Any) -> TemperatureView:
    """A custard on its way to 82 °C."""
    data: dict[str, Any] = {
        "probe": "hob-1-core",
        "probe_name": "Hob 1 core",
        "celsius": 74.6,
        "measured_at": later(0),
        "slope_c_per_min": 1.6,
        "silent_since": None,
        "target_c": 82.0,
        "direction": "at least",
        "ceiling_c": 85.0,
        "hold_min": 1,
        "held_min": 0.0,
        "reached_at": None,
        "met_at": None,
        "arrival_from": later(4.2),
        "arrival_to": later(6.4),
    }
    return TemperatureView.model_validate({**data, **more})


def heating_curve(until: datetime = NOW) -> Sequence[Reading]:
    """The readings behind `heating`: one a minute, from 22 °C, bending as the pan warms."""
    points = []
    for minute in range(20, -1, -1):
        share = 1 - minute / 20
        at_ = NOW - timedelta(minutes=minute)
        if at_ <= until:
            points.append(Reading("hob-1-core", 22 + 52.6 * (1.25 * share - 0.25 * share**2), at_, at_))  # type: ignore[arg-type]
    return points


COOK = task(
    "C2.cook",
    "Cook custard base to 82 °C",
    status="in hand",
    started_at=later(-18),
    start=-18,
    method=("Keep stirring. Hold 1 min at 82 °C. Never above 85 °C: egg sets.", "Strain into a clean pan."),
    cautions=("Hot sugar and milk burn: dry gloves.", "Raw egg: wash hands before touching anything else."),
    allergens=("egg", "milk"),
    amounts=(
        {"what": "Whole milk", "quantity": "2.9 L", "allergens": ("milk",)},
        {"what": "Sugar", "quantity": "640 g"},
        {"what": "Egg yolk", "quantity": "480 g", "allergens": ("egg",)},
        {"what": "Salt", "quantity": "9 g"},
    ),
    temperature=heating(),
    measure="volume_l",
)
BAKE = task(
    "W1.bake",
    "Bake cones",
    process="bake",
    status="in hand",
    recipe_name="Rolled wafer cones",
    equipment="oven",
    equipment_name="Oven",
    quantity="80 each",
    step_number=2,
    step_count=3,
    started_at=later(-16),
    start=-16,
    usual_min=45,
    planned_end=later(27),
    method=("Roll each within 20 s. 18 g a cone.",),
    allergens=("wheat",),
    pieces_per_tray=9,
    pieces_made=27,
    pieces_wanted=80,
    measure="count",
)
CHURN = task(
    "B1.churn",
    "Churn basil custard",
    process="churn",
    equipment="churn",
    equipment_name="Churn",
    recipe_name="Basil custard",
    usual_min=40,
    hands_min=40,
    start=48,
    gates=(
        {"says": "Base at most 4 °C", "met": False, "celsius": 6.2},
        {"says": "Churn pre-cooled", "met": None, "celsius": None},
    ),
    window=window(None, 48, 1908),
)
BLEND = task(
    "B2.blend", "Blend basil into custard", recipe_name="Basil custard", start=18, window=window(6, 18, 118, "opening")
)
NEXT = (
    BLEND,
    CHURN,
    task("N2.grind", "Grind toasted hazelnuts", hands_min=15, start=130, window=window(90, 130, 400, "shut")),
    task("M2.simmer", "Simmer damsons", hands_min=30, start=260, window=window(None, 260, None)),
)
OWN = (
    task(
        "C3.chill",
        "Chill custard base",
        status="in hand",
        equipment_name="Ice bath",
        hands_min=0,
        start=-20,
        temperature=heating(
            probe="ice-bath-core",
            celsius=21.4,
            slope_c_per_min=-0.4,
            target_c=5.0,
            arrival_from=later(39),
            arrival_to=later(52),
            cooling="on course",
        ),
        window=window(39, 52, 148, "shut"),
    ),
    task(
        "G1.dehydrate",
        "Dehydrate grapefruit zest",
        status="in hand",
        equipment_name="Dehydrator",
        hands_min=0,
        start=-200,
        window=window(198, 218, 318, "shut"),
    ),
    task(
        "H1.harden",
        "Harden hazelnut custard",
        status="in hand",
        equipment_name="Freezer",
        hands_min=0,
        start=-300,
        window=window(388, 1518, 2958, "shut"),
    ),
    task(
        "C1.age",
        "Age custard base",
        status="in hand",
        equipment_name="Fridge",
        hands_min=0,
        start=-800,
        window=window(None, 48, 3000),
    ),
)
PEOPLE = (
    PersonView.model_validate({"id": "early-cook", "name": "Early cook", "on_shift": True, "manager": False}),
    PersonView.model_validate({"id": "manager", "name": "Manager", "on_shift": True, "manager": True}),
)


def store(
    id_: str, name: str, floor: str, celsius: float, capacity: str, *blocks: tuple[str, float, bool], **more: Any
) -> StoreView:
    """A cold place with its lots."""
    filled = sum(litres for _, litres, booked in blocks if not booked)
    data: dict[str, Any] = {
        "equipment": id_,
        "name": name,
        "floor": floor,
        "celsius": celsius,
        "silent_since": None,
        "outside_since": None,
        "low_c": None,
        "high_c": None,
        "capacity": capacity,
        "filled": filled,
        "blocks": tuple(FillBlock(lot=lot, litres=litres, booked=booked) for lot, litres, booked in blocks),
    }
    return StoreView.model_validate({**data, **more})


STORES = (
    store(
        "fridge", "Fridge", "cold", 2.8, "24 L", ("C1", 6, False), ("C2", 5, False), ("M1", 5, False), ("C3", 6, True)
    ),
    store("freezer", "Freezer", "hard", -18.2, "30 L", ("S0", 5, False), ("H1", 5, False), ("B1", 5, True)),
    store("blast", "Blast", "hard", -31.0, "12 L", ("B1", 5, True)),
)
LAST_ACT = LastActView(
    act=41, what="finished", title="Weigh custard base", person="Early cook", at=later(-1), undoable=True
)


def busy_station(**changes: Any) -> StationView:
    """The stove on Thursday morning, all well."""
    data: dict[str, Any] = {
        "station": "stove",
        "name": "Stove and churn",
        "in_hand": (COOK, BAKE),
        "next_here": NEXT,
        "on_its_own": OWN,
        "stores": STORES,
        "alarms": (),
        "last_act": LAST_ACT,
        "idle": None,
        "people": PEOPLE,
        "plan_revision": 3,
        "proposal_waits": False,
    }
    return StationView.model_validate({**data, **changes})


def alarm(id_: str, status: str, raised: float, facts: dict[str, Any], **more: Any) -> Alarm:
    """An alarm raised so many minutes from now."""
    return Alarm.model_validate({"id": id_, "status": status, "raised_at": later(raised), "facts": facts, **more})


WARM_FREEZER = alarm(
    "store_warm:freezer",
    "unacknowledged",
    -5,
    {
        "kind": "store_warm",
        "priority": "critical",
        "missed": True,
        "title": "Freezer",
        "equipment": "freezer",
        "lots": ("S0", "H1"),
        "orders": ("SAT-STALL",),
        "since": later(-20),
        "celsius": -12.4,
        "limit_c": -15.0,
        "stations": ("stove",),
        "helps": ("check_door", "move_lots"),
    },
)
LATE_ZEST = alarm(
    "task_late:G1.take-out",
    "acknowledged",
    -12,
    {
        "kind": "task_late",
        "priority": "warning",
        "title": "Take grapefruit zest out",
        "since": later(-12),
        "stations": ("stove",),
    },
    acknowledged_at=later(-8),
    acknowledged_by="early-cook",
)


def troubled_station() -> StationView:
    """The same with a warm freezer, a silent probe, a churn at risk and a window missed."""
    silent = heating(
        celsius=49.0,
        measured_at=later(-11),
        slope_c_per_min=None,
        silent_since=later(-11),
        arrival_from=None,
        arrival_to=None,
    )
    following = (
        task("B2.blend", "Blend basil into custard", start=9, window=window(-30, 9, 21, "closing")),
        task("B1.churn", "Churn basil custard", start=268, window=window(-30, 268, 228, "at risk", late_min=40)),
    )
    own = (
        task(
            "G1.take-out",
            "Take grapefruit zest out",
            equipment_name="Dehydrator",
            hands_min=0,
            window=window(-60, -12, -12, "missed"),
        ),
        OWN[0],
    )
    return busy_station(
        in_hand=(COOK.model_copy(update={"temperature": silent}), BAKE),
        next_here=following,
        on_its_own=own,
        alarms=(WARM_FREEZER, LATE_ZEST),
    )


def idle_station() -> StationView:
    """Nothing in hand at five past nine."""
    following = task("C4.weigh", "Weigh custard base", start=28, hands_min=30, window=window(None, 28, 178))
    idle = IdleView(
        next_task=following, free_until=later(28), may_start_now=True, alarms_last_12h=0, probes_heard=5, probes_total=5
    )
    return busy_station(in_hand=(), next_here=(following, CHURN), idle=idle, last_act=None)


def due_station() -> StationView:
    """One task is due, and a gate of it still fails."""
    return busy_station(in_hand=(CHURN.model_copy(update={"planned_start": later(-4)}),), next_here=NEXT[2:])


def reducing_station(last_kg: float | None = 3.42) -> StationView:
    """Damsons that simmer down to three quarters, weighed so far or not."""
    seen: dict[str, Any] = {"share": 0.75}
    if last_kg is not None:
        seen |= {"first_kg": 4.0, "last_kg": last_kg, "last_at": later(-2), "wanted_kg": 3.0}
        seen |= {"reached": last_kg <= 3.0}
        seen |= {"expected_from": later(12), "expected_to": later(24)} if last_kg > 3.0 else {}
    reduce = task("D1.reduce", "Reduce the damsons", status="in hand", started_at=later(-20), start=-20, weighing=seen)
    return busy_station(in_hand=(reduce, BAKE))
