"""Receiving: what came is taken in, or not; what is not there as thought makes a new plan necessary."""

from orchestrator.core.by_products import open_lots
from orchestrator.core.changes_supplies import concerned, ingredients, new_allergens
from orchestrator.core.decide.case import Case, Decision, named, with_replan
from orchestrator.core.errors import Refusal, RefusalCode
from orchestrator.core.ids import CrewId, SupplyLotId
from orchestrator.core.limit_folds import tolerance_of
from orchestrator.core.models import LimitId, LimitKind
from orchestrator.core.models.change import SwapIngredient
from orchestrator.core.models.verdict import LimitVerdict
from orchestrator.core.plausible import asked_about, doubt_on_arrival
from orchestrator.core.plausible_amounts import delivery_doubt
from orchestrator.core.quantities import Quantity
from orchestrator.core.stock_commands import JudgeRipeness, ReceiveDelivery, ReplaceIngredient
from orchestrator.core.stock_events import DeliveryReceived, IngredientSwapped, RipenessJudged
from orchestrator.core.wanted import still_wanted

LIMITS = {"cold": LimitId("cold-holding"), "frozen": LimitId("frozen-holding")}
"""By what a delivery's temperature is judged. Source: FDA Food Code 2022, 3-202.11(A): what must be kept cold is at
5 °C (41 °F) or below when it is received; (from memory) frozen food comes frozen. Local code decides."""


def receive(case: Case, command: ReceiveDelivery) -> Decision | Refusal:
    """Take a delivery in, take it in short, refuse it, or say that it did not come."""
    who = named(case, command.ingredient, "to receive it")
    if isinstance(who, Refusal):
        return who
    verdict = judged(case, command)
    refusal = (
        _known(case, command)
        or _complete(case, command)
        or _doubtful(case, command)
        or _warm(case, command, verdict, who)
    )
    if refusal is not None:
        return refusal
    came = command.outcome in ("accepted", "short")
    event = DeliveryReceived(
        delivery=SupplyLotId(f"in-{len(case.state.pantry.deliveries) + 1}"),
        at=case.at,
        person=who,
        ingredient=command.ingredient,
        outcome=command.outcome,
        quantity=command.quantity if came else None,
        expected=command.expected,
        celsius=command.celsius,
        verdict=verdict,
        supplier=command.supplier,
        supplier_lot=command.supplier_lot,
        use_by=command.use_by if came else None,
        place=command.place if came else None,
        reason=command.reason,
        rest_at=command.rest_at if command.outcome != "accepted" else None,
        usable=_usable(case, command) if command.outcome != "accepted" else None,
    )
    return with_replan(case, (event,), _why_replan(case, command))


def _why_replan(case: Case, command: ReceiveDelivery) -> str:
    if command.outcome == "accepted":
        return f"{command.ingredient} is there" if command.ingredient in case.known.supplies else ""
    says = {"short": "came short", "refused": "was refused", "not come": "did not come"}
    return f"{command.ingredient} {says[command.outcome]}"


def judged(case: Case, command: ReceiveDelivery) -> LimitVerdict | None:
    """What the limit of how it is kept says of the temperature it came with; none for dry goods, or unmeasured.

    Judged unrounded, in the column of the kitchen's unit. It clears nothing.
    """
    limit = case.kitchen.limit(LIMITS[command.keep]) if command.keep in LIMITS else None
    if limit is None or limit.kind is not LimitKind.KEEP or command.celsius is None or limit.rows[0].at_most is None:
        return None
    unit = case.kitchen.temperature_unit
    degrees = command.celsius if unit == "C" else command.celsius * 1.8 + 32.0
    margin, tolerance = limit.rows[0].at_most.in_unit(unit) - degrees, tolerance_of(unit)
    return LimitVerdict(
        limit=limit.id,
        title=limit.title,
        applied=limit.applied,
        row=limit.rows[0].id,
        status="met" if margin >= 0 else "broken",
        unit=unit,
        of="food",
        at=case.at,
        margin_degrees=margin,
        readings=((case.at, degrees),),
        tolerance_degrees=tolerance,
        within_tolerance=abs(margin) <= tolerance,
    )


def _known(case: Case, command: ReceiveDelivery) -> Refusal | None:
    known = ingredients(case.kitchen)
    if command.ingredient not in known:
        remedy = f"one of {', '.join(sorted(known))}"
        status = "no recipe takes it"
        return Refusal(code=RefusalCode.UNKNOWN, thing=command.ingredient, status=status, remedy=remedy)
    unit = known[command.ingredient].unit
    for amount in (command.quantity, command.expected, command.also_here):
        if amount is not None and (amount.unit is not unit or amount.value < 0):
            status = f"recipes take it in {unit}"
            return _bad(command, status, f"an amount in {unit}, 0 or more")
    if command.place is not None and command.place not in case.known.equipment:
        return _bad(command, f"there is no place {command.place}", "one of the kitchen's stores")
    return None


def _complete(case: Case, command: ReceiveDelivery) -> Refusal | None:
    """Everything is there that must be on record."""
    came = command.outcome in ("accepted", "short")
    if came and (command.quantity is None or command.quantity.value <= 0):
        return _bad(command, "how much came is missing", "an amount above 0, or refuse it")
    if came and command.keep != "dry" and command.celsius is None:
        return _bad(command, "its temperature is missing", "measure between two packs, and enter it")
    if came and command.use_by is not None and command.use_by <= case.at:
        return _bad(command, f"its use-by {case.clock(command.use_by)} is past", "refuse it, or correct the date")
    if command.outcome == "refused" and not command.reason.strip():
        return _bad(command, "why it is refused is missing", "a reason, such as 'too warm' or 'pack open'")
    if command.rest_at is not None and command.rest_at <= case.at:
        return _bad(command, "the rest would come in the past", "a time from now on, or none")
    return None


