"""Pictures of every page of a running demo, to be looked at: ``python -m tests.tour DIR``.

Three sizes, both languages, both themes: about seven hundred pictures. ``--only board,alarms`` takes the pages whose
address has one of these in it; ``--sizes 1280``, ``--languages es``, ``--themes dark`` fewer of each. Nothing is
asserted.
"""

import argparse
import re
from pathlib import Path

from playwright.sync_api import Browser, sync_playwright

from tests.browser.conftest import ARGS, CHROMIUM
from tests.own_demo import own_demo, wait_for_a_curve

SIZES = {"1280": (1280, 800), "1920": (1920, 1080), "390": (390, 844)}
PAGES = (
    "/", "/stations", "/station/stove", "/station/pastry", "/station/counter", "/board", "/board?by=batch",
    "/board?by=order", "/board?by=crew", "/board?span=hour", "/planning", "/orders", "/orders/new", "/orders/table",
    "/orders/SAT-STALL/change", "/orders/SAT-STALL/help", "/alarms", "/alarms/figures", "/calls", "/probes", "/lots",
    "/stock", "/receiving", "/trace", "/trace/C1", "/record/C1", "/labels/C1", "/deviations", "/places", "/machines",
    "/machines/churn/later", "/recipes", "/recipes/basil-custard", "/drafts", "/drafts/new", "/mix",
    "/mix/basil-custard", "/durations", "/demand", "/crew", "/crew/early-cook/week", "/person", "/papers",
    "/papers/order", "/papers/pull", "/papers/day",
    "/papers/late", "/papers/weigh/C1", "/handover", "/system", "/access", "/first-run", "/no-such-page",
)  # fmt: skip
SETTLES_MS = 900


def main() -> None:
    """Start a demo of one's own, let something come into hand, take the pictures, end it."""
    asked = _asked()
    asked.folder.mkdir(parents=True, exist_ok=True)
    with own_demo() as url, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGS)
        wait_for_a_curve(url, browser.new_page())
        _take(browser, url, asked)
        browser.close()


def _asked() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.tour", description=__doc__)
    parser.add_argument("folder", type=Path, help="where the pictures go")
    parser.add_argument("--only", default="", help="parts of addresses, with commas")
    parser.add_argument("--sizes", default=",".join(SIZES))
    parser.add_argument("--languages", default="en,es")
    parser.add_argument("--themes", default="light,dark")
    parser.add_argument("--whole", action="store_true", help="whole pages, not only what is seen first")
    return parser.parse_args()


def _take(browser: Browser, url: str, asked: argparse.Namespace) -> None:
    wanted = [part for part in asked.only.split(",") if part]
    paths = [path for path in PAGES if not wanted or any(part in path for part in wanted)]
    for language in asked.languages.split(","):
        for theme in asked.themes.split(","):
            for size in asked.sizes.split(","):
                width, height = SIZES[size]
                context = browser.new_context(viewport={"width": width, "height": height}, color_scheme=theme)
                chosen = {"person": "manager", "language": language}
                context.add_cookies([{"name": name, "value": value, "url": url} for name, value in chosen.items()])
                page = context.new_page()
                for path in paths:
                    page.goto(url + path, wait_until="load")
                    page.wait_for_timeout(SETTLES_MS)
                    name = re.sub(r"[^a-zA-Z0-9-]+", "-", path.strip("/")) or "home"
                    page.screenshot(path=asked.folder / f"{name}-{size}-{language}-{theme}.png", full_page=asked.whole)
                context.close()


if __name__ == "__main__":
    main()
