"""Kitchens made by chance as files: every rule of the trade is in some of them."""

import random
from datetime import date, timedelta
from pathlib import Path
from typing import Any, Final

import yaml

FIRST_DAY: Final = date(2026, 11, 25)
DAYS: Final = 4
_Data = dict[str, Any]


def write_chance_kitchen(folder: Path, chance: random.Random) -> Path:
    """Write a whole kitchen, small enough to plan in a tenth of a second.

    Args:
        folder: Where to; it may hold the files of another kitchen.
        chance: What decides.

    Returns:
        The folder.
    """
    churn_l = chance.choice([4, 5, 6])
    recipes = _recipes(chance, churn_l)
    files: dict[str, _Data] = {
        "kitchen.yaml": _header(),
        "equipment.yaml": {"equipment": _equipment(chance, churn_l)},
        "crew.yaml": {"crew": _crew(chance)},
        "orders.yaml": {"orders": _orders(chance)},
        "stock.yaml": {"stock": _stock(chance)},
        "supplies.yaml": {"supplies": _supplies(chance)},
        **{f"recipes/{recipe['id']}.yaml": recipe for recipe in recipes},
    }
    files["suppliers.yaml"] = _left_over(recipes, chance)
    for name, data in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(yaml.safe_dump(_with_units(data), sort_keys=False), encoding="utf-8")
    return folder


def _left_over(recipes: list[_Data], chance: random.Random) -> _Data:
    """In some kitchens the base leaves whey; in some of them cones take it, and in some of these there is no other.

    What else is by chance stays as it is without it.
    """
    before = chance.getstate()
    own = random.Random(chance.random())
    chance.setstate(before)
    bought = []
    if own.random() < 0.5:
        told = {"of": "Milk"} if own.random() < 0.5 else {}
        keeps = own.choice([None, "1 d", "3 d"])
        leave = {"ingredient": "Whey", "amount": "500 ml", "kept_in": "fridge", **told}
        recipes[0]["steps"][0]["leaves"] = [leave | ({"keeps": keeps} if keeps else {})]
        if own.random() < 0.6:
            recipes[-1]["steps"][0]["takes"].append({"ingredient": "Whey", "amount": "150 ml", "allergens": ["milk"]})
            if own.random() < 0.5:
                bought = [{"ingredient": "Whey", "ordered": False, "on_hand": "300 ml"}]
    return {"suppliers": [], "ingredients": bought}


_MINUTES: Final = {
    "shortest",
    "usual",
    "longest",
    "least",
    "most",
    "minutes",
    "each",
    "every",
    "hygiene",
    "rinse",
    "full",
}


def _with_units(value: Any, key: str = "") -> Any:
    """Bare numbers that mean minutes, as files write them."""
    if isinstance(value, dict):
        return {name: _with_units(inner, name) for name, inner in value.items()}
    if isinstance(value, list):
        return [_with_units(inner, key) for inner in value]
    return f"{value} min" if key in _MINUTES and isinstance(value, int) else value


