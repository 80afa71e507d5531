"""A first kitchen to change step by step: small, valid, and explained where the reader's eye falls."""

from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Final

from orchestrator.kitchen.schemas import write_schemas

_KITCHEN: Final = """\
# yaml-language-server: $schema=schemas/kitchen.schema.json
# Start here: name your kitchen, set its time zone and the first minute to plan.
# All times in these files are those of the clock on your wall; `coldwright check` tells you of every slip.
name: My kitchen
time_zone: Europe/London # a name of the IANA list
planning_start: {first}T06:00
horizon_days: 5
temperature_unit: C # or F; either may be written in the files, as in 4 °C or 39 °F

stations: # where a cook stands and looks at a screen
  - {{ id: bench, name: Bench }}
  - {{ id: counter, name: Counter }}

warnings: # how long before a miss people are told
  window_lead: 60 min
  order_lead: 2 h
  late_start: 10 min
"""

_EQUIPMENT: Final = """\
# yaml-language-server: $schema=schemas/equipment.schema.json
# Next: your machines and stores. Steps ask for a `kind`; any machine of that kind will do.
# `floor` is its place on the way down from fire to freezer: hands, warm, cold, churn or hard.
equipment:
  - id: fridge
    name: Fridge
    kind: fridge
    station: bench
    floor: cold
    capacity: 20 L # how much it holds ...
    shared: true # ... of several things at once
    store: true # food stays in it
    # Cold holding at 5 °C (41 °F) or below: FDA Food Code 2022, 3-501.16(A). Your local code decides.
    holds: {{ low: 0 °C, high: 5 °C, grace: 20 min }}
  - id: churn
    name: Churn
    kind: churn
    station: bench
    floor: churn
    capacity: 5 L # litres of mix per run; not shared: one run at a time
    least: 1 L
    cleaning: {{ rinse: 15 min, full: 40 min, skill: make }} # rinse when allergens only grow, else full
    cautions: ["Turning blade: guard shut before you start it"]
  - id: freezer
    name: Freezer
    kind: freezer
    station: counter
    floor: hard
    capacity: 20 L
    shared: true
    store: true
    holds: {{ high: -18 °C, grace: 30 min }} # common practice for frozen storage
"""

_CREW: Final = """\
# yaml-language-server: $schema=schemas/crew.schema.json
# People by role. Work that needs hands is planned only inside shifts, never in a break. What is written here is where
# the record begins: later, other hours, absences and extra shifts are put down on the page *Shifts*.
crew:
  - id: cook
    name: Cook
    skills: [make]
    shifts:
      - {{ every: [mon, tue, wed, thu, fri, sat, sun], from: "06:00", to: "14:00", breaks: ["10:00-10:30"] }}
  - id: counter-hand
    name: Counter hand
    skills: [serve]
    manager: true # may also decide about plans and lots
    shifts:
      - {{ every: [mon, tue, wed, thu, fri, sat, sun], from: "09:00", to: "17:00", breaks: ["12:30-13:00"] }}
      # One day only: {{ day: {third}, from: "09:00", to: "12:00" }} holds alone on that day.
"""

_PROBES: Final = """\
# yaml-language-server: $schema=schemas/probes.schema.json
# Thermometers, by the name under which they speak: coldwright/v1/probes/fridge-air/reading
probes:
  - {{ id: fridge-air, name: Fridge air, equipment: fridge, reads: air, interval: 1 min, silent_after: 10 min }}
"""

_ORDERS: Final = """\
# yaml-language-server: $schema=schemas/orders.schema.json
# What is wanted, and when it must be handed over.
orders:
  - id: FIRST-ORDER
    customer: Counter
    due: {third}T12:00
    lines:
      - {{ product: damson-sorbet, quantity: 3 L }}
"""

_STOCK: Final = """\
# yaml-language-server: $schema=schemas/stock.schema.json
# What is on hand when planning starts, for example:
#   - {{ lot: S1, recipe: damson-sorbet, quantity: 1 L, made: {before}T15:00, place: freezer }}
stock: []
"""

_RECIPE: Final = """\
# yaml-language-server: $schema=../schemas/recipe.schema.json
# Last: how each product is made, one file a recipe. The file is named after the id.
id: damson-sorbet
name: Damson sorbet
code: S # its lots are S1, S2 ...
makes: product # or component: made for other recipes, which take it by its id
yields: 4 L # from the amounts below, before losses
batch: {{ least: 2 L, most: 5 L }}
shelf_life: 30 d
steps:
  - id: mix
    process: mix
    title: Mix the sorbet
    station: bench
    duration: {{ shortest: 10 min, usual: 15 min, longest: 25 min }}
    attended: [{{ when: throughout }}] # needs hands; without it a step runs on its own
    skill: make
    takes: # name the allergens of each ingredient: {{ ..., allergens: [milk] }}
      - {{ ingredient: Damson puree, amount: 2 L }}
      - {{ ingredient: Sugar, amount: 450 g }}
      - {{ ingredient: Water, amount: 900 ml }}
    method:
      - Dissolve the sugar in the water.
      - Whisk in the puree.
  - id: rest # a stay fills a store until the next step starts
    process: age
    title: Rest the mix cold
    equipment: fridge
    load: 3.2 L # of the capacity, at the amounts written here
    stay: {{ least: 4 h, most: 48 h, window: quality }} # safety, quality or preference
  - id: churn
    process: churn
    title: Churn the sorbet
    equipment: churn
    load: 3.2 L
    duration: {{ shortest: 28 min, usual: 35 min, longest: 50 min }}
    attended:
      - {{ when: start, minutes: 8 min }}
      - {{ when: end, minutes: 10 min }}
    skill: make
    gates: # what must be so before it may start
      - {{ at_most: 4 °C, says: Mix at most 4 °C }}
    loss: 100 ml # stays in the machine
    method:
      - Draw off into cold tubs, lid and label.
    cautions: ["Turning blade: guard shut"]
  - id: hold
    process: store
    title: Harden and hold the sorbet
    equipment: freezer
    load: 4 L
    stay: {{ least: 8 h, most: 30 d, window: quality }}
  - id: hand-over
    process: hand over
    title: Hand over the sorbet
    station: counter
    duration: {{ shortest: 5 min, usual: 8 min, longest: 15 min }}
    attended: [{{ when: throughout }}]
    skill: serve
    per: order # once for each order line
    method: [Check label and lot against the order.]
"""

_FILES: Final = {
    "kitchen.yaml": _KITCHEN,
    "equipment.yaml": _EQUIPMENT,
    "crew.yaml": _CREW,
    "probes.yaml": _PROBES,
    "orders.yaml": _ORDERS,
    "stock.yaml": _STOCK,
    "recipes/damson-sorbet.yaml": _RECIPE,
}


def new_kitchen(folder: Path, *, first_day: date | None = None) -> tuple[Path, ...]:
    """Write a minimal valid kitchen: one product, two people, and comments that lead on.

    Args:
        folder: Where to; made if it is not there, and must be empty if it is.
        first_day: First day that is planned; tomorrow if left out.

    Returns:
        The files written.

    Raises:
        FileExistsError: Something is there already; nothing is overwritten.
    """
    folder = Path(folder)
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise FileExistsError(f"{folder} is not an empty folder: name a new one, nothing is overwritten")
    first = first_day or datetime.now(UTC).astimezone().date() + timedelta(days=1)
    days = {name: first + timedelta(days=n) for name, n in (("before", -1), ("first", 0), ("second", 1), ("third", 2))}
    written = []
    for name, text in _FILES.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text.format(**days), encoding="utf-8")
        written.append(path)
    return (*written, *write_schemas(folder))
