"""Labels: where they stand on a sheet, what stands on them, and codes that another library reads back."""

from dataclasses import replace
from datetime import date, timedelta

import biip
import pytest
from flask.testing import FlaskClient
from stdnum import gs1_128

from display.papers.fonts import printable
from display.papers.labels import Label, TooMuch, fill, label_pdf
from orchestrator.core.gs1 import Element, element_string
from orchestrator.core.ids import LotCode
from orchestrator.core.lot_events import LotHeld
from orchestrator.core.models import Kitchen
from orchestrator.core.models.label import LabelBook, LabelSheet, ProductLabel
from orchestrator.kitchen.shipped import shipped_allergens, shipped_labels
from tests.display.page import Page
from tests.display.papers.pdf import codes, sizes_mm, words
from tests.display.test_desk_pages import client_of
from tests.fakes.kitchen_gateway import FakePractice, KitchenGateway
from tests.fakes.kitchens import at
from tests.fakes.states import hardening

SHEETS = {sheet.id: sheet for sheet in shipped_labels().sheets}
ELEMENTS = (Element("17", "261227"), Element("11", "261127"), Element("3153", "000500"), Element("10", "B12/a"))
LINES = ("# Basil custard", "Contains: **MILK, EGG**", "Use by **27 Dec 2026**", "Net 500 ml · Lot **B12/a**")


def label(code: str = "matrix", lines: tuple[str, ...] = LINES) -> Label:
    return Label(lines, ELEMENTS, code)  # type: ignore[arg-type]


def kitchen_with_labels(where: Kitchen, life: int = 30 * 1440, **product: object) -> Kitchen:
    shipped = shipped_labels()
    one = ProductLabel.model_validate({"recipe": "basil-custard", "net": "500 ml", **product})
    book = LabelBook(sheets=shipped.sheets, template=shipped.template, products=(one,))
    recipes = tuple(
        r.model_copy(update={"shelf_life": life, "best_before": 21 * 1440}) if r.id == "basil-custard" else r
        for r in where.recipes
    )
    return where.model_copy(update={"labels": book, "allergens": shipped_allergens(), "recipes": recipes})


def gateway(practice: FakePractice | None = None, life: int = 30 * 1440, **product: object) -> KitchenGateway:
    state = hardening()
    assert state.kitchen is not None
    state = replace(state, kitchen=kitchen_with_labels(state.kitchen, life, **product))
    return KitchenGateway(state, at("Fri 10:00"), practice=practice)


def sheet_of(client: FlaskClient, **asked: object) -> bytes:
    query = {"sheet": "a4-3x8", "first": 1, "count": 2, "net": "500 ml", "code": "matrix", **asked}
    answer = client.get("/labels/B1/sheet.pdf", query_string=query)
    assert answer.status_code == 200, answer.text
    assert answer.mimetype == "application/pdf"
    return answer.data


