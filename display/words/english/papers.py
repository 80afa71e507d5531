"""English words of what is printed and taken away: labels, sheets, calendars, hand-over."""

from collections.abc import Mapping
from typing import Final

WORDS: Final[Mapping[str, str]] = {
    "papers": "Print and take away",
    "papers_stamp": "{kitchen}, as of {time}",
    "pdf_a4": "PDF, A4",
    "pdf_letter": "PDF, Letter",
    "csv_file": "CSV",
    "papers_buying": "Buying and tomorrow",
    "papers_pull": "Pull list for tomorrow",
    "papers_day": "Day sheets",
    "papers_day_says": (
        "Print them before the power goes: they work without it. Whole days, then today for one station or person."
    ),
    "papers_weigh": "Weigh-up sheets",
    "papers_weigh_one": "Weigh-up sheet",
    # -- what to order, take out, weigh
    "order_sheet": "What to order",
    "order_says": (
        "What steps of the plan take that have not begun, less what is on hand, what is expected and what steps leave "
        "over in time; whole packs, each for the last delivery that is there in time. What nobody put on record is not "
        "known here: look before you order."
    ),
    "order_none": "Nothing has to be ordered for this plan.",
    "order_no_supplier": "No supplier named (suppliers.yaml)",
    "order_by": "{supplier}: order by {time}",
    "order_too_late": "too late by {time}: telephone, or replace it",
    "order_packs": "{count} × {pack}",
    "order_expected": "a delivery is expected {time}",
    "order_col_tick": "",
    "order_col_what": "Ingredient",
    "order_col_order": "To order",
    "order_col_needed": "Needed",
    "order_col_for": "For",
    "order_col_by": "First step that takes it",
    "pull_sheet": "Pull list for {day}",
    "pull_says": (
        "What must come out of which place, by when, for whom. Take it out as late as you can: cold food stays cold. "
        "Ice is told at the bath that it goes into."
    ),
    "pull_none": "Nothing has to be taken out.",
    "pull_no_place": "Place not named (store in suppliers.yaml)",
    "pull_col_tick": "",
    "pull_col_by": "By",
    "pull_col_what": "What",
    "pull_col_amount": "How much",
    "pull_col_lots": "Lot",
    "pull_col_for": "For",
    "pull_col_who": "Who",
    "pull_col_done": "Taken out, initials",
    "weigh_sheet": "Weigh-up sheet {lot} · {name}, {size}",
    "weigh_says": (
        "Recipe revision {revision}, amounts times {scale}. Write the lot number that you used, of every ingredient."
    ),
    "weigh_none": "Nothing is weighed for this batch.",
    "weigh_planned": "planned: {lots}",
    "weigh_col_tick": "",
    "weigh_col_what": "Ingredient",
    "weigh_col_amount": "Amount",
    "weigh_col_lot": "Lot number used",
    "weigh_col_weighed": "Weighed",
    "weigh_col_initials": "Initials",
    "weigh_sign": "Weighed up by",
    # -- the day on paper
    "day_sheet": "Day sheet, {day}",
    "day_says": (
        "As planned at {time} (plan {revision}). Write real times, temperatures and your initials. Afterwards enter "
        "what was "
        "written: late entries are marked as late, with both times."
    ),
    "day_none": "Nothing is planned on this day.",
    "day_late_says": "With no power no probe is heard: measure by hand.",
    "day_col_plan": "Plan",
    "day_col_step": "Step",
    "day_col_take": "Take",
    "day_col_check": "Check",
    "day_col_started": "Started",
    "day_col_ended": "Ended",
    "day_col_reading": "Reading, weight",
    "day_col_initials": "Initials",
    "day_done": "done",
    "day_skipped": "skipped",
    "day_in_hand": "in hand",
    "day_latest": "start by {time}",
    "day_hold": "hold {length}",
    "day_places": "Cold places, by hand",
    "day_places_says": (
        "Every two hours while no probe is heard; keep doors shut. How often is common practice; local code may "
        "ask more."
    ),
    "day_place": "Place",
    "day_band": "Kept at",
    "day_time_and": "Time, {unit}",
    "day_sign": "Looked through by",
    # -- late entry, files
    "late_entry": "Enter from paper",
    "late_says": (
        "What was written on paper: enter it with the time at which it was done, oldest first. The record keeps "
        "both times "
        "and calls it a late entry. Say first who did it."
    ),
    "late_none": "Nothing is due that is not on record.",
    "late_when": "When it was done",
    "late_planned": "planned {start} to {end}",
    "late_started": "started {time}",
    "late_start": "Enter the start",
    "late_finish": "Enter the end",
    "late_temperature": "Enter the temperature",
    "late_reason": "Reason, where a gate or target was not met or not measured",
    "record_late": "late entry, {time}",
    "papers_files": "Lists as CSV",
    "papers_files_says": "For a spreadsheet: UTF-8, times in UTC. Readings and acts of a lot stand on its record.",
    "list_of_orders": "Orders, line by line",
    "list_of_tasks": "Tasks of the plan",
    "list_of_lots": "Lots, planned and made",
    "list_of_stock": "Lots on hand from the start or put in",
    "list_of_alarms": "Alarms",
    "list_of_deviations": "Deviations and what was decided",
    "list_of_looked-through": "Records looked through",
    "list_of_deliveries": "Deliveries",
    "list_of_crew": "Crew and shifts",
    "list_of_par-levels": "Par levels and counts",
    "list_of_recipes": "What each step takes",
    "list_of_probes": "Probes and last readings",
    "list_of_probe-checks": "Checks of probes",
    "list_of_durations": "How long steps take",
    "list_of_calls": "Calls made",
    "list_of_drills": "Recall drills",
    "list_of_machines": "Machines, places and their stops",
    "list_of_trials": "Trials of recipes",
    "list_of_hand-overs": "Hand-over notes",
    "list_of_refused-acts": "Refused acts (for the manager)",
    "papers_calendars": "Calendars",
    "papers_calendars_says": (
        "An address for a calendar program, renewed with every plan. It works where this page does."
    ),
    "papers_late_says": "After a day on paper:",
    "calendar_plan": "Plan {revision}. What the station's screen says comes first.",
    "csv_readings": "Readings as CSV",
    "csv_acts": "Acts as CSV",
    # -- shift hand-over
    "handover": "Shift hand-over",
    "handover_says": (
        "Made from what happened and what comes. Add what no record knows, and hand over: then it stays as it is."
    ),
    "handover_since": "since {since}; what comes, to {until}",
    "handover_by": "Handed over by {who}, {time}.",
    "handover_taken": "Taken over by {who}, {time}.",
    "handover_not_taken": "Nobody has taken over yet.",
    "handover_alarms": "Alarms that stand",
    "handover_no_alarms": "None.",
    "handover_held": "Lots on hold",
    "handover_no_held": "None.",
    "handover_deviations": "Open deviations",
    "handover_stopped": "Machines stopped",
    "handover_no_stopped": "None.",
    "handover_in_hand": "In hand",
    "handover_no_in_hand": "Nothing.",
    "handover_coming": "What comes",
    "handover_no_coming": "Nothing is planned.",
    "handover_done": "Done",
    "handover_no_done": "Nothing is on record.",
    "handover_left_out": "Skipped",
    "handover_at": "{time}",
    "handover_until": "until {time}",
    "handover_from": "since {time}",
    "handover_back": "back {time}",
    "handover_words": "What else the next shift must know",
    "handover_give": "Hand over",
    "handover_take": "I have read it and take over",
    "handover_sign_by": "Handed over by",
    "handover_sign_to": "Taken over by",
    "handover_before": "On record",
    "done_hand_over": "Handed over. The next shift reads it and takes over.",
    "done_look_through": "It is on record that you looked it through.",
    "field_upto": "Number of the last entry seen",
    "done_take_over": "Taken over.",
    "field_handover_text": "What else the next shift must know",
    "field_handover": "Hand-over",
    # -- labels
    "labels": "Labels",
    "labels_of": "Labels for {lot}",
    "labels_sheet": "Sheet of labels",
    "labels_first": "First free place on the sheet",
    "labels_first_says": "Counted row by row from the top left; 1 is a whole sheet.",
    "labels_count": "How many labels",
    "labels_net": "Net quantity in each, such as 500 ml or 0.48 kg",
    "labels_net_us": "Net quantity in each, such as 1 pt or 17 oz",
    "labels_in_en": "It is in English, the language of this kitchen's labels; labels.yaml can name others.",
    "labels_in_es": "It is in Spanish, the language of this kitchen's labels; labels.yaml can name others.",
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
    "labels_check_use_by_hour": (
        "Use by is about safety: its shelf life ends on the day on which it is made, so the time is printed with it: "
        "{use_by}. Best before is about quality."
    ),
    "labels_check_no_use_by": "It has no use-by: its recipe has no shelf_life. Write it in, if your code asks for one.",
    "labels_check_no_best": "It has no best-before date: its recipe names none.",
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
