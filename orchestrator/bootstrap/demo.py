"""The demo: a whole kitchen on a fast clock, with simulated crew, probes and troubles. All of it is PRACTICE."""

import asyncio
from collections.abc import Callable

from orchestrator.bootstrap.demo_opening import DemoOptions, House, OnProgress, open_house
from orchestrator.bootstrap.first_look import LONGEST_WAIT_S
from orchestrator.bootstrap.serve import announce, stop_signal


def demo(options: DemoOptions, say: Callable[[str], None], on_progress: OnProgress) -> None:
    """Run until SIGINT or SIGTERM.

    Args:
        options: What it is told.
        say: Prints a line for people.
        on_progress: Told what is being done while it opens.

    Raises:
        Failure: why it does not start.
    """
    asyncio.run(_demo(options, say, on_progress))


async def _demo(options: DemoOptions, say: Callable[[str], None], on_progress: OnProgress) -> None:
    ending = asyncio.ensure_future(stop_signal().wait())
    opening = asyncio.ensure_future(open_house(options, on_progress))
    await asyncio.wait((opening, ending), return_when=asyncio.FIRST_COMPLETED)
    if not opening.done():  # Ctrl-C while it opens
        opening.cancel()
        await asyncio.gather(opening, return_exceptions=True)
        return
    try:
        house = await opening
    except BaseException:
        ending.cancel()
        raise
    try:
        _tell(house, say)
        house.begin()
        await ending
        say("PRACTICE - ending; start it again to go on, or with --fresh to begin anew")
    finally:
        await house.close()


def _tell(house: House, say: Callable[[str], None]) -> None:
    announce(house.system, say)
    kitchen, now = house.practice.cast.crew.kitchen, house.practice.clock.now()
    crew = "The crew is simulated" if house.practice.crew_on() else "No crew: you play cook"
    say(f"PRACTICE - it is {kitchen.local(now):%A %H:%M} in the kitchen. {crew}. Ctrl-C ends it.")
    say(f"PRACTICE - the clock stands until a page is opened, {LONGEST_WAIT_S:.0f} s at most")
    if house.system.broker_url:
        say(f"PRACTICE - a reading of your own: coldwright publish fridge-air 4.2 --url {house.system.broker_url}")


__all__ = ["DemoOptions", "demo"]
