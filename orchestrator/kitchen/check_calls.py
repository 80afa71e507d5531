"""People who can be called: on the crew list, each once, and reachable for what is critical at any hour."""

from collections.abc import Iterator
from typing import Final

from orchestrator.core.models.alarm import Priority
from orchestrator.core.models.calls import QuietHours
from orchestrator.kitchen.draft import Draft
from orchestrator.kitchen.faults import one_of

_DAY: Final = 24 * 60


def check_calls(draft: Draft) -> None:
    """Names are known, nobody stands there twice, quiet hours leave a day its hours, critical alarms always call."""
    _names(draft)
    for entry in draft.callees:
        quiet = entry.value.quiet if entry.value else ()
        same = [number for number, hours in enumerate(quiet) if hours.start == hours.end]
        for index in same:
            what = f"quiet hours from {quiet[index].start} to {quiet[index].end} would be the whole day"
            entry.add(("quiet", index), what, "write two different times, or leave them out")
        if not same and len({minute for hours in quiet for minute in _minutes(hours)}) == _DAY:
            entry.add(("quiet",), "the quiet hours together are the whole day", "leave some of it out")
    document = next((one for one in draft.documents if one.file == "notify.yaml"), None)
    if document is not None and document.readable and Priority.CRITICAL not in draft.calls.priorities:
        document.add(("priorities",), "critical alarms would call nobody", "add critical to the list")


def _minutes(hours: QuietHours) -> Iterator[int]:
    """Minutes of the day that lie in quiet hours."""
    start, end = (int(clock[:2]) * 60 + int(clock[3:]) for clock in (hours.start, hours.end))
    return (minute % _DAY for minute in range(start, end if start < end else end + _DAY))


def _names(draft: Draft) -> None:
    crew = {name for entry in draft.crew if (name := entry.raw_text("id")) is not None}
    complete = "crew" in draft.listed and len(crew) == len(draft.crew)
    seen: dict[str, int] = {}
    for number, entry in enumerate(draft.callees):
        if entry.value is None:
            continue
        if entry.value.crew is not None and complete and entry.value.crew not in crew:
            what = f"{entry.value.crew!r} is not one of the crew"
            entry.add(("crew",), what, f"{one_of(crew, entry.value.crew)} Or write `role:` for somebody else")
        first = seen.setdefault(entry.value.id, number)
        if first != number:
            what = f"{entry.value.crew or entry.value.role!r} is called twice, as person {first + 1} already"
            entry.add((), what, "keep one of the two")
