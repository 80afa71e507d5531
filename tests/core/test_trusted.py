"""A model made by trust is the same as one that was checked."""

import copy

import pytest

from orchestrator.core.models import ProbeFact
from orchestrator.core.models.base import Model
from orchestrator.core.models.verdict import Kept, LimitVerdict
from tests.fakes.kitchens import at

VERDICT = LimitVerdict(limit="x", title="X", applied="y", status="met", tolerance_degrees=1.0)  # type: ignore[arg-type]
KEPT = Kept(task="C1.age", verdict=VERDICT)  # type: ignore[arg-type]
FACT = ProbeFact(probe="p", equipment="hob-1", measured_at=at("Wed 07:00"), celsius=4.0, kept=(KEPT,))  # type: ignore[arg-type]


@pytest.mark.parametrize("checked", [VERDICT, KEPT, FACT], ids=lambda model: type(model).__name__)
def test_model_made_by_trust_is_as_one_that_was_checked(checked: Model) -> None:
    fields = {name: getattr(checked, name) for name in type(checked).model_fields}
    made = type(checked).trusted(**fields)
    assert made == checked
    assert hash(made) == hash(checked)
    assert made.model_dump_json() == checked.model_dump_json()
    assert type(checked).model_validate_json(made.model_dump_json()) == checked
    assert made.model_fields_set == set(type(checked).model_fields)
    assert copy.deepcopy(made) == checked


def test_copy_with_a_change_leaves_the_model_it_was_made_of_alone() -> None:
    fields = {name: getattr(VERDICT, name) for name in LimitVerdict.model_fields}
    made = LimitVerdict.trusted(**fields)
    changed = made.model_copy(update={"status": "broken"})
    assert (made.status, changed.status) == ("met", "broken")
    assert changed == VERDICT.model_copy(update={"status": "broken"})
