"""A run of the benches: what fails alone fails alone, what is written down is not measured again."""

import json

import pytest

from tests.benchmarks.__main__ import APART, arguments, main, parts, sizes
from tests.benchmarks.book import Book, BookFault, Measurement, Part
from tests.benchmarks.plain import FORMS
from tests.benchmarks.runner import report, run


class Kitchen:
    """Measurements that count how often they are made; one of them fails as long as it is told to."""

    def __init__(self) -> None:
        self.made: list[str] = []
        self.broken = True

    def part(self) -> Part:
        keys = ("first", "second", "third")
        measurements = tuple(Measurement(key, 30.0, lambda key=key: self.measured(key)) for key in keys)
        return Part("cooking", measurements, lambda found: f"table of {', '.join(found)}")

    def measured(self, key: str) -> dict[str, object]:
        self.made.append(key)
        if key == "second" and self.broken:
            raise RuntimeError("the hob is cold")
        return {"minutes": len(key)}


def test_what_fails_is_named_and_takes_nothing_along(tmp_path, capsys):
    book = Book(tmp_path / "figures.json")

    run([Kitchen().part()], book)

    printed = capsys.readouterr().out
    assert "3 measurements, about 2 minutes; 0 are there already." in printed
    assert "[2/3] cooking: second (about 30 s) FAILED: RuntimeError: the hob is cold" in printed
    assert "table of first, third" in printed
    assert "- FAILED cooking: second: RuntimeError: the hob is cold" in printed
    assert [(s["measured"], s["failed"]) for s in book.sittings] == [(2, 1)]


def test_a_run_goes_on_from_its_file_and_tries_again_what_failed(tmp_path, capsys):
    kitchen, path = Kitchen(), tmp_path / "figures.json"
    run([kitchen.part()], Book.opened(path))
    kitchen.broken = False

    again = Book.opened(path)
    run([kitchen.part()], again)

    assert kitchen.made == ["first", "second", "third", "second"]
    assert {key: found["sitting"] for key, found in again.measured("cooking").items()} == {
        "first": 0, "second": 1, "third": 0,
    }  # fmt: skip
    assert again.failed() == {}
    assert "1 measurements, about 0 minutes; 2 are there already." in capsys.readouterr().out
    assert json.loads(path.read_text())["parts"]["cooking"]["first"] == {"minutes": 5, "sitting": 0}


def test_a_run_that_is_killed_keeps_what_it_had(tmp_path):
    kitchen, path = Kitchen(), tmp_path / "figures.json"

    def killed() -> dict[str, object]:
        raise KeyboardInterrupt

    part = kitchen.part()
    with pytest.raises(KeyboardInterrupt):
        run([Part("cooking", (part.measurements[0], Measurement("last", 1.0, killed)), part.tables)], Book(path))

    assert list(Book.opened(path).measured("cooking")) == ["first"]


def test_report_prints_tables_of_what_is_there_and_measures_nothing(tmp_path, capsys):
    kitchen, path = Kitchen(), tmp_path / "figures.json"
    run([kitchen.part()], Book(path))
    capsys.readouterr()

    report([kitchen.part(), Part("serving", (), lambda found: "never")], Book.opened(path))

    printed = capsys.readouterr().out
    assert printed.startswith("table of first, third\n")
    assert "never" not in printed
    assert kitchen.made == ["first", "second", "third"]


def test_a_table_that_cannot_be_made_is_named(capsys):
    book = Book(parts={"cooking": {"first": {"minutes": 1}}})

    report([Part("cooking", (), lambda found: found["missing"])], book)

    assert "cooking: no table (KeyError: 'missing'); the figures are kept." in capsys.readouterr().out


@pytest.mark.parametrize(
    ("text", "words"), [("torn {", "not JSON"), ("[]", "not figures"), ('{"format": 9}', "not figures")]
)
def test_file_of_something_else_is_refused(text, words, tmp_path, capsys):
    path = tmp_path / "other.json"
    path.write_text(text)

    with pytest.raises(BookFault, match=words):
        Book.opened(path)
    assert main(["--report", str(path)]) == 2
    assert words in capsys.readouterr().err


def test_command_measures_a_part_writes_it_down_and_reports_the_same_table(tmp_path, capsys):
    path = tmp_path / "figures.json"

    assert main(["--only", "quality", "--sizes", "1", "--seeds", "1", "--seconds", "5", "--json", str(path)]) == 0
    run_text = capsys.readouterr().out
    assert main(["--only", "quality", "--report", str(path)]) == 0
    report_text = capsys.readouterr().out

    table = run_text[run_text.index("## The planner against") : run_text.index("## Measured")].strip()
    assert table in report_text
    assert len(Book.opened(path).measured("quality")) == 1 + len(FORMS)


def test_default_run_takes_a_quarter_of_an_hour_at_most_and_the_full_one_five_seeds_of_every_size():
    short, full = parts(arguments().parse_args([])), parts(arguments().parse_args(["--full"]))

    assert sum(m.about_s for part in short for m in part.measurements) < 15 * 60
    assert [part.name for part in short] == [part.name for part in full if part.name not in APART]
    assert [part.name for part in parts(arguments().parse_args(["--only", *APART]))] == list(APART)
    assert [size.batches for size in sizes(arguments().parse_args(["--full"]))] == [1, 5, 20, 50, 150, 400]
    assert all(size.seeds >= 5 <= size.plain_seeds for size in sizes(arguments().parse_args(["--full"])))
    keys = [(part.name, m.key) for part in full for m in part.measurements]
    assert len(keys) == len(set(keys))
