"""What each caller may do: one table of all routes, one of all commands. A route without a line fails a test."""

from collections.abc import Mapping
from enum import IntEnum
from typing import Final

from orchestrator.core.commands import Command
from orchestrator.core.decide.kitchen import ANYBODY
from orchestrator.core.kitchen_commands import ChangeKitchen
from orchestrator.core.models.change import AddOrder, Change, SetPar
from orchestrator.ports.access import Caller, Role, Scope


class Need(IntEnum):
    """What a caller must be allowed to; each includes those before it."""

    NOTHING = 0
    """Also for somebody unknown: the way in, styles and scripts."""
    LOOK = 1
    """Reads."""
    COOK = 2
    """The acts of a day in the kitchen."""
    ORDER = 3
    """Brings orders, hourly demand and par levels. People who may are managers; a program may no more than this."""
    MANAGE = 4
    """What else changes orders, recipes and the kitchen, and who may do what."""


SCOPES: Final[Mapping[Scope, Need]] = {
    Scope.READ: Need.LOOK,
    Scope.ACT: Need.COOK,
    Scope.ORDERS: Need.ORDER,
    Scope.MANAGE: Need.MANAGE,
}
"""What a token's scopes are good for: of programs no need includes another, but the last, which includes all."""
FOR_PROGRAMS: Final = ("api.", "files.")
"""Pages and their forms are for people: a token opens only what begins so."""
ALLOWED: Final[Mapping[Role, Need]] = {Role.VIEWER: Need.LOOK, Role.STATION: Need.COOK, Role.MANAGER: Need.MANAGE}

_OPEN: Final = (
    *("static", "shell.worker", "signing_in.pair_page", "signing_in.pair_state", "signing_in.use_spare"),
    *("signing_in.sign_in_page", "signing_in.sign_in"),
)
_API_READS: Final = (
    *("alarms", "alarms/figures", "board", "calls", "crew", "demand/make-next", "demand/par-levels", "deviations"),
    *("deviations/{deviation}", "durations", "events", "lots", "now", "openapi", "orders", "plan", "probes"),
    *("probes/{probe}/readings", "remedies", "risk", "stations", "stations/{station}", "tasks/{task}"),
    *("tasks/{task}/why", "elsewhere"),
)
_PAGES: Final = (
    *("home.home", "stations.stations", "station.station_page", "task.task_page", "task.why_page", "board.board_page"),
    *("alarms.alarms_page", "alarm_figures.figures_page", "alarm_figures.figures_csv", "calls.calls_page"),
    *(
        "crew.crew_page",
        "crew.later_page",
        "week.week_page",
        "demand.demand_page",
        "desk.machines_page",
        "desk.orders_page",
    ),
    *("doubt.deviations_page", "doubt.deviation_page", "doubt.places_page", "doubt.place_page"),
    *("drafts.drafts_page", "drafts.draft_text", "drafts.edit_page", "drafts.new_page", "trials.draft_page"),
    *("trials.approve", "trials.take_up", "durations.durations_page", "files.calendar", "files.list_csv"),
    *("first_run.first_run_page", "handover.handover_page", "handover.handed_over_page", "handover.handed_over_pdf"),
    *("handover.handover_pdf", "helping.help_page", "helping.preview_page", "changing.preview_page"),
    *("labels.labels_page", "labels.labels_pdf", "late.late_page", "lots.lots_page", "lots.record_page"),
    *("lots.record_pdf", "mix.mixes_page", "mix.mixes_csv", "mix.mix_page", "mix.balance_page"),
    *("ordering.new_page", "ordering.change_page", "ordering.table_page", "papers.papers_page", "papers.sheet_page"),
    *("papers.sheet_csv", "papers.sheet_pdf", "person.pick", "planning.planning_page", "probe.probe_page"),
    *("probes.probes_page", "receiving.receiving_page", "recipes.recipes_page", "recipes.recipe_page"),
    *(
        "recipes.recipe_text",
        "stock.stock_page",
        "system.system_page",
        "trace.traces_page",
        "trace.trace_page",
        "trace.trace_csv",
    ),
    "trace.drill_page",
)
_COOKS: Final = (
    *("acts.act", "shell.tick", "person.picked", "changing.carry_out", "changing.ask_again"),
    *("helping.ask_again", "home.practise"),
    *("crew.at_another_time", "crew.later", "crew.not_later", "week.week", "demand.count"),
    *("access.code_page", "access.set_code"),  # with the manager's passphrase
    *("drafts.edited", "trials.tried", "trials.put_away"),
    *("api.commands", "api.what-if", "api.new-addAbsence", "api.new-sayPresence", "api.new-closeCounter"),
)
_MANAGES: Final = (
    *("ordering.add", "ordering.change", "ordering.drop", "ordering.table", "demand.par", "demand.hours"),
    *("tokens.tokens_page", "tokens.make", "tokens.revoke"),
    *("planning.stock", "first_run.take_over", "access.access_page", "access.approve", "access.revoke"),
    *("access.make_spares", "access.drop_spare", "access.set_passphrase"),
    *("files.refused_csv", "api.new-addShift"),
)
_ORDERS: Final = ("api.new-addOrders", "api.new-setParLevels", "api.new-addHourlyDemand")