def _doubtful(case: Case, command: ReceiveDelivery) -> Refusal | None:
    """A temperature that only another unit explains is asked about before it is judged; so is an amount far off."""
    if command.celsius is not None and not command.sure:
        doubt = doubt_on_arrival(case.kitchen, command.keep, command.celsius)
        if doubt is not None:
            return asked_about(doubt, command.ingredient)
    if command.outcome not in ("accepted", "short") or command.quantity is None or command.sure_of_amount:
        return None
    needed = still_wanted(case.state, command.ingredient, command.quantity.unit)
    all_of_it = command.outcome == "accepted"
    return delivery_doubt(command.ingredient, command.quantity, command.expected, needed, all_of_it=all_of_it)


def _warm(case: Case, command: ReceiveDelivery, verdict: LimitVerdict | None, who: CrewId) -> Refusal | None:
    """What came too warm is refused, unless a manager takes it in and says why; the record keeps the verdict."""
    came = command.outcome in ("accepted", "short")
    if not came or verdict is None or verdict.status == "met":
        return None
    managers = [member.name for member in case.kitchen.crew if member.manager]
    if managers and not case.known.crew[who].manager:
        remedy = f"refuse it, or ask {' or '.join(managers)}; local code decides"
        return Refusal(code=RefusalCode.NOT_ALLOWED, thing=command.ingredient, status=_too_warm(verdict), remedy=remedy)
    if not command.reason.strip():
        remedy = "refuse it, or say by which local code it may be taken in, and what is done with it"
        return Refusal(code=RefusalCode.BAD_VALUE, thing=command.ingredient, status=_too_warm(verdict), remedy=remedy)
    return None


def _too_warm(verdict: LimitVerdict) -> str:
    over = -(verdict.margin_degrees or 0.0)
    turned = "; a thermometer off by its tolerance could have turned it" if verdict.within_tolerance else ""
    return f"it came {over:.1f} °{verdict.unit} above its limit ({verdict.title}){turned}"


def _usable(case: Case, command: ReceiveDelivery) -> Quantity:
    """What can be used of it now: what came, what the books have left, and what somebody says is here besides."""
    unit = ingredients(case.kitchen)[command.ingredient].unit
    pantry = case.state.pantry
    on_books = sum(pantry.left(lot.id) for lot in open_lots(case.state, command.ingredient, case.at, unit))
    came = command.quantity.value if command.outcome == "short" and command.quantity is not None else 0.0
    also = command.also_here.value if command.also_here is not None else 0.0
    return Quantity(value=on_books + came + also, unit=unit)


def _bad(command: ReceiveDelivery, status: str, remedy: str) -> Refusal:
    return Refusal(code=RefusalCode.BAD_VALUE, thing=command.ingredient, status=status, remedy=remedy)


def ripeness(case: Case, command: JudgeRipeness) -> Decision | Refusal:
    """Ripe now, or not before then: work that takes it is planned anew."""
    who = named(case, command.ingredient, "who looked")
    if isinstance(who, Refusal):
        return who
    known = ingredients(case.kitchen)
    if command.ingredient not in known:
        remedy = f"one of {', '.join(sorted(known))}"
        return Refusal(code=RefusalCode.UNKNOWN, thing=command.ingredient, status="no recipe takes it", remedy=remedy)
    if command.ripe_at is not None and command.ripe_at <= case.at:
        status, remedy = "that is past", "a time from now on, or say that it is ripe"
        return Refusal(code=RefusalCode.BAD_VALUE, thing=command.ingredient, status=status, remedy=remedy)
    event = RipenessJudged(
        ingredient=command.ingredient, at=case.at, person=who, ripe_at=command.ripe_at, reason=command.reason
    )
    says = "is ripe" if command.ripe_at is None else f"is not ripe until {case.clock(command.ripe_at)}"
    return with_replan(case, (event,), f"{command.ingredient} {says}")


def swap(case: Case, command: ReplaceIngredient) -> Decision | Refusal:
    """Another ingredient, or other allergens: where they are new, a manager decides, and all that has it is named."""
    who = named(case, command.ingredient, "to decide")
    if isinstance(who, Refusal):
        return who
    known = ingredients(case.kitchen)
    if command.ingredient not in known:
        remedy = f"one of {', '.join(sorted(known))}"
        return Refusal(code=RefusalCode.UNKNOWN, thing=command.ingredient, status="no recipe takes it", remedy=remedy)
    allergens = tuple(sorted({name.strip().lower() for name in command.allergens if name.strip()}))
    told = SwapIngredient(ingredient=command.ingredient, by=command.by, allergens=allergens)
    added, recipes = new_allergens(case.kitchen, told), concerned(case.kitchen, command.ingredient)
    managers = [member.name for member in case.kitchen.crew if member.manager]
    if added and managers and not case.known.crew[who].manager:
        names = ", ".join(case.known.recipes[recipe].name for recipe in recipes)
        status = f"it brings {', '.join(added)} into {names}"
        remedy = f"refuse it, or ask {' or '.join(managers)}: labels and clean-downs change"
        return Refusal(code=RefusalCode.NOT_ALLOWED, thing=command.by, status=status, remedy=remedy)
    event = IngredientSwapped(
        ingredient=command.ingredient,
        by=command.by,
        allergens=allergens,
        added=added,
        at=case.at,
        person=who,
        reason=command.reason,
        recipes=recipes,
    )
    return with_replan(case, (event,), f"{command.by} instead of {command.ingredient}")
