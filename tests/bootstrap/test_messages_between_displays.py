"""A message from one page to the next, where another process answers the next: no sticky sessions are needed."""

import http.client
import json
import subprocess
import sys
import textwrap
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack, contextmanager
from pathlib import Path
from urllib.parse import urlencode, urlsplit

from orchestrator.adapters.access_store import SqlAccessStore
from orchestrator.adapters.backup import ACCESS_TABLES
from tests.bootstrap.test_take_over import address, line, service
from tests.fakes.postgres import Postgres

SHOWN = '<div class="message refused"><p><b>This step is no longer in the plan.</b>'
PROGRAM = textwrap.dedent(
    """
    import sys
    from orchestrator.bootstrap.show import Showing, show

    if __name__ == "__main__":
        sys.exit(show(Showing(sys.argv[1], planner="database")))
    """
)


@contextmanager
def display(url: str, folder: Path) -> Iterator["subprocess.Popen[str]"]:
    """A display process of its own; killed when the block ends."""
    (folder / "screens.py").write_text(PROGRAM)
    running = subprocess.Popen(
        [sys.executable, "-u", str(folder / "screens.py"), url],
        stdout=subprocess.PIPE,
        stderr=(folder / "errors").open("a"),
        text=True,
    )
    try:
        yield running
    finally:
        running.kill()
        running.communicate(timeout=15)


def asked(url: str, method: str, path: str, body: str = "", cookie: str = "") -> http.client.HTTPResponse:
    """One request, without following where it leads."""
    link = http.client.HTTPConnection(urlsplit(url).netloc, timeout=60)
    headers = {"Content-Type": "application/x-www-form-urlencoded", "Accept": "text/html", "Cookie": cookie}
    link.request(method, path, body, headers)
    return link.getresponse()


def test_message_made_at_one_process_is_shown_by_another_once(server: Postgres, tmp_path: Path) -> None:
    url = server.url()
    with ExitStack() as ends:
        writer = ends.enter_context(service(url, tmp_path))
        line(writer.stdout)
        both = [ends.enter_context(display(url, tmp_path)) for _ in range(2)]
        one, two = (address(running, tmp_path) for running in both)
        answer = asked(one, "POST", "/acts/start", urlencode({"task": "Z9.cook", "back": "/stations"}))
        assert answer.status == 303
        cookie = (answer.headers["Set-Cookie"] or "").partition(";")[0]
        shown = asked(two, "GET", "/stations", cookie=cookie)
        assert SHOWN in shown.read().decode()
        emptied = (shown.headers["Set-Cookie"] or "").partition(";")[0]
        assert SHOWN not in asked(one, "GET", "/stations", cookie=emptied).read().decode()
        forged = cookie[:-6] + "AAAAAA"
        assert SHOWN not in asked(two, "GET", "/stations", cookie=forged).read().decode()


def test_key_is_made_once_by_whoever_asks_first_and_kept(server: Postgres, tmp_path: Path) -> None:
    for where in (server.url(), tmp_path / "access.db"):
        stores = [SqlAccessStore(where) for _ in range(4)]
        with ThreadPoolExecutor(4) as pool:
            keys = set(pool.map(lambda store: store.page_key(), stores))
        for store in stores:
            store.close()
        again = SqlAccessStore(where)
        assert keys == {again.page_key()}
        assert len(again.page_key()) == 32
        again.close()


def test_key_is_in_no_backup() -> None:
    assert "page_key" not in json.dumps([table.name for table in ACCESS_TABLES])
    assert len(ACCESS_TABLES) > 5
