"""What was there before each change, so that a trial can be taken back without copying anything first."""

from typing import Any, TypeVar

K = TypeVar("K")
V = TypeVar("V")
_NOTHING = object()


class Journal:
    """Changes of dictionaries, newest last. A trial costs what it changes, not what there is."""

    def __init__(self) -> None:
        self._before: list[tuple[dict[Any, Any], Any, Any]] = []

    def put(self, into: dict[K, V], key: K, value: V) -> None:
        """Set an entry."""
        self._before.append((into, key, into.get(key, _NOTHING)))
        into[key] = value

    def drop(self, out_of: dict[K, V], key: K) -> V:
        """Take an entry out.

        Returns:
            What it was.

        Raises:
            KeyError: there is none.
        """
        value = out_of.pop(key)
        self._before.append((out_of, key, value))
        return value

    def mark(self) -> int:
        """Where the journal stands now."""
        return len(self._before)

    def touched(self, mark: int) -> dict[int, list[Any]]:
        """Keys changed since a mark, by the identity of the dictionary they are in."""
        found: dict[int, list[Any]] = {}
        for where, key, _ in self._before[mark:]:
            found.setdefault(id(where), []).append(key)
        return found

    def undo(self, mark: int) -> None:
        """Take back all changes since a mark."""
        before = self._before
        while len(before) > mark:
            where, key, value = before.pop()
            if value is _NOTHING:
                where.pop(key, None)
            else:
                where[key] = value

    def forget(self) -> None:
        """What was changed so far stays: marks made before are void."""
        self._before.clear()
