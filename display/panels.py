"""The parts of pages that are kept live, by name, and what each is rendered from.

A page module registers its panels once, at import: ``register("station-hand", render)`` where
``render(showing, argument)`` returns HTML. A page shows one by its key, ``name`` or ``name:argument``
(``station-hand:stove``), with ``{{ panel("station-hand:stove") }}`` in its template: that writes
``<div data-panel="KEY">`` round the HTML, and the script asks ``/streams?panels=KEY,...`` for all that
it finds. Panels are shared by everybody with the same language, role, clock and amounts: they never
carry a command id, nor anything of the person at the screen.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any, TypeVar, cast
from uuid import uuid4

from jinja2 import Environment, pass_context
from jinja2.runtime import Context
from markupsafe import Markup

from display.formats import Formats
from display.reader import Reader
from display.sentences import Sentences
from display.telling import Teller
from display.together import kept_together
from display.views import Views
from display.words import AsPrinted, Words
from orchestrator.core.ids import ProbeId
from orchestrator.core.models import Kitchen
from orchestrator.core.whole import whole
from orchestrator.gateway.door import Gateway, Snapshot
from orchestrator.ports.event_log import Reading

T = TypeVar("T")


@dataclass(frozen=True)
class Showing:
    """All that a page or panel is rendered from: one frozen picture, for one kind of reader."""

    gateway: Gateway
    views: Views
    snapshot: Snapshot
    reader: Reader
    environment: Environment
    streamed: bool = True
    """Streamed panels carry no command id; forms of a page load carry their own."""
    memo: dict[object, object] = field(default_factory=dict)
    """Views computed for this snapshot; shared by all that are rendered from it."""
    tell: Teller = field(init=False)
    """Says what files, rules and planner say in English, as the reader reads."""
    words: Words = field(init=False)
    formats: Formats = field(init=False)
    sentences: Sentences = field(init=False)

    def __post_init__(self) -> None:
        """Words and formats follow from reader and kitchen."""
        kitchen = self.snapshot.state.kitchen
        zone, unit = (kitchen.time_zone, kitchen.temperature_unit) if kitchen else ("UTC", "C")
        language, twelve = self.reader.language, self.reader.clock == "12"
        formats = Formats(zone, unit, Words(language), twelve_hours=twelve, us=self.reader.amounts == "us")
        object.__setattr__(self, "formats", formats)
        texts = next((one.texts for one in (kitchen.texts if kitchen else ()) if one.language == language), {})
        object.__setattr__(self, "tell", Teller(language, formats, unit, texts, twelve=twelve))
        words = Words(language, self.tell)
        object.__setattr__(self, "words", words)
        object.__setattr__(self, "sentences", Sentences(words, formats, self.snapshot.now, kitchen))

    @property
    def now(self) -> datetime:
        """The kitchen's time of the picture."""
        return self.snapshot.now

    @property
    def kitchen(self) -> Kitchen:
        """The kitchen. Raises: KitchenMissing before one was taken over."""
        if self.snapshot.state.kitchen is None:
            raise KitchenMissing
        return self.snapshot.state.kitchen

    @property
    def whole(self) -> "Showing":
        """The same picture as if nothing had ever left the plan, for records; itself where nothing has."""
        state = whole(self.snapshot.state)
        if state is self.snapshot.state:
            return self
        return self.once("whole", lambda: replace(self, snapshot=replace(self.snapshot, state=state), memo={}))

    def once(self, key: object, compute: Callable[[], T]) -> T:
        """What ``compute`` gives, computed once a snapshot."""
        if key not in self.memo:
            self.memo[key] = compute()
        return cast(T, self.memo[key])

    def readings(self, probe: ProbeId, since: datetime) -> Sequence[Reading]:
        """Stored readings of a probe until now, in order, read once a snapshot for all who look at it."""
        return self.once(("readings", probe, since), lambda: self.gateway.readings(probe, since, self.now))

    def name_of(self, person: str | None) -> str:
        """Name of somebody of the crew; the id itself when unknown."""
        crew = self.snapshot.state.kitchen.crew if self.snapshot.state.kitchen else ()
        return self.tell.name(next((member.name for member in crew if member.id == person), person or ""))

    def new_id(self) -> str:
        """A command id for a form of a page load; empty for streamed panels."""
        return "" if self.streamed else uuid4().hex

    def render(self, template: str, context: Mapping[str, Any]) -> str:
        """A template with words ``w``, formats ``f``, sentences ``s``, ``now`` and ``showing`` at hand."""
        base = {
            "w": self.words,
            "f": self.formats,
            "s": self.sentences,
            "now": self.now,
            "showing": self,
            "panel": lambda key: framed(self, key),
        }
        return kept_together(self.environment.get_template(template).render({**base, **context}))


@pass_context
def told(context: Context, value: object) -> object:
    """For templates: a text of files, rules or planner as the reader reads it. Anything else, and HTML, as it is."""
    showing = context.get("showing")
    if showing is None or not isinstance(value, str) or isinstance(value, AsPrinted | Markup):
        return value
    return showing.tell(str(value))


@pass_context
def named(context: Context, value: object) -> object:
    """For templates: a name that the kitchen gave, translated only where its texts name exactly this one."""
    showing = context.get("showing")
    if showing is None or not isinstance(value, str) or isinstance(value, AsPrinted | Markup):
        return value
    return showing.tell.name(str(value))


class KitchenMissing(LookupError):
    """No kitchen has been taken over yet."""


PanelRender = Callable[[Showing, str], str]
_PANELS: dict[str, PanelRender] = {}
_OF_THE_RECORD: set[str] = set()


def register(name: str, render: PanelRender, *, of_the_record: bool = False) -> None:
    """Make a panel known.

    Args:
        name: By which pages show it.
        render: Gives its HTML.
        of_the_record: It shows no reading as it comes, only what is on record and what a minute changes: so it is not
            rendered anew for readings.

    Raises:
        ValueError: the name is taken by another function.
    """
    if _PANELS.setdefault(name, render) is not render:
        raise ValueError(f"panel {name!r} is registered twice")
    if of_the_record:
        _OF_THE_RECORD.add(name)


register("clock", lambda showing, argument: "")  # for pages without panels, so that their clock runs and links


def known(key: str) -> bool:
    """Whether a panel of that key's name exists."""
    return key.partition(":")[0] in _PANELS


def of_the_record(key: str) -> bool:
    """Whether readings alone change nothing of a panel."""
    return key.partition(":")[0] in _OF_THE_RECORD


def render_panel(showing: Showing, key: str) -> str:
    """HTML of the panel. Raises: KeyError for an unknown panel, or what its render function raises."""
    name, _, argument = key.partition(":")
    return _PANELS[name](showing, argument)


def framed(showing: Showing, key: str) -> Markup:
    """A panel with the element round it by which the script finds and renews it."""
    return Markup('<div class="panel panel-{}" data-panel="{}">{}</div>').format(
        key.partition(":")[0],
        key,
        Markup(render_panel(showing, key)),  # noqa: S704 - a template's own output, escaped there
    )
