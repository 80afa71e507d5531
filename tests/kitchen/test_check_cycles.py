"""Circles, told with the way round."""

from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from orchestrator.kitchen.check_cycles import circles
from tests.kitchen.small import FILES, change, faults, write_small

PUREE, SORBET = "recipes/damson-puree.yaml", "recipes/damson-sorbet.yaml"


def test_recipe_that_takes_itself_is_told_with_the_way(tmp_path: Path) -> None:
    change(
        write_small(tmp_path),
        PUREE,
        "{ ingredient: Damsons, amount: 4 kg }",
        "{ component: damson-puree, amount: 1 L }",
    )
    assert faults(tmp_path) == [
        "recipes/damson-puree.yaml:18:11: recipes go round in a circle: damson-puree → damson-puree"
        " — take one of these components out"
    ]


def test_recipes_that_take_each_other_are_told_with_the_way(tmp_path: Path) -> None:
    write_small(tmp_path)
    change(tmp_path, PUREE, "{ ingredient: Damsons, amount: 4 kg }", "{ component: plum-puree, amount: 1 L }")
    plum = FILES[PUREE].replace("damson-puree", "plum-puree").replace("code: M", "code: L")
    plum = plum.replace("{ ingredient: Damsons, amount: 4 kg }", "{ component: damson-puree, amount: 1 L }")
    (tmp_path / "recipes/plum-puree.yaml").write_text(plum, encoding="utf-8")
    assert faults(tmp_path) == [
        "recipes/damson-puree.yaml:18:11: recipes go round in a circle: damson-puree → plum-puree → damson-puree"
        " — take one of these components out"
    ]


def test_steps_that_wait_for_each_other_are_told_with_the_way(tmp_path: Path) -> None:
    change(write_small(tmp_path), SORBET, "    takes:\n", "    after: [{ step: churn }]\n    takes:\n")
    assert faults(tmp_path) == [
        "recipes/damson-sorbet.yaml:26:5: steps wait for each other in a circle: churn → mix → churn"
        " — let each step come after earlier ones only"
    ]


@given(st.lists(st.tuples(st.integers(0, 7), st.integers(0, 7))))
def test_circles_are_found_exactly_when_there_is_no_order(edges: list[tuple[int, int]]) -> None:
    graph: dict[int, list[int]] = {node: [] for node in range(8)}
    for start, end in edges:
        graph[start].append(end)
    # Kahn's algorithm, as an outside opinion: what cannot be put in order lies on or behind a circle.
    left = set(graph)
    while ready := {node for node in left if not any(node in graph[other] for other in left)}:
        left -= ready
    found = circles(graph)
    assert bool(found) == bool(left)
    for circle in found:
        assert all(b in graph[a] for a, b in zip(circle, [*circle[1:], circle[0]], strict=True))
