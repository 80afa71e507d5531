"""The page of a lot's trace: what food that is to be reworked may go into."""

import re

from display.app import create_app
from display.views import CoreViews
from orchestrator.core.ids import CommandId, LotCode
from orchestrator.core.lot_events import LotHeld
from tests.core.doubt_script import failing
from tests.core.test_by_products import cooked
from tests.core.test_reworking import to_be_reworked
from tests.fakes.kitchen_gateway import KitchenGateway


def offered(script_lot: str, *, hold: str = "") -> list[str]:
    """The batches that the form of a lot offers, with another one on hold."""
    script = to_be_reworked()
    if hold:
        told = {"what": "quality", "hold_lot": True, "text": "smells", "person": "early-cook"}
        script.give("Wed 10:36", "report_problem", task=f"{hold}.simmer", **told)
        script.give("Wed 10:37", "decide_lot", lot=hold, decision="rework", reason="thin", person="manager")
    gateway = KitchenGateway(script.state, script.now, facts=script.facts)
    client = create_app(gateway, CoreViews()).web.test_client()
    client.set_cookie("person", "manager")
    page = client.get(f"/trace/{script_lot}").text
    form = re.search(r'id="rework-into">(.*?)</select>', page, re.DOTALL)
    return re.findall(r'<option value="(\w+)">', form[1]) if form else []


def test_food_is_offered_batches_in_work_and_never_itself() -> None:
    assert offered("B90") == ["S1"]
    assert offered("S1", hold="S1") == []


def test_delivery_to_be_reworked_says_which_allergens_and_which_date_go_along() -> None:
    script = cooked()
    script.record(CommandId("hold"), (LotHeld(lot=LotCode("in-1"), at=script.now, reason="a crack"),))
    script.give("Wed 08:42", "decide_lot", lot="in-1", decision="rework", reason="sieved", person="manager")
    gateway = KitchenGateway(script.state, script.now, facts=script.facts)
    text = create_app(gateway, CoreViews()).web.test_client().get("/trace/in-1").text
    says = text.partition('id="rework"')[2].partition("</p>")[0]
    assert "egg" in says
    assert "Fri" in says


def test_lot_that_nobody_has_decided_about_is_never_called_free_on_any_page_an_inspector_reads() -> None:
    script = failing()
    (deviation,) = script.state.deviations.values()
    gateway = KitchenGateway(script.state, script.now, facts=script.facts)
    client = create_app(gateway, CoreViews()).web.test_client()
    for path in ("/trace/B1", "/record/B1", "/lots"):
        text = client.get(path).text
        assert f"made, and asked about ({deviation.id}): nothing is decided yet" in text, path
    assert "made, free to use" not in client.get("/record/B1").text
