"""Which commands were carried out: the newest few thousand, cheap to extend without touching the state before."""

from collections.abc import Iterator, Mapping
from typing import Final

from orchestrator.core.ids import CommandId

MOST_SEEN: Final = 5000
"""So many commands are remembered, the newest: a queue that was offline for a day has far fewer."""
_BLOCK: Final = 64
"""Only the newest block is copied for one more command; the older ones, some eighty, are shared."""

_Blocks = tuple[dict[CommandId, int], ...]


class SeenCommands(Mapping[CommandId, int]):
    """Commands and the seq of the last event of each, oldest first. Never changed: `with_newest` makes another."""

    __slots__ = ("_blocks", "_length")

    def __init__(self) -> None:
        self._blocks: _Blocks = ({},)
        self._length = 0

    def __getitem__(self, command: CommandId) -> int:
        for block in reversed(self._blocks):
            if command in block:
                return block[command]
        raise KeyError(command)

    def __iter__(self) -> Iterator[CommandId]:
        for block in self._blocks:
            yield from block

    def __len__(self) -> int:
        return self._length

    def with_newest(self, command: CommandId, seq: int) -> "SeenCommands":
        """These and one more, which becomes the newest; beyond `MOST_SEEN` the oldest is forgotten."""
        blocks = self._blocks
        if command in blocks[-1]:  # one command's events follow each other
            return _made((*blocks[:-1], _renewed(blocks[-1], command, seq)), self._length)
        length = self._length + 1
        for number, block in enumerate(blocks[:-1]):
            if command in block:
                blocks = (*blocks[:number], _without(block, command), *blocks[number + 1 :])
                length -= 1
        room = len(blocks[-1]) < _BLOCK
        blocks = (*blocks[:-1], {**blocks[-1], command: seq}) if room else (*blocks, {command: seq})
        if length > MOST_SEEN:
            first = next(number for number, block in enumerate(blocks) if block)
            blocks = (_without(blocks[first], next(iter(blocks[first]))), *blocks[first + 1 :])
            length -= 1
        return _made(blocks, length)


def _made(blocks: _Blocks, length: int) -> SeenCommands:
    made = SeenCommands()
    made._blocks, made._length = blocks, length
    return made


def _without(block: dict[CommandId, int], command: CommandId) -> dict[CommandId, int]:
    return {known: seq for known, seq in block.items() if known != command}


def _renewed(block: dict[CommandId, int], command: CommandId, seq: int) -> dict[CommandId, int]:
    return {**_without(block, command), command: seq}
