"""What was changed since a mark is taken back, and nothing else."""

from orchestrator.planner.journal import Journal


def test_undo_takes_back_what_came_after_the_mark_only() -> None:
    journal, there = Journal(), {"a": 1, "b": 2}
    journal.put(there, "a", 10)
    mark = journal.mark()
    journal.put(there, "a", 11)
    journal.put(there, "c", 3)
    assert journal.drop(there, "b") == 2
    assert sorted(journal.touched(mark)[id(there)]) == ["a", "b", "c"]
    journal.undo(mark)
    assert there == {"a": 10, "b": 2}
    journal.undo(0)
    assert there == {"a": 1, "b": 2}


def test_forget_makes_what_was_changed_stay() -> None:
    journal, there = Journal(), {"a": 1}
    journal.put(there, "a", 2)
    journal.forget()
    journal.undo(0)
    assert there == {"a": 2}