@pytest.mark.parametrize("sheet", SHEETS)
def test_full_sheet_has_a_code_that_is_read_back_on_every_label(sheet: str) -> None:
    """zxing-cpp reads what ppf.datamatrix drew, as GS1 (symbology identifier ]d2, ISO/IEC 15424)."""
    one = SHEETS[sheet]
    pdf = label_pdf(one, label(), 1, one.places, "Labels")
    assert sizes_mm(pdf) == [{"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}[one.page]]
    (found,) = codes(pdf)
    assert {(read.text, read.symbology) for read in found} == {(element_string(ELEMENTS), "]d2")}
    assert len(found) == one.places
    for number, read in enumerate(found):
        row, column = divmod(number, one.columns)
        left, top = one.left_mm + column * one.across_mm, one.top_mm + row * one.down_mm
        assert left + 2 < read.left_mm < left + one.width_mm - 2
        assert top + 2 < read.top_mm < top + one.height_mm - 2


def test_bars_are_read_back_as_gs1_128() -> None:
    """reportlab draws Code 128 with FNC1 first; zxing-cpp reads it as GS1-128 (]C1)."""
    pdf = label_pdf(SHEETS["letter-2x5"], label("bars"), 1, 10, "Labels")
    (found,) = codes(pdf)
    assert [(read.text, read.symbology) for read in found] == [(element_string(ELEMENTS), "]C1")] * 10


def test_code_with_a_separator_inside_is_read_back_by_both_symbols() -> None:
    told = (Element("10", "B1"), Element("17", "261227"), Element("3103", "000480"))
    for code, symbology in (("matrix", "]d2"), ("bars", "]C1")):
        pdf = label_pdf(SHEETS["letter-2x5"], Label(LINES, told, code), 1, 1, "Labels")  # type: ignore[arg-type]
        (read,) = codes(pdf)[0]
        assert (read.text, read.symbology) == ("10B1\x1d17261227" + "3103000480", symbology)
        assert set(gs1_128.info(read.text, "\x1d")) == {"10", "17", "3103"}


def test_readable_line_breaks_between_elements_and_never_inside_an_identifier() -> None:
    best = (*ELEMENTS[:1], Element("15", "261215"), *ELEMENTS[1:])
    made = label_pdf(SHEETS["a4-3x8"], Label(LINES, best, "matrix"), 1, 1, "Labels of B12/a")
    assert "(17)261227 (15)261215 (11)261127 (3153)000500 (10)B12/a" in words(made)


def test_part_used_sheet_begins_where_it_is_free_and_goes_on_to_the_next() -> None:
    one = SHEETS["a4-3x8"]
    pdf = label_pdf(one, label(), 23, 5, "Labels")
    first, second = codes(pdf)
    assert [(round((r.left_mm - 35) / 70), int(r.top_mm // 37)) for r in first] == [(1, 7), (2, 7)]
    assert [(round((r.left_mm - 35) / 70), int(r.top_mm // 37)) for r in second] == [(0, 0), (1, 0), (2, 0)]


def test_what_finds_no_room_at_the_least_size_of_letters_is_refused_not_made_smaller() -> None:
    """Regulation (EU) No 1169/2011, article 13(2): a small x is at least 1.2 mm high."""
    long = tuple(f"Line {number} of a very long text that nobody can read on so small a label" for number in range(12))
    with pytest.raises(TooMuch, match="13 lines"):
        label_pdf(SHEETS["a4-3x8"], label(lines=long), 1, 1, "Labels")
    with pytest.raises(TooMuch, match="mm wide"):
        label_pdf(SHEETS["a4-3x8"], label("bars"), 1, 1, "Labels")


def test_template_leaves_out_what_has_nothing_to_say() -> None:
    told = fill(
        ["# {name}", "{also}", "Net {net} · Lot {lot}", "Kept cold"], {"name": "A", "also": "", "net": "", "lot": "B1"}
    )
    assert told == ("# A", "Lot B1", "Kept cold")


def test_letters_that_the_family_lacks_are_written_plainly() -> None:
    assert printable("Crème brûlée, −18 °C, Łódź") == "Crème brûlée, −18 °C, Łódź"
    assert printable("☐ 冰") == "[ ] ?"


def test_sheet_outside_its_page_is_refused() -> None:
    wrong = SHEETS["a4-3x8"].model_dump() | {"rows": 9}
    with pytest.raises(ValueError, match="outside the page"):
        LabelSheet.model_validate(wrong)


@pytest.mark.parametrize("gtin", ["6291041500214", "12", 6291041500213])
def test_gtin_with_a_wrong_check_digit_or_as_a_number_is_refused(gtin: object) -> None:
    with pytest.raises(ValueError, match="GTIN"):
        ProductLabel.model_validate({"recipe": "basil-custard", "gtin": gtin})


def test_labels_of_a_lot_tell_its_dates_apart_and_its_code_is_read_by_reference_libraries() -> None:
    """B1 was made Thu 26 Nov 09:30; 30 days of shelf life, paused or not, 21 days at its best."""
    pdf = sheet_of(client_of(gateway(gtin="6291041500213")))
    text = words(pdf)
    for said in ("Basil custard", "Contains: MILK, EGG", "Lot B1", "Net 500 ml", "Best before 17 Dec 2026"):
        assert said in text, text
    (read, _) = codes(pdf)[0]
    message = biip.parse(f"{read.symbology}{read.text}").gs1_message
    assert message is not None
    found = {one.ai.ai: one for one in message.element_strings}
    assert list(found) == ["01", "17", "15", "11", "3153", "10"]
    assert found["01"].gtin is not None
    assert found["01"].gtin.as_gtin_13() == "6291041500213"
    assert found["10"].value == "B1"
    assert f"Use by {found['17'].date:%-d %b %Y}" in text
    assert found["15"].date is not None
    assert f"Best before {found['15'].date:%-d %b %Y}" in text


def test_use_by_on_a_label_is_the_last_whole_day_before_the_shelf_life_ends() -> None:
    client = client_of(gateway())
    told = Page(client.get("/labels/B1").text).text
    (read, _) = codes(sheet_of(client))[0]
    day = gs1_128.info(read.text)["17"]
    view = next(v for v in client.get("/api/v1/lots").json if v["lot"] == "B1")
    assert view["use_by"][:10] == (day + timedelta(days=1)).isoformat()
    assert f"{day:%-d %b %Y} is the last whole day" in told


def test_what_is_made_and_over_on_one_day_tells_the_hour_and_never_a_day_before_it_was_made() -> None:
    """B1 was made Thu 26 Nov 09:30 and keeps eight hours. GS1 General Specifications: 7003 expires, with the time."""
    client = client_of(gateway(life=480))
    told = Page(client.get("/labels/B1").text).text.replace("\u00a0", " ")
    assert "ends on the day on which it is made, so the time is printed with it: 26 Nov 2026 17:30" in told
    pdf = sheet_of(client)
    assert "Use by 26 Nov 2026 17:30" in words(pdf)
    assert "Best before 26 Nov 2026" in words(pdf)
    (read, _) = codes(pdf)[0]
    message = biip.parse(f"{read.symbology}{read.text}").gs1_message
    assert message is not None
    found = {one.ai.ai: one for one in message.element_strings}
    assert list(found) == ["7003", "15", "11", "3153", "10"]
    assert found["7003"].datetime is not None
    assert f"{found['7003'].datetime:%Y-%m-%d %H:%M}" == "2026-11-26 17:30"
    assert [found[ai].date for ai in ("15", "11")] == [date(2026, 11, 26)] * 2
    assert found["10"].value == "B1"


@pytest.mark.parametrize(
    ("life", "until"),
    # Made at 09:30: its last day is not whole, whether half an hour or fourteen hours of it are left.
    [(1440 - 540, "26 Nov"), (1440, "26 Nov"), (2 * 1440, "27 Nov"), (1440 + 870, "27 Nov")],
)
def test_best_before_is_never_printed_as_a_later_day_than_use_by(life: int, until: str) -> None:
    text = words(sheet_of(client_of(gateway(life=life))))
    assert f"Use by {until} 2026" in text
    assert f"Best before {until} 2026" in text
    assert ":" not in text.split("Use by ")[1].split("Best before")[0]


def test_page_says_what_the_kitchen_must_check_and_calls_no_label_legal() -> None:
    text = Page(client_of(gateway()).get("/labels/B1").text).text
    for said in (
        "This is not a legal label",
        "US: the nine major food allergens, EU: the fourteen",
        "GS1 wants a GTIN",
        "full size",
    ):
        assert said in text


def test_lot_on_hold_gets_no_labels() -> None:
    held = gateway()
    held.happen(LotHeld(lot=LotCode("B1"), at=held.now, reason="chilled too slowly"))
    client = client_of(held)
    assert client.get("/labels/B1/sheet.pdf?sheet=a4-3x8&first=1&count=1&code=none").status_code == 409
    assert "No labels: B1 is on hold: chilled too slowly." in Page(client.get("/labels/B1").text).text


def test_demo_labels_say_practice() -> None:
    assert "PRACTICE: not real food" in words(sheet_of(client_of(gateway(FakePractice()))))


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        ({"sheet": "a3"}, "Sheet of labels"),
        ({"first": 25}, "First free place"),
        ({"count": 0}, "Number of labels"),
        ({"net": "a lot"}, "Net quantity"),
        ({"code": "qr"}, "Code"),
    ],
)
def test_wrong_field_is_named_with_a_remedy(asked: dict[str, object], says: str) -> None:
    query = {"sheet": "a4-3x8", "first": 1, "count": 1, "net": "", "code": "none", **asked}
    answer = client_of(gateway()).get("/labels/B1/sheet.pdf", query_string=query)
    assert answer.status_code == 400
    assert says in Page(answer.text).text


def test_net_in_kilograms_is_told_as_weight_and_in_pieces_not_at_all() -> None:
    client = client_of(gateway())
    assert "3103000480" in codes(sheet_of(client, net="0,48 kg"))[0][0].text
    assert "310" not in codes(sheet_of(client, net="6 each"))[0][0].text


def test_page_says_in_which_language_the_label_is_where_its_reader_has_another() -> None:
    client = client_of(gateway())
    assert "labels.yaml can name others" not in Page(client.get("/labels/B1").text).text
    client.set_cookie("language", "es")
    assert "Va en inglés, la lengua de las etiquetas de esta cocina" in Page(client.get("/labels/B1").text).text


def test_english_label_stays_english_for_a_spanish_reader() -> None:
    client = client_of(gateway())
    client.set_cookie("language", "es")
    text = Page(client.get("/labels/B1").text).text.replace("\u00a0", " ")
    assert "Keep frozen at −15 °C or colder" in text


def test_label_of_what_no_known_temperature_keeps_says_nothing_of_keeping() -> None:
    where = gateway()
    assert where.state.kitchen is not None
    anywhere = tuple(machine.model_copy(update={"holds": None}) for machine in where.state.kitchen.equipment)
    where.state = replace(where.state, kitchen=where.state.kitchen.model_copy(update={"equipment": anywhere}))
    told, cold = words(sheet_of(client_of(where))), words(sheet_of(client_of(gateway())))
    assert "Keep" in cold
    assert told.split() == cold.replace("Keep frozen at −15 °C or colder", "").split()
