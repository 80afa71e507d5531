"""Words of the alarms page: what each kind of alarm means, the shelf, groups and figures."""

from collections.abc import Mapping
from typing import Final

WORDS: Final[Mapping[str, str]] = {
    # -- the rationalisation table: cause, consequence, time to act, what to do; one of each for every kind
    "meaning": "What this alarm means",
    "meaning_cause": "Cause",
    "meaning_consequence": "If nobody acts",
    "meaning_time": "Time to act",
    "meaning_act": "What to do",
    "kind_window_closing": "Window closing or missed",
    "cause_window_closing": (
        "A step has not begun, or not ended, and the latest instant that its window allows is near or past."
    ),
    "consequence_window_closing": (
        "Past a safety window the lot goes on hold and no plan uses it; past a quality window the food is not what it "
        "should be."
    ),
    "time_window_closing": (
        "Until the window shuts; the alarm says the last instant that still saves it, where one is known."
    ),
    "act_window_closing": "Begin or end the step now, or use another machine; once missed, decide about the lot.",
    "kind_too_short": "Before its window opens",
    "cause_too_short": "A step is planned, or was begun, before what comes before it has lasted as long as it must.",
    "consequence_too_short": (
        "Ageing or hardening is cut short; where that is about safety, the lot must be decided about."
    ),
    "time_too_short": "Until the step would begin; once begun, before the lot is used.",
    "act_too_short": "Wait until the window opens; if it was begun, decide about the lot.",
    "kind_order_unplanned": "Order not planned",
    "cause_order_unplanned": "The plan with it was declined, not decided in time, or could not be made.",
    "consequence_order_unplanned": "Nobody makes it: the plan that is worked by does not know of it.",
    "time_order_unplanned": "The sooner the better: each hour leaves fewer ways to fit it in before its hand-over.",
    "act_order_unplanned": "Ask for a plan and adopt it; or make the order smaller or later, or drop it and say so.",
    "kind_order_late": "Order late",
    "cause_order_late": "What the order waits for ends too late for its hand-over.",
    "consequence_order_late": "The customer waits, or goes without.",
    "time_order_late": "Until the last instant that the alarm names; without one, tell the customer while it helps.",
    "act_order_late": "Begin what it waits for, call another pair of hands, or tell the customer.",
    "kind_orders_undecided": "Orders long past their time",
    "cause_orders_undecided": (
        "An order was not handed over, its time passed longer ago than the kitchen's settings allow, and nobody has "
        "said what becomes of it."
    ),
    "consequence_orders_undecided": (
        "Every plan makes room for it again: work, machines and planning go to food that may be wanted no more."
    ),
    "time_orders_undecided": "Today: each day more work of the plan hangs on it.",
    "act_orders_undecided": "Ask the customer, then drop it or give it a new time. Nothing is dropped by itself.",
    "kind_task_late": "Work not begun",
    "cause_task_late": "A step that needs hands could have begun and has not.",
    "consequence_task_late": "What follows moves later: first the slack goes, then a window or an order.",
    "time_task_late": "Until the last instant that the alarm names; then a window or an order is in danger.",
    "act_task_late": "Begin it, or call another pair of hands; if it is not needed, skip it with a reason.",
    "kind_store_warm": "Store outside its temperatures",
    "cause_store_warm": (
        "The air of a store is outside its limits: a door, a defrost, too much warm food, or the machine fails."
    ),
    "consequence_store_warm": (
        "Food in it warms, or freezes where it must not; frozen food softens and may not be frozen again."
    ),
    "time_store_warm": "Until the store's grace is over; from then on it counts as missed.",
    "act_store_warm": "Shut the door, measure the food by hand, and move it if the store does not come back.",
    "kind_target_missed": "Temperature not reached",
    "cause_target_missed": (
        "A step will not reach, or did not reach, its temperature in time, or went above its ceiling."
    ),
    "consequence_target_missed": "Germs may survive or grow: past a safety limit the lot goes on hold.",
    "time_target_missed": "Until the step's longest time, or the leg of the cooling, is over.",
    "act_target_missed": (
        "Measure by hand; heat or cool more strongly (smaller portions, fresh ice, stir); never guess."
    ),
    "kind_probe_silent": "Probe silent",
    "cause_probe_silent": (
        "Nothing was heard of a probe for longer than it should take: battery, cable, radio or broker."
    ),
    "consequence_probe_silent": "Nobody watches what it watched, and the record has a gap.",
    "time_probe_silent": "At once where food is in it: until it is heard again nothing warns of its temperature.",
    "act_probe_silent": "Measure by hand and enter it, then see to battery and cable.",
    "kind_probe_doubted": "Probe not to be believed",
    "cause_probe_doubted": (
        "A probe reads what cannot be: stuck, noisy, drifting, leaping, in another unit or place, by a wrong clock, or "
        "it failed its last check."
    ),
    "consequence_probe_doubted": (
        "What it says meets no target and opens no gate; food that it watches is watched by nobody until measured by "
        "hand."
    ),
    "time_probe_doubted": "Before the next step that needs it; while food is in its place, at once.",
    "act_probe_doubted": "Measure by hand; mend it, check it in ice or boiling water, or assign another probe.",
    "kind_probe_battery": "Battery low",
    "cause_probe_battery": "A probe tells that its battery is at 20 % or below.",
    "consequence_probe_battery": "It will fall silent, and a gap in the record is not judged.",
    "time_probe_battery": "Today, before the kitchen is left alone.",
    "act_probe_battery": "Change the battery.",
    "kind_probe_check_due": "Check of a probe due",
    "cause_probe_check_due": "A probe has not been checked for as long as the kitchen's settings allow.",
    "consequence_probe_check_due": "The longer ago the last good check, the more lots a failed one puts in doubt.",
    "time_probe_check_due": "Today.",
    "act_probe_check_due": "Hold it into ice water, stirred, and enter what it shows.",
    "kind_probe_unwashed": "Probe not said to be washed",
    "cause_probe_unwashed": (
        "A probe has gone from food with an allergen into food without, and nobody has said that it was washed."
    ),
    "consequence_probe_unwashed": "The food may carry an allergen that its label does not name.",
    "time_probe_unwashed": "At once, before the food goes further.",
    "act_probe_unwashed": "Say that it was washed and sanitised, or put the lot on hold.",
    "kind_machine_stopped": "Machine stopped",
    "cause_machine_stopped": "Somebody has said that a machine cannot be used, and work or food wants it.",
    "consequence_machine_stopped": (
        "Work on it waits: windows and orders that hang on it are missed one after the other."
    ),
    "time_machine_stopped": "Until the last return that still saves, which the alarm names, where one is known.",
    "act_machine_stopped": "Move the food in it, use another machine, and say when it will be back.",
    "kind_lot_on_hold": "Lot on hold",
    "cause_lot_on_hold": "A limit was missed, or somebody has doubts about a lot.",
    "consequence_lot_on_hold": "No plan uses it: what it was meant for goes without until somebody has decided.",
    "time_lot_on_hold": "Before the step that would use it begins.",
    "act_lot_on_hold": (
        "Keep it as it is, find out what happened, then release, rework or discard it, by name and reason."
    ),
    "kind_delivery_overdue": "Delivery overdue",
    "cause_delivery_overdue": "A delivery should be here, work waits for it, and nobody has received it.",
    "consequence_delivery_overdue": "Plans take it to come later, again and again; what waits moves later each time.",
    "time_delivery_overdue": "At once: the sooner it is known when it comes, the more can still be planned round it.",
    "act_delivery_overdue": "If it is here, receive it; else ask the supplier and say when it comes.",
    "kind_by_product_past": "By-product past its date (in older records)",
    "cause_by_product_past": "What a step left over has not been used by its date, and nobody has discarded it.",
    "consequence_by_product_past": "No step is offered it; somebody who does not look may use it all the same.",
    "time_by_product_past": "Before anybody opens the store for it.",
    "act_by_product_past": "Discard it and say so; it leaves the books then.",
    "kind_past_use_by": "Past its use-by",
    "cause_past_use_by": (
        "Something is left of food made here, left over or received, its use-by is past, and nobody has discarded it."
    ),
    "consequence_past_use_by": (
        "No step is offered it and none begins with it; somebody who does not look may use or serve it all the same."
    ),
    "time_past_use_by": "Before anybody opens the store for it; it calls nobody at night.",
    "act_past_use_by": "Discard each lot and say so; it leaves plan and stock then. It may not be kept.",
    "kind_past_best_before": "Past its best-before",
    "cause_past_best_before": "Something is left of a lot, its best-before has passed, and nobody has judged it.",
    "consequence_past_best_before": "It is safe by its dates, but may not be what a customer should get.",
    "time_past_best_before": "Before it is served; it calls nobody.",
    "act_past_best_before": "A manager looks and tastes, then keeps it with a reason; or discard it and say so.",
    "kind_lots_asked": "Lots undecided after a failure",
    "cause_lots_asked": "A store was too warm, stood still or was not heard, is as it should be again, and lots wait.",
    "consequence_lots_asked": "Food that softened or warmed may be cold again unseen; nothing of it may be used.",
    "time_lots_asked": "Before the step that would use a lot begins.",
    "act_lots_asked": "Measure each lot in its middle, then say: kept, moved, on hold or discarded.",
    # -- many at once
    "flood_head": "{count} alarms within ten minutes.",
    "flood_says": "They are grouped by what is behind them; what is critical stands by itself. Begin with the cause.",
    "flood_machine": "Machine stopped: {title}",
    "flood_store": "Store: {title}",
    "flood_readings": "Readings have stopped: broker, network or power",
    "flood_hands": "Work not begun: hands are missing",
    "flood_other": "With no cause in common",
    "flood_count": "{count} alarms",
    "flood_first": "The first",
    "flood_worst": "The worst",
    "flood_first_and_worst": "The first, and the worst",
    "flood_rest": "{count} more of this group",
    # -- figures
    "figures_link": "Alarms in figures",
    "figures_head": "Alarms in figures",
    "figures_days": "{count} days",
    "figures_days_one": "1 day",
    "figures_csv": "Figures as CSV",
    "figures_since": "From {since} to now ({length}). Times that somebody was told of something new or worse: {count}.",
    "figures_none": "No alarm in this time.",
    "figures_hours": "In each hour of the last day",
    "figures_hours_label": "Alarms in each hour of the last day, {most} at most",
    "figures_in_numbers": "In numbers",
    "figures_guidance": "Against the guidance for one operator",
    "figures_what": "What",
    "figures_value": "Here",
    "figures_guided": "Guidance",
    "figures_source": (
        "Guidance: ANSI/ISA-18.2 and EEMUA 191, from memory; check it against your own copy. It was made for large "
        "plants: small numbers here say that nothing is wrong with the alarms, not that nothing is wrong."
    ),
    "figure_in_ten": "Alarms in ten minutes, on average",
    "figure_in_ten_guidance": "about {well:g} very likely acceptable, {most:g} the most",
    "figure_per_hour": "Alarms in an hour, on average",
    "figure_per_hour_guidance": "about {well:g} very likely acceptable, {most:g} the most",
    "figure_per_day": "Alarms in a day, on average",
    "figure_per_day_guidance": "about {well:g} very likely acceptable, {most:g} the most",
    "figure_most_in_ten": "Most in ten minutes",
    "figure_most_in_ten_guidance": "10 or fewer; more are a flood",
    "figure_floods": "Ten minutes in flood",
    "figure_floods_guidance": "less than about 1 %",
    "figure_chattering": "Alarms that chatter",
    "figure_chattering_guidance": "none; raised {count} times or more within an hour (the hour is ours)",
    "figure_fleeting": "Alarms over within a minute",
    "figure_fleeting_guidance": "none",
    "figure_stale": "Standing for more than a day",
    "figure_stale_guidance": "fewer than 5",
    "figure_is_ok": "within it",
    "figure_is_much": "too much for long",
    "figure_is_most": "beyond it",
    "figure_is_early": "too early to say",
    "figures_shares": "By priority",
    "figures_priority": "Priority",
    "figures_about": "about {share}",
    "figures_seen": "Marked as seen after",
    "figures_seen_none": "Nothing was marked as seen in this time.",
    "figures_seen_after": "Half of them within {median}, nine of ten within {tenth}.",
    "figures_unseen": "Not seen now: {count}.",
    "figures_shelved": "Quiet now: {count}.",
    "figures_longest_none": "No alarm stands.",
    "figures_frequent": "Most frequent",
    "figures_alarm": "Alarm",
    "figures_times": "Times raised",
    "figures_nothing": "None was raised.",
    "figures_longest": "Standing longest",
    "figures_stale": "stale: for more than a day",
    "figures_restless": "Restless: look for their cause",
    "figures_chatters": "{alarm}: raised {count} times within an hour",
    "figures_fleets": "{alarm}: over within a minute, {count} times",
    # -- the shelf
    "alarm_state_shelved": "Quiet",
    "shelf": "Make quiet",
    "shelf_legend": "How long?",
    "shelf_reason": "Why: what is known and being done",
    "shelf_send": "Make quiet",
    "shelf_says": "It makes no sound until then, is shown below, and comes back by itself if its cause still stands.",
    "shelf_never": "It cannot be made quiet: it is critical for food. Mark it as seen, which ends its sound.",
    "shelf_too_late": "It cannot be made quiet: too little time is left to act.",
    "shelf_end": "End quiet now",
    "shelved_head": "Quiet for now ({count})",
    "shelved_none": "No alarm is quiet.",
    "shelved_until": "Quiet until {time}",
    "shelved_left": "Quiet until {time}, {length} from now",
    "shelved_by": "since {time} by {who}: {reason}",
    "shelved_stands": "Its cause stands",
    "shelved_over": "Its cause is over for the moment",
    "shelved_came_back": "came back from quiet {time}",
    "quiet_count": "{count} quiet",
    "history_shelved": "Made quiet",
    "history_unshelved": "No longer quiet",
    "done_shelve": "Quiet; it comes back by itself",
    "done_unshelve": "No longer quiet",
    "suppressed_says": (
        "Suppressed by design: {count}. Late starts that a window's alarm tells already; nothing that holds food."
    ),
}
