"""What if: scenarios are planned from the present plan, checked, and compared; the request stays as it was."""

from orchestrator.core.changes import apply
from orchestrator.core.check import check
from orchestrator.core.models import PlanRequest
from orchestrator.core.models.change import CHANGES, Change
from orchestrator.core.models.questions import Scenario, WhatIfAnswer, WhatIfQuestion
from orchestrator.planner.answers import answer
from orchestrator.planner.plan import make_plan
from orchestrator.planner.what_if import what_if
from tests.fakes.tiny import at, tiny_data, tiny_request


def change(kind: str, **told: object) -> Change:
    return CHANGES.validate_python({"change": kind, **told})


SOONER = Scenario(name="sooner", changes=(change("change order", order="SAT-STALL", due=at(1, "08:00")),))
DROPPED = Scenario(name="without", changes=(change("drop order", order="SAT-STALL"),))
WRONG = Scenario(name="misspelt", changes=(change("drop order", order="SAT-STAL"),))


def asked(request: PlanRequest, *scenarios: Scenario, seconds: float = 0.0) -> WhatIfAnswer:
    question = WhatIfQuestion(request=request, scenarios=scenarios, seconds=seconds)
    return what_if(question, lambda: False, deterministic=True)


def with_plan() -> PlanRequest:
    request = tiny_request()
    return request.model_copy(update={"previous": make_plan(request, effort="repair", seconds=1).plan})


def test_what_if_starts_from_the_present_plan_and_leaves_it() -> None:
    request = with_plan()
    before = request.model_copy(deep=True)
    told = asked(request, SOONER, DROPPED)
    assert told.base.plan == before.previous
    assert request == before


def test_what_if_plans_a_first_plan_where_none_is_adopted() -> None:
    told = asked(tiny_request(), DROPPED)
    assert told.base.plan is not None
    assert check(told.base.plan, tiny_request()) == ()


def test_what_if_tells_each_scenario_s_outlooks_moves_and_words() -> None:
    request = with_plan()
    sooner, without = asked(request, SOONER, DROPPED).scenarios
    assert sooner.says == ("SAT-STALL: due Thu 26 Nov 08:00",)
    assert [(o.order, o.late_min > 0) for o in sooner.outlooks] == [("SAT-STALL", True)]
    assert without.outlooks == ()
    assert {(m.task, m.what, m.reason) for m in without.moves} >= {
        ("B1.churn", "gone", "SAT-STALL has been dropped"),
        ("C1.cook", "gone", "SAT-STALL has been dropped"),
    }


def test_what_if_plans_pass_the_checker_against_the_changed_request() -> None:
    request = with_plan()
    for scenario, outcome in zip((SOONER, DROPPED), asked(request, SOONER, DROPPED).scenarios, strict=True):
        changed = apply(request, scenario.changes)
        assert isinstance(changed, PlanRequest)
        assert outcome.plan is not None
        assert check(outcome.plan, changed) == ()


def test_what_if_compares_all_plans_in_one_table() -> None:
    told = asked(with_plan(), SOONER, DROPPED)
    table = told.table
    assert table.names == ("present plan", "sooner", "without")
    assert [row.order for row in table.orders] == ["SAT-STALL"]
    late = [None if outlook is None else outlook.late_min > 0 for outlook in table.orders[0].told]
    assert late == [False, True, None]
    assert table.breaks == (0, 0, 0)
    assert table.moves[0] == 0
    assert table.moves[2] == len(told.scenarios[1].moves) > 0
    unmet = next(row for row in table.terms if row.name == "orders not met")
    assert (unmet.stage, unmet.values) == (1, (0.0, 0.0, 0.0))


def test_what_if_refuses_a_scenario_by_name_and_plans_the_others() -> None:
    wrong, without = asked(with_plan(), WRONG, DROPPED).scenarios
    assert wrong.plan is None
    assert wrong.refused is not None
    assert (wrong.refused.thing, wrong.refused.remedy) == ("SAT-STAL", "did you mean SAT-STALL?")
    assert without.plan is not None


def test_what_if_stopped_early_ends_at_once_and_says_so() -> None:
    question = WhatIfQuestion(request=with_plan(), scenarios=(DROPPED,), seconds=30.0)
    told = what_if(question, lambda: True).scenarios[0]
    assert (told.plan, told.complete, told.violations) == (None, False, ("it was stopped before it was planned",))


def test_what_if_stopped_early_plans_the_rest_quickly_where_that_is_wished() -> None:
    question = WhatIfQuestion(request=with_plan(), scenarios=(SOONER, DROPPED), seconds=30.0)
    told = what_if(question, lambda: True, quick_rest=True).scenarios
    assert [(o.plan is not None, o.complete) for o in told] == [(True, False), (True, False)]


def test_what_if_tells_which_plan_became_better() -> None:
    heard: list[str] = []
    question = WhatIfQuestion(request=tiny_request(), scenarios=(DROPPED,), seconds=4.0)
    told = what_if(question, lambda: False, deterministic=True, tell=lambda name, _: heard.append(name))
    assert told.base.plan is not None
    assert heard == ["present plan"] * len(heard) != []
    # From a plan on that lets the order be late for nothing, the search of a scenario finds a better one too.
    late = change("change order", order="SAT-STALL", due=at(1, "08:00"))
    request = apply(with_plan(), (late,))
    assert isinstance(request, PlanRequest)
    crew = Scenario(
        name="crew comes sooner", changes=(change("start earlier", crew="early-cook", start=at(1, "05:00")),)
    )
    heard.clear()
    what_if(
        WhatIfQuestion(request=request, scenarios=(crew,), seconds=4.0),
        lambda: False,
        deterministic=True,
        tell=lambda name, _: heard.append(name),
    )
    assert heard == ["crew comes sooner"] * len(heard) != []


def test_what_if_is_the_same_for_the_same_seed() -> None:
    data = tiny_data()
    first, second = (asked(tiny_request(data), SOONER, seconds=2.0) for _ in range(2))
    assert [o.plan and o.plan.tasks for o in first.scenarios] == [o.plan and o.plan.tasks for o in second.scenarios]


def test_what_if_is_among_the_questions_that_the_planner_answers() -> None:
    told = answer(WhatIfQuestion(request=with_plan(), scenarios=(DROPPED,), seconds=0.0))
    assert isinstance(told, WhatIfAnswer)
    assert WhatIfAnswer.model_validate_json(told.model_dump_json()) == told
