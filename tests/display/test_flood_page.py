"""A flood on the alarms page: groups with count, first and worst; every alarm and every act still there."""

from dataclasses import replace

from orchestrator.core.ids import AlarmId
from orchestrator.core.models.alarm import Alarm, AlarmFacts, AlarmKind, AlarmStatus, Priority
from tests.core.test_flood import alarm
from tests.display.page import Page
from tests.display.test_desk_pages import client_of, quiet, text_of
from tests.fakes.kitchen_gateway import KitchenGateway


def flooded(windows: int = 11) -> KitchenGateway:
    """The churn stopped, the freezer critical, and as many windows as given endangered by the churn."""
    gateway = quiet()
    stop = alarm(AlarmKind.MACHINE_STOPPED, "Churn", ago=5, equipment="churn", lots=("B1",))
    waiting = [alarm(AlarmKind.WINDOW_CLOSING, f"Step {n}", equipment="churn", ago=3) for n in range(windows)]
    store = alarm(AlarmKind.STORE_WARM, "Freezer", priority=Priority.CRITICAL, equipment="freezer", missed=True)
    # Those are told relative to the flood tests' own now: here the kitchen's clock decides.
    all_of_them = [_now(gateway, a) for a in (stop, *waiting, store)]
    gateway.state = replace(gateway.state, alarms={a.id: a for a in all_of_them})
    return gateway


def _now(gateway: KitchenGateway, one: Alarm) -> Alarm:
    return one.model_copy(update={"raised_at": gateway.now})


def _page(gateway: KitchenGateway) -> Page:
    return Page(client_of(gateway, "manager").get("/alarms").text)


def test_flood_is_grouped_with_its_cause_count_first_and_worst() -> None:
    text = text_of(_page(flooded()))
    assert "13 alarms within ten minutes." in text
    assert "Machine stopped: Churn: 12 alarms" in text
    assert "11 more of this group" in text  # the first is the worst here


def test_flood_keeps_every_alarm_with_its_acts_and_the_critical_one_outside_the_groups() -> None:
    gateway = flooded()
    html = client_of(gateway, "manager").get("/alarms").text
    marked = [form.fields["alarm"] for form in Page(html).forms if form.action == "/acts/seen"]
    assert sorted(marked) == sorted(gateway.state.alarms)
    before, _, groups = html.partition('data-group="')
    assert 'data-task="store_warm:Freezer"' in before
    assert 'data-task="store_warm:Freezer"' not in groups


def test_ten_alarms_are_not_grouped() -> None:
    text = text_of(_page(flooded(windows=8)))
    assert "within ten minutes" not in text


def test_flood_without_any_cause_in_common_says_so() -> None:
    gateway = quiet()
    facts = AlarmFacts(kind=AlarmKind.LOT_ON_HOLD, priority=Priority.WARNING, title="Damson sorbet")
    many = [
        Alarm(id=AlarmId(f"lot_on_hold:{n}"), facts=facts, status=AlarmStatus.UNACKNOWLEDGED, raised_at=gateway.now)
        for n in range(11)
    ]
    gateway.state = replace(gateway.state, alarms={a.id: a for a in many})
    assert "With no cause in common: 11 alarms" in text_of(_page(gateway))
