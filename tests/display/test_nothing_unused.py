"""What templates, styles and words hold, some page uses: what none uses is translated, weighed and read for nothing."""

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

from display.alarm_table import PARTS
from display.words import TABLES
from orchestrator.core.models.alarm import AlarmKind

ROOM = Path(__file__).parents[2] / "display"
WORDS = ROOM / "words"
AROUND = re.compile(r"""['"](\w+_)['"]\s*~[^"'(),]*(?:~\s*['"](_?\w+)['"])?|~\s*['"](_\w+)['"]""")
"""In templates: ``"role_" ~ role``, ``"form_" ~ unit ~ "_remedy"``, ``kind ~ "_says"``."""
COMMENT = re.compile(r"/\*.*?\*/", re.S)


@cache
def texts(*kinds: str) -> dict[Path, str]:
    """Everything in the room but the tables of words."""
    found = (path for kind in kinds for path in ROOM.rglob(kind))
    tables = {WORDS / "english", WORDS / "spanish"}
    return {path: path.read_text(encoding="utf-8") for path in found if path.parent not in tables}


def _put_together() -> Iterator[str]:
    """Patterns of keys of which a part is written and the rest is a value."""
    for text in texts("*.py").values():
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, ast.JoinedStr):
                written = [v.value if isinstance(v, ast.Constant) else None for v in node.values]
                if re.fullmatch(r"\w{3,}", "".join(str(part) for part in written if part)):
                    yield "".join(".+" if part is None else str(part) for part in written)
    for text in texts("*.html").values():
        for before, after, last in AROUND.findall(text):
            yield f"{before}.+{after}" if before else f".+{last}"


def test_every_word_is_said_on_some_page() -> None:
    pages = "\n".join(texts("*.py", "*.html", "*.js").values())
    named = {*re.findall(r"\w+", pages), *re.findall(r"""['"]([\w ]+)['"]""", pages)}
    named |= {f"{part}_{kind}" for part in PARTS for kind in AlarmKind}
    made = re.compile("|".join(f"(?:{pattern})" for pattern in set(_put_together())))
    assert [key for key in TABLES["en"] if key not in named and not made.fullmatch(key)] == []


def test_every_class_and_token_of_the_styles_is_used() -> None:
    styles = COMMENT.sub("", "\n".join(texts("*.css").values()))
    pages = "\n".join(texts("*.py", "*.html", "*.js").values())
    named = set(re.findall(r"[\w-]+", pages)) | {f"panel-{key}" for key in re.findall(r'register\("([\w-]+)"', pages)}
    values = set(re.findall(r"([\w-]+-)(?:\{\{|\$\{|\{)", pages))
    chosen = {
        name for heads in re.findall(r"([^{}]+)\{", styles) for name in re.findall(r"[.#]([A-Za-z][\w-]*)", heads)
    }
    assert {
        name for name in chosen - named if not any(name.startswith(value) for value in values - {"panel-"})
    } == set()
    tokens, used = set(re.findall(r"(--[\w-]+)\s*:", styles)), set(re.findall(r"var\(\s*(--[\w-]+)", styles + pages))
    assert tokens == used | {token for token in tokens if token in pages}


def test_every_macro_is_called_and_every_import_of_a_template_is_used() -> None:
    pages = texts("*.html")
    together = "\n".join(pages.values())
    macros = re.findall(r"{%-?\s*macro\s+(\w+)", together)
    assert [name for name in macros if len(re.findall(rf"\b{name}\s*\(", together)) <= macros.count(name)] == []
    unused = []
    for path, text in pages.items():
        for names in re.findall(r'{%-?\s*from\s+"[^"]+"\s+import\s+([^%]+?)\s*(?:with context\s*)?-?%}', text):
            bound = [one.split(" as ")[-1].strip() for one in names.split(",")]
            unused += [f"{path.name}: {name}" for name in bound if len(re.findall(rf"\b{name}\b", text)) < 2]
    assert unused == []
