"""How messages of foreign thermometers are understood: topic filters and pointers that make sense."""

import re

from orchestrator.core.models import TopicMapping
from orchestrator.kitchen.draft import Entry

_POINTER = re.compile(r"(/([^~/]|~[01])*)*")
"""RFC 6901, section 3."""


def check_mapping(entry: Entry[TopicMapping]) -> None:
    """A mapping names the probe in one way, the value in one unit, and its topic filter and pointers are valid."""
    mapping = entry.value
    if mapping is None:
        return
    problem = _filter_problem(mapping.topic)
    if problem:
        entry.add(("topic",), f"{mapping.topic!r} is no topic filter: {problem}", "write it like sensors/+/temperature")
    if (mapping.probe is None) == (mapping.probe_level is None):
        remedy = "give `probe`, or `probe_level` for the level of the topic that names it"
        entry.add((), "a mapping names its probe in exactly one way", remedy)
    elif mapping.probe_level is not None:
        levels = mapping.topic.split("/")
        if not 0 <= mapping.probe_level < len(levels) or levels[mapping.probe_level] != "+":
            plus = [str(index) for index, level in enumerate(levels) if level == "+"]
            remedy = f"the levels with + are: {', '.join(plus)}" if plus else "put a + where the probe's name stands"
            entry.add(("probe_level",), f"level {mapping.probe_level} of {mapping.topic!r} is no +", remedy)
    if (mapping.celsius is None) == (mapping.fahrenheit is None):
        remedy = "give `celsius` or `fahrenheit`, a JSON Pointer to the number"
        entry.add((), "a mapping points at the value in exactly one unit", remedy)
    for key in ("celsius", "fahrenheit", "measured_at", "seq"):
        pointer = getattr(mapping, key)
        if pointer is not None and not _POINTER.fullmatch(pointer):
            remedy = 'begin with a slash, like /temperature/value, or write "" for the whole payload'
            entry.add((key,), f"{pointer!r} is no JSON Pointer", remedy)


def _filter_problem(topic: str) -> str:
    """Why a text is no MQTT topic filter, or nothing. Source: MQTT 3.1.1, section 4.7."""
    if not topic or "\0" in topic:
        return "it is empty" if not topic else "it holds a zero character"
    levels = topic.split("/")
    if any("+" in level and level != "+" for level in levels):
        return "+ must fill a whole level"
    if any("#" in level for level in levels[:-1]) or ("#" in levels[-1] and levels[-1] != "#"):
        return "# must be the whole last level"
    return ""
