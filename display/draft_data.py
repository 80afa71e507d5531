"""A recipe in a form: plain data as its YAML has it, each field named by its way from the top; nothing is lost."""

import itertools
import json
import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final

from display.draft_units import DraftUnits
from orchestrator.core.models.recipe_text import RecipeFault

_NAME: Final = re.compile(r"[a-z_]+(\.([a-z_]+|\d{1,3})){0,6}")
_NUMBERS: Final = frozenset({"pieces", "hands", "reduce_to"})
_LISTS: Final = ("takes", "leaves", "gates", "attended", "after")
MOST_STEPS: Final = 100

Path = tuple[str | int, ...]


def path_of(name: str) -> Path:
    """``steps.0.title`` as keys and positions."""
    return tuple(int(part) if part.isdigit() else part for part in name.split("."))


class DraftData:
    """What a form holds. Values are text as typed, whatever is wrong with them."""

    def __init__(
        self, data: Mapping[str, Any], faults: Sequence[RecipeFault] = (), units: DraftUnits | None = None
    ) -> None:
        self.data: dict[str, Any] = json.loads(json.dumps(data, default=str))
        self._faults = faults
        self.units = units or DraftUnits()

    @classmethod
    def of_form(cls, form: Mapping[str, str], units: DraftUnits | None = None) -> "DraftData":
        """From what was sent: the hidden whole with every field that was shown on top of it."""
        try:
            whole = json.loads(form.get("data", "{}"))
        except ValueError:
            whole = {}
        held = cls(whole if isinstance(whole, dict) else {}, units=units)
        named = [(*name.partition(":")[::2], name) for name in form]
        # A box that is not ticked sends nothing: a hidden field beside it, seen to first, says that it was shown.
        for kind, path, name in sorted(named, key=lambda one: one[0] != "n"):
            if kind in ("n", "f", "l", "c", "b") and _NAME.fullmatch(path):
                told = None if kind == "n" else _typed(kind, path, form[name])
                if kind == "f" and isinstance(told, str):
                    told = held.units.kept(path.rpartition(".")[2], told, held._at(path_of(path)))
                held._put(path_of(path), told)
        held._clear()
        return held

    def _put(self, path: Path, value: Any) -> None:
        """Set a value, with whatever lies on the way to it; what stands in the way and is no part gives way."""
        here: Any = self.data
        for part, following in itertools.pairwise(path):
            below: Any = [] if isinstance(following, int) else {}
            if isinstance(part, int):
                if not isinstance(here, list) or part > MOST_STEPS:
                    return
                while len(here) <= part:
                    here.append({})
                if not isinstance(here[part], type(below)):
                    here[part] = below
            elif isinstance(here, dict):
                if not isinstance(here.get(part), type(below)):
                    if value is None:
                        return
                    here[part] = below
            else:
                return
            here = here[part]
        last = path[-1]
        if not isinstance(here, dict):
            return
        if value is None:
            here.pop(str(last), None)
        else:
            here[str(last)] = value

    def _clear(self) -> None:
        """Lines and parts of steps in which nothing is written any more are not there."""
        for step in self.steps:
            for name in _LISTS:
                if isinstance(step.get(name), list):
                    kept = [one for one in step[name] if one != {}]
                    if kept or (name == "after" and step[name] == []):
                        step[name] = kept
                    else:
                        del step[name]
            for name in ("duration", "stay", "cycle", "target", "limit"):
                if step.get(name) == {}:
                    del step[name]

    @property
    def steps(self) -> list[dict[str, Any]]:
        """The steps that are sets of keys."""
        listed = self.data.get("steps")
        return [step for step in listed if isinstance(step, dict)] if isinstance(listed, list) else []

    def change(self, act: str) -> int | None:
        """Add a step after one, move it, or take it out: ``add:2``, ``up:2``, ``down:2``, ``out:2``.

        Returns:
            Where the step is now; none if it is gone.
        """
        what, _, text = act.partition(":")
        steps = self.steps
        at = int(text) if text.isdigit() and len(text) < 4 else -1
        now_at: int | None = at
        if what == "add" and len(steps) < MOST_STEPS:
            now_at = min(at + 1, len(steps))
            steps.insert(now_at, _new_step(steps))
        elif what == "out" and 0 <= at < len(steps):
            del steps[at]
            now_at = None
        elif what in ("up", "down") and 0 <= at < len(steps):
            other = at + (1 if what == "down" else -1)
            if 0 <= other < len(steps):
                steps[at], steps[other] = steps[other], steps[at]
                now_at = other
        self.data["steps"] = steps
        return now_at

    # -- what templates ask

    def text(self, name: str) -> str:
        """What stands there; empty for nothing."""
        found = self._at(path_of(name))
        if isinstance(found, bool) or found is None or isinstance(found, dict | list):
            return ""
        return f"{found:g}" if isinstance(found, float) else self.units.shown(name.rpartition(".")[2], str(found))

    def ticked(self, name: str) -> bool:
        """Whether it is so."""
        return self._at(path_of(name)) is True

    def lines(self, name: str) -> str:
        """A list, a line for each."""
        return "\n".join(self._listed(name))

    def commas(self, name: str) -> str:
        """A list with commas."""
        return ", ".join(self._listed(name))

    def count(self, name: str) -> int:
        """How many there are."""
        found = self._at(path_of(name))
        return len(found) if isinstance(found, list) else 0

    def limit(self, name: str) -> str:
        """A limit's id, however it is written."""
        return self.text(name) or self.text(f"{name}.id")

    def fault(self, name: str) -> RecipeFault | None:
        """What is wrong there."""
        path = path_of(name)
        return next((fault for fault in self._faults if fault.where == path), None)

    def whole(self) -> str:
        """For the hidden field."""
        return json.dumps(self.data, ensure_ascii=False)

    def _listed(self, name: str) -> list[str]:
        found = self._at(path_of(name))
        return [str(one) for one in found] if isinstance(found, list) else []

    def _at(self, path: Path) -> Any:
        here: Any = self.data
        for part in path:
            if isinstance(part, int) and isinstance(here, list) and part < len(here):
                here = here[part]
            elif isinstance(part, str) and isinstance(here, dict):
                here = here.get(part)
            else:
                return None
        return here


def _typed(kind: str, path: str, text: str) -> Any:
    told = text.replace("\r\n", "\n").strip()
    if kind == "b":
        return True if told == "yes" else None
    if kind == "l":
        return [line.strip() for line in told.split("\n") if line.strip()] or None
    if kind == "c":
        return [part.strip() for part in told.split(",") if part.strip()] or None
    if path.rpartition(".")[2] in _NUMBERS and told:
        try:
            number = float(told.replace(",", "."))
        except ValueError:
            return told
        return int(number) if number.is_integer() else number
    return told or None


def _new_step(steps: Iterable[Mapping[str, Any]]) -> dict[str, Any]:
    taken = {str(step.get("id")) for step in steps}
    number = next(n for n in range(1, MOST_STEPS + 2) if f"step-{n}" not in taken)
    return {"id": f"step-{number}"}
