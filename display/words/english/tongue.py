"""Words of language, clock and amounts, and the marks of numbers and clocks in this language."""

from collections.abc import Mapping
from typing import Final

WORDS: Final[Mapping[str, str]] = {
    "decimal": ".",
    "am": "am",
    "pm": "pm",
    "ways": "How do you read?",
    "ways_of": "How does {who} read? It holds at every screen.",
    "ways_here": "It holds at this screen while nobody in particular stands here.",
    "ways_language": "Language",
    "ways_clock": "Clock",
    "ways_amounts": "Amounts",
    "ways_en": "English",
    "ways_es": "Español",
    "ways_24": "24 h",
    "ways_12": "12 h",
    "ways_metric": "kg, L",
    "ways_us": "lb, qt",
    "us_cup": "cup",
    "us_cups": "cups",
    "ways_unit": "Temperatures are in {unit} for the whole kitchen: kitchen.yaml says so.",
}
