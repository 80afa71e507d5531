"""A kitchen in which probes have been checked, doubted, corrected and carried about."""

import math
from datetime import timedelta

from orchestrator.core.alarms import alarm_events
from orchestrator.core.commands import ApplyOffset, AssignProbe, CheckProbe
from orchestrator.core.errors import Refusal
from orchestrator.core.ids import CommandId, CrewId, EquipmentId, ProbeId
from orchestrator.core.models import ProbeFact
from orchestrator.core.models.health import HealthFinding, Sign
from orchestrator.core.probe_events import ProbeWashAsked
from orchestrator.ports.event_log import Reading
from tests.fakes.kitchen_gateway import FakePractice, KitchenGateway
from tests.fakes.kitchens import at
from tests.fakes.states import base_ageing

HOB, FRIDGE = ProbeId("hob-1-core"), ProbeId("fridge-air")
MANAGER = CrewId("manager")


class ProbeGateway(KitchenGateway):
    """With two hours of readings of the fridge's probe."""

    def readings(self, probe, since, until):  # type: ignore[no-untyped-def]
        """Every two minutes."""
        if probe != FRIDGE:
            return super().readings(probe, since, until)
        minutes = int((until - since).total_seconds() // 120)
        instants = [since + timedelta(minutes=2 * n) for n in range(minutes)]
        return [
            Reading(probe, round(3.2 + 0.8 * math.sin(n / 5), 1), i, i, battery_percent=17.0)
            for n, i in enumerate(instants)
        ]


def gateway() -> ProbeGateway:
    """Wednesday afternoon: the hob's probe failed its check and was not washed, the fridge's may not be believed."""
    now = at("Wed 15:00")
    finding = HealthFinding(sign=Sign.DRIFTING, since=at("Wed 09:00"), amount=1.3, limit=1.0, unit="degrees")
    battery = HealthFinding(sign=Sign.BATTERY_LOW, since=at("Wed 13:00"), amount=17, limit=20, unit="percent")
    fact = ProbeFact(
        probe=FRIDGE,
        equipment=EquipmentId("fridge"),
        celsius=3.4,
        measured_at=now - timedelta(minutes=1),
        health=(finding, battery),
        cannot_say=(("clock wrong", "no time sent"), ("stuck", "never changed")),
    )
    found = ProbeGateway(base_ageing(), now, facts={FRIDGE: fact}, practice=FakePractice())
    for name, shown in (("good", 0.2), ("failed", 1.4)):
        command = CheckProbe(command_id=CommandId(name), person=MANAGER, probe=HOB, point="ice", shown_c=shown)
        assert not isinstance(found.submit(command), Refusal)
    found.happen(
        ProbeWashAsked(
            probe=HOB,
            at=at("Wed 14:40"),
            task=found.state.plan.tasks[0].id,  # type: ignore[union-attr]
            lot="S1",  # type: ignore[arg-type]
            after=("C1",),  # type: ignore[arg-type]
            allergens=("egg", "milk"),
        )
    )
    found.happen(*alarm_events(found.state, found.facts, now))
    return found


def corrected() -> ProbeGateway:
    """The same, with the offset confirmed, and another probe put into the food of a step."""
    found = gateway()
    offset = ApplyOffset(command_id=CommandId("offset"), person=MANAGER, probe=HOB, offset_c=-1.4)
    assert not isinstance(found.submit(offset), Refusal)
    moved = AssignProbe(command_id=CommandId("move"), person=MANAGER, probe=HOB, equipment=EquipmentId("ice-bath"))
    assert not isinstance(found.submit(moved), Refusal)
    return found


__all__ = ["FRIDGE", "HOB", "MANAGER", "corrected", "gateway"]
