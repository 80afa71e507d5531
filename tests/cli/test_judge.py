"""A logger's file judged, and everything ambiguous in it asked about."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner
from ruamel.yaml import YAML

from orchestrator.cli.main import main


def _judge(folder: Path, text: str, *options: str) -> tuple[int, str]:
    file = folder / "log.csv"
    file.write_text(text, encoding="utf-8")
    done = CliRunner().invoke(main, ["judge", str(file), *options])
    return done.exit_code, done.output


MIX = ("--limit", "frozen-dessert-mix")
MET = "time,core °C\n2026-11-25T10:00:00Z,80.0\n2026-11-25T10:00:25Z,80.0\n"


def test_hold_as_printed_is_met_and_a_second_short_is_not(tmp_path: Path) -> None:
    # 80 °C (175 °F) for 25 s: 21 CFR 1240.61(c).
    code, told = _judge(tmp_path, MET, *MIX, "--json")
    said = json.loads(told)
    assert (code, said["verdict"], said["row"], said["margin_degrees"]) == (0, "met", "25-s", 0.0)
    assert said["within_tolerance"] is True
    assert said["at"] == "2026-11-25T10:00:25+00:00"
    assert _judge(tmp_path, MET.replace(":25Z", ":24Z"), *MIX)[0] == 1
    assert _judge(tmp_path, MET.replace("80.0", "79.9"), *MIX)[0] == 1


@pytest.mark.parametrize(
    ("text", "options"),
    [
        ("date;time;core\n25.11.2026;10:00:00;80,5 C\n25.11.2026;10:00:25;80,5 C\n", ("--time-zone", "Europe/London")),
        ("timestamp\tprobe_f\n1795600800\t175.0\n1795600825\t175\n", ()),
        ("time,core,air\n11/25/2026 10:00:00,176,60\n11/25/2026 10:00:25,176,60\n",
         ("--time-zone", "UTC", "--unit", "F", "--column", "core")),
        ("time,core °C\n03/04/2026 10:00,82\n03/04/2026 10:01,82\n", ("--time-zone", "UTC", "--dates", "day-first")),
    ],
)  # fmt: skip
def test_common_forms_are_read(tmp_path: Path, text: str, options: tuple[str, ...]) -> None:
    code, told = _judge(tmp_path, text, *MIX, *options)
    assert (code, told.split(":")[0]) == (0, "MET")


@pytest.mark.parametrize(
    ("text", "asked"),
    [
        ("time,core\n2026-11-25T10:00Z,80\n", "column 'core' does not say its unit: add --unit C or --unit F"),
        ("time,core °C\n2026-11-25T10:00,80\n", "does not say its time zone: add --time-zone"),
        ("time,core °C\n03/04/2026 10:00,80\n", "may be day or month first: add --dates day-first or month-first"),
        (
            "time,core °C,lid °C\n2026-11-25T10:00Z,80,70\n",
            "(core °C, lid °C): name the one to be judged",
        ),
        ("time,core °C;x\n2026-11-25T10:00Z,80;1\n", "more than one possible delimiter"),
        ("time,core °C\n2026-11-25T10:00Z,80\n2026-11-25T10:01Z,80 F\n", "speaks of both °C and °F"),
        ("time,core °C\n2026-11-25T10:00Z,80\n2026-11-25T10:01Z,warm\n", "log.csv:3: 'warm' is not a temperature"),
        ("time,core °C\n2026-11-25T10:01Z,80\n2026-11-25T10:00Z,80\n", "log.csv:3: its instant is not after"),
        ("core °C\n80\n", "no delimiter"),
    ],
)
def test_what_could_be_read_in_two_ways_is_asked_about(tmp_path: Path, text: str, asked: str) -> None:
    code, told = _judge(tmp_path, text, *MIX)
    assert code == 2
    assert asked in " ".join(told.split())


def test_hour_that_comes_twice_is_asked_about(tmp_path: Path) -> None:
    # London's clocks went back on 25 October 2026, 02:00 to 01:00.
    code, told = _judge(tmp_path, "time,core °C\n2026-10-25T01:30,80\n", *MIX, "--time-zone", "Europe/London")
    assert code == 2
    assert "comes twice or never in Europe/London" in " ".join(told.split())


def test_revoked_and_unknown_limits_cannot_be_chosen(tmp_path: Path) -> None:
    code, told = _judge(tmp_path, MET, "--limit", "uk-ice-cream-1995")
    assert (code, "are revoked; take 'frozen-dessert-mix'" in " ".join(told.split())) == (2, True)
    code, told = _judge(tmp_path, MET, "--limit", "date-marking")
    assert (code, "not of a curve" in told) == (2, True)


def test_air_never_proves_a_core(tmp_path: Path) -> None:
    code, told = _judge(tmp_path, MET, *MIX, "--reads", "air", "--json")
    said = json.loads(told)
    assert (code, said["verdict"], said["why"]) == (1, "not judged", "air")


def test_lethality_is_told_beside_the_verdict_and_never_decides(tmp_path: Path) -> None:
    # D(79.4 °C) = 0.5 s, z = 7 °C: Bradshaw et al., J. Food Prot. 50:543, 1987. 25 s at 79.4 °C are 50 times D, and
    # still no row of 21 CFR 1240.61(c) is met.
    code, told = _judge(tmp_path, MET.replace("80.0", "79.4"), *MIX, "--json")
    said = json.loads(told)
    assert (code, said["verdict"]) == (1, "not yet")
    assert said["second_opinion"]["log10_reductions"] == pytest.approx(50.0, rel=1e-4)


def _probes(folder: Path, *texts: str) -> list[str]:
    files = []
    for number, text in enumerate(texts):
        file = folder / f"probe-{number}.csv"
        file.write_text(text, encoding="utf-8")
        files.append(str(file))
    return files


COLDER = MET.replace("80.0", "79.9")


def test_of_several_probes_in_one_food_the_worst_decides_as_in_the_live_verdict(tmp_path: Path) -> None:
    # 80 °C (175 °F) for 25 s: 21 CFR 1240.61(c); the coldest place of the food must have it.
    met, colder = _probes(tmp_path, MET, COLDER)
    done = CliRunner().invoke(main, ["judge", met, colder, *MIX, "--json"])
    said = json.loads(done.output)
    assert (done.exit_code, said["verdict"], said["file"]) == (1, "not yet", colder)
    assert [(probe["file"], probe["verdict"]) for probe in said["probes"]] == [(met, "met"), (colder, "not yet")]
    both = CliRunner().invoke(main, ["judge", met, _probes(tmp_path / ".", MET)[0], *MIX, "--json"])
    assert (both.exit_code, json.loads(both.output)["verdict"]) == (0, "met")
    told = CliRunner().invoke(main, ["judge", met, colder, *MIX]).output
    assert f"not yet     {colder}, core °C (decides)" in told
    assert f"met         {met}, core °C\n" in told


def test_probes_of_one_food_share_its_beginning_and_its_end(tmp_path: Path) -> None:
    """Two-leg cooling counts from the first reading of any: FDA Food Code 2022, 3-501.14(A)."""
    rows = [f"2026-11-25T{10 + m // 60:02d}:{m % 60:02d}:00Z,{max(3.0, 80.0 - 0.7 * m):.1f}" for m in range(0, 190, 10)]
    whole = "time,core °C\n" + "\n".join(rows) + "\n"
    late = "time,core °C\n" + "\n".join(row for row in rows if row >= "2026-11-25T11:30") + "\n"
    first, second = _probes(tmp_path, whole, late)
    limit = ("--limit", "two-leg-cooling", "--json")
    alone = json.loads(CliRunner().invoke(main, ["judge", first, *limit]).output)
    said = json.loads(CliRunner().invoke(main, ["judge", first, second, *limit]).output)
    assert (alone["verdict"], said["verdict"], said["file"]) == ("met", "met", said["file"])
    early_end = "time,core °C\n" + "\n".join(rows[:8]) + "\n"
    silent = _probes(tmp_path, whole, early_end)[1]
    gone = json.loads(CliRunner().invoke(main, ["judge", first, silent, *limit]).output)
    assert (gone["verdict"], gone["file"], gone["why"]) == ("not judged", silent, "gap")


def test_files_of_two_units_are_asked_to_be_judged_apart(tmp_path: Path) -> None:
    celsius, fahrenheit = _probes(tmp_path, MET, MET.replace("°C", "°F").replace("80.0", "176"))
    done = CliRunner().invoke(main, ["judge", celsius, fahrenheit, *MIX])
    assert done.exit_code == 2
    assert "judge them apart" in done.output


def _freezer_air(*rises: tuple[int, int]) -> str:
    """Two days of air at -22 °C, one reading in five minutes, at -10 °C from and for so many minutes."""
    rows = ["time,air °C"]
    for minute in range(0, 2880, 5):
        warm = any(begins <= minute < begins + lasts for begins, lasts in rises)
        rows.append(
            f"2026-11-{25 + minute // 1440}T{minute % 1440 // 60:02d}:{minute % 60:02d}Z,{-10 if warm else -22}"
        )
    return "\n".join(rows).replace("Z,", ":00Z,") + "\n"


_AIR = ("--limit", "frozen-holding", "--reads", "air", "--json")


def test_clock_of_defrosts_by_hand_or_of_the_kitchens_freezer_lets_the_first_ones_pass(tmp_path: Path) -> None:
    text = _freezer_air((360, 40), (720, 40))
    # Two rises tell no hour yet; the third would.
    assert json.loads(_judge(tmp_path, text, *_AIR)[1])["verdict"] == "broken"
    assert json.loads(_judge(tmp_path, text, *_AIR, "--defrosts", "6 h/50 min")[1])["verdict"] != "broken"
    longer = _freezer_air((360, 40), (720, 90))
    assert json.loads(_judge(tmp_path, longer, *_AIR, "--defrosts", "6 h/50 min")[1])["verdict"] == "broken"


def _kitchen_with_clock(folder: Path) -> Path:
    """A new kitchen's folder whose freezer tells its defrosts."""
    made = CliRunner().invoke(main, ["new", str(folder)])
    assert made.exit_code == 0, made.output
    file = folder / "equipment.yaml"
    data = YAML(typ="safe").load(file)
    freezer = next(one for one in data["equipment"] if one["kind"] == "freezer")
    freezer["defrosts"] = {"every": "6 h", "longest": "50 min"}
    freezer.setdefault("holds", {"high": "-18 °C"})
    YAML(typ="safe").dump(data, file)
    return folder


