"""The clock of a freezer's defrosts, where one is entered: only air that is kept frozen has any."""

from orchestrator.kitchen.draft import Draft


def check_defrosts(draft: Draft) -> None:
    """Only a store that is kept below freezing defrosts, and for a small part of the time."""
    for entry in draft.equipment:
        machine = entry.value
        if machine is None or machine.defrosts is None:
            continue
        clock, band = machine.defrosts, machine.holds
        if band is None or band.high >= 0.0:
            what = f"{machine.id!r} is not kept below 0 °C, so that no rise of its air is a defrost"
            help_ = "leave defrosts out, or write what it holds, such as `holds: { high: -18 °C }`"
            entry.add(("defrosts",), what, help_)
        elif clock.longest * 4 > clock.every:
            what = (
                f"{clock.longest} min of every {clock.every} min would leave {machine.id!r} warm for much of the time"
            )
            entry.add(("defrosts", "longest"), what, "make it a quarter of every at most")
