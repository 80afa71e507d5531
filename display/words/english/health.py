"""Words of probes that may not be believed, their checks and where they are put."""

from collections.abc import Mapping
from typing import Final

WORDS: Final[Mapping[str, str]] = {
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
    # -- one probe
    "last_reading": "Last reading",
    "health_head": "Can it be believed?",
    "battery_says": "battery {percent} %",
    "show_probe": "Show the probe",
    "checks_head": "Checks",
    "checks_none": "No check is on record.",
    "check_next": "Next check due {time}.",
    "check_overdue": "Check overdue since {time}.",
    "check_when": "When",
    "check_in": "In",
    "check_read": "Probe showed",
    "check_result": "Result",
    "check_by": "By",
    "check_passed": "Passed",
    "check_failed": "Failed",
    "check_allowed": "±{tolerance} allowed",
    "check_source": "Tolerance: {source}. Local code may ask for more.",
    "check_doubts": "In doubt since the last good check: {lots}.",
    "point_ice": "ice water",
    "point_boiling": "boiling water",
    "point_reference": "reference",
    "places_head": "Where it was",
    "place_until": "until {time}",
    "offset_counts": "{offset} is added to what it measures; a person confirmed it",
    "offset_line": "{offset} added from then on; before, {before}",
    "record_doubted_by": "{name} failed its check ({shown} in place of {expected}, ±{tolerance} allowed): this lot was "
    "judged by it since its last good check",
    "record_offset": "{name}: {offset} added from then on",
    # -- acts on a probe
    "wash_head": "Washed and sanitised",
    "wash_asked": "It was in {after}, which contains {allergens}, and is in {lot}, which has none of it, since {time}. "
    "Was it washed and sanitised in between? If not, put {lot} on hold.",
    "wash_said": "It was washed and sanitised",
    "wash_last": "Last said {time} by {who}.",
    "wash_never": "Nobody has said so yet.",
    "check_head": "Check it",
    "check_point": "Held into",
    "check_ice": "Ice water, stirred: {celsius}",
    "check_boiling": "Boiling water: {celsius} at {metres} m",
    "check_reference": "The same food or water as a reference thermometer",
    "check_shown": "The probe shows ({unit})",
    "check_reference_shown": "The reference shows ({unit}), if there is one",
    "check_enter": "Enter the check",
    "check_how": "Crushed ice just covered with water, stirred, the tip in the middle, until it stands still. Boiling "
    "water: mind the steam; the day's air pressure moves it by up to about {degree}, so ice water is the better check.",
    "offset_head": "Offset",
    "offset_says": "By its last check {offset} would put it right. Nothing is added before somebody confirms it.",
    "offset_apply": "Add {offset} from now on",
    "offset_away": "Take the offset away",
    "assign_head": "Put it elsewhere",
    "assign_where": "Into the food of a step, or to a machine or store",
    "assign_pick": "Choose …",
    "assign_tasks": "Steps in hand and soon",
    "assign_places": "Machines and stores",
    "assign_reads": "There it measures",
    "assign_put": "Put it there",
    "assign_says": "It last showed {celsius}, {time}.",
    "done_check_probe": "Check entered",
    "check_failed_says": "Check entered, and failed: off by {error}, {tolerance} is allowed.",
    "check_failed_next": "It is not believed any more: measure by hand, or take another probe.",
    "done_offset": "Offset set from now on",
    "done_assign_probe": "Put there",
    "done_washed": "Washed and sanitised: on record",
    "field_probe": "Probe",
    "field_point": "Held into",
    "field_shown": "What the probe shows",
    "field_reference": "What the reference shows",
    "field_offset": "Offset",
    "field_where": "Where to",
    "field_reads": "Food or air",
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
    "sign_clock wrong_ahead": "Its clock is {amount} ahead of the kitchen's",
    "sign_clock wrong_behind": "Its clock is {amount} behind",
    "sign_clock wrong_stepping back": "Its clock stepped back by {amount}",
    "sign_battery low": "Battery at {amount}; told from {limit} down",
    "sign_swapped": "Reads {amount} outside what its place should have; it and {other} fit each other's places",
    "sign_swapped_or fahrenheit as celsius": (
        "Reads {amount} outside what its place should have; it and {other} fit each other's places. Look which hangs "
        "where: either they are swapped, or this one sends Fahrenheit as Celsius, and it is {limit}"
    ),
    "sign_swapped_or celsius as fahrenheit": (
        "Reads {amount} outside what its place should have; it and {other} fit each other's places. Look which hangs "
        "where: either they are swapped, or this one sends Celsius as Fahrenheit, and it is {limit}"
    ),
    "sign_check failed": "Off by {amount} at its last check; {limit} is allowed",
    "cannot_few readings": "Noise: too few readings yet",
    "cannot_never changed": "Stuck: it has not changed yet, so its steps are not known",
    "cannot_not told": "Battery: this probe does not tell",
    "cannot_no time sent": "Clock: this probe sends no time of its own",
    "cannot_alone": "Drift: no other probe in the same air; a check tells",
    "cannot_nothing expected": "Place: nothing is expected of it now",
    "times": "{count} times",
}
