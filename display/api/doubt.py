"""Deviations, and the figures of alarms, as they are read over HTTP."""

from display.alarm_tally import DAYS, figures_of
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


def deviations(gateway: Gateway, _: dict[str, str], query: Query) -> list[DeviationTold]:
    """All of them, in the order in which they were opened; with ``open=true`` or ``false`` only those."""
    state, wanted = gateway.snapshot().state, query.get("open", "")
    if wanted not in ("", "true", "false"):
        raise NotThere(f"open is {wanted!r}; it is true or false, or left out")
    return [
        _told(state, deviation)
        for deviation in state.deviations.values()
        if not wanted or deviation.open is (wanted == "true")
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


def alarm_figures(gateway: Gateway, _: dict[str, str], query: Query) -> Figures:
    """Of the last day, week or month.

    Raises:
        NotThere: there are none of so many days.
    """
    days = query.get("days", "7")
    if days not in {str(known) for known in DAYS}:
        raise NotThere(f"no figures of {days!r} days; there are those of {', '.join(map(str, DAYS))}")
    return figures_of(gateway, gateway.snapshot(), int(days))


def _told(state: State, found: Deviation) -> DeviationTold:
    return DeviationTold.model_construct(**dict(found), undecided=undecided(state, found))
