"""Reading a kitchen's folder: every file, every part validated by itself, so that one bad entry does not hide the
faults of the others."""

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

from orchestrator.core.models import (
    BatchSize,
    CrewMember,
    Model,
    Probe,
    Recipe,
    Step,
    TopicMapping,
)
from orchestrator.core.models.allergen import AllergenList
from orchestrator.core.models.buying import Bought, Supplier
from orchestrator.core.models.ingredient import Ingredient, Price
from orchestrator.core.models.label import LabelSheet, ProductLabel
from orchestrator.core.models.limit import Limit
from orchestrator.core.models.rescue import RescueCard
from orchestrator.core.quantities import Quantity
from orchestrator.core.rota import with_weekly
from orchestrator.kitchen.call_files import ADDRESS_REMEDY, ADDRESS_WHAT, CalleeInFile, addresses
from orchestrator.kitchen.documents import Document, read_document
from orchestrator.kitchen.draft import Draft, Entry, RecipeDraft
from orchestrator.kitchen.faults import Fault, one_of
from orchestrator.kitchen.files import (
    AllergensFile,
    CrewFile,
    CrewMemberInFile,
    EquipmentFile,
    EquipmentInFile,
    IngredientsFile,
    KitchenFile,
    LabelsFile,
    LimitsFile,
    NotifyFile,
    OrderInFile,
    OrdersFile,
    ProbesFile,
    RescueFile,
    StockFile,
    StockLotInFile,
    SuppliersFile,
    SuppliesFile,
    SupplyInFile,
)
from orchestrator.kitchen.salvage import salvage
from orchestrator.kitchen.text_files import FOLDER as TEXTS_FOLDER
from orchestrator.kitchen.text_files import TEXTS, read_texts
from orchestrator.kitchen.validation import validate

T = TypeVar("T")
F = TypeVar("F", bound=Model)

_OPTIONAL = (
    "probes.yaml",
    "stock.yaml",
    "supplies.yaml",
    "limits.yaml",
    "rescue.yaml",
    "ingredients.yaml",
    "allergens.yaml",
    "labels.yaml",
    "suppliers.yaml",
    "notify.yaml",
)
_FILES = ("kitchen.yaml", "equipment.yaml", "crew.yaml", "orders.yaml", *_OPTIONAL)


def read_folder(folder: Path) -> Draft:
    """Read every file of a kitchen's folder; faults are noted in the draft, never raised."""
    draft = Draft()
    if not folder.is_dir():
        draft.loose.append(
            Fault(str(folder), 0, 0, "there is no such folder", "name a folder with a kitchen.yaml in it")
        )
        return draft
    found: dict[str, Document] = {}
    present = _listing(draft, folder, "")
    for name in _FILES:
        if name in _OPTIONAL and name not in present:
            continue
        found[name] = read_document(folder, name)
        draft.documents.append(found[name])
    _read_header(draft, found["kitchen.yaml"])
    equipment = _entries(draft, found["equipment.yaml"], EquipmentFile, "equipment", EquipmentInFile)
    draft.equipment = [_as_core(entry, EquipmentInFile.to_core) for entry in equipment]
    crew = _entries(draft, found["crew.yaml"], CrewFile, "crew", CrewMemberInFile)
    draft.crew = [_as_core(entry, partial(_with_shifts, draft)) for entry in crew]
    orders = _entries(draft, found["orders.yaml"], OrdersFile, "orders", OrderInFile)
    draft.orders = [_as_core(entry, OrderInFile.to_core) for entry in orders]
    if "probes.yaml" in found:
        draft.probes = _entries(draft, found["probes.yaml"], ProbesFile, "probes", Probe)
        draft.mappings = _entries(draft, found["probes.yaml"], ProbesFile, "mappings", TopicMapping)
    if "stock.yaml" in found:
        lots = _entries(draft, found["stock.yaml"], StockFile, "stock", StockLotInFile)
        draft.stock = [_as_core(entry, StockLotInFile.to_core) for entry in lots]
    if "supplies.yaml" in found:
        supplies = _entries(draft, found["supplies.yaml"], SuppliesFile, "supplies", SupplyInFile)
        draft.supplies = [_as_core(entry, SupplyInFile.to_core) for entry in supplies]
    _read_own(draft, found)
    if "notify.yaml" in found:
        _read_calls(draft, found["notify.yaml"])
    documents, draft.texts = read_texts(folder, draft.zone)
    draft.documents += documents
    _read_recipes(draft, folder)
    _stray_files(draft, folder)
    return draft


