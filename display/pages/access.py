"""Who may do what: screens and spares, personal codes, the passphrase, and what was refused. For the manager."""

from collections.abc import Callable
from typing import Final

from flask import Blueprint, Response, make_response, redirect, request
from werkzeug.wrappers import Response as WerkzeugResponse

from display.access.hook import caller, guard
from display.access.slowly import code_fault, passphrase_fault
from display.forms import FormFault, Tapped
from display.pages.signing_in import is_passphrase, signed_in
from display.request import Message, page, person_id, say, showing
from orchestrator.core.ids import CrewId
from orchestrator.core.models import CrewMember
from orchestrator.ports.access import AccessStore, Role, Wish

pages = Blueprint("access", __name__)

MOST_SPARES: Final = 12
SHOWN: Final = 200
LONGEST_NAME: Final = 60


@pages.get("/access")
def access_page() -> str:
    """All of it on one page; before there is a passphrase, only how to set one."""
    store = guard().store
    context: dict[str, object] = {"demo": store is None, "open": guard().is_open(), "roles": tuple(Role)}
    if store is not None and not guard().is_open():
        screens, codes = store.screens(), store.codes()
        context |= {
            "screens": [one for one in screens if one.revoked_at is None],
            "revoked": [one for one in screens if one.revoked_at is not None],
            "spares": store.spares(),
            "codes": [(member, codes.get(member.id)) for member in _crew()],
            "refused_acts": [(act, *_act_of(act.what)) for act in store.refused(SHOWN)],
            "real_now": guard().now(),
            "signed_in": (known := caller()) is not None and known.kind == "manager",
        }
    return page("access.html", **context)


def _act_of(what: str) -> tuple[str, str]:
    """The act, and in whose name where it was to be somebody's: a person is read by name, not by an id of files."""
    act, _, who = what.partition(" as ")
    return act, (showing().name_of(CrewId(who)) or who) if who else ""


def _crew() -> tuple[CrewMember, ...]:
    kitchen = showing().snapshot.state.kitchen
    return kitchen.crew if kitchen is not None else ()


def _done(*says: Message) -> WerkzeugResponse:
    for one in says:
        say(one)
    guard().forget()
    return redirect("/access", 303)


def _answered(act: Callable[[AccessStore, Tapped], Message]) -> WerkzeugResponse:
    """Carry a form out, and say what came of it."""
    store, form = guard().store, Tapped(request.form, showing(), person_id())
    if store is None or guard().is_open():
        return _done(Message("refused", showing().words("access_open"), showing().words("access_open_remedy")))
    try:
        return _done(act(store, form))
    except FormFault as fault:
        return _done(Message("refused", fault.says, fault.remedy))


def _wish(form: Tapped) -> Wish:
    role = Role(form.choice("role", [role.value for role in Role]))
    return Wish(form.need("screen_name")[:LONGEST_NAME], form.text("place")[:LONGEST_NAME], role)


@pages.post("/access/approve")
def approve() -> WerkzeugResponse:
    """The screen that shows this code is let in."""

    def act(store: AccessStore, form: Tapped) -> Message:
        w, wish = showing().words, _wish(form)
        if store.approve(form.need("pairing_code"), wish, guard().now()):
            return Message("done", w("done_pair", name=wish.name))
        return Message("refused", w("pair_unknown"), w("pair_unknown_remedy"))

    return _answered(act)


@pages.post("/access/revoke")
def revoke() -> WerkzeugResponse:
    """A screen is let in no more."""

    def act(store: AccessStore, form: Tapped) -> Message:
        store.revoke(int(form.number("screen", 0, 2**41, example="1", whole=True)), guard().now())
        return Message("done", showing().words("done_revoke"))

    return _answered(act)