RULES: Final[Mapping[str, Need]] = {
    **dict.fromkeys(_OPEN, Need.NOTHING),
    **dict.fromkeys((*_PAGES, *(f"api.{name}" for name in _API_READS)), Need.LOOK),
    # Language and clock of the screen itself; and nobody is kept from leaving.
    **dict.fromkeys(("person.ways", "signing_in.sign_out"), Need.LOOK),
    **dict.fromkeys(_COOKS, Need.COOK),
    **dict.fromkeys(_ORDERS, Need.ORDER),
    **dict.fromkeys(_MANAGES, Need.MANAGE),
}
"""By endpoint of Flask."""
STREAMS: Final = Need.LOOK
"""Of `/streams` and `/api/v1/changes`, which are answered before Flask."""

_MANAGERS_COMMANDS: Final = ("adopt_durations", "restore_durations", "send_test_call", "import_kitchen")
_COOKS_COMMANDS: Final = (
    *("start_task", "finish_task", "finish_tray", "extend_task", "report_problem", "skip_task", "undo"),
    *("enter_temperature", "enter_weight", "acknowledge_alarm", "shelve_alarm", "unshelve_alarm"),
    *("stop_machine", "machine_back", "power_cut", "decide_lot", "take_action", "answer_lot", "close_deviation"),
    "look_through",
    *("decide_plan", "hold_in_place", "let_move", "ask_replan"),
    *("check_probe", "apply_offset", "assign_probe", "confirm_washed"),
    *("receive_delivery", "use_lot", "judge_ripeness", "replace_ingredient", "count_stock", "rework_into"),
    *("start_drill", "mark_drill", "end_drill", "weigh_by_product", "measure_ingredient"),
    *("write_draft", "record_trial", "put_draft_away", "come_in", "go_home", "hand_over", "take_over"),
    *("choose_ways", "change_kitchen"),
)
COMMANDS: Final[Mapping[str, Need]] = {
    **dict.fromkeys(_COOKS_COMMANDS, Need.COOK),
    **dict.fromkeys(_MANAGERS_COMMANDS, Need.MANAGE),
}
"""By kind of command, whatever page or program it comes from; of a kitchen's changes see `need_of_command`."""


def need_of(endpoint: str | None) -> Need:
    """What a route needs; of one that is not there, enough to be told so."""
    if endpoint is None:
        return Need.LOOK
    return RULES.get(endpoint, Need.MANAGE)


def need_of_command(command: Command) -> Need:
    """What a command needs: changes of orders, recipes and shifts a manager, facts of the day a cook."""
    if isinstance(command, ChangeKitchen):
        return max((_need_of_change(change) for change in command.changes), default=Need.COOK)
    return COMMANDS.get(command.kind, Need.MANAGE)


def _need_of_change(change: Change) -> Need:
    if isinstance(change, ANYBODY):
        return Need.COOK
    return Need.ORDER if isinstance(change, AddOrder | SetPar) else Need.MANAGE


def may(caller: Caller | None, need: Need) -> bool:
    """Whether a caller may do what needs so much."""
    if need is Need.NOTHING:
        return True
    if caller is None:
        return False
    if caller.kind == "token":
        return Scope.MANAGE in caller.scopes or need in {SCOPES[scope] for scope in caller.scopes}
    return ALLOWED[caller.role] >= need


def for_programs(endpoint: str | None) -> bool:
    """Whether a token may open it at all."""
    return endpoint is None or endpoint.startswith(FOR_PROGRAMS)
