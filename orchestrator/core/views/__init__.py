"""What the screens and the API show: facts, no words. Builders take (state, facts, now) and nothing else."""

from orchestrator.core.views.board import board_view
from orchestrator.core.views.buying import pull_list, to_order, weigh_up
from orchestrator.core.views.calls import calls_view, tonight_view
from orchestrator.core.views.doubt import place_views
from orchestrator.core.views.durations import duration_views
from orchestrator.core.views.labels import label_view
from orchestrator.core.views.lots import lot_views
from orchestrator.core.views.make_next import make_next
from orchestrator.core.views.orders import order_views
from orchestrator.core.views.probes import probe_views
from orchestrator.core.views.station import station_view
from orchestrator.core.views.task import task_view

__all__ = [
    "board_view",
    "calls_view",
    "duration_views",
    "label_view",
    "lot_views",
    "make_next",
    "order_views",
    "place_views",
    "probe_views",
    "pull_list",
    "station_view",
    "task_view",
    "to_order",
    "tonight_view",
    "weigh_up",
]