def _with_shifts(draft: Draft, member: CrewMemberInFile) -> CrewMember:
    """Weekly shifts are written out for the days that the header says."""
    made = member.to_core()
    if draft.header is None or not made.weekly:
        return made
    return with_weekly(made, draft.zone, draft.header.planning_start.astimezone(draft.zone).date())


def _read_own(draft: Draft, found: dict[str, Document]) -> None:
    """What takes the place of, or goes beside, what comes with the program."""
    if "limits.yaml" in found:
        draft.limits = _entries(draft, found["limits.yaml"], LimitsFile, "limits", Limit)
    else:
        draft.listed.add("limits")
    if "rescue.yaml" in found:
        draft.cards = _entries(draft, found["rescue.yaml"], RescueFile, "cards", RescueCard)
    if "ingredients.yaml" in found:
        draft.ingredients = _entries(draft, found["ingredients.yaml"], IngredientsFile, "ingredients", Ingredient)
        draft.prices = _entries(draft, found["ingredients.yaml"], IngredientsFile, "prices", Price)
        _read_currency(draft, found["ingredients.yaml"])
    if "allergens.yaml" in found:
        draft.allergens = _entries(draft, found["allergens.yaml"], AllergensFile, "lists", AllergenList)
    if "suppliers.yaml" in found:
        draft.suppliers = _entries(draft, found["suppliers.yaml"], SuppliersFile, "suppliers", Supplier)
        draft.bought = _entries(draft, found["suppliers.yaml"], SuppliersFile, "ingredients", Bought)
    if "labels.yaml" in found:
        _read_labels(draft, found["labels.yaml"])


def _as_core(entry: Entry[F], convert: Callable[[F], T]) -> Entry[T]:
    value = None if entry.value is None else convert(entry.value)
    return Entry(entry.document, entry.path, entry.raw, value)


def _read_header(draft: Draft, document: Document) -> None:
    data = document.data
    if not document.readable:
        return
    name = data.get("time_zone") if isinstance(data, dict) else None
    if isinstance(name, str):
        try:
            draft.zone = ZoneInfo(name)
        except (KeyError, ValueError, OSError):
            draft.zone = ZoneInfo("UTC")  # the fault is noted below, as that of the key
    draft.header = validate(document, KitchenFile, data, (), draft.zone)
    listed = data.get("stations") if isinstance(data, dict) else None
    if isinstance(listed, list):
        draft.listed.add("stations")
    for index, raw in enumerate(listed if isinstance(listed, list) else []):
        value = draft.header.stations[index] if draft.header else None
        draft.stations.append(Entry(document, ("stations", index), raw, value))


def _entries(draft: Draft, document: Document, file: type[Model], key: str, model: type[F]) -> list[Entry[F]]:
    """The entries under one key of a file, each validated by itself."""
    if not document.readable:
        return []
    data = document.data
    if not isinstance(data, dict):
        document.add((), f"{document.file} is not a set of keys", f"begin with `{key}:` and list the entries below it")
        return []
    keys = tuple(file.model_fields)
    if key == keys[0]:
        for unknown in data.keys() - set(keys):
            document.add((unknown,), f"unknown key {unknown!r}", one_of(keys, unknown))
    if key not in data:
        if file.model_fields[key].is_required():
            document.add((), f"{key!r} is missing", f"begin with `{key}:` and list the entries below it")
        else:
            draft.listed.add(key)
        return []
    listed = data[key]
    if not isinstance(listed, list):
        document.add((key,), f"{key!r} is not a list", "begin each entry with a hyphen, or write [] for none")
        return []
    draft.listed.add(key)
    entries = []
    for index, raw in enumerate(listed):
        value = validate(document, model, raw, (key, index), draft.zone)
        if value is None and model is not EquipmentInFile:  # a machine without its capacity would seem to take anything
            value = salvage(model, raw, draft.zone)
        entries.append(Entry(document, (key, index), raw, value))
    return entries


def _read_currency(draft: Draft, document: Document) -> None:
    if isinstance(document.data, dict) and "currency" in document.data:
        told = {"ingredients": [], "currency": document.data["currency"]}
        read = validate(document, IngredientsFile, told, (), draft.zone)
        draft.currency = read.currency if read is not None else ""


