"""What core, planner and files say in English, said as somebody reads: each sentence of the sources has its Spanish."""

import re
from datetime import UTC, datetime

import pytest

from display.formats import Formats
from display.telling import Teller
from display.words import Words
from display.words.sentences import SENTENCES, TERMS
from tests.display.spoken import patterns
from tests.display.test_words import ENGLISH_ALONE

NOT_TOLD = {
    "21 CFR 135.110(a)(2)",
    "University of Guelph, ice cream mix, general composition",
    "Input should be",
    "Value error, ",
    "[{ product: ..., quantity: 2 L }]",
    "_Planner | None",
    "fl oz",
    "log watch",
    "planning desk",
    "state kept",
    "{ least: 2 L, most: 6 L }",
    *(f"{minutes} min" for minutes in (0, 6, 10, 15, 20, 30, 40, 45)),
    "500 ml",
}
"""Sources, units, examples of what a file says, and names for programs."""


def teller(language: str = "es", unit: str = "C", *, twelve: bool = False, us: bool = False) -> Teller:
    formats = Formats("Europe/London", unit, Words(language), twelve_hours=twelve, us=us)
    texts = {"Churn": "Mantecadora", "Harden the sorbet": "Endurecer el sorbete"} if language == "es" else {}
    return Teller(language, formats, unit, texts, twelve=twelve)


def test_every_sentence_of_the_sources_is_said_in_spanish() -> None:
    known = SENTENCES["es"].keys() | TERMS["es"].keys() | NOT_TOLD
    assert {pattern: file for pattern, file in patterns().items() if pattern not in known} == {}


def test_no_spanish_sentence_loses_a_value_or_has_one_more() -> None:
    places = re.compile(r"{\d+(?=!?})")
    unlike = {e: s for e, s in SENTENCES["es"].items() if sorted(places.findall(e)) != sorted(places.findall(s))}
    assert unlike == {}


def test_no_spanish_sentence_is_still_english() -> None:
    said = {key: re.sub(r"`[^`]*`|{[^}]*}|«[^»]*»", "", text) for key, text in SENTENCES["es"].items()}
    assert {key: text for key, text in said.items() if ENGLISH_ALONE.search(text)} == {}


@pytest.mark.parametrize(
    ("english", "spanish"),
    [
        ("Harden the sorbet must follow by Sat 10:30, but Churn is not free before Sat 11:05",
         "Endurecer el sorbete debe seguir antes de sáb 10:30, pero Mantecadora no queda libre hasta sáb 11:05"),
        ("target at least 82.5 °C for 5 min was not met, last 81.2 °C",
         "el objetivo de al menos 82,5 °C durante 5 min no se alcanzó, última 81,2 °C"),
        ("'Harden the sorbet' (S1) lasts no less than 2.5 h from Thu 26 Nov 10:30 (quality window)",
         "«Endurecer el sorbete» (S1) dura no menos de 2,5 h desde jue 26 nov 10:30 (ventana de calidad)"),
        ("FDA Food Code 2022, 3-501.17", "FDA Food Code 2022, 3-501.17"),
        ("nobody is named to have seen it", "no consta nadie para darla por vista"),
        ("Said by a person, in their own words", "Said by a person, in their own words"),
    ],
)  # fmt: skip
def test_sentence_is_said_with_its_values_in_the_readers_way(english: str, spanish: str) -> None:
    assert teller()(english) == spanish


@pytest.mark.parametrize(
    ("english", "spanish"),
    [
        ("'kind' is not text but 5", "'kind' no es texto, sino 5"),
        ("'usual', -5, is too little", "'usual', -5, es demasiado poco"),
        ("'due' is missing", "falta 'due'"),
        ("add `due: 2026-11-28T11:00`", "añadir `due: 2026-11-28T11:00`"),
        ("there is no equipment 'churn'", "no existe el equipo 'churn'"),
        ("known here: churn, freezer, order", "aquí se conocen: churn, freezer, order"),
        ('write the time in quotes, like "06:30"', 'escribir la hora entre comillas, como "06:30"'),
        ("not valid YAML: mapping values are not allowed here",
         "no es YAML válido: aquí no puede ir otro par de clave y valor"),
        ("the file has 1,048,577 bytes, more than 1,048,576",
         "el archivo tiene 1\u00a0048\u00a0577 bytes, más de 1\u00a0048\u00a0576"),
        ("the ceiling, 80.5 °C, lies below the target, 82 °C",
         "el tope, 80,5 °C, queda por debajo del objetivo, 82 °C"),
        ("'simmer' is attended for 10 min, longer than its usual 8 min on its fastest machine",
         "'simmer' se atiende durante 10 min, más que su duración habitual de 8 min en su máquina más rápida"),
    ],
)  # fmt: skip
def test_faults_of_files_are_told_and_what_stands_in_the_files_stays(english: str, spanish: str) -> None:
    assert teller()(english) == spanish


