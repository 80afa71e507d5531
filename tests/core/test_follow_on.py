"""A step is not started into a machine that what follows it at once would find taken; instants worked out by hand."""

from dataclasses import replace

from orchestrator.core import views
from orchestrator.core.errors import RefusalCode
from orchestrator.core.follow_on import shut
from orchestrator.core.ids import EquipmentId, TaskId
from orchestrator.core.models import PlannedTask, WindowClass
from orchestrator.core.plan_index import plan_index
from orchestrator.core.state import MachineStop, State
from tests.core.script import Script, in_a_planned_kitchen
from tests.fakes.kitchens import at
from tests.fakes.states import begun, done, planned

COOK, BATH = TaskId("C1.cook"), EquipmentId("ice-bath")


def cook_of(state: State) -> PlannedTask:
    assert state.plan is not None
    return plan_index(state.plan).tasks[COOK]


def with_limit(state: State, window: WindowClass) -> State:
    """The chill must follow the cook within 15 min, by a window of some class."""
    assert state.plan is not None
    tasks = tuple(
        t.model_copy(update={"links": tuple(k.model_copy(update={"window": window}) for k in t.links)})
        if t.id == "C1.chill"
        else t
        for t in state.plan.tasks
    )
    return replace(state, plan=state.plan.model_copy(update={"tasks": tasks}))


def sorbet_chilling() -> State:
    """The sorbet's chill, 60 min, has been in the only ice bath since 08:30."""
    return begun(done(planned(), "S1.simmer", "Wed 08:00", "Wed 08:30"), "S1.chill", "Wed 08:30")


def test_start_into_a_taken_ice_bath_says_who_follows_until_when_and_from_when_it_is_safe() -> None:
    state = sorbet_chilling()
    chill = plan_index(state.plan).tasks[TaskId("S1.chill")]  # type: ignore[arg-type]
    free = at("Wed 08:30") + (chill.end - chill.start)
    found = shut(state, cook_of(state), at("Wed 08:31"))
    # Cooked in 40 min, by 09:11; the chill follows within 15 min, by 09:26; the bath is free at 09:30: 4 min too late.
    assert found is not None
    assert (found.task.id, found.machine, found.free_at, found.needed_by) == (
        "C1.chill",
        BATH,
        free,
        at("Wed 09:26"),
    )
    assert (free, found.start_from, found.cls) == (at("Wed 09:30"), at("Wed 08:35"), WindowClass.SAFETY)
    assert shut(state, cook_of(state), at("Wed 08:34")) is not None
    assert shut(state, cook_of(state), at("Wed 08:35")) is None


def test_start_with_all_machines_free_is_not_held_back() -> None:
    state = planned()
    assert shut(state, cook_of(state), at("Wed 08:00")) is None


def test_start_counts_what_must_follow_something_in_hand() -> None:
    """The sorbet simmers on the other hob and must be chilled at once when it is done: the bath is as good as taken."""
    state = planned()
    assert state.plan is not None
    tight = [
        t.model_copy(update={"links": tuple(k.model_copy(update={"most": 0}) for k in t.links)})
        if t.id == "S1.chill"
        else t
        for t in state.plan.tasks
    ]
    state = replace(state, plan=state.plan.model_copy(update={"tasks": tuple(tight)}))
    # Simmered 08:10 to 08:40, chilled until 09:40. Cooked from 08:11, the custard needs the bath 08:51 to 09:06.
    state = begun(state, "S1.simmer", "Wed 08:10")
    found = shut(state, cook_of(state), at("Wed 08:11"))
    assert found is not None
    assert (found.free_at, found.needed_by, found.start_from) == (at("Wed 09:40"), at("Wed 09:06"), at("Wed 08:45"))
    chilling = begun(done(state, "S1.simmer", "Wed 08:10", "Wed 08:40"), "S1.chill", "Wed 08:40")
    assert shut(chilling, cook_of(chilling), at("Wed 08:44")) is not None
    assert shut(chilling, cook_of(chilling), at("Wed 08:45")) is None


def test_start_while_the_ice_bath_is_stopped_waits_for_its_return() -> None:
    state = planned()
    state = replace(state, machines={BATH: MachineStop(at("Wed 08:00"), at("Wed 09:30"), "leaks", None)})
    found = shut(state, cook_of(state), at("Wed 08:00"))
    assert found is not None
    assert (found.free_at, found.start_from) == (at("Wed 09:30"), at("Wed 08:35"))


def test_task_view_tells_before_the_tap_what_a_start_would_be_refused_for() -> None:
    state = sorbet_chilling()
    found = views.task_view(state, {}, at("Wed 08:31"), COOK).follow_on
    assert found is not None
    assert (found.title, found.machine) == ("Chill the custard base", "Ice bath")
    assert (found.needed_by, found.free_at, found.start_from) == (at("Wed 09:26"), at("Wed 09:30"), at("Wed 08:35"))
    assert found.window is WindowClass.SAFETY
    assert views.task_view(state, {}, at("Wed 08:35"), COOK).follow_on is None


