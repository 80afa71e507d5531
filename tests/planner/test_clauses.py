"""What the trade asks, clause by clause, in kitchens read from files and small enough to solve by hand."""

from pathlib import Path

import pytest

from orchestrator.core.models import Plan
from tests.planner.by_hand import Data, at, hands, kitchen, machine, order, person, recipe, shift, span, step
from tests.planner.planned import planned

HOB = machine("hob", "hob")


def late(plan: Plan) -> dict[str, int]:
    return {outlook.order: outlook.late_min for outlook in plan.outlooks if outlook.met}


def both(*made: Data, due: str, name: str = "O") -> list[Data]:
    """One order of all of them, 4 L each."""
    return [order(due, *((product["id"], "4 L") for product in made), name=name)]


def test_shift_that_goes_on_where_one_ends_is_one_shift(tmp_path: Path) -> None:
    jam = recipe("jam", "J", [step("boil", 60, equipment="hob", **hands())])
    split = person("cook", "make", shift(0, "09:30", "10:00"), shift(0, "10:00", "14:00"))
    plan = planned(kitchen(tmp_path, [HOB], [jam], both(jam, due="10:30"), crew=[split]))
    assert (span(plan, "J1.boil"), late(plan)) == ("09:30-10:30", {"O": 0})


def test_break_is_kept_free_by_attended_work(tmp_path: Path) -> None:
    # 45 min of peeling and 60 of boiling from 06:00 would run into the break: boiling waits for its end.
    steps = [step("peel", 45, station="bench", **hands()), step("boil", 60, equipment="hob", **hands())]
    jam, cook = recipe("jam", "J", steps), person("cook", "make", shift(0, "06:00", "14:00", "07:00-07:30"))
    plan = planned(kitchen(tmp_path, [HOB], [jam], both(jam, due="08:30"), crew=[cook]))
    assert (span(plan, "J1.boil"), late(plan)) == ("07:30-08:30", {"O": 0})


@pytest.mark.parametrize(
    ("portion", "minutes"),
    [
        pytest.param(hands("start", 10), 0, id="start: the second begins as soon as hands are free, 06:10 to 07:10"),
        pytest.param(hands("end", 10), 0, id="end: the second ends ten minutes after the first"),
        pytest.param(hands(), 50, id="throughout: one after the other, to 08:00"),
    ],
)
def test_attended_portion_decides_how_two_pots_share_one_cook(tmp_path: Path, portion: Data, minutes: int) -> None:
    made = [recipe(name, name[0].upper(), [step("boil", 60, equipment="hob", **portion)]) for name in ("jam", "gel")]
    machines = [machine("hob-1", "hob"), machine("hob-2", "hob")]
    plan = planned(kitchen(tmp_path, machines, made, both(*made, due="07:10")))
    assert late(plan) == {"O": minutes}


