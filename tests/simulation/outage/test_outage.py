"""A short outage in every test run; ten minutes by the command (`__main__`)."""

from pathlib import Path

import pytest

from orchestrator.adapters.sql_readings import SqlReadings
from tests.simulation.outage.kitchen import Outage


@pytest.mark.slow
async def test_broker_down_and_service_away_lose_no_reading_and_keep_none_twice(tmp_path: Path) -> None:
    lived = await Outage(tmp_path, per_s=50.0).live(down_s=2.0, away_s=1.0, around_s=0.5)
    assert sorted(lived.kept) == list(range(1, lived.measured + 1))
    assert lived.waited_at_probes > 10, "nothing had to wait: the broker was not away"


@pytest.mark.slow
async def test_reading_that_the_store_drops_is_missed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    keep = SqlReadings.add
    monkeypatch.setattr("tests.simulation.outage.kitchen._PATIENCE_S", 20.0)
    monkeypatch.setattr(SqlReadings, "add", lambda self, some: keep(self, [r for r in some if r.seq != 7]))
    lived = await Outage(tmp_path, per_s=50.0).live(down_s=0.2, away_s=0.2, around_s=0.3)
    assert set(range(1, lived.measured + 1)) - set(lived.kept) == {7}
