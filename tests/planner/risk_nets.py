"""Small nets for the simulation, some by hand and some from a seed."""

import random

from orchestrator.planner.risk_net import Net, Piece, Step, Wait

ALWAYS = ((0, 20_000),)


def chain(spreads: list[tuple[int, int, int]]) -> Net:
    """Steps one after the other, with nothing else to wait for."""
    net = Net(0)
    for index, spread in enumerate(spreads):
        net.pieces.append(Piece(task=index, planned=0))
        net.steps.append(Step(index, spread, index, index))
        if index:
            net.waits.append(Wait(index - 1, index))
    return net


def any_net(seed: int) -> tuple[Net, list[list[int]]]:
    """A random net with everything in it, and the lengths of six runs."""
    chance = random.Random(seed)
    parts = [(day * 400 + a, day * 400 + b) for day in range(6) for a, b in ((0, 90), (110, 200))]
    working = tuple(tuple(part for part in parts if chance.random() < 0.9) for _ in range(3))
    net = Net(
        chance.choice((0, 30)),
        working=working,
        capacity=(None, None, None, 1000),
        stops=((), ((100, 160),), ((300, 350), (440, 470)), ((120, 150),)),
    )
    planned = 0
    for task in range(chance.randrange(4, 11)):
        planned += chance.randrange(0, 60)
        _step(net, task, planned, chance)
    lengths = [[_length(piece, chance) for piece in net.pieces] for _ in range(6)]
    for index, piece in enumerate(net.pieces):
        for row in lengths:
            if piece.begun is not None:
                row[index] = max(row[index], net.now - piece.begun)
    return net, lengths


def _length(piece: Piece, chance: random.Random) -> int:
    if piece.end_of is not None:
        return max(1, piece.attended_min)
    return chance.randrange(max(1, piece.usual_min // 2), piece.usual_min * 2 + 2)


def _step(net: Net, task: int, planned: int, chance: random.Random) -> None:
    usual = chance.randrange(5, 60)
    kind = chance.choice(("own", "pool", "room", "none"))
    hands = chance.choice((0, 1, 1, 2))
    throughout = chance.random() < 0.4
    index = len(net.pieces)
    begun = net.now - chance.randrange(1, 20) if net.now and task < 2 and chance.random() < 0.5 else None
    people = [0, 1, 2]
    chance.shuffle(people)
    piece = Piece(
        task=task,
        planned=planned,
        soonest=net.now if chance.random() < 0.8 else planned,
        begun=begun,
        hands=hands,
        attended_min=(usual if throughout else min(10, usual)) if hands else 0,
        throughout=throughout and hands > 0,
        skilled=tuple(people[: chance.choice((2, 3))]),
        machines={"own": (2,), "pool": chance.choice(((0, 1), (1, 0), (1,)))}.get(kind, ()),
        room=3 if kind == "room" else None,
        load=chance.randrange(200, 1200, 100) if kind == "room" else 0,
        usual_min=usual,
        cleans=chance.random() < 0.2,
    )
    earlier = list(range(index))
    net.pieces.append(piece)
    if begun is None:
        for after in chance.sample(earlier, min(len(earlier), chance.randrange(0, 3))):
            closes = chance.choice((None, None, 0, 30))
            net.waits.append(Wait(after, index, chance.choice((0, 0, 15)), closes))
    if kind != "none" and hands and not throughout and chance.random() < 0.6:
        net.pieces.append(
            Piece(task, planned + usual, end_of=index, hands=1, attended_min=5, throughout=True, skilled=piece.skilled)
        )
        net.waits.append(Wait(index, index + 1, closes=0))
