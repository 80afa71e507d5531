"""English words of what is printed and taken away: labels, sheets, calendars, hand-over."""

from collections.abc import Mapping
from typing import Final

ENGLISH_PAPERS: Final[Mapping[str, str]] = {
    "papers": "Print and take away",
    "papers_stamp": "{kitchen}, as of {time}",
    "pdf_a4": "PDF, A4",
    "pdf_letter": "PDF, Letter",
    "csv_file": "CSV",
    # -- labels
    "labels": "Labels",
    "labels_of": "Labels for {lot}",
    "labels_sheet": "Sheet of labels",
    "labels_first": "First free place on the sheet",
    "labels_first_says": "Counted row by row from the top left; 1 is a whole sheet.",
    "labels_count": "How many labels",
    "labels_net": "Net quantity in each, such as 500 ml or 0.48 kg",
    "labels_code": "Code for scanners",
    "labels_code_matrix": "GS1 DataMatrix (square)",
    "labels_code_bars": "GS1-128 (bars; wide labels only)",
    "labels_code_none": "none",
    "labels_make": "Labels as PDF",
    "labels_contains": "Contains: **{allergens}**",
    "labels_also": "Also contains: {allergens}",
    "labels_keep_frozen": "Keep frozen at {celsius} or colder",
    "labels_keep_cold": "Keep at {celsius} or colder",
    "labels_looks": "What stands on each",
    "labels_string": "The code holds {text}",
    "labels_planned": "Not made yet: its dates follow the plan. Print again if the plan moves.",
    "labels_blocked": "No labels: {lot} is {why}.",
    "labels_blocked_remedy": "Decide about the lot first.",
    "labels_practice": "PRACTICE: not real food",
    "labels_too_much": "These labels cannot be printed: {why}.",
    "labels_too_much_remedy": "Take a larger label, another code, or a shorter template in labels.yaml.",
    "labels_lot_code": "the lot code {lot} has characters that GS1 does not allow",
    "labels_check": "What you must check yourself",
    "labels_check_law": (
        "This is not a legal label. Your law may ask for more: the list of ingredients in order of weight, the name "
        "and "
        "address of who is responsible, nutrition, the language, the size of letters."
    ),
    "labels_check_allergens": (
        "Allergens come from the recipes ({lists}). What an ingredient brings that its recipe does not name, and "
        "traces "
        "from the room or the machine, no label can know."
    ),
    "labels_check_no_allergens": "No allergen is named in its recipe: is that so?",
    "labels_check_use_by": (
        "Use by is about safety: {use_by} is the last whole day before its shelf life ends ({time}). Best before is "
        "about "
        "quality."
    ),
    "labels_check_no_use_by": "It has no use-by: its recipe has no shelf_life. Write it in, if your code asks for one.",
    "labels_check_no_best": "It has no best-before: its recipe has no best_before.",
    "labels_check_gtin": (
        "GS1 wants a GTIN (01) beside lot, dates and weight in trade. It has none here (gtin in labels.yaml): the "
        "code is "
        "for your own scanners."
    ),
    "labels_check_net": "Weigh or measure it: the net quantity is printed as you typed it.",
    "labels_check_print": "Print at full size (100 %, no fitting to the page), on plain paper first.",
    "field_sheet": "Sheet of labels",
    "field_first": "First free place",
    "field_count": "Number of labels",
    "field_net": "Net quantity",
    "field_code": "Code",
    "form_amount": "{field} {text} is not an amount.",
    "form_amount_remedy": "Write a number and ml, L, g, kg or each, such as 500 ml.",
}
