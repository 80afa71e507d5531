"""The simulated crew: people who start what is due, finish it, see alarms and decide."""

from datetime import datetime, timedelta
from typing import Final

from orchestrator.simulator.checking_in import check_in
from orchestrator.simulator.duties import duties
from orchestrator.simulator.handwork import finishes, starts
from orchestrator.simulator.people import SOONEST, Look, People

_LOOK_AT_LEAST_EVERY: Final = timedelta(minutes=5)


class Crew(People):
    """People at work, unless they are sent away so that a person plays cook."""

    def look(self, now: datetime) -> datetime:
        """Do whatever is due now.

        Returns:
            When to look again at the latest; look sooner when something has changed.
        """
        if not self.on:
            return now + _LOOK_AT_LEAST_EVERY
        wakes = [now + _LOOK_AT_LEAST_EVERY]
        state = self.gateway.snapshot().state
        if state.kitchen is not None:
            self.roster.read(state.kitchen)
        self.roster.see_who_stays(state, now)
        check_in(self, Look(now, state))
        for part in (finishes, starts, duties):
            look = Look(now, self.gateway.snapshot().state)
            if look.state.plan is not None:
                part(self, look)
            wakes += look.wakes
        if (change := self.roster.next_change(now)) is not None:
            wakes.append(change)
        return max(min(wakes), now + SOONEST)
