"""A kitchen's texts in Spanish stand in one file or in several; none is said in two."""

from pathlib import Path

from orchestrator.kitchen.read import read_kitchen
from orchestrator.kitchen.shipped import shipped_texts
from tests.kitchen.small import faults, write_small

ONE = "texts:\n  Bench: Mesa\n"
OTHER = "texts:\n  Counter hand: Persona del mostrador\n"


def told(folder: Path) -> dict[str, str]:
    (texts,) = read_kitchen(folder).texts
    return {text: said for text, said in texts.texts.items() if shipped_texts().get(text) != said}


def test_texts_of_one_file_and_of_several_count_alike(tmp_path: Path) -> None:
    write_small(tmp_path)
    assert told(tmp_path) == {}
    (tmp_path / "texts.es.yaml").write_text(ONE, encoding="utf-8")
    (tmp_path / "texts.es").mkdir()
    (tmp_path / "texts.es" / "people.yaml").write_text(OTHER, encoding="utf-8")
    assert told(tmp_path) == {"Bench": "Mesa", "Counter hand": "Persona del mostrador"}


def test_text_that_two_files_translate_is_told_by_the_second(tmp_path: Path) -> None:
    write_small(tmp_path)
    (tmp_path / "texts.es.yaml").write_text(ONE, encoding="utf-8")
    (tmp_path / "texts.es").mkdir()
    (tmp_path / "texts.es" / "bench.yaml").write_text("texts:\n  Bench: Banco\n", encoding="utf-8")
    assert faults(tmp_path) == [
        "texts.es/bench.yaml:2:3: 'Bench' is translated in texts.es.yaml already — keep one of the two"
    ]


def test_file_with_another_ending_is_told_and_what_is_wrong_is_told_by_line(tmp_path: Path) -> None:
    write_small(tmp_path)
    (tmp_path / "texts.es").mkdir()
    (tmp_path / "texts.es" / "bench.yml").write_text(ONE, encoding="utf-8")
    (tmp_path / "texts.es" / "people.yaml").write_text("text:\n  Bench: Mesa\n", encoding="utf-8")
    found = faults(tmp_path)
    assert any(one.startswith("texts.es/bench.yml") and "rename it to bench.yaml" in one for one in found), found
    assert any(one.startswith("texts.es/people.yaml:1:") and "'texts'" in one for one in found), found
