"""A lot that was given up on the way to a plan is taken back where it finds its place after all."""

from pathlib import Path

import pytest

from orchestrator.core.ids import LotCode
from orchestrator.core.models import Actual, PlanRequest, Stop
from orchestrator.planner import posing
from orchestrator.planner.checked import Candidate, assembled
from orchestrator.planner.patience import Patience
from orchestrator.planner.posing import Question, constructed, given_up, put
from tests.planner.by_hand import hands, kitchen, machine, order, person, recipe, step
from tests.planner.planned import planned

J1 = LotCode("J1")


def boiled(folder: Path, *stops: Stop) -> PlanRequest:
    """Jam for noon, boiled from the start for an hour; within the next hour it must be filled, which takes half of one
    on the filler, and then it is given. It is 07:00, and the filler may be told to stand."""
    window = {"step": "boil", "most": "1 h", "window": "safety"}
    boiling, filling = (
        step("boil", 60, equipment="hob", **hands()),
        step("fill", 30, equipment="filler", after=[window]),
    )
    giving = step("give", 30, station="bench", per="order", **hands(skill="serve"))
    jam = recipe("jam", "J", [boiling, filling, giving])
    machines = [machine("hob", "hob"), machine("filler", "filler")]
    crew = [person("cook", "make"), person("clerk", "serve")]
    request = kitchen(folder, machines, [jam], [order("12:00", ("jam", "4 L"))], crew=crew)
    plan = planned(request)
    boil = plan.task(J1 + ".boil")  # type: ignore[arg-type]
    began = request.now
    done = Actual(
        task=boil.id, status="done", start=began, end=began + (boil.end - boil.start), equipment="hob", crew=("cook",)
    )
    told = {"now": done.end, "previous": plan, "actuals": (done,), "stops": stops}
    return request.model_copy(update=told)


def faults(question: Question, posed: posing.Posed) -> tuple[str, ...]:
    return assembled(Candidate(question, posed, posed.guess))[1]


def lots(posed: posing.Posed) -> set[str]:
    return {batch.lot for batch in posed.demand.batches}


def test_lot_that_finds_its_place_is_taken_back(tmp_path: Path) -> None:
    question = Question(boiled(tmp_path), held={J1})
    posed = put(question)
    assert question.held == set()
    assert given_up(question, posed.demand) == ()
    # Nothing is boiled a second time.
    assert lots(posed) == {"J1"}
    assert faults(question, posed) == ()


def test_lot_that_is_not_taken_back_is_replaced_though_it_could_be_used(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(posing, "_taken_back", lambda _question, posed, *_: posed)
    question = Question(boiled(tmp_path), held={J1})
    posed = put(question)
    assert question.held == {J1}
    assert given_up(question, posed.demand) == (J1,)
    assert lots(posed) == {"J1", "J2"}


def test_lot_without_a_place_stays_given_up(tmp_path: Path) -> None:
    """The filler stands until 09:00, an hour too long for what is boiled; another batch is in time."""
    now = boiled(tmp_path).now
    stop = Stop(equipment="filler", start=now, end=now.replace(hour=9))
    question = Question(boiled(tmp_path, stop), held={J1})
    posed = put(question)
    assert question.held == {J1}
    assert given_up(question, posed.demand) == (J1,)
    assert question.unmet == {}
    assert faults(question, posed) == ()


def test_lot_is_taken_back_also_when_patience_is_over(tmp_path: Path) -> None:
    question, patience = Question(boiled(tmp_path), held={J1}), Patience(looks=0)
    posed = put(question, lambda problem: constructed(problem, patience), patience)
    assert (question.held, lots(posed)) == (set(), {"J1"})
    assert faults(question, posed) == ()
