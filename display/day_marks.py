"""The date mark of a lot in words."""

from datetime import datetime, time

from display.formats import Formats
from display.words import AsPrinted, Words
from orchestrator.core.views.figures import DayMarkView


def brief(w: Words, f: Formats, mark: DayMarkView, lot: str) -> str:
    """Which day of how many it is, and until when it may be used."""
    key = "day_mark_over" if mark.broken else "day_mark_frozen" if mark.frozen else "day_mark_runs"
    last = "" if mark.last is None else f.day(datetime.combine(mark.last, time(12), tzinfo=f.local(mark.made).tzinfo))
    says = w(key, day=mark.day, days=mark.days, last=last, left=mark.days - mark.day)
    return says if mark.oldest == lot else f"{says}, {w('day_mark_oldest', lot=mark.oldest)}"


def whole(w: Words, f: Formats, mark: DayMarkView, lot: str) -> str:
    """The same with the text that applied."""
    says = brief(w, f, mark, lot)
    return w("day_mark_by", says=says, made=f.day(mark.made), title=mark.title, text=AsPrinted(mark.applied))
