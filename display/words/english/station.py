"""Words of what a station's screen does besides showing: taps that wait, lock, sound, sheets, hand-over."""

from collections.abc import Mapping
from typing import Final

WORDS: Final[Mapping[str, str]] = {
    # -- taps that wait for the link
    "tap_kept": "Kept {time}: {what}.",
    "tap_kept_says": "Sent by itself once linked, with this time.",
    "tap_waits": "{what}: tapped {time}, not sent yet.",
    "tap_waits_short": "not sent yet",
    "tap_drop": "Take back",
    "tap_read": "Read, remove",
    "tap_unanswered": "The server has no answer to this tap.",
    "taps_wait": "{count} kept",
    "taps_kept": "{count} kept, sent when linked: {what}",
    "taps_sent": "{count} sent, each with its own time",
    "taps_refused": "{count} not taken",
    "taps_refused_says": "Tap “not taken” to read why.",
    "taps_title": "Taps not sent yet",
    "taps_says": "They are sent in this order, each once, with the time at which they were tapped.",
    "not_kept": "This browser has no room to keep it: write it on paper.",
    "last_heard": "Last heard {time}: {celsius}",
    # -- somebody was quicker
    "other_started": "{who} started this at {time}.",
    "other_finished": "{who} finished this at {time}.",
    "other_skipped": "{who} skipped this at {time}.",
    "other_tray": "{who} took tray {number} out at {time}.",
    "other_extended": "{who} added time at {time}.",
    "counted_once": "Nothing is counted twice.",
    "changed_here": "{title} has changed here just now. Look, then tap.",
    # -- method
    "step_at": "{number} of {count}:",
    "step_back": "One step back",
    "step_on": "Next step",
    # -- lock for wiping
    "lock_now": "Wipe",
    "lock_title": "Locked for wiping.",
    "lock_opens": "Opens by itself in {seconds} s. Alarms still show.",
    "lock_hold": "Hold 2 s to unlock",
    # -- sound and screen
    "screen_title": "This screen",
    "sound_on": "Sound on",
    "sound_off": "Sound off",
    "sound_blocked": "Sound off, touch",
    "sound_none": "No sound here",
    "sound_setting": "Sound",
    "volume": "Volume",
    "try_alarm": "Try: alarm",
    "try_closing": "Try: window closing",
    "try_due": "Try: task due",
    "sound_says": "Alarm: three falling notes every 10 s until seen. Window closing: two equal notes. Task due: one.",
    "wake_on": "The screen stays awake.",
    "wake_none": "This browser does not keep the screen awake here: set the device itself never to sleep.",
    "wake_refused": "The device lets the screen sleep (low battery, power saving): plug it in, or set it never to.",
    "reload_kept": "Without a link this screen can be loaded again: its last state is kept.",
    "reload_not_kept": (
        "Taps are kept without a link, but loading the page again needs it: only over https or on this "
        "machine itself browsers keep pages."
    ),
    "full_fill": "Fill the whole screen",
    "full_leave": "Leave full screen",
    # -- hand-over
    "shift_ends": "Hand over at {time}",
    "shift_ended": "Hand over, due {time}",
    "handover_read": "Read hand-over note",
}
