"""Alarms: the facts a cook needs, and the life of an alarm after ANSI/ISA-18.2."""

from datetime import timedelta
from enum import StrEnum
from typing import Final

from pydantic import AwareDatetime

from orchestrator.core.ids import AlarmId, CrewId, EquipmentId, LotCode, OrderId, ProbeId, StationId, TaskId
from orchestrator.core.models.base import Model
from orchestrator.core.models.health import HealthFinding
from orchestrator.core.quantities import Quantity

NIGHT: Final = timedelta(hours=12)
"""So far back a station tells how many alarms there were: whoever comes in the morning reads how the night went."""


class AlarmKind(StrEnum):
    """What an alarm is about. Those that name a miss begin as a warning and escalate at the miss."""

    WINDOW_CLOSING = "window_closing"
    """A task will miss, or has missed, the latest start that its window allows (base ages too long,
    puree too old, churn slot missed)."""
    TOO_SHORT = "too_short"
    """A task is planned, or was started, before its window opens (ageing or hardening cut short)."""
    ORDER_LATE = "order_late"
    """An order will not be ready by its hand-over."""
    ORDER_UNPLANNED = "order_unplanned"
    """An order was added or made larger, and no plan with it was adopted."""
    ORDERS_UNDECIDED = "orders_undecided"
    """Orders are long past their time, not handed over, and planned for again and again: somebody must decide."""
    TASK_LATE = "task_late"
    """A task that needs hands has not been started at its planned time."""
    STORE_WARM = "store_warm"
    """A store is outside its temperatures."""
    TARGET_MISSED = "target_missed"
    """A step will not reach, or did not reach, its temperature in time; or passed its ceiling."""
    PROBE_SILENT = "probe_silent"
    """A probe has not been heard for longer than it should."""
    PROBE_DOUBTED = "probe_doubted"
    """What a probe says may not be believed."""
    PROBE_BATTERY = "probe_battery"
    """A probe will fall silent: its battery is low."""
    PROBE_CHECK_DUE = "probe_check_due"
    """A probe has not been checked for as long as the kitchen allows."""
    PROBE_UNWASHED = "probe_unwashed"
    """A probe has gone from food with an allergen into food without, and nobody has said that it was washed."""
    MACHINE_STOPPED = "machine_stopped"
    """A machine cannot be used and tasks want it."""
    LOT_ON_HOLD = "lot_on_hold"
    """A lot waits for a decision."""
    DELIVERY_OVERDUE = "delivery_overdue"
    """A delivery should be there, work waits for it, and nobody has received it."""
    BY_PRODUCT_PAST = "by_product_past"
    """In older records: what a step left over is past its date. `PAST_USE_BY` since, with all other lots."""
    PAST_USE_BY = "past_use_by"
    """Lots in a place are past their use-by (safety), something is left of them, and nobody has discarded it."""
    PAST_BEST_BEFORE = "past_best_before"
    """Lots in a place are past their best-before (quality), and nobody has judged them."""
    LOTS_ASKED = "lots_asked"
    """A place that had failed is as it should be again, and nobody has decided about lots that were in it."""


class Priority(StrEnum):
    """How much it matters."""

    CRITICAL = "critical"
    WARNING = "warning"
    NOTICE = "notice"


class AlarmStatus(StrEnum):
    """States of ANSI/ISA-18.2 that an alarm on record can be in; see `alarm_lifecycle` for all of them."""

    UNACKNOWLEDGED = "unacknowledged"
    ACKNOWLEDGED = "acknowledged"
    RETURNED_UNACKNOWLEDGED = "returned_unacknowledged"
    SHELVED = "shelved"


