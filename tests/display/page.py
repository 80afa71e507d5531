"""A page taken apart: forms, headings, text, by the standard library's parser."""

from dataclasses import dataclass, field
from html.parser import HTMLParser

VOID = {"meta", "link", "input", "br", "hr", "img"}


@dataclass
class Form:
    """A form, with its hidden and other fields and its buttons' words."""

    action: str
    fields: dict[str, str] = field(default_factory=dict)
    buttons: list[str] = field(default_factory=list)


class Page(HTMLParser):
    """Reads HTML and complains about tags that are not closed in order."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.forms: list[Form] = []
        self.links: dict[str, str] = {}
        self.text = ""
        self.inline_styles: list[str] = []
        self.inline_scripts: list[str] = []
        self.ids: list[str] = []
        self._open: list[str] = []
        self._form: Form | None = None
        self._words = ""
        self._href = ""
        self.feed(html)
        assert self._open == [], f"not closed: {self._open}"
        self.text = " ".join(self.text.split())

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        values = {key: value or "" for key, value in attrs}
        if "style" in values or tag == "style":
            self.inline_styles.append(f"{tag} {values.get('style')}")
        if any(key.startswith("on") for key in values):
            self.inline_scripts.append(tag)
        if tag == "script" and "src" not in values and values.get("type") != "application/json":
            self.inline_scripts.append(tag)
        if "id" in values:
            self.ids.append(values["id"])
        if tag == "form":
            self._form = Form(values.get("action", ""))
            self.forms.append(self._form)
        if tag in {"input", "select", "button"} and self._form and "name" in values:
            self._form.fields[values["name"]] = values.get("value", "")
        if tag in {"button", "a"}:
            self._words, self._href = "", values.get("href", "")
        if tag not in VOID:
            self._open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self._open.pop()

    def handle_endtag(self, tag: str) -> None:
        assert self._open, f"</{tag}> closes nothing"
        assert self._open[-1] == tag, f"</{tag}> inside {self._open}"
        self._open.pop()
        words = " ".join(self._words.split())
        if tag == "form":
            self._form = None
        if tag == "button" and self._form:
            self._form.buttons.append(words)
        if tag == "a":
            self.links[words] = self._href

    def handle_data(self, data: str) -> None:
        if "script" not in self._open and "title" not in self._open:
            self.text += data
        self._words += data

    def form(self, action: str) -> Form:
        """The first form that goes there."""
        return next(form for form in self.forms if form.action == action)
