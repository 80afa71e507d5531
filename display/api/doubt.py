"""Deviations, and the figures of alarms, as they are read over HTTP."""

from typing import Literal

from pydantic import Field

from display.alarm_tally import figures_of
from display.api.reading import NotThere, Query
from orchestrator.core.alarm_figures import Figures
from orchestrator.core.deviations import undecided
from orchestrator.core.ids import DeviationId, LotCode
from orchestrator.core.models.deviation import Deviation
from orchestrator.core.state import State
from orchestrator.gateway.door import Gateway


class DeviationTold(Deviation):
    """A deviation, and the lots about which somebody must still decide."""

    undecided: tuple[LotCode, ...]


class DeviationsAsked(Query):
    """Which deviations."""

    open: Literal["true", "false"] | None = Field(None, description="true: only open ones; false: only closed ones")


class FiguresAsked(Query):
    """Of how long."""

    days: Literal["1", "7", "30"] = Field("7", description="of how many days")


def deviations(gateway: Gateway, _: dict[str, str], query: DeviationsAsked) -> list[DeviationTold]:
    """All of them, in the order in which they were opened; with ``open=true`` or ``false`` only those."""
    state, wanted = gateway.snapshot().state, query.open
    return [
        _told(state, deviation)
        for deviation in state.deviations.values()
        if wanted is None or deviation.open is (wanted == "true")
    ]


def deviation(gateway: Gateway, path: dict[str, str], _: Query) -> DeviationTold:
    """One of them.

    Raises:
        NotThere: there is none of that id.
    """
    state = gateway.snapshot().state
    found = state.deviations.get(DeviationId(path["deviation"]))
    if found is None:
        raise NotThere(f"no deviation {path['deviation']!r}; see /api/v1/deviations")
    return _told(state, found)


def alarm_figures(gateway: Gateway, _: dict[str, str], query: FiguresAsked) -> Figures:
    """Of the last day, week or month."""
    return figures_of(gateway, gateway.snapshot(), int(query.days))


def _told(state: State, found: Deviation) -> DeviationTold:
    return DeviationTold.model_construct(**dict(found), undecided=undecided(state, found))
