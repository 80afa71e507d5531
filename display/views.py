"""The views a screen is rendered from, computed from one frozen snapshot; tests hand in canned ones."""

from collections.abc import Sequence
from typing import Protocol

from orchestrator.core import views as core_views
from orchestrator.core.ids import StationId, TaskId
from orchestrator.core.views.board_models import BoardView
from orchestrator.core.views.models import LotView, OrderView, ProbeView, StationView, TaskView
from orchestrator.gateway.door import Snapshot


class Views(Protocol):
    """One method per view builder of core. Raises KeyError for a station or task that is not there."""

    def station(self, snapshot: Snapshot, station: StationId) -> StationView:
        """Everything on one station screen."""

    def task(self, snapshot: Snapshot, task: TaskId) -> TaskView:
        """One task with all that a cook needs."""

    def board(self, snapshot: Snapshot) -> BoardView:
        """The whole kitchen over its days."""

    def probes(self, snapshot: Snapshot) -> Sequence[ProbeView]:
        """All probes and what they last said."""

    def lots(self, snapshot: Snapshot) -> Sequence[LotView]:
        """All lots and where they stand."""

    def orders(self, snapshot: Snapshot) -> Sequence[OrderView]:
        """All orders and their outlook."""


class CoreViews:
    """The views of a running kitchen."""

    def station(self, snapshot: Snapshot, station: StationId) -> StationView:
        """Everything on one station screen."""
        return core_views.station_view(snapshot.state, snapshot.facts, snapshot.now, station)

    def task(self, snapshot: Snapshot, task: TaskId) -> TaskView:
        """One task with all that a cook needs."""
        return core_views.task_view(snapshot.state, snapshot.facts, snapshot.now, task)

    def board(self, snapshot: Snapshot) -> BoardView:
        """The whole kitchen over its days."""
        return core_views.board_view(snapshot.state, snapshot.facts, snapshot.now)

    def probes(self, snapshot: Snapshot) -> Sequence[ProbeView]:
        """All probes and what they last said."""
        return core_views.probe_views(snapshot.state, snapshot.facts, snapshot.now)

    def lots(self, snapshot: Snapshot) -> Sequence[LotView]:
        """All lots and where they stand."""
        return core_views.lot_views(snapshot.state, snapshot.facts, snapshot.now)

    def orders(self, snapshot: Snapshot) -> Sequence[OrderView]:
        """All orders and their outlook."""
        return core_views.order_views(snapshot.state, snapshot.facts, snapshot.now)
