"""``coldwright plan --what-helps``: what stands in the way of orders that a plan serves badly, and what would help."""

import click

from orchestrator.cli.common import BAD_INPUT
from orchestrator.cli.search_watch import SearchWatch
from orchestrator.core.models import Plan, PlanRequest
from orchestrator.core.models.questions import HelpProgress, RemediesAnswer, RemediesQuestion
from orchestrator.core.models.remedy import Conflict, Remedy

_HAD = "this is what it had found by then"


def run(request: PlanRequest, plan: Plan, seconds: float, *, as_json: bool, progress: bool) -> int:
    """Look for conflicts and remedies, and print them; Ctrl-C prints what has been found so far.

    Args:
        request: What was planned.
        plan: The plan that was made.
        seconds: At most so long.
        as_json: Instead of words.
        progress: Whether each step is told in a line of its own on stderr, also where that is no terminal.

    Returns:
        Exit status: 0, or 2 where there is no time to look.
    """
    from orchestrator.planner.remedies import remedies

    if seconds <= 0:
        click.echo("What helps needs time to look for: give --seconds.", err=True)
        return BAD_INPUT
    watch = SearchWatch(f"What helps, at most about {seconds:g} s", plain=progress, had=_HAD)

    def told(so_far: HelpProgress) -> None:
        tried, left = so_far.tried, so_far.left
        if so_far.doing == "conflict":
            things = "thing" if left == 1 else "things"
            watch.say(f"{so_far.order}: {tried} plans tried, {left} {things} may be in the way")
        else:
            watch.say(f"{so_far.order}: {tried} of {tried + left} ways that might help tried")

    question = RemediesQuestion(request=request, plan=plan, seconds=seconds)
    answer = watch.run(lambda: remedies(question, watch.stop, told))
    click.echo(answer.model_dump_json(indent=2) if as_json else _in_words(answer))
    return 0


def _in_words(answer: RemediesAnswer) -> str:
    """Order by order, a conflict and what would help."""
    if not answer.conflicts:
        return "Every order stands well: nothing need help."
    lines: list[str] = []
    for told in answer.conflicts:
        lines += [f"{told.wants}.", f"  {told.says}.", *_how_sure(told)]
        lines += [f"  {line}" for remedy in answer.remedies if remedy.order == told.order for line in _remedy(remedy)]
    if not answer.complete:
        lines.append("Not all that could help was tried: give it more --seconds.")
    return "\n".join([*lines, "Nothing has been adopted."])


def _how_sure(told: Conflict) -> list[str]:
    if not told.irreducible:
        return []
    fewest = ", and no fewer things could be in the way" if told.smallest else ""
    return [f"  Without any one of these there is a plan{fewest}; {told.tried} plans were tried."]


def _remedy(remedy: Remedy) -> list[str]:
    return [f"{remedy.kind.value}: {remedy.says}", f"  {remedy.gives}"]
