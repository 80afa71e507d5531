"""Words of the first run: what a new kitchen has, lacks and does next."""

from collections.abc import Mapping
from typing import Final

WORDS: Final[Mapping[str, str]] = {
    "first_run": "First steps",
    "first_no_folder": "No kitchen's folder was named. Write one, then start with it:",
    "first_says": "This is what the folder {folder} has, and what a first plan still needs.",
    "first_taken_over": (
        "{kitchen} is taken over. From now on the record rules: change things on the screens. Of the files, who is "
        "called, ingredients, prices and translations are read anew at each start; the page System names other edits, "
        "which are not in use."
    ),
    "first_there": "{count} there",
    "first_missing": "none yet",
    "first_faults": "{count} to put right",
    "first_stations": "Stations",
    "first_stations_says": "Where a cook stands and looks at a screen: under stations: in",
    "first_equipment": "Machines and stores",
    "first_equipment_says": "Hobs, churn, fridge, freezer, each with its capacity:",
    "first_crew": "Crew",
    "first_crew_says": "People by role, what they can do, and their shifts:",
    "first_recipes": "Recipes",
    "first_recipes_says": "One file for each product or component:",
    "first_orders": "Orders",
    "first_orders_says": "What is wanted and when it is handed over; the first one can also be added here later:",
    "first_faults_head": "{count} to put right in the files",
    "first_faults_says": "The same as this says:",
    "first_next": "Next",
    "first_ready": "No faults. The kitchen can be taken over.",
    "first_take_over": "Take this kitchen over",
    "first_take_over_says": "Done once. Later changes are made at the planning table and with recipes, and are "
    "kept on record.",
    "first_not_yet": "Not yet: put right what stands above, and save the file.",
    "first_looks_again": "This page looks at the folder again every few seconds.",
    "first_no_orders": "No order yet: a plan begins with one.",
    "first_add_order": "Add the first order",
    "first_planning": "The planner makes the first plan. This page loads again by itself.",
    "first_planned": "There is a plan: look at the board, or at a station.",
    "first_faults_left": "Not taken over: the folder still has faults.",
    "first_faults_left_remedy": "Put right what is listed, then try again.",
}