def test_slower_oven_is_taken_when_the_faster_would_be_late(tmp_path: Path) -> None:
    # 40 min on the fast one, 50 on the slow; both on the fast one would be done at 07:20.
    made = [recipe(name, name[0].upper(), [step("bake", 40, equipment="oven")]) for name in ("jam", "gel")]
    machines = [machine("fast", "oven"), machine("slow", "oven", speed=0.8)]
    plan = planned(kitchen(tmp_path, machines, made, both(*made, due="06:50")))
    assert late(plan) == {"O": 0}
    assert {(t.equipment, (t.end - t.start).seconds // 60) for t in plan.tasks if t.equipment} == {
        ("fast", 40),
        ("slow", 50),
    }


NUT_AND_SORBET = (
    recipe("nut", "N", [step("churn", 60, equipment="churn", load="4 L")], allergens=["hazelnut"]),
    recipe("sorbet", "S", [step("churn", 60, equipment="churn", load="4 L")]),
)
CLEANING: Data = {"rinse": "10 min", "full": "40 min", "skill": "clean"}


@pytest.mark.parametrize("effort", ["repair", "full"])
def test_what_needs_only_a_rinse_is_churned_first(tmp_path: Path, effort: str) -> None:
    # Sorbet, rinse, nut: 60 + 10 + 60. The other way round a full clean would make it 160.
    churn = machine("churn", "churn", capacity="4 L", cleaning=CLEANING)
    plan = planned(kitchen(tmp_path, [churn], [*NUT_AND_SORBET], both(*NUT_AND_SORBET, due="08:10")), effort)
    assert (span(plan, "S1.churn"), span(plan, "N1.churn")) == ("06:00-07:00", "07:10-08:10")


@pytest.mark.parametrize("where", ["batch", "order"])
def test_mill_used_for_each_order_is_cleaned_of_what_the_product_has_in_it(tmp_path: Path, where: str) -> None:
    # Nut first by its date. The hazelnuts go in with the batch, or only as the order is ground.
    nuts = {"takes": [{"ingredient": "Hazelnuts", "amount": "1 kg", "allergens": ["hazelnut"]}]}
    mixed, ground = (nuts, {}) if where == "batch" else ({}, nuts)
    grind = {"equipment": "mill", "per": "order"}
    nut = recipe("nut", "N", [step("mix", 5, station="bench", **mixed), step("grind", 20, **grind, **ground)])
    plain = recipe("plain", "P", [step("mix", 5, station="bench"), step("grind", 20, **grind)])
    orders = [order("06:25", ("nut", "2 L"), name="A"), order("07:25", ("plain", "2 L"), name="B")]
    plan = planned(kitchen(tmp_path, [machine("mill", "mill", cleaning=CLEANING)], [nut, plain], orders))
    assert [(t.upkeep, (t.end - t.start).seconds // 60) for t in plan.tasks if t.kind == "clean"] == [
        ("full clean", 40)
    ]
    assert late(plan) == {"A": 0, "B": 0}


@pytest.mark.parametrize(
    ("wanted", "runs"),
    [
        pytest.param("2 L", [2], id="the small one"),
        pytest.param("3.5 L", [4], id="too much for the small one, so the large one has its least"),
        pytest.param("6.5 L", [4, 2.5], id="one of each, as even as can be"),
        pytest.param("8.5 L", [4.25, 4.25], id="two in the large one"),
        pytest.param("13 L", [4.333, 4.333, 4.333], id="three"),
    ],
)
def test_runs_fit_either_churn(tmp_path: Path, wanted: str, runs: list[float]) -> None:
    # Between 3 and 4 litres neither churn takes it.
    churns = [
        machine("small", "churn", capacity="3 L", least="1 L"),
        machine("large", "churn", capacity="6 L", least="4 L"),
    ]
    jam = recipe("jam", "J", [step("churn", 30, equipment="churn", load="4 L")], batch={"least": "1 L", "most": "6 L"})
    plan = planned(kitchen(tmp_path, churns, [jam], [order("12:00", ("jam", wanted))]))
    assert sorted((batch.size.value for batch in plan.batches), reverse=True) == pytest.approx(runs, abs=1e-3)


def test_full_clean_is_done_while_the_churn_is_stopped(tmp_path: Path) -> None:
    stop = [{"start": at("07:00"), "end": at("07:40")}]
    churn = machine("churn", "churn", capacity="4 L", cleaning=CLEANING, maintenance=stop)
    orders = [order("07:00", ("nut", "4 L"), name="A"), order("08:40", ("sorbet", "4 L"), name="B")]
    plan = planned(kitchen(tmp_path, [churn], [*NUT_AND_SORBET], orders))
    assert (span(plan, "churn.clean.S1"), late(plan)) == ("07:00-07:40", {"A": 0, "B": 0})


def test_two_warm_batches_together_take_longer_and_less_than_one_after_the_other(tmp_path: Path) -> None:
    # 90 min side by side in a crowded freezer, 120 in turn.
    blast = machine("blast", "blast", capacity="8 L", shared=True, heat={"alone": "4 L", "crowded": 1.5})
    made = [recipe(n, n[0].upper(), [step("harden", 60, equipment="blast", load="4 L")]) for n in ("jam", "gel")]
    plan = planned(kitchen(tmp_path, [blast], made, both(*made, due="07:30")))
    assert {span(plan, "J1.harden"), span(plan, "G1.harden")} == {"06:00-07:30"}


def test_third_run_in_two_hours_waits_for_a_hygiene_clean(tmp_path: Path) -> None:
    cleaning = {**CLEANING, "hygiene": "20 min", "every": "2 h"}
    churn = machine("churn", "churn", capacity="4 L", cleaning=cleaning)
    jam = recipe("jam", "J", [step("churn", 60, equipment="churn", load="4 L")])
    plan = planned(kitchen(tmp_path, [churn], [jam], [order("09:20", ("jam", "12 L"))]))
    assert (span(plan, "churn.hygiene.J3"), late(plan)) == ("08:00-08:20", {"O": 0})


def test_churn_is_cold_before_its_first_run_and_clean_after_its_last(tmp_path: Path) -> None:
    upkeep = {"precool": {"minutes": "15 min", "keeps": "30 min"}, "day_end": {"minutes": "20 min", "skill": "clean"}}
    churn = machine("churn", "churn", capacity="4 L", **upkeep)
    jam = recipe("jam", "J", [step("churn", 60, equipment="churn", load="4 L")])
    orders = [order("07:15", ("jam", "4 L"), name="A"), order("08:45", ("jam", "4 L"), name="B")]
    plan = planned(kitchen(tmp_path, [churn], [jam], orders))
    assert span(plan, "churn.pre-cool.J1") == "06:00-06:15"
    # Within half an hour after the first run it is still cold: no second pre-cool.
    assert [t.id for t in plan.tasks if t.upkeep == "pre-cool"] == ["churn.pre-cool.J1"]
    last = max(task.end for task in plan.tasks if task.step == "churn")
    closed = [task for task in plan.tasks if task.upkeep == "day-end clean"]
    assert [(task.start >= last, task.end.hour < 14) for task in closed] == [(True, True)]


def test_tempering_cabinet_is_used_one_order_after_the_other(tmp_path: Path) -> None:
    temper = step("temper", 30, process="temper", equipment="cabinet", load="4 L", per="order")
    after = [{"step": "temper", "most": "20 min", "window": "quality"}]
    give = step("give", 10, process="hand over", station="bench", per="order", after=after, **hands(skill="serve"))
    jam = recipe("jam", "J", [step("mix", 5, station="bench"), temper, give])
    orders = [order("11:00", ("jam", "4 L"), earliest=at("11:00")), order("11:00", ("jam", "4 L"), name="P")]
    cabinet = machine("cabinet", "cabinet", capacity="4 L", shared=True)
    plan = planned(kitchen(tmp_path, [cabinet], [jam], orders))
    assert (late(plan), span(plan, "O.J.give"), plan.breaks) == ({"O": 0, "P": 0}, "10:50-11:00", ())


def test_oldest_stock_goes_first(tmp_path: Path) -> None:
    def lot(code: str, made: int) -> Data:
        return {"lot": code, "recipe": "jam", "quantity": "2 L", "made": f"2026-11-{made}T10:00", "place": "fridge"}

    keep = step("keep", process="store", equipment="fridge", load="4 L", stay={"most": "5 d"})
    jam = recipe("jam", "J", [step("boil", 60, equipment="hob"), keep])
    fridge = machine("fridge", "fridge", capacity="20 L", shared=True, store=True)
    request = kitchen(
        tmp_path, [HOB, fridge], [jam], [order("11:00", ("jam", "3 L"))], stock=[lot("J8", 24), lot("J9", 23)]
    )
    assert [(peg.lot, peg.quantity.value) for peg in planned(request).pegs] == [("J9", 2.0), ("J8", 1.0)]
    # The older one is on hold: one litre must be made.
    held = planned(request.model_copy(update={"held_lots": ("J9",)}))
    assert [(peg.lot, peg.quantity.value) for peg in held.pegs] == [("J8", 2.0), ("J10", 1.0)]


# What is held in place


def held(plan: Plan, *names: str) -> Plan:
    tasks = (task.model_copy(update={"held_in_place": task.id in names}) for task in plan.tasks)
    return plan.model_copy(update={"tasks": tuple(tasks)})


def test_stay_between_two_tasks_held_in_place_keeps_its_store(tmp_path: Path) -> None:
    keep = step("keep", process="store", equipment="fridge", load="4 L", stay={"least": "1 h", "most": "1 d"})
    steps = [step("boil", 60, equipment="hob", **hands()), keep, step("whip", 10, station="bench", **hands())]
    fridge = machine("fridge", "fridge", capacity="4 L", shared=True, store=True)
    jam = recipe("jam", "J", steps)
    request = kitchen(tmp_path, [HOB, fridge], [jam], both(jam, due="11:00"))
    before = held(planned(request), "J1.boil", "J1.whip")
    plan = planned(request.model_copy(update={"previous": before}))
    assert (plan.task("J1.keep").equipment, plan.let_go) == ("fridge", ())
    assert [task.id for task in plan.tasks if task.held_in_place] == ["J1.boil", "J1.whip"]


def test_hold_that_no_plan_can_keep_is_let_go_openly(tmp_path: Path) -> None:
    jam = recipe("jam", "J", [step("boil", 60, equipment="hob", **hands())])
    crew = [person("cook", "make", shift()), person("late-cook", "make", shift(0, "12:00", "20:00"))]
    request = kitchen(tmp_path, [HOB], [jam], both(jam, due="11:00"), crew=crew)
    before = held(planned(request), "J1.boil")
    alone = request.kitchen.model_copy(update={"crew": request.kitchen.crew[1:]})
    plan = planned(request.model_copy(update={"previous": before, "kitchen": alone}))
    # Nobody is there before noon: what was held at ten is boiled then, and says so.
    assert (plan.let_go, span(plan, "J1.boil"), late(plan)) == (("J1.boil",), "12:00-13:00", {"O": 120})
    assert not plan.task("J1.boil").held_in_place


def test_window_of_no_time_at_all_that_is_broken_is_named_and_passes(tmp_path: Path) -> None:
    # Hardening must follow at once; the churn serves until 06:30, the blast freezer from 09:00 on.
    after = [{"step": "churn", "most": "0 min", "window": "quality"}]
    harden = step("harden", 60, equipment="blast", load="4 L", after=after)
    jam = recipe("jam", "J", [step("churn", 30, equipment="churn", load="4 L"), harden])
    stops = [{"start": at("06:30"), "end": at("09:00")}]
    machines = [
        machine("churn", "churn", capacity="4 L", maintenance=[{"start": at("06:30"), "end": at("2 06:00")}]),
        machine("blast", "blast", capacity="4 L", maintenance=stops),
    ]
    plan = planned(kitchen(tmp_path, machines, [jam], both(jam, due="10:00")))
    assert [(b.task, b.minutes, b.side) for b in plan.breaks] == [("J1.harden", 150, "too late")]


def test_food_that_never_enters_a_stopped_store_may_pass_through(tmp_path: Path) -> None:
    keep = step("keep", process="store", equipment="fridge", load="4 L", stay={"most": "1 d"})
    give = step("give", 10, station="bench", per="order", **hands(skill="serve"))
    jam = recipe("jam", "J", [step("boil", 60, equipment="hob"), keep, give])
    stop = [{"start": at("06:30"), "end": at("20:00")}]
    fridge = machine("fridge", "fridge", capacity="4 L", shared=True, store=True, maintenance=stop)
    plan = planned(kitchen(tmp_path, [HOB, fridge], [jam], both(jam, due="09:00")))
    keeping = plan.task("J1.keep.O")
    assert (keeping.start, late(plan)) == (keeping.end, {"O": 0})
