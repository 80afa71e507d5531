"""Sentences put together from facts: windows, trends, orders, refusals; those of alarms: `alarm_sentences`."""

import re
from collections.abc import Iterable
from datetime import datetime

from markupsafe import Markup

from display import day_marks
from display.alarm_sentences import AlarmSentences
from display.drawing import live_state
from display.formats import MINUS, THIN, Formats
from display.odds import UNLIKELY, odds
from display.words import AsPrinted, Words
from orchestrator.core.allergens import named_allergens
from orchestrator.core.errors import Refusal
from orchestrator.core.models import Kitchen, Outlook, TaskKind, Upkeep
from orchestrator.core.models.risk import Cause, WindowChance
from orchestrator.core.models.verdict import LimitVerdict
from orchestrator.core.views.figures import ChanceChange, DayMarkView
from orchestrator.core.views.models import OrderView, TaskView, TemperatureView, WindowState, WindowView

STEADY_C_PER_MIN = 0.05
"""Slower than this is called steady: it is within the noise of a kitchen probe."""
OLD_S = 90
"""Readings younger than this are told in seconds."""


class Sentences(AlarmSentences):
    """For one language and one kitchen, at one instant."""

    def __init__(self, words: Words, formats: Formats, now: datetime, kitchen: Kitchen | None = None) -> None:
        super().__init__(words, formats, now)
        self._kitchen = kitchen

    def allergens(self, words: Iterable[str]) -> str:
        """Allergens as the kitchen's lists name them, the group beside the kind: 'milk, hazelnut (tree nut)'."""
        if self._kitchen is None:
            return ", ".join(map(self._w.tell, words))
        return ", ".join(self._w.tell(one.text) for one in named_allergens(self._kitchen, words))

    def window_head(self, window: WindowView, temperature: TemperatureView | None = None) -> str:
        """The state word and its countdown: 'Opens in 6 min'."""
        w, length, now = self._w, self._f.between, self._now
        match live_state(window, now):
            case WindowState.SHUT | WindowState.OPENING if window.opens is not None:
                if temperature and temperature.arrival_from and temperature.arrival_to:
                    start, end = temperature.arrival_from, temperature.arrival_to
                    return w("opens_between", start=self._f.clock(start), end=self._f.clock(end))
                return w("opens_in", time=length(now, window.opens))
            case WindowState.CLOSING if window.closes is not None:
                return w("shuts_in", time=length(now, window.closes))
            case WindowState.AT_RISK:
                return w("at_risk", time=self._f.length(window.late_min))
            case WindowState.MISSED:
                late = (now - window.closes).total_seconds() / 60 if window.closes else window.late_min
                return w("missed_by", time=self._f.length(max(late, 0)))
            case _:
                return w("open_now")

    def window_facts(self, window: WindowView, temperature: TemperatureView | None = None) -> str:
        """Plan and latest: 'plan 10:00 · by 11:40'."""
        if live_state(window, self._now) is WindowState.MISSED:
            return self._w("was_due", time=self._when(window.closes))
        parts = []
        if temperature and temperature.target_c is not None and temperature.arrival_from:
            parts.append(self._w("to_celsius", celsius=self._f.limit(temperature.target_c)))
        elif window.planned:
            parts.append(self._w("plan_at", time=self._when(window.planned)))
        if window.closes:
            parts.append(self._w("by_at", time=self._closes(window.closes, window.planned)))
        return " · ".join(parts)

    def _closes(self, closes: datetime, planned: datetime | None) -> str:
        """The clock alone on the day that was just named: the line is short."""
        if planned is not None and self._f.local(planned).date() == self._f.local(closes).date():
            return self._f.clock(closes)
        return self._f.when_short(closes, self._now)

    def bar_label(self, window: WindowView) -> str:
        """The whole bar in words, for who does not see it."""
        state = live_state(window, self._now).value
        opens, planned, closes = (self._when(x) for x in (window.opens, window.planned, window.closes))
        return self._w("bar_label", state=state, opens=opens, planned=planned, closes=closes)

    def trend(self, temperature: TemperatureView) -> str:
        """'rising 1.6° a minute'."""
        if temperature.by_hand and temperature.measured_at:
            return self._w("measured_by_hand", time=self._when(temperature.measured_at))
        return self.slope(temperature.slope_c_per_min)

    def slope(self, slope: float | None) -> str:
        """'rising 1.6° a minute'; nothing when it is not known."""
        if slope is None:
            return ""
        if abs(slope) < STEADY_C_PER_MIN:
            return self._w("steady")
        return self._w("rising" if slope > 0 else "falling", rate=self._f.rate(slope))

    def ago(self, instant: datetime) -> str:
        """'20 s ago': the age of a reading."""
        seconds = max(0, int((self._now - instant).total_seconds()))
        age = f"{seconds}{THIN}{self._w('seconds')}" if seconds < OLD_S else self._f.length(seconds / 60)
        return self._w("ago", time=age)

    def arrival(self, temperature: TemperatureView) -> str:
        """In how long the target is expected: '4–6 min'."""
        if temperature.arrival_from is None or temperature.arrival_to is None:
            return self._w("arrival_unknown")
        first, last = (
            max(0, int((at - self._now).total_seconds() // 60))
            for at in (temperature.arrival_from, temperature.arrival_to)
        )
        if last < 1:
            return self._w("within_a_minute")
        return f"{first}–{self._f.length(last)}" if first < last < 60 else self._f.length(last)

    def countdown(self, until: datetime) -> str:
        """'1:52' to the second within ten minutes, then '16 min' and '3 h 18'; with a plus once it is past.

        Never '16:06': beside a clock that reads as a time of day.
        """
        seconds = (until - self._now).total_seconds()
        whole = int(abs(seconds))
        text = f"{whole // 60}:{whole % 60:02d}" if whole < 600 else self._f.length(whole / 60)
        return text if seconds >= 0 else f"+{text}"

    def figure(self, text: str) -> Markup:
        """A length as a figure for two metres: its units smaller than its numbers."""
        parts = text.split(THIN)
        spaced = [
            p if any(c.isdigit() for c in p) else Markup("<small>{}{}{}</small>").format(THIN, p, THIN) for p in parts
        ]
        return Markup("").join(spaced)

    def verdict_margin(self, verdict: LimitVerdict) -> str:
        """By how much a limit is kept or missed, such as 'margin +1.4 °C'; empty when neither is told."""
        said = []
        if verdict.margin_degrees is not None:
            degrees = self._f.written(f"{verdict.margin_degrees:+.1f}")
            said.append(self._w("verdict_margin", degrees=degrees, unit=verdict.unit))
        if verdict.margin_min is not None:
            whole = round(verdict.margin_min)
            said.append(f"{self._f.written('-') if whole < 0 else '+'}{self._f.length(whole)}")
        return ", ".join(said)

    def verdict_brief(self, verdict: LimitVerdict, shown: TemperatureView | None = None) -> str:
        """The same in a few words for beside the probe; whatever is in doubt goes before the margin.

        While minutes are held, degrees to go would be those of the coldest reading of the best of them: not what the
        figure shown beside it says, so they are not told.
        """
        status = self._w(f"verdict_{verdict.status}")
        margin = ""
        holding = shown is not None and shown.reached_at and shown.hold_min and not shown.met_at
        untold = holding and verdict.status == "not yet" and not verdict.by_hand
        if verdict.margin_degrees is not None:
            degrees = self._f.written(f"{verdict.margin_degrees:+.1f}")
            margin = "" if untold else self._w("verdict_brief_degrees", degrees=degrees, unit=verdict.unit)
        elif verdict.margin_min is not None:
            margin = self.verdict_margin(verdict)
        if verdict.within_tolerance:
            margin = self._w("verdict_brief_tolerance")
        if verdict.by_hand:
            margin = self._w("verdict_brief_hand", margin=margin).lstrip(", ")
        short = verdict.status == "not yet" and margin.startswith("\u2212")
        key = "verdict_brief_to_go" if short else "verdict_brief_margin" if margin else "verdict_brief"
        return self._w(key, status=status, margin=margin.removeprefix("\u2212") if short else margin)

    def day_mark(self, mark: DayMarkView, lot: str, *, brief: bool = False) -> str:
        """Which day of how many it is and until when it may be used; unless brief, with the text that applied."""
        return (day_marks.brief if brief else day_marks.whole)(self._w, self._f, mark, lot)

    def open_gates(self, task: TaskView) -> list[str]:
        """What keeps a step from being started: gates that fail, each with what it was judged on, and what follows."""
        said = []
        for gate in task.gates:
            if gate.met is False and gate.celsius is not None:
                said.append(self._w("gate_not_met", gate=gate.says, celsius=self._f.temperature(gate.celsius)))
            elif gate.met is False:
                said.append(self._w.tell(gate.says))
            said += [self._w("gate_awaits", ingredient=self._w.tell(gate.awaits))] if gate.waited_for else []
        follow_on = self.follow_on(task)
        return [*said, follow_on] if follow_on else said

    def follow_on(self, task: TaskView) -> str:
        """Why a start now would leave what follows without a machine, and from when on it would not."""
        found = task.follow_on
        if found is None:
            return ""
        start, needed, free = (self._when(at) for at in (found.start_from, found.needed_by, found.free_at))
        key = "follow_on_in_the_way" if found.in_the_way else "follow_on"
        return self._w(key, start=start, title=found.title, needed=needed, machine=found.machine, free=free)

    def target(self, task: TaskView) -> str:
        """What a step must reach: 'at most −15 °C'; empty when nothing is asked."""
        target = task.target
        if target is None:
            return ""
        if target.at_most is not None:
            return self._w("at_most", celsius=self._f.limit(target.at_most))
        return self._w("at_least", celsius=self._f.limit(target.at_least or 0.0))

    def instructions(self, task: TaskView) -> list[str]:
        """What to do, line by line; of a clean-down, for whom it is and what must be gone."""
        if task.kind is not TaskKind.CLEAN:
            return [self._w.tell(line) for line in task.method]
        following = task.lot or task.order or ""
        before, name = task.after_lot or "", task.recipe_name.lower()
        if task.upkeep is Upkeep.PRECOOL:
            return [self._w("precool_before", next=following, name=name)]
        if task.upkeep is Upkeep.DAY_END:
            first = self._w("clean_night", before=before)
        elif before:
            first = self._w("clean_between", before=before, next=following, name=name)
        else:
            first = self._w("clean_before", next=following, name=name)
        gone = self.allergens(task.removes)
        said = [first, self._w("clean_removes", allergens=gone) if gone else self._w("clean_grows")]
        return [*said, self._w("clean_colour", colour=task.removes_colour)] if task.removes_colour else said

    def heeds(self, task: TaskView) -> list[str]:
        """What to beware of: never above, and the cautions of step and machine."""
        said = []
        if task.temperature is not None and task.temperature.ceiling_c is not None:
            said.append(self._w("never_above", celsius=self._f.limit(task.temperature.ceiling_c)))
        # The lot's own allergens are named beside it: a caution that says no more is not said twice.
        known = {name.lower() for name in task.allergens}
        for caution in task.cautions:
            head, _, names = caution.partition(":")
            listed = {name.strip().lower() for name in names.split(",")}
            if not (head.strip().lower() == "allergens" and listed <= known):
                said.append(caution)
        # Step and machine often say the same: the longer one is enough.
        whole = [one for one in said if not any(other != one and other.startswith(one) for other in said)]
        return [self._w.tell(one) for one in whole]

    def outlook(self, order: OrderView) -> tuple[str, bool]:
        """What the plan says of an order, and whether that is trouble: 'At risk · 40 min late'."""
        w, outlook = self._w, order.outlook
        if order.handed_over_at is not None:
            return w("outlook_over", time=self._when(order.handed_over_at)), False
        if outlook is None:
            return w("outlook_none"), False
        if not outlook.met:
            return w("outlook_unmet"), True
        if outlook.late_min > 0:
            return w("outlook_late", time=self._f.length(outlook.late_min)), True
        return self._on_time(outlook)

    def _on_time(self, outlook: Outlook) -> tuple[str, bool]:
        """On time by the plan; what is unlikely all the same is trouble."""
        w, spare = self._w, outlook.margin_min > 0
        says = w("outlook_on_time", time=self._f.length(outlook.margin_min)) if spare else w("outlook_just")
        if outlook.chance is None:
            return says, False
        chance = odds(w, outlook.chance)
        if outlook.chance < UNLIKELY:
            return w("outlook_unlikely", chance=chance), True
        return w("outlook_chance", outlook=says, chance=chance), False

    def chance(self, outlook: Outlook, runs: int) -> tuple[str, list[str]]:
        """What the simulation says of an order, and what that hangs on; empty where nobody simulated."""
        low, high = outlook.chance_low, outlook.chance_high
        if outlook.chance is None or low is None or high is None or not runs:
            return "", []
        told = {"share": self._percent(outlook.chance), "low": self._percent(low), "high": self._percent(high)}
        return self._w("chance_share", runs=self._f.thousands(runs), **told), self.causes(outlook.causes)

    def chance_change(self, change: ChanceChange) -> str:
        """'Market stall: likely, 9 in 10 → about even, 5 in 10'; empty where both are the same word."""
        w, proposed = self._w, odds(self._w, change.proposed)
        if change.present is None:
            return w("proposal_chance_alone", customer=change.customer, proposed=proposed)
        present = odds(w, change.present)
        if present == proposed:
            return ""
        return w("proposal_chance", customer=change.customer, present=present, proposed=proposed)

    def causes(self, causes: Iterable[Cause]) -> list[str]:
        """'Harden basil custard (B1.harden): likely, 9 in 10 if it takes its usual minutes or less'."""
        w = self._w
        return [w("chance_cause", title=c.title, task=c.task, chance=odds(w, c.chance_if_usual)) for c in causes]

    def shaky(self, window: WindowChance) -> str:
        """'Harden basil custard (B1.harden): window kept: likely, 8 in 10'."""
        return self._w("shaky_line", title=window.title, task=window.task, chance=odds(self._w, window.chance))

    def _percent(self, share: float) -> str:
        """Rounded down: all is said of every run only."""
        return self._w("percent", value=int(share * 100 + 1e-9))

    def refusal(self, refusal: Refusal, title: str) -> tuple[str, str]:
        """Why an act was not carried out, and what would be accepted."""
        status = re.sub(r"(?<!\w)-(?=\d)", MINUS, self._w.tell(refusal.status.rstrip(".")))
        says = self._w("refused", thing=title, status=AsPrinted(status))
        remedy = self._w.tell(refusal.remedy)
        remedy = remedy[:1].upper() + remedy[1:]
        return says, remedy if remedy.endswith((".", "!", "?")) or not remedy else f"{remedy}."
