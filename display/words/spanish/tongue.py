"""Spanish: words of language, clock and amounts, and the marks of numbers and clocks in this language."""

from collections.abc import Mapping
from typing import Final

WORDS: Final[Mapping[str, str]] = {
    "decimal": ",",
    "am": "a.\u00a0m.",
    "pm": "p.\u00a0m.",
    "ways": "¿Cómo se lee aquí?",
    "ways_of": "Cómo lee {who}: vale en todas las pantallas.",
    "ways_here": "Vale en esta pantalla mientras no haya nadie en particular.",
    "ways_language": "Idioma",
    "ways_clock": "Reloj",
    "ways_amounts": "Cantidades",
    "ways_en": "English",
    "ways_es": "Español",
    "ways_24": "24 h",
    "ways_12": "12 h",
    "ways_metric": "kg, L",
    "ways_us": "lb, qt",
    "us_cup": "taza",
    "us_cups": "tazas",
    "ways_unit": "Las temperaturas van en {unit} en toda la cocina: lo dice kitchen.yaml.",
}
