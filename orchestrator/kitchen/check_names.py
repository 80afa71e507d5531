"""Names that must stand for something: stations, kinds of equipment, skills, recipes, probes."""

from collections.abc import Iterable, Sequence
from typing import Any

from orchestrator.kitchen.draft import Draft, Entry
from orchestrator.kitchen.faults import one_of
from orchestrator.kitchen.topics import check_mapping


class _Known:
    """Names that something may be called by; if some cannot be read, no other name is called unknown."""

    def __init__(self, names: Iterable[str | None], *, complete: bool) -> None:
        self.names = {name for name in names if name is not None}
        self.complete = complete

    def lacks(self, name: str) -> bool:
        """Whether it is certain that there is no such name."""
        return self.complete and name not in self.names


def _written(draft: Draft, entries: Sequence[Entry[Any]], listed: str, key: str) -> _Known:
    """What is written under a key in all entries, right or wrong."""
    names = [entry.raw_text(key) for entry in entries]
    return _Known(names, complete=listed in draft.listed and None not in names)


def _makes(draft: Draft) -> dict[str, str | None]:
    """What each recipe makes, by its id and, should that be wrong, by the name of its file."""
    by_file = {recipe.document.file[len("recipes/") : -len(".yaml")]: recipe.makes for recipe in draft.recipes}
    return by_file | {recipe.id: recipe.makes for recipe in draft.recipes}


def _stations(draft: Draft) -> _Known:
    return _written(draft, draft.stations, "stations", "id")


def _skills(draft: Draft) -> _Known:
    """Skills that somebody has."""
    lists = [entry.raw.get("skills") if isinstance(entry.raw, dict) else None for entry in draft.crew]
    complete = "crew" in draft.listed and all(
        isinstance(listed, list) and all(isinstance(skill, str) for skill in listed) for listed in lists
    )
    names = [skill for listed in lists if isinstance(listed, list) for skill in listed if isinstance(skill, str)]
    return _Known(names, complete=complete)


def check_kitchen_names(draft: Draft) -> None:
    """Stations and skills that equipment names exist."""
    stations, skills = _stations(draft), _skills(draft)
    for entry in draft.equipment:
        machine = entry.value
        if machine is None:
            continue
        if stations.lacks(machine.station):
            entry.add(("station",), f"there is no station {machine.station!r}", one_of(stations.names, machine.station))
        if machine.cleaning is not None and skills.lacks(machine.cleaning.skill):
            skill = machine.cleaning.skill
            entry.add(("cleaning", "skill"), f"nobody has the skill {skill!r}", one_of(skills.names, skill))
        if machine.day_end is not None and skills.lacks(machine.day_end.skill):
            skill = machine.day_end.skill
            entry.add(("day_end", "skill"), f"nobody has the skill {skill!r}", one_of(skills.names, skill))


def check_step_names(draft: Draft) -> None:
    """Stations, kinds, skills and components that steps name exist."""
    stations, kinds = _stations(draft), _written(draft, draft.equipment, "equipment", "kind")
    skills = _skills(draft)
    makes = _makes(draft)
    components = [name for name, what in makes.items() if what == "component"]
    for recipe in draft.recipes:
        for index, step in recipe.steps.items():
            where = ("steps", index)
            if step.station is not None and stations.lacks(step.station):
                what = f"there is no station {step.station!r}"
                recipe.add((*where, "station"), what, one_of(stations.names, step.station))
            if step.equipment is not None and kinds.lacks(step.equipment):
                what = f"there is no equipment of the kind {step.equipment!r}"
                recipe.add((*where, "equipment"), what, one_of(kinds.names, step.equipment))
            if step.skill is not None and skills.lacks(step.skill):
                recipe.add((*where, "skill"), f"nobody has the skill {step.skill!r}", one_of(skills.names, step.skill))
            for number, take in enumerate(step.takes):
                place = (*where, "takes", number, "component")
                if take.component is None:
                    continue
                if take.component not in makes:
                    what = f"there is no recipe {take.component!r} to make this component"
                    recipe.add(place, what, one_of(components, take.component))
                elif makes[take.component] == "product":
                    what = f"{take.component!r} is a product, not a component"
                    recipe.add(place, what, one_of(components, take.component))


def check_order_names(draft: Draft) -> None:
    """Products that orders name exist; so do recipes and places of the stock."""
    makes = _makes(draft)
    products = [name for name, what in makes.items() if what == "product"]
    places = _written(draft, draft.equipment, "equipment", "id")
    for order in draft.orders:
        for index, line in enumerate(order.value.lines if order.value else ()):
            where = ("lines", index, "product")
            if line.product not in makes:
                order.add(where, f"there is no product {line.product!r}", one_of(products, line.product))
            elif makes[line.product] == "component":
                order.add(where, f"{line.product!r} is a component, not a product", one_of(products, line.product))
    for lot in draft.stock:
        if lot.value is None:
            continue
        if lot.value.recipe not in makes:
            lot.add(("recipe",), f"there is no recipe {lot.value.recipe!r}", one_of(makes, lot.value.recipe))
        if lot.value.place is not None and places.lacks(lot.value.place):
            lot.add(("place",), f"there is no equipment {lot.value.place!r}", one_of(places.names, lot.value.place))


def check_probe_names(draft: Draft) -> None:
    """Equipment that probes sit in exists; mappings name a probe in one way and point at one value."""
    places = _written(draft, draft.equipment, "equipment", "id")
    probes = _written(draft, draft.probes, "probes", "id")
    for entry in draft.probes:
        if entry.value is not None and places.lacks(entry.value.equipment):
            equipment = entry.value.equipment
            entry.add(("equipment",), f"there is no equipment {equipment!r}", one_of(places.names, equipment))
        if entry.value is not None and entry.value.silent_after < entry.value.interval:
            what = "the probe would be called silent before its next reading is expected"
            entry.add(("silent_after",), what, "make silent_after no less than interval")
    for mapping in draft.mappings:
        if mapping.value is None:
            continue
        if mapping.value.probe is not None and probes.lacks(mapping.value.probe):
            probe = mapping.value.probe
            mapping.add(("probe",), f"there is no probe {probe!r}", one_of(probes.names, probe))
        check_mapping(mapping)
