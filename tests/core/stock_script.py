"""The small kitchen with deliveries: milk and yolk come, a base is cooked from them, custard churned, handed over."""

from orchestrator.kitchen.shipped import shipped_limits
from tests.core.script import Script, cook, in_a_planned_kitchen, with_base_aged
from tests.fakes.kitchens import at

DAMSONS = {"ingredient": "damsons", "ready": at("Wed 10:00")}
WHO = "early-cook"


def at_the_door() -> Script:
    """Wednesday 07:30: damsons are expected at ten; milk and yolk have been received."""
    script = in_a_planned_kitchen(limits=shipped_limits().limits, supplies=[DAMSONS])
    milk = {"ingredient": "whole milk", "quantity": "6 L", "keep": "cold", "celsius": 3.5, "supplier": "Dairy"}
    script.give(
        "Wed 07:00",
        "receive_delivery",
        outcome="accepted",
        person=WHO,
        supplier_lot="D-118",
        use_by=at("Sun 12:00"),
        place="fridge",
        **milk,
    )
    yolk = {"ingredient": "egg yolk", "quantity": "1 kg", "keep": "cold", "celsius": 4.0, "supplier_lot": "E-7"}
    script.give(
        "Wed 07:05", "receive_delivery", outcome="accepted", person=WHO, use_by=at("Fri 12:00"), place="fridge", **yolk
    )
    script.give("Wed 07:30", "tick")
    return script


def churned_and_tempered() -> Script:
    """Saturday 10:41: base C1 went into custard B1, of which the market stall has its share."""
    script = with_base_aged(at_the_door())
    cook(script, "B1.churn", "Thu 09:00", "Thu 09:30", measured={"volume_l": 4.9})
    script.give("Sat 10:20", "start_task", task="SAT-STALL.B.temper", person="counter-hand")
    script.give("Sat 10:40", "finish_task", task="SAT-STALL.B.temper", person="counter-hand")
    script.give("Sat 10:41", "start_task", task="SAT-STALL.B.hand-over", person="counter-hand")
    script.give("Sat 10:50", "finish_task", task="SAT-STALL.B.hand-over", person="counter-hand")
    return script
