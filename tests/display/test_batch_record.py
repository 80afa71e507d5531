"""The batch record: acts as entered, undone ones kept, readings judged with their gaps."""

from datetime import timedelta

from display.record_steps import Bounds, outside
from orchestrator.core.clock_events import ClockSet
from orchestrator.core.events import ActUndone, Event, GateEvidence, Recorded, TaskFinished, TaskStarted
from orchestrator.core.ids import CommandId, CrewId, EquipmentId, ProbeId, TaskId
from orchestrator.ports.event_log import Reading
from tests.core.stock_script import churned_and_tempered
from tests.display.test_desk_pages import client_of, page_of, text_of
from tests.fakes.kitchen_gateway import KitchenGateway
from tests.fakes.kitchens import at
from tests.fakes.states import base_ageing, begun

COOK = CrewId("early-cook")
CHURN = TaskId("B1.churn")


def readings(*pairs: tuple[float, float]) -> list[Reading]:
    instants = [(at("Wed 12:00") + timedelta(minutes=minute), celsius) for minute, celsius in pairs]
    return [Reading(ProbeId("fridge-air"), celsius, instant, instant) for instant, celsius in instants]


def churning() -> KitchenGateway:
    return KitchenGateway(begun(base_ageing(), "B1.churn", "Wed 14:00"), at("Wed 15:00"))


def enter(gateway: KitchenGateway, event: Event, when: str) -> int:
    """Put an act on record at that time; returns its number."""
    gateway.happen(event)
    last = gateway.records[-1]
    gateway.records[-1] = Recorded(seq=last.seq, at=at(when), command_id=CommandId("c"), event=event)
    return last.seq


def test_outside_counts_readings_beyond_the_limit_and_a_silence_ends_an_unbroken_time() -> None:
    found = outside(readings((0, 4), (5, 6), (9, 7), (40, 6.5), (45, 6), (50, 4)), Bounds(0.0, 5.0), 10)
    assert found is not None
    assert (found.count, found.worst_c, found.longest_min) == (4, 7, 5)  # not 40: nothing was heard between
    assert found.first == at("Wed 12:05")
    assert outside(readings((0, 4), (5, 5)), Bounds(0.0, 5.0), 10) is None


def test_record_keeps_an_act_that_was_taken_back_and_names_who_took_it_back() -> None:
    gateway = churning()
    act = enter(gateway, TaskFinished(task=CHURN, at=at("Wed 14:20"), person=COOK), "Wed 14:20")
    enter(gateway, ActUndone(act=act, at=at("Wed 14:22"), person=COOK), "Wed 14:22")
    answer = client_of(gateway).get("/record/B1").text
    assert 'class="undone"' in answer
    text = text_of(page_of(gateway, "/record/B1"))
    assert "Taken back: Finished, Early cook" in text
    assert text.count("taken back") >= 1


def test_record_says_between_two_acts_that_the_clock_was_set_so_that_their_times_overlap() -> None:
    gateway = churning()
    enter(gateway, ClockSet(at=at("Wed 13:00"), seconds=7200.0), "Wed 13:00")
    enter(
        gateway, TaskStarted(task=CHURN, at=at("Wed 14:00"), person=COOK, equipment=EquipmentId("churn")), "Wed 14:00"
    )
    enter(gateway, ClockSet(at=at("Wed 13:05"), seconds=-3600.0), "Wed 13:05")
    enter(gateway, TaskFinished(task=CHURN, at=at("Wed 13:30"), person=COOK), "Wed 13:30")
    enter(gateway, ClockSet(at=at("Wed 13:40"), seconds=-40.0, while_away=True), "Wed 13:40")
    text = text_of(page_of(gateway, "/record/B1"))
    started, clock, finished = (
        text.rindex(one) for one in ("Wed 25 Nov 14:00", "Wed 25 Nov 13:05", "Wed 25 Nov 13:30")
    )
    assert started < clock < finished
    assert "13:05 the computer's clock was set back by 1 h: times come twice" in text.replace("\u00a0", " ")
    assert text.count("the computer's clock") == 1, (
        "before its first act, and after its last, it is no matter of the lot"
    )
    rows = client_of(gateway).get("/csv/acts.csv?lot=B1").text
    assert "B1,clock_set,,2026-11-25T13:05:00" in rows


