"""Ticks that the screens of a kitchen share: the later one counts, and no clock that runs ahead wins."""

from datetime import timedelta

from display.app import create_app
from display.ticks import MOST, Tick, TickBook
from tests.fakes import canned
from tests.fakes.gateway import FakeGateway

MS = int(canned.NOW.timestamp() * 1000)


def test_later_tick_counts_whatever_comes_first() -> None:
    told: list[None] = []
    book = TickBook()
    book.listen(lambda: told.append(None))
    book.put("C2.cook", "Sugar", True, MS - 1000, canned.NOW)
    book.put("C2.cook", "Sugar", False, MS - 5000, canned.NOW)
    assert book.of("C2.cook", "Sugar") == Tick(True, MS - 1000)
    book.put("C2.cook", "Sugar", True, MS - 1000, canned.NOW)
    assert len(told) == 1
    book.put("C2.cook", "Sugar", False, MS - 500, canned.NOW)
    assert (book.of("C2.cook", "Sugar"), len(told)) == (Tick(False, MS - 500), 2)
    assert book.of("C2.cook", "Milk") is None


def test_clock_that_runs_ahead_is_taken_for_now() -> None:
    book = TickBook()
    book.put("C2.cook", "Sugar", True, MS + 3_600_000, canned.NOW)
    assert book.of("C2.cook", "Sugar") == Tick(True, MS)
    book.put("C2.cook", "Sugar", False, MS + 1000, canned.NOW + timedelta(seconds=1))
    assert book.of("C2.cook", "Sugar") == Tick(False, MS + 1000)


def test_book_forgets_the_oldest_and_grows_no_further() -> None:
    book = TickBook()
    for number in range(MOST + 3):
        book.put("C2.cook", f"thing {number}", True, MS, canned.NOW)
    assert book.of("C2.cook", "thing 2") is None
    assert book.of("C2.cook", "thing 3") == Tick(True, MS)


def test_ticks_are_heard_over_http_and_bad_ones_refused() -> None:
    gateway = FakeGateway()
    client = create_app(gateway, gateway).web.test_client()
    good = {"task": "C2.cook", "what": "Sugar", "on": "1", "at": str(MS)}
    assert client.post("/ticks", data=good).status_code == 204
    assert f'data-on="1" data-at="{MS}"' in client.get("/station/stove").get_data(as_text=True)
    for bad in ({"task": ""}, {"what": "x" * 201}, {"at": "soon"}, {"at": "9" * 30}, {"at": "-1"}, {"at": "١"}):
        assert client.post("/ticks", data={**good, **bad}).status_code == 400
    foreign = client.post("/ticks", data=good, headers={"Sec-Fetch-Site": "cross-site"})
    assert foreign.status_code == 403


def test_worker_may_keep_the_whole_site_and_is_asked_for_anew() -> None:
    gateway = FakeGateway()
    client = create_app(gateway, gateway).web.test_client()
    answer = client.get("/worker.js")
    assert (answer.status_code, answer.headers["Cache-Control"]) == (200, "no-cache")
    assert answer.mimetype in {"text/javascript", "application/javascript"}