class Help(StrEnum):
    """What can still be done, as a key that display puts into words."""

    START_NOW = "start_now"
    START_BY = "start_by"
    CHURN_FIRST = "churn_first"
    USE_OTHER_MACHINE = "use_other_machine"
    CALL_HANDS = "call_hands"
    TELL_CUSTOMER = "tell_customer"
    CHECK_DOOR = "check_door"
    MOVE_LOTS = "move_lots"
    MEASURE_BY_HAND = "measure_by_hand"
    KEEP_COOLING = "keep_cooling"
    DECIDE_LOT = "decide_lot"
    WAIT_UNTIL_OPEN = "wait_until_open"
    REPAIR_BY = "repair_by"
    CHECK_PROBE = "check_probe"
    SET_PROBE = "set_probe"
    SWAP_BACK = "swap_back"
    CHANGE_BATTERY = "change_battery"
    SAY_WASHED = "say_washed"
    LOOK_AT_LOTS = "look_at_lots"
    ASK_FOR_PLAN = "ask_for_plan"
    RECEIVE_IT = "receive_it"
    ASK_SUPPLIER = "ask_supplier"
    THROW_AWAY = "throw_away"
    JUDGE_QUALITY = "judge_quality"
    DROP_OR_MOVE = "drop_or_move"


class PastLot(Model):
    """A lot past its date of which something is left."""

    lot: LotCode
    name: str
    left: Quantity
    until: AwareDatetime
    """Its use-by, or its best-before."""


class AlarmFacts(Model):
    """How long, until when, what is touched, what can still be done; words are display's."""

    kind: AlarmKind
    priority: Priority
    missed: bool = False
    """True once it is no longer a warning: the window, order or limit is missed in fact."""
    task: TaskId | None = None
    title: str = ""
    """Of the task, store, probe, machine or lot."""
    lot: LotCode | None = None
    lots: tuple[LotCode, ...] = ()
    """All lots in the place or machine."""
    equipment: EquipmentId | None = None
    probe: ProbeId | None = None
    stations: tuple[StationId, ...] = ()
    """On whose screens it is shown; the board shows all."""
    orders: tuple[OrderId, ...] = ()
    since: AwareDatetime | None = None
    limit_at: AwareDatetime | None = None
    """Until when: the latest instant that the window, order or limit allows."""
    expected_at: AwareDatetime | None = None
    """When it will happen, by the live plan; of a stopped machine: when it will be back."""
    assumed: bool = False
    """Whether nobody has said so: it is only taken to be."""
    celsius: float | None = None
    limit_c: float | None = None
    too_cold: bool = False
    """Of a store: below the low end of its temperatures, which is then ``limit_c``."""
    reason: str = ""
    helps: tuple[Help, ...] = ()
    save_by: AwareDatetime | None = None
    """Latest instant that still saves it, where one was found."""
    health: tuple[HealthFinding, ...] = ()
    """Of a probe: what it may not be believed for, in numbers."""
    past: tuple[PastLot, ...] = ()
    """Lots past their date, the oldest date first."""
    tasks: int = 0
    """Of orders that wait for a decision: how many tasks of the plan, not begun, are for them alone."""


class Alarm(Model):
    """An alarm on record."""

    id: AlarmId
    facts: AlarmFacts
    status: AlarmStatus
    raised_at: AwareDatetime
    escalated_at: AwareDatetime | None = None
    acknowledged_at: AwareDatetime | None = None
    acknowledged_by: CrewId | None = None
    returned_at: AwareDatetime | None = None
    """When its cause was over; of one on the shelf too, which stays there until its end."""
    shelved_at: AwareDatetime | None = None
    shelved_by: CrewId | None = None
    shelved_until: AwareDatetime | None = None
    shelf_reason: str = ""
    unshelved_at: AwareDatetime | None = None
    """When it came back from the shelf with its cause still there; none while on it, or never there."""

    @property
    def standing(self) -> bool:
        """Whether its cause is still there, on the shelf or not."""
        return self.status is not AlarmStatus.RETURNED_UNACKNOWLEDGED and self.returned_at is None

    @property
    def shelved(self) -> bool:
        """Whether somebody has put it on the shelf: it makes no sound, and is shown apart."""
        return self.status is AlarmStatus.SHELVED