def _freezer_of(folder: Path) -> str:
    data = YAML(typ="safe").load(folder / "equipment.yaml")
    return str(next(one["id"] for one in data["equipment"] if one["kind"] == "freezer"))


def test_clock_of_a_kitchens_own_freezer_counts_for_every_file(tmp_path: Path) -> None:
    """End to end: a kitchen's folder, two probes in one freezer's air, its clock from equipment.yaml."""
    kitchen = _kitchen_with_clock(tmp_path / "kitchen")
    due, late = _probes(tmp_path, _freezer_air((360, 40), (720, 40)), _freezer_air((360, 40), (720, 90)))
    options = ["--kitchen", str(kitchen), *_AIR]
    plain = CliRunner().invoke(main, ["judge", due, *options])
    assert (plain.exit_code, json.loads(plain.output)["verdict"]) == (1, "broken")
    freezer = ["--equipment", _freezer_of(kitchen)]
    known = CliRunner().invoke(main, ["judge", due, *options, *freezer])
    assert (known.exit_code, json.loads(known.output)["verdict"]) == (0, "met"), known.output
    assert json.loads(known.output)["why"] == "defrost"
    both = CliRunner().invoke(main, ["judge", due, late, *options, *freezer])
    said = json.loads(both.output)
    assert (both.exit_code, said["verdict"], said["file"]) == (1, "broken", late)
    assert [(probe["file"], probe["verdict"]) for probe in said["probes"]] == [(due, "met"), (late, "broken")]


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (("--reads", "core", "--defrosts", "6 h/40 min"), "--reads air"),
        (("--reads", "air", "--defrosts", "6 h"), "6 h/40 min"),
        (("--reads", "air", "--defrosts", "1 h/40 min"), "every 2 to 48 hours"),
        (("--reads", "air", "--equipment", "freezer"), "--kitchen"),
        (("--reads", "air", "--equipment", "freezer", "--kitchen", "config"), "freezer"),
        (("--reads", "air", "--equipment", "x", "--defrosts", "6 h/40 min"), "leave one out"),
    ],
)
def test_clock_of_defrosts_that_makes_no_sense_is_asked_about(
    tmp_path: Path, options: tuple[str, ...], says: str
) -> None:
    code, told = _judge(tmp_path, _freezer_air(), "--limit", "frozen-holding", *options)
    assert code == 2
    assert says in told
