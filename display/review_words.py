"""How long a record waits to be looked through, in words."""

from datetime import datetime, time

from display.formats import Formats
from display.panels import Showing
from display.words import Words
from orchestrator.core.ids import LotCode
from orchestrator.core.record_review import Review, reviews


def of(showing: Showing) -> dict[LotCode, Review]:
    """Every record that nobody has looked through to its end, looked for once a snapshot."""
    return showing.once("reviews", lambda: dict(reviews(showing.snapshot.state, showing.now)))


def says(w: Words, f: Formats, review: Review) -> str:
    """Whether anybody has looked, and how many working days are left or gone."""
    head = w("review_changed" if review.looked else "review_none")
    key = "over" if review.over else {0: "today", 1: "one"}.get(review.left, "left")
    return f"{head}: {w(f'review_{key}', left=review.left, day=_day(f, review))}"


def brief(w: Words, f: Formats, review: Review) -> str:
    """Until when, where there is little room."""
    return w("review_brief_over" if review.over else "review_brief", day=_day(f, review))


def since(w: Words, review: Review, at: str) -> str:
    """When the first of it was entered, and how many working days ago that is.

    Args:
        w: Of the reader.
        review: Of a record.
        at: When it was entered, as the page writes instants.
    """
    waited = {0: "", 1: f", {w('review_waited_one')}"}.get(review.waited, f", {w('review_waited', days=review.waited)}")
    return f"{w('review_since', time=at)}{waited}."


def _day(f: Formats, review: Review) -> str:
    return f.day(datetime.combine(review.by, time(12), tzinfo=f.local(review.since).tzinfo))