def clock(day: int, hours: float) -> str:
    """A time of a day as files write it; hours past 24 are of the next."""
    whole = FIRST_DAY + timedelta(days=day + int(hours // 24))
    minutes = round(hours % 24 * 60)
    return f"{whole.isoformat()}T{minutes // 60:02}:{minutes % 60:02}"


def _maybe(chance: random.Random, of: float, **told: Any) -> _Data:
    return told if chance.random() < of else {}


def _header() -> _Data:
    return {
        "name": "Kitchen made by chance",
        "time_zone": "Europe/London",
        "planning_start": clock(0, 6),
        "horizon_days": DAYS + 1,
        "stations": [{"id": "stove", "name": "Stove"}, {"id": "counter", "name": "Counter"}],
    }


def _machine(name: str, kind: str, floor: str, **told: Any) -> _Data:
    return {"id": name, "name": name, "kind": kind, "station": "stove", "floor": floor, **told}


def _equipment(chance: random.Random, churn_l: int) -> list[_Data]:
    pick = chance.choice
    found = [
        _machine("hob-1", "hob", "warm", capacity="8 L"),
        _machine("bath", "ice bath", "cold", capacity="10 L", **_maybe(chance, 0.3, shared=True)),
        _machine("fridge", "fridge", "cold", capacity=f"{pick([8, 12, 20])} L", shared=True, store=True),
        _machine("churn", "churn", "churn", capacity=f"{churn_l} L", least=f"{pick([1, 2])} L", **_upkeep(chance)),
        _machine("blast", "blast freezer", "hard", capacity=f"{pick([6, 9, 12])} L", shared=True, store=True,
                 **_maybe(chance, 0.6, heat={"alone": f"{pick([2.5, 4, 5])} L", "crowded": pick([1.25, 1.5])})),
        _machine("freezer", "freezer", "hard", capacity=f"{pick([9, 14, 30])} L", shared=True, store=True),
        _machine("oven", "oven", "warm", capacity="3 trays", shared=True, **_maybe(chance, 0.5, heated=True)),
        _machine("shelf", "dry shelf", "hands", capacity="40 L", shared=True, store=True),
        _machine("cabinet", "cabinet", "cold", capacity=f"{pick([6, 12])} L", shared=True),
    ]  # fmt: skip
    if chance.random() < 0.5:
        found.append(_machine("hob-2", "hob", "warm", capacity="8 L", speed=pick([0.7, 0.9, 1.3])))
    if chance.random() < 0.35:
        told = _upkeep(chance)
        found.append(_machine("churn-2", "churn", "churn", capacity=f"{pick([3, 5, 8])} L", least="1 L", **told))
    for name in ("churn", "oven", "blast", "hob-1"):
        if chance.random() < 0.2:
            day, hour = chance.randrange(DAYS), pick([7, 9.5, 13])
            stop = {"start": clock(day, hour), "end": clock(day, hour + pick([1.5, 4, 20]))}
            next(machine for machine in found if machine["id"] == name)["maintenance"] = [stop]
    return found


def _upkeep(chance: random.Random) -> _Data:
    pick = chance.choice
    cleaning = {"rinse": f"{pick([5, 15])} min", "full": f"{pick([25, 40])} min", "skill": "clean"}
    if chance.random() < 0.6:
        cleaning |= {"every": f"{pick([2, 4])} h", **_maybe(chance, 0.5, hygiene="20 min")}
    return {
        **_maybe(chance, 0.85, cleaning=cleaning),
        **_maybe(chance, 0.5, precool={"minutes": "15 min", "keeps": f"{pick([30, 60])} min"}),
        **_maybe(chance, 0.5, day_end={"minutes": "20 min", "skill": pick(["clean", "serve"])}),
        **_maybe(chance, 0.2, speed=pick([0.8, 1.2])),
    }


def _crew(chance: random.Random) -> list[_Data]:
    def shifts(*spans: tuple[str, str], breaks: list[str]) -> list[_Data]:
        found = []
        for day in range(DAYS):
            for number, (start, end) in enumerate(spans):
                told = {"breaks": breaks} if breaks and number == 0 else {}
                found.append({"day": str(FIRST_DAY + timedelta(days=day)), "from": start, "to": end, **told})
        return found

    early = chance.choice([[("06:00", "14:00")], [("06:00", "10:00"), ("10:00", "14:00")], [("05:00", "11:30")]])
    late = chance.choice([[("13:00", "21:00")], [("12:00", "23:30")], [("20:00", "04:00")]])
    pause = chance.choice([[], ["09:00-09:30"], ["08:15-08:30", "09:00-09:40"]])
    found = [
        {"id": "early", "name": "Early", "skills": ["cook", "churn", "clean"], "shifts": shifts(*early, breaks=pause)},
        {"id": "hand", "name": "Hand", "skills": ["serve", "clean"], "shifts": shifts(("08:00", "18:00"), breaks=[])},
    ]
    if chance.random() < 0.7:
        skills = chance.choice([["cook", "churn"], ["cook", "serve"], ["churn", "clean", "cook", "serve"]])
        found.append({"id": "late", "name": "Late", "skills": skills, "shifts": shifts(*late, breaks=[])})
    found[1]["manager"] = True
    return found


def _length(usual: int) -> _Data:
    return {"shortest": usual * 3 // 4, "usual": usual, "longest": usual * 3 // 2}


def _step(name: str, process: str, usual: int | None = None, **told: Any) -> _Data:
    length = {} if usual is None else {"duration": _length(usual)}
    return {"id": name, "process": process, "title": f"{name} it", **length, **told}


def _hands(chance: random.Random, skill: str, *, two: float = 0.0) -> _Data:
    portions: list[list[_Data]] = [
        [{"when": "throughout"}],
        [{"when": "start", "minutes": 5}],
        [{"when": "start", "minutes": 5}, {"when": "end", "minutes": 10}],
        [{"when": "end", "minutes": 10}],
    ]
    return {"attended": chance.choice(portions), "skill": skill, **_maybe(chance, two, hands=2)}


def _recipes(chance: random.Random, churn_l: int) -> list[_Data]:
    windows = ["safety", "quality", "preference"]
    base = {"component": "custard-base", "amount": "3.5 L"}
    return [
        _base(chance, windows),
        _puree(chance, windows),
        _frozen(chance, churn_l, "basil-custard", "B", "pale", base, []),
        _frozen(chance, churn_l, "hazelnut-custard", "H", "deep", base, ["hazelnut"]),
        _frozen(chance, churn_l, "damson-sorbet", "S", "deep", {"component": "damson-puree", "amount": "2.5 L"}, []),
        _cones(chance),
    ]


def _base(chance: random.Random, windows: list[str]) -> _Data:
    pick = chance.choice
    cook = _step("cook", "cook", 40, equipment="hob", load="6 L", **_hands(chance, "cook"),
                 takes=[{"ingredient": "Milk", "amount": "4 L", "allergens": ["milk"]}])  # fmt: skip
    chill = _step("chill", "chill", 60, equipment="ice bath", load="6 L", **_hands(chance, pick(["cook", "clean"])),
                  after=[{"step": "cook", "most": pick([0, 15, 60]), "window": pick(windows)}])  # fmt: skip
    stay = {"least": pick([0, 240, 720]), "most": pick([1440, 4320]), "window": pick(windows)}
    age = _step("age", "age", equipment="fridge", load="6 L", stay=stay)
    return {
        "id": "custard-base", "name": "Custard base", "code": "C", "makes": "component", "yields": "6 L",
        "batch": {"least": "2 L", "most": "7 L"}, **_maybe(chance, 0.6, shelf_life=f"{pick([2, 3, 4])} d"),
        "steps": [cook, chill, age],
    }  # fmt: skip


def _puree(chance: random.Random, windows: list[str]) -> _Data:
    pick = chance.choice
    simmer = _step("simmer", "simmer", 45, equipment="hob", load="4 L", **_hands(chance, "cook"),
                   takes=[{"ingredient": "Damsons", "amount": "4 kg"}])  # fmt: skip
    stay = {"least": pick([0, 120]), "most": pick([1440, 2880]), "window": pick(windows)}
    keep = _step("keep", "store", equipment="fridge", load="3 L", stay=stay)
    return {
        "id": "damson-puree", "name": "Damson puree", "code": "M", "makes": "component", "yields": "3 L",
        "batch": {"least": "1 L", "most": "4 L"}, **_maybe(chance, 0.5, shelf_life="3 d"),
        "steps": [simmer, *([keep] if chance.random() < 0.8 else [])],
    }  # fmt: skip


def _frozen(
    chance: random.Random, churn_l: int, name: str, code: str, colour: str, take: _Data, allergens: list[str]
) -> _Data:
    pick = chance.choice
    churn = _step("churn", "churn", 35, equipment="churn", load="4 L", takes=[take], loss="200 ml",
                  **_hands(chance, "churn"))  # fmt: skip
    steps = [churn]
    if chance.random() < 0.7:
        after = [{"step": "churn", "most": pick([0, 5]), "window": pick(["quality", "safety"])}]
        steps.append(_step("harden", "harden", 180, equipment="blast freezer", load="4 L", after=after,
                           **_maybe(chance, 0.5, **_hands(chance, "clean"))))  # fmt: skip
    steps.append(_step("hold", "store", equipment="freezer", load="4 L", frozen=True,
                       stay={"least": pick([0, 120]), "most": "30 d"}))  # fmt: skip
    if chance.random() < 0.5:
        hands = _maybe(chance, 0.5, attended=[{"when": "start", "minutes": 5}], skill="serve")
        steps.append(_step("temper", "temper", 30, equipment="cabinet", load="4 L", per="order", **hands))
        after = [{"step": "temper", "most": pick([0, 20]), "window": "quality"}]
        steps.append(_step("hand-over", "hand over", 8, station="counter", per="order", after=after,
                           attended=[{"when": "throughout"}], skill="serve"))  # fmt: skip
    elif chance.random() < 0.7:
        steps.append(_step("hand-over", "hand over", 8, station="counter", per="order",
                           attended=[{"when": "throughout"}], skill="serve",
                           **_maybe(chance, 0.2, hands=1)))  # fmt: skip
    return {
        "id": name, "name": name.replace("-", " ").capitalize(), "code": code, "makes": "product", "yields": "4 L",
        "batch": {"least": "1.8 L", "most": f"{churn_l - 0.2:g} L"}, "allergens": allergens,
        **_maybe(chance, 0.6, colour=colour), **_maybe(chance, 0.2, base="custard"), "steps": steps,
    }  # fmt: skip


def _cones(chance: random.Random) -> _Data:
    mix = _step("mix", "mix", 15, station="stove", attended=[{"when": "throughout"}], skill="cook",
                takes=[{"ingredient": "Flour", "amount": "400 g", "allergens": ["wheat"]}])  # fmt: skip
    bake = _step("bake", "bake", equipment="oven", load="1 trays", cycle={"pieces": 6, "each": 6}, loss="2 each",
                 attended=[{"when": "throughout"}], skill="cook")  # fmt: skip
    keep = _step("keep", "store", equipment="dry shelf", load="8 L", stay={"least": 20, "most": "60 h"})
    give = _step("hand-over", "hand over", 5, station="counter", per="order", attended=[{"when": "throughout"}],
                 skill="serve")  # fmt: skip
    return {
        "id": "wafer-cones", "name": "Wafer cones", "code": "W", "makes": "product", "yields": "30 each",
        "batch": {"least": "10 each", "most": "40 each"}, **_maybe(chance, 0.5, shelf_life="3 d"),
        "steps": [mix, bake, keep, give],
    }  # fmt: skip


_PRODUCTS: Final = {"basil-custard": " L", "hazelnut-custard": " L", "damson-sorbet": " L", "wafer-cones": " each"}


def _orders(chance: random.Random) -> list[_Data]:
    found = []
    for number in range(chance.randint(1, 3)):
        products = chance.sample(sorted(_PRODUCTS), chance.randint(1, 2))
        day, hour = chance.randint(1, DAYS), chance.choice([9.5, 11, 16])
        lines = []
        for product in products:
            amounts = [0.5, 2, 3.3, 5] if _PRODUCTS[product] == " L" else [7, 20, 50]
            lines.append({"product": product, "quantity": f"{chance.choice(amounts)}{_PRODUCTS[product]}"})
        told = _maybe(chance, 0.3, earliest=clock(day, hour - chance.choice([0, 0.5, 2])))
        order = {"id": f"O-{number}", "customer": f"Guest {number}", "due": clock(day, hour), "lines": lines}
        found.append({**order, "weight": chance.randint(1, 3), **told})
    return found


def _stock(chance: random.Random) -> list[_Data]:
    found = []
    for number in range(chance.choice([0, 0, 1, 3])):
        recipe, place = chance.choice([("basil-custard", "freezer"), ("custard-base", "fridge"),
                                       ("damson-puree", "fridge"), ("damson-sorbet", "freezer")])  # fmt: skip
        code = {"basil-custard": "B", "custard-base": "C", "damson-puree": "M", "damson-sorbet": "S"}[recipe]
        use_by = _maybe(chance, 0.5, use_by=clock(chance.randint(0, 3), 20))
        made = clock(-1, chance.choice([10, 12, 15]))
        amount = f"{chance.choice([0.5, 1.5, 4])} L"
        found.append({"lot": f"{code}{number + 4}", "recipe": recipe, "quantity": amount, "made": made, **use_by,
                      "place": place})  # fmt: skip
    return found


def _supplies(chance: random.Random) -> list[_Data]:
    told = [("Milk", "delivery"), ("Damsons", "ripe"), ("Flour", "delivery")]
    return [
        {"ingredient": what, "ready": clock(chance.choice([0, 0, 1]), chance.choice([7.75, 12])), "why": why}
        for what, why in told
        if chance.random() < 0.25
    ]