@pages.post("/access/spares")
def make_spares() -> Response | WerkzeugResponse:
    """A sheet of codes that need no manager later; it is shown once, for only hashes are kept."""
    store, form = guard().store, Tapped(request.form, showing(), person_id())
    if store is None or guard().is_open():
        return _answered(lambda _store, _form: Message("done", ""))
    try:
        wish = _wish(form)
        count = int(form.number("count", 1, MOST_SPARES, example="2", whole=True))
    except FormFault as fault:
        return _done(Message("refused", fault.says, fault.remedy))
    names = [wish.name if count == 1 else f"{wish.name} {number}" for number in range(1, count + 1)]
    made = store.make_spares([Wish(name, wish.place, wish.role) for name in names], guard().now())
    sheet = [(spare, " ".join(code[at : at + 4] for at in range(0, len(code), 4))) for spare, code in made]
    return make_response(page("spares.html", sheet=sheet, real_now=guard().now(), address=request.host_url))


@pages.post("/access/spares/drop")
def drop_spare() -> WerkzeugResponse:
    """An unused spare is good for nothing any more."""

    def act(store: AccessStore, form: Tapped) -> Message:
        store.drop_spare(int(form.number("spare", 0, 2**41, example="1", whole=True)))
        return Message("done", showing().words("done_drop_spare"))

    return _answered(act)


@pages.post("/access/passphrase")
def set_passphrase() -> WerkzeugResponse:
    """The first one, from this machine; or another one, by whoever knows the present one."""
    w, store = showing().words, guard().store
    if store is None:
        return _done(Message("refused", w("access_demo"), w("access_demo_remedy")))
    typed, again = request.form.get("new_passphrase", ""), request.form.get("again", "")
    if (wrong := passphrase_fault(typed, again)) != "":
        return _done(Message("refused", w(wrong), w(f"{wrong}_remedy")))
    if not guard().is_open():
        found = is_passphrase(store, request.form.get("passphrase", ""))
        if not found.right:
            says = w("sign_in_wait", seconds=round(found.wait_s)) if found.wait_s else w("sign_in_wrong")
            return _done(Message("refused", says))
    store.set_passphrase(typed, guard().now())
    return signed_in(store, _done(Message("done", w("done_passphrase"), w("done_passphrase_next"))))


@pages.get("/code")
def code_page() -> str:
    """A personal code, typed by its person; the manager is signed in, or approves it by the passphrase."""
    known = caller()
    store = guard().store
    return page(
        "code.html",
        crew=_crew(),
        codes=store.codes() if store is not None else {},
        open=guard().is_open(),
        approved=known is not None and known.role is Role.MANAGER,
    )


@pages.post("/code")
def set_code() -> WerkzeugResponse:
    """Set it, or take it away where nothing was typed."""
    w, store = showing().words, guard().store
    known = caller()
    manager = known is not None and known.role is Role.MANAGER
    if store is None or guard().is_open():
        return _code_told(Message("refused", w("access_open"), w("access_open_remedy")))
    names = {str(member.id): member.name for member in _crew()}
    who, typed = request.form.get("person", ""), request.form.get("code", "").strip()
    if who not in names:
        return _code_told(Message("refused", w("code_nobody"), w("code_nobody_remedy")))
    away = not typed and manager
    if not away and (wrong := code_fault(typed, request.form.get("again", "").strip())) != "":
        return _code_told(Message("refused", w(wrong), w(f"{wrong}_remedy")))
    if not manager:
        found = is_passphrase(store, request.form.get("passphrase", ""))
        if not found.right:
            says = w("sign_in_wait", seconds=round(found.wait_s)) if found.wait_s else w("sign_in_wrong")
            return _code_told(Message("refused", says))
    store.set_code(CrewId(who), None if away else typed, guard().now())
    guard().personal.passed(who)
    return _code_told(Message("done", w("done_code_away" if away else "done_code", who=names[who])))


def _code_told(message: Message) -> WerkzeugResponse:
    say(message)
    return redirect("/access#codes" if request.form.get("from") == "access" else "/code", 303)
