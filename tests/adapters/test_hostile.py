"""A part of the million hostile payloads: no crash, everything counted, memory that does not grow."""

import pytest

from orchestrator.adapters.reading_payload import Reason
from tests.adapters.hostile import messages, straight, through_broker


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_hostile_payloads_are_kept_or_counted_and_nothing_grows(seed: int) -> None:
    found = straight(4_000, seed)
    found.check()
    assert found.sent == 4_000
    assert found.kept > 100
    wanted = {Reason.MALFORMED, Reason.OVERSIZED, Reason.ABSURD, Reason.STALE, Reason.FUTURE, Reason.UNKNOWN_PROBE}
    assert {Reason(reason) for reason in found.counts.by_reason} == wanted
    # After the first half everything that is kept is there: two hundred names, one text for each reason.
    assert max(found.kib[5:]) <= max(found.kib[:5]) + 64


async def test_hostile_payloads_through_a_real_broker_stop_nothing() -> None:
    found = await through_broker(1_500, 4)
    found.check()
    assert found.sent == 1_500
    assert found.kept > 20


def test_messages_of_a_seed_are_the_same_but_for_the_time_of_day() -> None:
    one, two = list(messages(300, 9)), list(messages(300, 9))
    assert [(a.topic, a.retained) for a in one] == [(b.topic, b.retained) for b in two]
