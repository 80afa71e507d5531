"""People who are there long enough: shifts in order, and hands for every attended portion."""

import itertools
import math
from datetime import datetime, timedelta

from orchestrator.core.models import CrewMember, Step
from orchestrator.kitchen.check_capacity import losses
from orchestrator.kitchen.check_windows import in_words
from orchestrator.kitchen.draft import Draft, RecipeDraft

Span = tuple[datetime, datetime]


def check_shifts(draft: Draft) -> None:
    """Nobody has two shifts at once."""
    for entry in draft.crew:
        if entry.value is None:
            continue
        for first, second in itertools.pairwise(entry.value.shifts):
            if second.start < first.end:
                local = second.start.astimezone(draft.zone)
                what = f"{entry.value.id!r} has two shifts at once on {local:%a %d %b %Y}, {local:%H:%M}"
                entry.add(("shifts",), what, "let one shift end before the next begins")


def check_attended(draft: Draft) -> None:
    """Every attended portion fits between a shift's beginning, its breaks and its end, for enough people."""
    for recipe in draft.recipes:
        for index, step in recipe.steps.items():
            if step.attended and step.skill is not None:
                _portions(draft, recipe, index, step)
                _hands(draft, recipe, index, step)
    for entry in draft.equipment:
        cleaning = entry.value.cleaning if entry.value else None
        if cleaning is None or not _skilled(draft, cleaning.skill):
            continue
        longest = longest_together(draft, cleaning.skill, 1)
        if longest < max(cleaning.rinse, cleaning.full):
            what = f"a clean-down of {in_words(max(cleaning.rinse, cleaning.full))} fits into no shift"
            remedy = f"nobody with the skill {cleaning.skill!r} works longer than {in_words(longest)} without a break"
            entry.add(("cleaning",), what, remedy)
    for entry in draft.equipment:
        night = entry.value.day_end if entry.value else None
        if night is None or not _skilled(draft, night.skill):
            continue
        longest = longest_together(draft, night.skill, 1)
        if longest < night.minutes:
            what = f"a day-end clean of {in_words(night.minutes)} fits into no shift"
            remedy = f"nobody with the skill {night.skill!r} works longer than {in_words(longest)} without a break"
            entry.add(("day_end",), what, remedy)


def _portions(draft: Draft, recipe: RecipeDraft, index: int, step: Step) -> None:
    """Portions of one step do not repeat or overlap."""
    kinds = [portion.when for portion in step.attended]
    where = ("steps", index, "attended")
    if len(set(kinds)) < len(kinds) or ("throughout" in kinds and len(kinds) > 1):
        what = f"the attended portions of {step.id!r} overlap"
        recipe.add(where, what, "give throughout alone, or start and end once each")
        return
    total = sum(portion.minutes or 0 for portion in step.attended)
    if step.duration is None or "throughout" in kinds:
        return
    fastest = _on_fastest(draft, step, step.duration.usual)
    if total > fastest:
        where_at = " on its fastest machine" if fastest < step.duration.usual else ""
        what = f"{step.id!r} is attended for {in_words(total)}, longer than its usual {in_words(fastest)}{where_at}"
        recipe.add(where, what, "shorten the portions, or write `when: throughout`")


def _on_fastest(draft: Draft, step: Step, usual: int) -> int:
    """The fewest minutes that a step takes on any machine of its kind."""
    machines = [entry.value for entry in draft.equipment if entry.value is not None]
    return min((machine.minutes(usual) for machine in machines if machine.kind == step.equipment), default=usual)


def _hands(draft: Draft, recipe: RecipeDraft, index: int, step: Step) -> None:
    assert step.skill is not None  # the caller sees to it
    people = _skilled(draft, step.skill)
    if not people or any(entry.value is None for entry in draft.crew):
        return  # a fault of its own already
    if len(people) < step.hands:
        what = f"{step.id!r} needs {step.hands} people with the skill {step.skill!r}, and there is {len(people)}"
        recipe.add(("steps", index, "hands"), what, "teach another the skill, or lower `hands`")
        return
    needed = max(_portion_min(draft, recipe, step, number) for number in range(len(step.attended)))
    longest = longest_together(draft, step.skill, step.hands)
    if needed > longest:
        who = f"nobody with the skill {step.skill!r} works"
        if step.hands > 1:
            who = f"no {step.hands} people with the skill {step.skill!r} work together"
        what = f"the attended work of {step.id!r} lasts {in_words(needed)}, and {who} so long without a break"
        remedy = f"the longest stretch is {in_words(longest)}: split the step, or lengthen a shift"
        recipe.add(("steps", index, "attended"), what, remedy)


def _portion_min(draft: Draft, recipe: RecipeDraft, step: Step, number: int) -> int:
    portion = step.attended[number]
    if portion.minutes is not None:
        return portion.minutes
    if step.duration is not None:
        return _on_fastest(draft, step, step.duration.usual)
    if step.cycle is None:
        return 0
    pieces = recipe.batch.most.value + losses(recipe) if recipe.batch is not None else 1.0
    return _on_fastest(draft, step, math.ceil(pieces / step.cycle.pieces) * step.cycle.each)


def _skilled(draft: Draft, skill: str) -> list[CrewMember]:
    return [entry.value for entry in draft.crew if entry.value is not None and skill in entry.value.skills]


def free_spans(draft: Draft, member: CrewMember) -> list[Span]:
    """When somebody works, breaks left out, within the days that are planned."""
    spans: list[Span] = []
    for shift in member.shifts:
        edges = [shift.start, *(edge for rest in shift.breaks for edge in (rest.start, rest.end)), shift.end]
        spans.extend(zip(edges[::2], edges[1::2], strict=True))
    if draft.header is None:
        return spans
    first = draft.header.planning_start
    last = first + timedelta(days=draft.header.horizon_days)
    clipped = [(max(start, first), min(end, last)) for start, end in spans]
    return [(start, end) for start, end in clipped if start < end]


def longest_together(draft: Draft, skill: str, hands: int) -> int:
    """Minutes of the longest stretch in which so many people with a skill work at once, the same all along."""
    longest = 0
    spans = [free_spans(draft, member) for member in _skilled(draft, skill)]
    for chosen in itertools.combinations(spans, hands):
        for combination in itertools.product(*chosen):
            start, end = max(span[0] for span in combination), min(span[1] for span in combination)
            longest = max(longest, int((end - start).total_seconds() // 60))
    return longest