def test_task_view_says_nothing_of_what_follows_once_begun_or_before_its_turn() -> None:
    state = sorbet_chilling()
    assert views.task_view(begun(state, COOK, "Wed 08:31"), {}, at("Wed 08:32"), COOK).follow_on is None
    assert views.task_view(state, {}, at("Wed 08:31"), TaskId("C1.chill")).follow_on is None


def test_start_past_a_safety_limit_is_refused_even_with_a_reason() -> None:
    script: Script = in_a_planned_kitchen()
    script.state = replace(script.state, tasks=sorbet_chilling().tasks)
    what = {"task": COOK, "person": "early-cook", "override_reason": "the stall cannot wait"}
    refusal = script.refused("Wed 08:31", "start_task", **what)
    assert refusal.code is RefusalCode.GATE_SHUT
    assert "must follow by Wed 09:26, but" in refusal.status
    assert refusal.status.endswith("is not free before Wed 09:30")
    assert refusal.remedy.startswith("start from Wed 08:35 on")


def test_start_past_a_quality_limit_needs_a_named_person_and_a_reason() -> None:
    script: Script = in_a_planned_kitchen()
    busy = replace(script.state, tasks=sorbet_chilling().tasks)
    script.state = with_limit(busy, WindowClass.QUALITY)
    what = {"task": COOK, "person": "early-cook"}
    assert script.refused("Wed 08:31", "start_task", **what).code is RefusalCode.GATE_SHUT
    events = script.give("Wed 08:31", "start_task", **what, override_reason="the stall cannot wait")
    assert [event.kind for event in events] == ["task_started"]


def simmering_with_custard_to_chill() -> State:
    """The sorbet simmers until 08:40 and must be chilled at once; a custard, cooked by 08:20, can wait for 90 min."""
    state = planned()
    assert state.plan is not None
    most = {"S1.chill": 0, "C1.chill": 90}
    tasks = tuple(
        t.model_copy(update={"links": tuple(k.model_copy(update={"most": most[t.id]}) for k in t.links)})
        if t.id in most
        else t
        for t in state.plan.tasks
    )
    state = replace(state, plan=state.plan.model_copy(update={"tasks": tasks}))
    return begun(done(state, "C1.cook", "Wed 07:40", "Wed 08:20"), "S1.simmer", "Wed 08:10")


def chill_of(state: State) -> PlannedTask:
    return plan_index(state.plan).tasks[TaskId("C1.chill")]  # type: ignore[arg-type]


def test_start_into_the_machine_that_something_in_hand_is_about_to_need_says_so() -> None:
    state = simmering_with_custard_to_chill()
    chill = chill_of(state)
    now = at("Wed 08:21")
    found = shut(state, chill, now)
    # The sorbet needs the only ice bath from 08:40 to 09:40; the custard may wait until 09:50.
    assert found is not None
    assert (found.task.id, found.machine, found.in_the_way) == ("S1.chill", BATH, True)
    assert (found.needed_by, found.free_at) == (at("Wed 08:40"), now + (chill.end - chill.start))
    assert found.start_from == at("Wed 09:40")
    # Once the sorbet is in, the bath is taken: that is told by the machine itself.
    assert shut(done(state, "S1.simmer", "Wed 08:10", "Wed 08:40"), chill, at("Wed 08:41")) is None


def test_start_that_cannot_wait_itself_is_not_held_back_for_what_follows_something_in_hand() -> None:
    state = simmering_with_custard_to_chill()
    assert state.plan is not None
    tasks = tuple(
        t.model_copy(update={"links": tuple(k.model_copy(update={"most": 79}) for k in t.links)})
        if t.id == "C1.chill"
        else t
        for t in state.plan.tasks
    )
    state = replace(state, plan=state.plan.model_copy(update={"tasks": tasks}))
    # Cooked at 08:20 and 79 min to wait: until 09:39, a minute before the sorbet leaves the bath.
    assert shut(state, chill_of(state), at("Wed 08:21")) is None


def test_start_in_the_way_needs_a_named_person_and_a_reason() -> None:
    script: Script = in_a_planned_kitchen()
    busy = simmering_with_custard_to_chill()
    script.state = replace(script.state, plan=busy.plan, tasks=busy.tasks)
    what = {"task": "C1.chill", "person": "early-cook"}
    refusal = script.refused("Wed 08:21", "start_task", **what)
    assert refusal.code is RefusalCode.GATE_SHUT
    assert "must be in" in refusal.status
    assert "by Wed 08:40, and this would keep it until" in refusal.status
    assert refusal.remedy.startswith("start from Wed 09:40 on; or name a person and a reason")
    events = script.give("Wed 08:21", "start_task", **what, override_reason="the sorbet goes into the second bath")
    assert events[0].kind == "task_started"
