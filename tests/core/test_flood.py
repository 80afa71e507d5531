"""A flood: more than ten in ten minutes, grouped by cause, nothing lost and nothing critical in a group."""

from datetime import timedelta
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from orchestrator.core.alarms.flood import Flood, flood
from orchestrator.core.ids import AlarmId
from orchestrator.core.models.alarm import Alarm, AlarmFacts, AlarmKind, AlarmStatus, Priority
from tests.fakes.kitchens import at

NOW = at("Fri 10:00")
K, P = AlarmKind, Priority


def alarm(kind: AlarmKind, subject: str, *, ago: float = 1, priority: Priority = P.WARNING, **facts: Any) -> Alarm:
    raised = NOW - timedelta(minutes=ago)
    given_facts = {"kind": kind, "priority": priority, "title": subject, **facts}
    return Alarm(
        id=AlarmId(f"{kind}:{subject}"),
        facts=AlarmFacts.model_validate(given_facts),
        status=AlarmStatus.UNACKNOWLEDGED,
        raised_at=raised,
    )


def many(count: int, **more: Any) -> list[Alarm]:
    return [alarm(K.TOO_SHORT, f"T{number}", **more) for number in range(count)]


@pytest.mark.parametrize(("count", "is_flood"), [(0, False), (10, False), (11, True)])
def test_flood_is_more_than_ten_in_ten_minutes(count: int, is_flood: bool) -> None:
    # ANSI/ISA-18.2 and EEMUA 191: more than 10 alarms in 10 minutes for one operator is a flood; from memory.
    assert (flood(many(count), NOW) is not None) is is_flood
    assert flood(many(count, ago=10.0), NOW) is None


def test_flood_counts_what_was_told_again() -> None:
    told_twice = [a.model_copy(update={"escalated_at": NOW}) for a in many(6)]
    found = flood(told_twice, NOW)
    assert found is not None
    assert found.count == 12


def _of(found: Flood | None) -> dict[str, list[str]]:
    assert found is not None
    return {group.cause: [str(a.id) for a in group.alarms] for group in found.groups}


def test_stopped_machine_is_the_cause_of_what_waits_for_it() -> None:
    stop = alarm(K.MACHINE_STOPPED, "Churn", ago=5, equipment="churn", lots=("B1", "S1"), orders=("SAT",))
    waiting = [alarm(K.WINDOW_CLOSING, f"{n}.churn", equipment="churn", lots=(f"X{n}",)) for n in range(8)]
    order = alarm(K.ORDER_LATE, "SAT", orders=("SAT",))
    before = alarm(K.ORDER_LATE, "early", ago=9, orders=("SAT",))
    apart = alarm(K.PROBE_SILENT, "hob-1-core", priority=P.NOTICE, equipment="hob-1")
    found = flood([*waiting, order, before, apart, stop], NOW)
    groups = _of(found)
    assert set(groups) == {"machine", "other"}
    assert sorted(groups["machine"]) == sorted(str(a.id) for a in (stop, *waiting, order))
    assert groups["machine"][0] == str(stop.id)
    assert groups["other"] == [str(before.id), str(apart.id)]
    assert found is not None
    assert (found.groups[0].title, found.groups[0].first.id) == ("Churn", stop.id)


def test_critical_store_is_the_cause_but_stands_outside_its_group() -> None:
    store = alarm(K.STORE_WARM, "Freezer", ago=5, priority=P.CRITICAL, equipment="freezer", lots=("B1", "B2"))
    held = [alarm(K.LOT_ON_HOLD, f"B{n}", lots=(f"B{1 + n % 2}",)) for n in range(11)]
    found = flood([store, *held], NOW)
    assert found is not None
    assert found.critical == (store,)
    assert [(g.cause, g.title, len(g.alarms)) for g in found.groups] == [("store", "Freezer", 11)]


def test_probes_that_fall_silent_together_have_one_cause_and_those_that_do_not_have_none() -> None:
    together = [alarm(K.PROBE_SILENT, f"p{n}", since=NOW - timedelta(minutes=12, seconds=n)) for n in range(11)]
    assert list(_of(flood(together, NOW))) == ["readings"]
    apart = [alarm(K.PROBE_SILENT, f"p{n}", since=NOW - timedelta(minutes=12 + 6 * n)) for n in range(11)]
    assert list(_of(flood(apart, NOW))) == ["other"]


def test_late_starts_together_mean_that_hands_are_missing() -> None:
    late = [alarm(K.TASK_LATE, f"T{n}", ago=6, priority=P.NOTICE, orders=("SAT",)) for n in range(8)]
    orders = [alarm(K.ORDER_LATE, o, orders=(o,)) for o in ("SAT", "SUN")]
    window = alarm(K.WINDOW_CLOSING, "B1.churn", orders=("SAT",))
    groups = _of(flood([*late, *orders, window], NOW))
    assert groups["hands"] == [str(a.id) for a in (*late, orders[0], window)]
    assert groups["other"] == ["order_late:SUN"]


def test_first_and_worst_of_a_group_are_on_top() -> None:
    stop = alarm(K.MACHINE_STOPPED, "Churn", ago=5, priority=P.NOTICE, equipment="churn")
    waiting = [alarm(K.WINDOW_CLOSING, f"{n}.churn", equipment="churn") for n in range(11)]
    worst = alarm(K.WINDOW_CLOSING, "Z.churn", equipment="churn", missed=True)
    found = flood([stop, *waiting, worst], NOW)
    assert found is not None
    (group,) = found.groups
    assert (group.first, group.worst) == (stop, worst)
    assert set(group.rest) == set(waiting)


_SOME = st.builds(
    lambda kind, number, ago, priority, machine, order, shelved: alarm(
        kind,
        f"{number}",
        ago=ago,
        priority=priority,
        equipment=machine,
        orders=(order,) if order else (),
        lots=(f"L{number % 5}",),
    ).model_copy(update={"status": AlarmStatus.SHELVED} if shelved else {}),
    st.sampled_from(list(AlarmKind)),
    st.integers(0, 200),
    st.floats(0, 9),
    st.sampled_from(list(Priority)),
    st.sampled_from(["churn", "freezer", None]),
    st.sampled_from(["SAT", "SUN", ""]),
    st.booleans(),
)


@settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(_SOME, min_size=11, max_size=60, unique_by=lambda a: a.id))
def test_every_alarm_is_shown_once_and_no_critical_one_in_a_group(alarms: list[Alarm]) -> None:
    found = flood(alarms, NOW)
    assert found is not None
    grouped = [a.id for group in found.groups for a in group.alarms]
    assert sorted([*grouped, *(a.id for a in found.critical)]) == sorted(a.id for a in alarms if not a.shelved)
    assert {a.id for a in found.critical} == {
        a.id for a in alarms if a.facts.priority is Priority.CRITICAL and not a.shelved
    }
    for group in found.groups:
        shown = {group.first.id, group.worst.id, *(a.id for a in group.rest)}
        assert shown == {a.id for a in group.alarms}
        assert group.first.raised_at == min(a.raised_at for a in group.alarms)