def test_record_says_when_an_act_was_entered_later_than_done() -> None:
    gateway = churning()
    enter(gateway, TaskFinished(task=CHURN, at=at("Wed 14:20"), person=None), "Wed 14:50")
    text = text_of(page_of(gateway, "/record/B1"))
    assert "Finished, no name given late entry, Wed 25 Nov 14:50" in text


def test_record_shows_gate_evidence_override_and_parents_and_never_a_verdict() -> None:
    gateway = KitchenGateway(base_ageing(), at("Thu 09:00"))
    gate = GateEvidence(says="Base at most 4 °C", met=False, celsius=4.6, measured_at=at("Thu 08:50"))
    start = TaskStarted(
        task=CHURN,
        at=at("Thu 08:51"),
        person=COOK,
        equipment=EquipmentId("churn"),
        gates=(gate,),
        override_reason="counter probe says 3.9",
    )
    enter(gateway, start, "Thu 08:51")
    text = text_of(page_of(gateway, "/record/B1"))
    for words in (
        "Base at most 4 °C",
        "not met (4.6 °C",
        "overridden: counter probe says 3.9",
        "Made from C1",
        "Overridden",
    ):
        assert words in text, words
    assert "legal clearance" not in text.lower()
    assert "local codes and licensed practice" in text


def test_record_of_a_lot_in_a_store_draws_its_air_with_limits() -> None:
    answer = client_of(KitchenGateway(base_ageing(), at("Wed 15:00"))).get("/record/C1").text
    assert 'class="trace"' in answer
    assert 'class="limit"' in answer
    assert "Within limits" in answer


def test_record_names_a_store_that_was_too_warm_for_too_long_among_the_deviations() -> None:
    gateway = KitchenGateway(base_ageing(), at("Wed 15:00"))
    warm = [
        Reading(ProbeId("fridge-air"), 7.0, at("Wed 12:00") + timedelta(minutes=n), at("Wed 12:00")) for n in range(90)
    ]
    gateway.readings = lambda probe, since, until: warm if probe == "fridge-air" else []  # type: ignore[method-assign]
    text = text_of(page_of(gateway, "/record/C1"))
    deviations = text[text.index("Deviations, problems") : text.index("Steps")]
    assert "Outside its limit" in deviations
    assert "None recorded" not in deviations
    assert "longest without a break 1 h 29" in text.replace("\u202f", " ")


def test_record_names_what_went_in_with_its_lots_and_the_codes_of_suppliers() -> None:
    """One step back, as Codex CXG 60-2006 asks of traceability (from memory)."""
    script = churned_and_tempered()
    gateway = KitchenGateway(script.state, script.now, facts=script.facts)
    gateway.records = list(script.log)

    def rows(lot: str) -> str:
        text = text_of(page_of(gateway, f"/record/{lot}"))
        return text[text.index("What went in") : text.index("Steps")]

    base = rows("C1")
    assert "whole milkin-1 Dairy · D-1183 LWed 25 Nov 08:00 egg yolkin-2 E-7600 gWed 25 Nov 08:00" in base
    custard = rows("B1")
    assert "Custard baseC15 LThu 26 Nov 09:00" in custard
    assert "D-118" not in custard  # two steps back


def test_record_says_of_an_ingredient_without_a_lot_that_none_is_on_record() -> None:
    text = text_of(page_of(KitchenGateway(base_ageing(), at("Wed 15:00")), "/record/C1"))
    assert "whole milkno lot on record3 LWed 25 Nov 08:00" in text


def test_record_holds_what_a_monitoring_record_must() -> None:
    """21 CFR 117.305: actual values, date and time, who did it, the product and its lot; made as the work is done."""
    script = churned_and_tempered()
    gateway = KitchenGateway(script.state, script.now, facts=script.facts)
    gateway.records = list(script.log)
    text = text_of(page_of(gateway, "/record/B1"))
    for words in (
        "Batch record B1 · Basil custard",
        "Thu 26 Nov 09:00",
        "Thu 26 Nov 09:30",
        "Early cook",
        "Volume in L: 4.9",
    ):
        assert words in text, words
    assert text.index("Looked through by") < text.index("Date", text.index("Looked through by"))


def test_record_is_linked_from_its_lot_and_its_tasks() -> None:
    gateway = churning()
    assert page_of(gateway, "/lots").links["B1"] == "/record/B1"
    assert page_of(gateway, "/task/B1.churn").links["Record"] == "/record/B1"
