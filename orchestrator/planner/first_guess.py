"""A constructive first plan in milliseconds: serial generation by several rules, the best of them kept."""

from dataclasses import replace

from orchestrator.planner.generation import generate
from orchestrator.planner.lags import network
from orchestrator.planner.problem import Problem, Schedule
from orchestrator.planner.score import score, terms
from orchestrator.planner.wishes import Rule

RULES: tuple[Rule, ...] = (
    "backwards, latest first",
    "backwards, by due",
    "backwards, allergens last",
    "forwards, as late as good",
    "forwards, earliest",
)
"""Tried in this order; of equals the first is kept."""


def first_guess(problem: Problem) -> Schedule:
    """A schedule that keeps every safety window and every limit of machines and people.

    Args:
        problem: What is to be placed.

    Returns:
        The best of one schedule per rule, by the staged goals. Orders that cannot be met within the horizon and
        the safety windows have no places.
    """
    guesses = [generate(problem, network(problem), rule) for rule in RULES]
    best = min(guesses, key=lambda guess: score(problem, guess))
    return replace(best, terms=terms(problem, best))
