"""Changes of what counters are to have, and what was counted there, carried out on a request or refused."""

from orchestrator.core.changes_refusals import bad, unknown
from orchestrator.core.errors import Refusal
from orchestrator.core.ids import RecipeId, StationId
from orchestrator.core.models import Kitchen, PlanRequest
from orchestrator.core.models.change import CloseCounter, SetPar
from orchestrator.core.models.demand import ParLevel
from orchestrator.core.plausible_amounts import left_doubt
from orchestrator.core.quantities import Quantity, Unit


def may_set_par(request: PlanRequest, change: SetPar) -> Refusal | None:
    """Why a counter cannot have that par."""
    return _no_counter(request, change.station) or _no_amount(request, change.product, change.quantity)


def set_par(request: PlanRequest, change: SetPar) -> PlanRequest:
    """Another par level, in the place of the one before."""
    kitchen = request.kitchen
    own = (change.station, change.product)
    others = tuple(par for par in kitchen.par_levels if (par.station, par.product) != own)
    par = ParLevel(station=change.station, product=change.product, quantity=change.quantity, by=change.by)
    pars = (*others, par) if change.quantity.value else others
    return request.model_copy(update={"kitchen": kitchen.model_copy(update={"par_levels": pars})})


def may_close(request: PlanRequest, change: CloseCounter) -> Refusal | None:
    """Why a count cannot be."""
    refused = _no_counter(request, change.station)
    for one in change.counts:
        refused = refused or _no_amount(request, one.product, one.quantity)
    return refused


def closing_doubt(kitchen: Kitchen, change: CloseCounter) -> Refusal | None:
    """The question about the first count of far more than its par; none where all fit, or somebody is sure.

    Only of a count that is handed in: one that is on record is what was counted.
    """
    pars = {par.product: par.quantity for par in kitchen.par_levels if par.station == change.station}
    for one in change.counts:
        par = pars.get(one.product)
        if par is not None and par.unit is one.quantity.unit and not one.sure:
            doubt = left_doubt(one.product, one.quantity, par)
            if doubt is not None:
                return doubt
    return None


def close(request: PlanRequest, _: CloseCounter) -> PlanRequest:
    """A count alone changes nothing that is planned: what follows from it is an order."""
    return request


def _no_counter(request: PlanRequest, station: StationId) -> Refusal | None:
    if any(known.id == station for known in request.kitchen.stations):
        return None
    return unknown("station", station, (known.id for known in request.kitchen.stations))


def _no_amount(request: PlanRequest, product: RecipeId, quantity: Quantity) -> Refusal | None:
    recipe = next((r for r in request.kitchen.recipes if r.id == product and r.makes == "product"), None)
    if recipe is None:
        return unknown("product", product, (r.id for r in request.kitchen.recipes if r.makes == "product"))
    if quantity.unit is not recipe.yields.unit or quantity.value < 0:
        remedy = f"an amount in {recipe.yields.unit}, or 0"
        return bad(product, f"{recipe.name} is counted in {recipe.yields.unit}", remedy)
    if quantity.unit is Unit.EACH and quantity.value != int(quantity.value):
        return bad(product, f"{recipe.name} is counted in whole pieces", "a whole number, or 0")
    return None
