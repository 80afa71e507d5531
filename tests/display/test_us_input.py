"""US amounts typed into forms: at the screen of a reader of US measures, and by anybody who writes the unit."""

from urllib.parse import parse_qs, urlsplit

import pytest

from display.app import create_app
from display.changing import unpacked
from display.views import CoreViews
from orchestrator.core.ids import SupplyLotId
from orchestrator.core.models.change import AddOrder, ChangeOrder
from tests.display.test_draft_pages import Fields, House, sugar_at, text

POUND = 0.45359237
"""kg. Source: the international avoirdupois pound of 1959, exactly."""
CUP_L = 0.2365882365
"""Source: NIST Handbook 44, half a US liquid pint of 28.875 cubic inches."""


class UsHouse(House):
    """Its screen measures in US units."""

    def __post_init__(self) -> None:
        super().__post_init__()
        self.client.set_cookie("amounts", "us")

    def received(self, ingredient: str, quantity: str, unit: str, **more: str) -> str:
        """What the page says after the form was sent."""
        form = {"ingredient": ingredient, "quantity": quantity, "unit": unit, "outcome": "accepted", "keep": "dry"}
        answer = self.client.post("/acts/receive", data={**form, "command_id": quantity, "back": "/receiving", **more})
        assert answer.status_code == 303
        return text(self.client.get("/receiving").text)

    def amount_of(self, lot: str) -> float:
        return self.gateway.state.pantry.lots[SupplyLotId(lot)].quantity.value


def test_delivery_is_received_in_pounds_and_ounces_and_milk_by_its_density() -> None:
    house = UsHouse()
    page = house.client.get("/receiving?ingredient=Sugar").text
    fields = Fields(page, "/acts/receive").fields
    assert fields["typed_in"] == "us"
    assert "How much came, lb" in text(page)
    house.received("Sugar", "10", "kg", typed_in="us")
    house.received("Sugar", "2 lb 4 oz", "kg", typed_in="us")
    house.received("Sugar", "3 kg", "kg", typed_in="us")
    assert house.amount_of("in-1") == pytest.approx(10 * POUND)
    assert house.amount_of("in-2") == pytest.approx(2.25 * POUND)
    assert house.amount_of("in-3") == 3.0
    milk = next(row for row in house.gateway.state.kitchen.ingredients if row.name == "Whole milk")  # type: ignore[union-attr]
    assert milk.density_g_per_ml is not None
    # Milk is counted in litres here: 10 lb of it by its density, 4 cups as they are.
    house.received("Whole milk", "10 lb", "L", typed_in="us", keep="cold", temperature="4")
    house.received("Whole milk", "4 cups", "L", typed_in="us", keep="cold", temperature="4")
    assert house.amount_of("in-4") == pytest.approx(10 * POUND / milk.density_g_per_ml)
    assert house.amount_of("in-5") == pytest.approx(4 * CUP_L)


def test_cups_of_something_without_a_density_are_refused_with_a_remedy() -> None:
    house = UsHouse()
    shown = house.received("Hazelnuts", "3 cups", "kg", typed_in="us")
    assert "'3 cups' cannot be told by weight, or by volume. Nobody says how dense it is: weigh it" in shown
    assert not house.gateway.state.pantry.lots


def test_form_without_the_sign_is_metric_whoever_reads_it_now() -> None:
    house = UsHouse()
    house.received("Sugar", "10", "kg")
    assert house.amount_of("in-1") == 10.0


def test_draft_is_shown_in_us_measures_and_what_is_left_as_it_stood_is_the_same_to_the_gram() -> None:
    house = UsHouse()
    fields = house.form("/drafts/new?of=damson-sorbet")
    assert fields[sugar_at(fields)] == "1.213 lb"  # 550 g
    assert house.saved(fields) == "/drafts/1"
    present = next(one for one in house.gateway.state.kitchen.recipes if one.id == "damson-sorbet")  # type: ignore[union-attr]
    assert house.gateway.state.drafts.drafts[1].recipe == present.model_copy(update={"revision": 2})


@pytest.mark.parametrize(("typed", "kilograms"), [("1 lb 4 oz", 1.25 * POUND), ("20 oz", 1.25 * POUND), ("600 g", 0.6)])
def test_draft_takes_us_amounts(typed: str, kilograms: float) -> None:
    house = UsHouse()
    fields = house.form("/drafts/new?of=damson-sorbet")
    fields[sugar_at(fields)] = typed
    house.saved(fields)
    recipe = house.gateway.state.drafts.drafts[1].recipe
    sugar = next(take for step in recipe.steps for take in step.takes if take.ingredient == "Sugar")
    assert sugar.amount.value == pytest.approx(kilograms)


def test_order_is_typed_in_quarts_and_its_other_lines_stay_as_they_were() -> None:
    house = UsHouse()
    path = "/orders/SAT-STALL/change"
    page = house.client.get(path).text
    form = {**Fields(page, "").fields} or {}
    order = next(one for one in house.gateway.state.kitchen.orders if one.id == "SAT-STALL")  # type: ignore[union-attr]
    litres = [line for line in order.lines if line.quantity.unit == "L"]
    assert form["typed_in"] == "us"
    assert form["quantity_0"] == f"{order.lines[0].quantity.value / (4 * CUP_L):.4g}"
    first = order.lines.index(litres[0])
    form[f"quantity_{first}"] = "1 gal"
    answer = house.client.post(path, data=form)
    assert answer.status_code == 303, text(answer.text)
    (change,) = unpacked(parse_qs(urlsplit(answer.headers["Location"]).query)["c"][0])
    assert isinstance(change, ChangeOrder | AddOrder)
    told = {
        line.product: line.quantity.value for line in getattr(change, "lines", ()) or getattr(change.order, "lines", ())
    }
    assert told[litres[0].product] == pytest.approx(16 * CUP_L)
    assert all(told[line.product] == line.quantity.value for line in order.lines if line is not litres[0])


def test_screen_in_metric_shows_metric_fields() -> None:
    house = House()
    page = create_app(house.gateway, CoreViews()).web.test_client().get("/receiving?ingredient=Sugar").text
    assert "How much came, kg" in text(page)
    assert "typed_in" not in Fields(page, "/acts/receive").fields
