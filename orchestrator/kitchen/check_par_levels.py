"""Par levels that can be: of a station and a product that are there, in the product's unit, each once."""

from orchestrator.kitchen.draft import Draft
from orchestrator.kitchen.faults import one_of


def check_par_levels(draft: Draft) -> None:
    """Every par level names a station and a product, and counts as the product does."""
    document = next((d for d in draft.documents if d.file == "kitchen.yaml"), None)
    if draft.header is None or document is None:
        return
    stations = {station.id for station in draft.header.stations}
    products = {str(r.id): r.yields for r in draft.recipes if r.recipe is not None and r.recipe.makes == "product"}
    whole = all(recipe.recipe is not None for recipe in draft.recipes)
    seen: set[tuple[str, str]] = set()
    for index, par in enumerate(draft.header.par_levels):
        where = ("par_levels", index)
        if par.station not in stations:
            what = f"there is no station {par.station!r}"
            document.add((*where, "station"), what, one_of(stations, par.station))
        made = products.get(par.product)
        if made is None and whole:
            what = f"there is no product {par.product!r}"
            document.add((*where, "product"), what, one_of(products, par.product))
        elif made is not None and (par.quantity.unit is not made.unit or par.quantity.value <= 0):
            what = f"{par.quantity.value:g} {par.quantity.unit} is no amount of {par.product}"
            document.add((*where, "quantity"), what, f"write more than 0, in {made.unit}")
        if (par.station, par.product) in seen:
            document.add(where, f"{par.product!r} at {par.station!r} comes twice", "keep one of the two")
        seen.add((par.station, par.product))