def _read_labels(draft: Draft, document: Document) -> None:
    draft.sheets = _entries(draft, document, LabelsFile, "sheets", LabelSheet)
    draft.products = _entries(draft, document, LabelsFile, "products", ProductLabel)
    if isinstance(document.data, dict):
        told = {key: document.data.get(key, ()) for key in ("template", "languages")}
        rest = validate(document, LabelsFile, told, (), draft.zone)
        if rest is not None:
            draft.template, draft.label_languages = rest.template, rest.languages


def _read_calls(draft: Draft, document: Document) -> None:
    shown = list(addresses(document.data))
    for path in shown:
        document.add(path, ADDRESS_WHAT, ADDRESS_REMEDY)
    if shown:
        return  # any other fault might repeat it
    callees = _entries(draft, document, NotifyFile, "people", CalleeInFile)
    draft.callees = [_as_core(entry, CalleeInFile.to_core) for entry in callees]
    if isinstance(document.data, dict):
        rules = validate(document, NotifyFile, {**document.data, "people": []}, (), draft.zone)
        draft.calls = rules.to_core() if rules is not None else draft.calls


def _read_recipes(draft: Draft, folder: Path) -> None:
    names = [name for name in _listing(draft, folder, "recipes") if name.endswith(".yaml")]
    if not names:
        draft.loose.append(
            Fault("recipes", 0, 0, "there is no recipe", "add recipes/<id>.yaml for each product and component")
        )
    for name in names:
        document = read_document(folder, f"recipes/{name}")
        draft.documents.append(document)
        stem = name.removesuffix(".yaml")
        draft.recipes.append(
            recipe_draft(document, stem, draft.zone) if document.readable else RecipeDraft(document, stem)
        )


def recipe_draft(document: Document, stem: str, zone: ZoneInfo) -> RecipeDraft:
    """One recipe as it stands in a document; its faults are noted there."""
    recipe = validate(document, Recipe, document.data, (), zone)
    raw = document.data if isinstance(document.data, dict) else {}
    listed = raw.get("steps")
    steps = listed if isinstance(listed, list) else []
    name = raw.get("id")
    draft = RecipeDraft(document, name if isinstance(name, str) else stem, recipe)
    draft.step_ids = tuple(_text(step.get("id")) if isinstance(step, dict) else None for step in steps)
    if recipe is not None:
        draft.makes, draft.code, draft.yields, draft.batch = recipe.makes, recipe.code, recipe.yields, recipe.batch
        draft.steps = dict(enumerate(recipe.steps))
        return draft
    # The faults are noted already; what is right of the rest still takes part in the other checks.
    scratch = Document(document.file)
    for index, step in enumerate(steps):
        value = salvage(Step, step, zone)
        if value is not None:
            draft.steps[index] = value
    draft.yields = validate(scratch, Quantity, raw.get("yields"), ("yields",), zone)
    draft.batch = validate(scratch, BatchSize, raw.get("batch"), ("batch",), zone)
    draft.makes = str(raw["makes"]) if raw.get("makes") in ("product", "component") else None
    draft.code = raw["code"] if isinstance(raw.get("code"), str) else None
    return draft


def _stray_files(draft: Draft, folder: Path) -> None:
    """A YAML file that nothing reads is most likely misnamed: a silent loss."""
    for name in _listing(draft, folder, ""):
        if name.endswith((".yaml", ".yml")) and name not in (*_FILES, TEXTS):
            draft.loose.append(Fault(name, 0, 0, "is not a file of a kitchen", one_of((*_FILES, TEXTS), name)))
    for part in ("recipes", TEXTS_FOLDER):
        for name in _listing(draft, folder, part):
            if name.endswith(".yml"):
                remedy = f"rename it to {name.removesuffix('.yml')}.yaml"
                draft.loose.append(Fault(f"{part}/{name}", 0, 0, "is not read", remedy))


def _listing(draft: Draft, folder: Path, part: str) -> list[str]:
    """Names in the folder or a part of it, in order; nothing if it is not there."""
    place = folder / part
    try:
        return sorted(path.name for path in place.iterdir()) if place.is_dir() else []
    except OSError as error:
        what = f"cannot be read: {error.strerror or error}"
        draft.loose.append(Fault(part or str(folder), 0, 0, what, "check the folder and its permissions"))
        return []


def _text(value: Any) -> str | None:
    return value if isinstance(value, str) else None
