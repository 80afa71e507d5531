"""A small kitchen in files, whole, and ways to break it."""

from pathlib import Path
from typing import Final

from orchestrator.kitchen import KitchenFaults, read_kitchen

FILES: Final = {
    "kitchen.yaml": """\
name: Small kitchen
time_zone: Europe/London
planning_start: 2026-11-25T06:00
horizon_days: 3
stations:
  - { id: bench, name: Bench }
  - { id: counter, name: Counter }
""",
    "equipment.yaml": """\
equipment:
  - id: hob
    name: Hob
    kind: hob
    station: bench
    floor: warm
    capacity: 8 L
  - id: fridge
    name: Fridge
    kind: fridge
    station: bench
    floor: cold
    capacity: 20 L
    shared: true
    store: true
    holds: { low: 0 °C, high: 5 °C }
  - id: churn
    name: Churn
    kind: churn
    station: bench
    floor: churn
    capacity: 5 L
    least: 1 L
    cleaning: { rinse: 15 min, full: 40 min, skill: make }
    precool: { minutes: 15 min, keeps: 60 min }
    day_end: { minutes: 20 min, skill: serve }
""",
    "crew.yaml": """\
crew:
  - id: cook
    name: Cook
    skills: [make]
    shifts:
      - { day: 2026-11-25, from: "06:00", to: "14:00", breaks: ["10:00-10:30"] }
      - { day: 2026-11-26, from: "06:00", to: "14:00" }
  - id: counter-hand
    name: Counter hand
    skills: [serve]
    shifts:
      - { day: 2026-11-27, from: "09:00", to: "17:00" }
""",
    "probes.yaml": """\
probes:
  - { id: fridge-air, name: Fridge air, equipment: fridge, reads: air }
mappings:
  - topic: sensors/+/temperature
    probe_level: 1
    celsius: /t
""",
    "orders.yaml": """\
orders:
  - id: FRI-COUNTER
    customer: Counter
    due: 2026-11-27T12:00
    lines:
      - { product: damson-sorbet, quantity: 3 L }
""",
    "stock.yaml": """\
stock:
  - lot: S1
    recipe: damson-sorbet
    quantity: 1 L
    made: 2026-11-24T15:00
    use_by: 2026-12-24T15:00
    place: fridge
""",
    "recipes/damson-puree.yaml": """\
id: damson-puree
name: Damson puree
code: M
makes: component
yields: 3 L
batch: { least: 1 L, most: 4 L }
shelf_life: 5 d
steps:
  - id: simmer
    process: simmer
    title: Simmer the damsons
    equipment: hob
    load: 5 L
    duration: { shortest: 30 min, usual: 40 min, longest: 60 min }
    attended: [{ when: start, minutes: 10 min }]
    skill: make
    takes:
      - { ingredient: Damsons, amount: 4 kg }
  - id: keep
    process: store
    title: Keep the puree cold
    equipment: fridge
    load: 3 L
    stay: { least: 4 h, most: 5 d, window: safety }
""",
    "recipes/damson-sorbet.yaml": """\
id: damson-sorbet
name: Damson sorbet
code: S
makes: product
yields: 5 L
batch: { least: 2 L, most: 6 L }
steps:
  - id: mix
    process: mix
    title: Mix the sorbet
    station: bench
    duration: { shortest: 8 min, usual: 10 min, longest: 15 min }
    attended: [{ when: throughout }]
    skill: make
    takes:
      - { component: damson-puree, amount: 2.5 L }
  - id: churn
    process: churn
    title: Churn the sorbet
    equipment: churn
    load: 4 L
    duration: { shortest: 28 min, usual: 35 min, longest: 50 min }
    attended: [{ when: start, minutes: 8 min }]
    skill: make
    after: [{ step: mix, least: 5 min, most: 30 min }]
    gates: [{ at_most: 4 °C, says: Mix at most 4 °C }]
    loss: 200 ml
  - id: hand-over
    process: hand over
    title: Hand over the sorbet
    station: counter
    duration: { shortest: 5 min, usual: 8 min, longest: 15 min }
    attended: [{ when: throughout }]
    skill: serve
    per: order
""",
}
"""The whole kitchen, file by file; it has no faults."""


def write_small(folder: Path) -> Path:
    """Write the small kitchen into a folder. Returns the folder."""
    for name, text in FILES.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return folder


def change(folder: Path, file: str, old: str, new: str) -> None:
    """Replace one passage, which must be there exactly once."""
    path = folder / file
    text = path.read_text(encoding="utf-8")
    assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times in {file}"
    path.write_text(text.replace(old, new), encoding="utf-8")


def faults(folder: Path) -> list[str]:
    """What reading the kitchen says is wrong; nothing if it is read."""
    try:
        read_kitchen(folder)
    except KitchenFaults as error:
        return [fault.text() for fault in error.faults]
    return []
