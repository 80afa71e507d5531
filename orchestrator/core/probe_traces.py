"""What follows from the record of probes: when a check is due, where a probe was, what it has judged and touched."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Final

from orchestrator.core.allergens import stock_allergens
from orchestrator.core.ids import EquipmentId, LotCode, ProbeId, TaskId
from orchestrator.core.models import Kitchen, PlannedTask, ProbeFact, TaskKind
from orchestrator.core.models.health import HealthFinding, Sign
from orchestrator.core.pantry import LEAST
from orchestrator.core.plan_index import kitchen_index, plan_index
from orchestrator.core.probe_events import CheckPoint, ProbeChecked
from orchestrator.core.state import State
from orchestrator.core.whole import whole
from orchestrator.thermal.boiling import boiling_point_c

_BEGINNING: Final = datetime.min.replace(tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Sitting:
    """A probe in one place, from then until then; ``until`` none: still."""

    equipment: EquipmentId
    task: TaskId | None
    since: datetime
    until: datetime | None


def check_due(state: State, probe: ProbeId) -> datetime | None:
    """When a probe must be checked next; none without a kitchen. One that never was counts from the first day."""
    if state.kitchen is None:
        return None
    last = state.probes.last_check(probe)
    since = state.kitchen.first_start if last is None else last.at
    return since + timedelta(minutes=state.kitchen.warnings.probe_check)


def expected_at(kitchen: Kitchen, point: CheckPoint) -> float | None:
    """What a probe should show in a check, °C; none beside a reference, which says it itself.

    Source: ice water 0 °C; boiling water by IAPWS-IF97 at the pressure of the US Standard Atmosphere 1976 at the
    kitchen's altitude, see `thermal.boiling`.
    """
    match point:
        case "ice":
            return 0.0
        case "boiling":
            return boiling_point_c(kitchen.altitude_m)
        case "reference":
            return None


def sittings(state: State, probe: ProbeId) -> Iterator[Sitting]:
    """Where a probe was, in the order of time."""
    known = kitchen_index(state.kitchen).probes.get(probe) if state.kitchen is not None else None
    if known is None:
        return
    places = state.probes.places.get(probe, ())
    now = Sitting(places[0].before if places else known.equipment, None, _BEGINNING, None)
    for move in places:
        yield Sitting(now.equipment, now.task, now.since, move.at)
        now = Sitting(move.equipment, move.task, move.at, None)
    yield now


def tasks_at(state: State, probe: ProbeId, since: datetime | None) -> Iterator[PlannedTask]:
    """Tasks with a lot that were in hand where a probe sat, after an instant, also of former days; none: ever."""
    state = whole(state)
    if state.plan is None:
        return
    for sitting in sittings(state, probe):
        if since is not None and sitting.until is not None and sitting.until <= since:
            continue
        begins = sitting.since if since is None else max(since, sitting.since)
        for task in plan_index(state.plan).tasks.values():
            if _was_there(state, task, sitting, begins):
                yield task


def _was_there(state: State, task: PlannedTask, sitting: Sitting, begins: datetime) -> bool:
    record = state.tasks.get(task.id)
    if record is None or record.started_at is None or task.lot is None or task.kind is TaskKind.CLEAN:
        return False
    if (record.equipment or task.equipment) != sitting.equipment or sitting.task not in (None, task.id):
        return False
    over = record.finished_at is not None and record.finished_at <= begins
    return not over and (sitting.until is None or record.started_at < sitting.until)


def judged_by(state: State, probe: ProbeId, since: datetime | None) -> tuple[LotCode, ...]:
    """Every lot that a probe has watched since an instant, with ingredients and left-overs on hand; none: ever."""
    made = (task.lot for task in tasks_at(state, probe, since) if task.lot is not None)
    return tuple(dict.fromkeys((*made, *_on_hand(state, probe, since))))


def _on_hand(state: State, probe: ProbeId, since: datetime | None) -> Iterator[LotCode]:
    """What stands in a place whose air the probe has watched meanwhile, and is not used up."""
    known = kitchen_index(state.kitchen).probes.get(probe) if state.kitchen is not None else None
    if known is None or known.reads != "air":
        return
    for sitting in sittings(state, probe):
        if since is not None and sitting.until is not None and sitting.until <= since:
            continue
        for lot in state.pantry.lots.values():
            there = lot.place == sitting.equipment and state.pantry.left(lot.id) > LEAST
            if there and (sitting.until is None or lot.received_at < sitting.until):
                yield LotCode(lot.id)


def lot_allergens(state: State, lot: LotCode) -> frozenset[str]:
    """All allergens of a lot; of stock on hand, those of its recipe and its own."""
    batch = plan_index(state.plan).batches.get(lot) if state.plan is not None else None
    if batch is not None:
        return frozenset(batch.allergens)
    if state.kitchen is None:
        return frozenset()
    known = kitchen_index(state.kitchen)
    stock = known.stock.get(lot)
    return frozenset() if stock is None else frozenset(stock_allergens(known.recipes, stock))


def touched(state: State, probe: ProbeId) -> dict[LotCode, frozenset[str]]:
    """Lots that a probe was in since it was last washed, with their allergens.

    Food that was in hand when it was washed and went on since is among them: the probe went back into it.
    """
    if state.kitchen is None:
        return {}
    washed = state.probes.washes.get(probe)
    found: dict[LotCode, frozenset[str]] = {}
    for task in tasks_at(state, probe, None if washed is None else washed.at):
        if task.lot is not None and goes_in(task):
            found[task.lot] = lot_allergens(state, task.lot)
    return found


def goes_in(task: PlannedTask) -> bool:
    """Whether a food probe of the machine is put into a task: to be on the safe side, into all work done there."""
    return task.kind is TaskKind.WORK


def failed_check(check: ProbeChecked) -> HealthFinding:
    """A check that was not passed, as a finding."""
    return HealthFinding(
        sign=Sign.CHECK_FAILED,
        since=check.at,
        amount=round(check.error_c, 3),
        limit=round(check.tolerance_c, 3),
        unit="degrees",
    )


def health_of(state: State, probe: ProbeId, fact: ProbeFact | None) -> tuple[HealthFinding, ...]:
    """What is wrong with a probe: by its last fact, and by a failed check that its readings have not caught up with."""
    told = () if fact is None else tuple(f for f in fact.health if f.sign is not Sign.CHECK_FAILED)
    failed = state.probes.failed(probe)
    return told if failed is None else (*told, failed_check(failed))
