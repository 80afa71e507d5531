"""Words of probes that may not be believed, their checks and where they are put; part of the tables of `words`."""

from collections.abc import Mapping
from typing import Final

ENGLISH_HEALTH: Final[Mapping[str, str]] = {
    # -- alarms
    "alarm_probe_doubted": "Probe not to be believed: {title}",
    "alarm_probe_doubted_missed": "Probe not to be believed: {title}",
    "alarm_probe_battery": "Battery low: {title}",
    "alarm_probe_battery_missed": "Battery low: {title}",
    "alarm_probe_check_due": "Check of a probe due: {title}",
    "alarm_probe_check_due_missed": "Check of a probe due: {title}",
    "alarm_probe_unwashed": "Was it washed? {title}",
    "alarm_probe_unwashed_missed": "Was it washed? {title}",
    "help_say_washed": "Wash and sanitise it, and say so on its page",
    "help_look_at_lots": "Look at each lot named; in doubt put it on hold by reporting a problem",
    "help_check_probe": "Check it in ice water, or take another probe",
    "help_set_probe": "Set its unit and clock right, then check it",
    "help_swap_back": "Put both probes where they belong, or say where they are",
    "help_change_battery": "Change its battery",
    # -- health
    "health_well": "Nothing known to be wrong",
    "health_doubted": "Not to be believed",
    "health_counts_not": "Meets no target, opens no gate.",
    "health_since": "since {time}",
    "health_cannot_say": "What cannot be known",
    "sign_stuck": "Reads the very same for {amount} while it should move: stuck, not in the food, or nothing heats or "
    "cools",
    "sign_noisy_scatter": "Scatters by {amount} from one reading to the next; told from {limit} on",
    "sign_noisy_spikes": "In its last 20 readings {amount} one stands alone, far from both neighbours: a loose contact",
    "sign_drifting": "Has moved by {amount} against the others in the same air; told from {limit} on",
    "sign_drifting_one of two": "Has moved by {amount} against {other} in the same air: one of the two drifts",
    "sign_impossible rate": "Leapt {amount} in its last 20 readings faster than air there can change",
    "sign_unit mistaken_fahrenheit as celsius": (
        "Reads {amount}, which cannot be there. Taken for Fahrenheit that is sent as Celsius it is {limit}: the "
        "likelier mistake"
    ),
    "sign_unit mistaken_celsius as fahrenheit": (
        "Reads {amount}, which cannot be there. Taken for Celsius that is sent as Fahrenheit it is {limit}: the "
        "likelier mistake"
    ),
    "sign_clock wrong_ahead": "Its clock is {amount} ahead",
    "sign_clock wrong_behind": "Its clock is {amount} behind",
    "sign_clock wrong_stepping back": "Its clock stepped back by {amount}",
    "sign_battery low": "Battery at {amount}; told from {limit} down",
    "sign_swapped": "Reads {amount} outside what its place should have; it and {other} fit each other's places",
    "sign_check failed": "Off by {amount} at its last check; {limit} is allowed",
    "cannot_few readings": "Noise: too few readings yet",
    "cannot_never changed": "Stuck: it has not changed yet, so its steps are not known",
    "cannot_not told": "Battery: this probe does not tell",
    "cannot_no time sent": "Clock: this probe sends no time of its own",
    "cannot_alone": "Drift: no other probe in the same air; a check tells",
    "cannot_nothing expected": "Place: nothing is expected of it now",
    "times": "{count} times",
}