def test_what_is_to_be_typed_is_not_rewritten_for_a_reader_of_twelve_hours() -> None:
    assert teller("en", twelve=True)('write the time in quotes, like "06:30"') == (
        'write the time in quotes, like "06:30"'
    )


def test_times_that_a_page_has_written_are_not_written_again() -> None:
    tell = teller("en", twelve=True)
    assert tell("11:05\u00a0am") == "11:05\u00a0am"
    assert teller("es", twelve=True)("11:05\u00a0a.\u00a0m.") == "11:05\u00a0a.\u00a0m."


def test_lines_of_an_order_are_told_by_product() -> None:
    told = teller()("2.5 L churn, 3 trays harden the sorbet")
    assert told == "2,5 L de mantecadora, 3 bandejas de endurecer el sorbete"


def test_degrees_below_zero_have_a_true_minus() -> None:
    told = teller()("Churn warmer than -18.5 °C since Thu 15:58")
    assert told == "Mantecadora por encima de −18,5 °C desde jue 15:58"


def test_a_factor_told_twice_keeps_its_comma() -> None:
    once = teller()("0.926")
    assert (once, teller()(f"sus cantidades × {once}.")) == ("0,926", "sus cantidades × 0,926.")


def test_a_customer_is_translated_only_where_a_text_is_exactly_the_name() -> None:
    formats = Formats("Europe/London", "C", Words("es"))
    texts = {"Churn the sorbet": "Mantecar el sorbete", "Churn": "Mantecadora", "Market stall": "Puesto del mercado"}
    tell = Teller("es", formats, "C", texts, twelve=False)
    assert tell("Churn the sorbet for Market stall") == "Mantecar el sorbete para Puesto del mercado"
    assert tell("B1: Churn the sorbet for Market stall") == "B1: Mantecar el sorbete para Puesto del mercado"
    assert tell.name("Churn and sons") == "Churn and sons"


def test_what_is_told_twice_stays_as_it_was() -> None:
    tell = teller()
    once = tell("'Harden the sorbet' (S1) lasts no less than 2.5 h from Thu 26 Nov 10:30 (quality window)")
    assert tell(once) == once


def test_english_in_a_kitchen_of_fahrenheit_and_twelve_hours_is_written_so() -> None:
    tell = teller("en", "F", twelve=True, us=True)
    assert tell("Base at most 4 °C").replace("\u00a0", " ") == "Base at most 39.2 °F"
    assert tell("its window opens Sat 14:05").replace("\u00a0", " ") == "its window opens Sat 2:05 pm"
    assert tell("the last check asks for -0.4 °C").replace("\u00a0", " ") == "the last check asks for −0.7 °F"
    assert tell("2.5 kg more").replace("\u00a0", " ") == "5.51 lb more"
    assert tell("69 °C (155 °F)") == "69 °C (155 °F)"  # as a code prints it


def test_clauses_of_why_an_order_is_late_are_each_told() -> None:
    why = (
        "no earlier place than Sat 28 Nov 07:27 was found for 'Churn the basil custard' (B2); "
        "then 'Harden the sorbet' (B2) takes at least 2 h"
    )
    assert teller()(why).replace("\u202f", " ") == (
        "antes de sáb 28 nov 07:27 no se encontró lugar para «Churn the basil custard» (B2); "
        "luego «Endurecer el sorbete» (B2) dura al menos 2 h"
    )


def test_plain_reader_gets_the_text_itself() -> None:
    text = "its window opens Sat 14:05"
    assert teller("en")(text) is text


def test_instants_in_words_are_the_kitchens() -> None:
    now = datetime(2026, 11, 28, 14, 5, tzinfo=UTC)
    assert Formats("Europe/Madrid", "C", Words("es")).when(now, now) == "15:05"


def test_names_that_a_kitchen_gives_stay_as_they_are_unless_its_texts_have_them() -> None:
    """Somebody called Sun is no Sunday, and a cook's title is nobody's sentence."""
    tell = teller()
    assert tell.name("Churn") == "Mantecadora"
    assert tell.name("Churn for early cook and stove") == "Churn for early cook and stove"
    assert tell.name("Sun") == "Sun"
