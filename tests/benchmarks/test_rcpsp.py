"""The planner's core on published RCPSP and RCPSP/max instances, and what is said of files that cannot be read."""

import random
from pathlib import Path

import numpy as np
import pytest
from ortools.scheduling.python import rcpsp as reference_reader
from scipy.optimize import Bounds, LinearConstraint, milp

from tests.benchmarks.project_files import FileFault, Project, instances, read_project
from tests.benchmarks.projects import faults, solved
from tests.benchmarks.rcpsp import job_shop, main

HERE = Path(__file__).parent / "instances"


def written(project: Project) -> str:
    """A project as a `.sch` file, with a source and a sink."""
    count = len(project.durations)
    arcs: list[list[tuple[int, int]]] = [[(n + 1, 0) for n in range(count)]]
    arcs += [[(count + 1, minutes)] for minutes in project.durations]
    for i, j, lag in project.lags:
        arcs[i + 1].append((j + 1, lag))
    needs = [(0, [0] * len(project.capacities)), *zip(project.durations, project.demands, strict=True)]
    needs.append(needs[0])
    lines = [f"{count}\t{len(project.capacities)}\t0\t0"]
    for n, follow in enumerate([*arcs, []]):
        lines.append(
            "\t".join(map(str, [n, 1, len(follow), *(j for j, _ in follow), *(f"[{lag}]" for _, lag in follow)]))
        )
    lines += ["\t".join(map(str, [n, 1, minutes, *demands])) for n, (minutes, demands) in enumerate(needs)]
    return "\n".join([*lines, "\t".join(map(str, project.capacities))]) + "\n"


def test_j301_1_of_psplib_is_solved_to_its_published_optimum():
    # Source: PSPLIB, file j30opt.sm: parameter 1, instance 1 has makespan 43.
    project = read_project(HERE / "j301_1.sm")

    result = solved(project, seconds=60, deterministic=True)

    assert (result.status, result.best, result.bound) == ("optimal", 43, 43)
    assert result.starts is not None
    assert faults(project, result.starts) == []


def test_ubo10_01_is_infeasible_as_two_activities_show_by_hand(tmp_path):
    # By hand: 5 lasts 9 and 6 lasts 10; s6 ≥ s5 - 5 and s5 ≥ s6 - 4 make them overlap, and of the second resource
    # they need 8 and 9 of 10. With twice the capacities there is a schedule.
    whole = (HERE / "UBO10_01.sch").read_text()
    (tmp_path / "twice.sch").write_text(whole.replace("10\t10\t10\t10\t10", "20\t20\t20\t20\t20"))
    twice = read_project(tmp_path / "twice.sch")

    result = solved(read_project(HERE / "UBO10_01.sch"), seconds=60, deterministic=True)
    eased = solved(twice, seconds=60, deterministic=True)

    assert (result.status, result.best, result.bound, result.starts) == ("infeasible", None, None, None)
    assert (eased.status, eased.best) == ("optimal", time_indexed(twice))


@pytest.mark.parametrize(("name", "optimum"), [("ft06", 73)])
def test_job_shop_without_waiting_as_sch_file_is_solved_to_its_published_optimum(name, optimum, tmp_path):
    # Source: Mascis and Pacciarelli, European Journal of Operational Research 143 (2002): no-wait optima; the figure
    # from memory. A job shop without waiting has maximal time lags of nothing, and so is an RCPSP/max.
    (tmp_path / f"{name}.sch").write_text(written(job_shop(name, no_wait=True)))
    project = read_project(tmp_path / f"{name}.sch")

    result = solved(project, seconds=60, deterministic=True)

    assert (result.status, result.best, result.bound) == ("optimal", optimum, optimum)
    assert result.starts is not None
    assert faults(project, result.starts) == []


def drawn(seed: int) -> Project:
    """A small instance with lags of all kinds."""
    chance = random.Random(seed)
    count = 6
    lags = []
    for j in range(1, count):
        i = chance.randrange(j)
        least = chance.randint(-2, 6)
        lags += [(i, j, least), (j, i, -least - chance.randint(0, 5))]
    durations = tuple(chance.randint(1, 5) for _ in range(count))
    demands = tuple((chance.randint(0, 3), chance.randint(0, 2)) for _ in range(count))
    return Project(f"drawn {seed}", durations, demands, (4, 3), tuple(lags))


def time_indexed(project: Project) -> int | None:
    """The shortest makespan by the time-indexed model of Pritsker, Watters and Wolfe (1969), solved by HiGHS.

    Returns:
        The makespan; none if there is no schedule.
    """
    horizon, count = project.horizon, len(project.durations)
    size = count * (horizon + 1) + 1
    rows: list[np.ndarray] = []
    low: list[float] = []
    high: list[float] = []

    def row(terms: dict[int, float], at_least: float, at_most: float) -> None:
        line = np.zeros(size)
        for column, factor in terms.items():
            line[column] += factor
        rows.append(line)
        low.append(at_least)
        high.append(at_most)

    def starts(job: int, factor: float = 1) -> dict[int, float]:
        return {job * (horizon + 1) + t: factor * t for t in range(horizon + 1)}

    for job in range(count):
        row({job * (horizon + 1) + t: 1 for t in range(horizon + 1)}, 1, 1)
        row({**starts(job, -1), size - 1: 1}, project.durations[job], np.inf)
    for i, j, lag in project.lags:
        row({**starts(j), **starts(i, -1)}, lag, np.inf)
    for resource, capacity in enumerate(project.capacities):
        for t in range(horizon + 1):
            busy = {
                job * (horizon + 1) + s: float(project.demands[job][resource])
                for job in range(count)
                for s in range(max(0, t - project.durations[job] + 1), t + 1)
            }
            row(busy, -np.inf, capacity)
    cost = np.zeros(size)
    cost[-1] = 1
    upper = np.ones(size)
    upper[-1] = horizon
    found = milp(cost, constraints=LinearConstraint(np.array(rows), low, high), integrality=np.ones(size),
                 bounds=Bounds(0, upper))  # fmt: skip
    assert found.status in {0, 2}, found.message
    return None if found.status == 2 else round(found.fun)


def test_small_rcpsp_max_instances_are_solved_as_an_integer_programme_solves_them():
    verdicts = set()
    for seed in range(12):
        project = drawn(seed)
        result = solved(project, seconds=30, deterministic=True)

        assert result.best == time_indexed(project), project.name
        verdicts.add(result.status)
        if result.starts is not None:
            assert (result.status, result.bound) == ("optimal", result.best)
            assert faults(project, result.starts) == []
    assert verdicts == {"optimal", "infeasible"}


def test_lags_in_a_positive_circle_are_infeasible_without_the_solver():
    project = Project("circle", (2, 2), ((0,), (0,)), (1,), ((0, 1, 5), (1, 0, -4)))

    assert solved(project, seconds=1).status == "infeasible"


def test_zero_lags_in_a_circle_join_starts():
    project = Project("joined", (0, 3, 0), ((0,), (1,), (0,)), (1,), ((0, 1, 0), (1, 0, 0), (2, 0, 0), (0, 2, 0)))

    result = solved(project, seconds=5, deterministic=True)

    assert (result.status, result.starts, result.best) == ("optimal", (0, 0, 0), 3)


def test_verification_names_what_a_schedule_breaks():
    project = Project("two", (3, 3), ((2,), (2,)), (3,), ((0, 1, 1),))

    assert faults(project, (0, 3)) == []
    assert faults(project, (0, 1)) == ["R1 is asked for too much at 1"]
    assert faults(project, (5, 2)) == ["activity 2 starts -3 after activity 1, not 1 or more"]
    assert faults(project, (-1, 4)) == ["activity 1 starts at -1"]


@pytest.mark.parametrize("name", ["j301_1.sm", "UBO10_01.sch"])
def test_files_are_read_as_another_library_reads_them(name):
    parser = reference_reader.RcpspParser()
    assert parser.parse_file(str(HERE / name))
    other = parser.problem()

    project = read_project(HERE / name)

    assert project.durations == tuple(task.recipes[0].duration for task in other.tasks)
    assert project.capacities == tuple(resource.max_capacity for resource in other.resources)
    needs = [dict(zip(task.recipes[0].resources, task.recipes[0].demands, strict=True)) for task in other.tasks]
    assert project.demands == tuple(tuple(need.get(r, 0) for r in range(len(project.capacities))) for need in needs)
    lags = [
        (
            i,
            j,
            task.successor_delays[n].recipe_delays[0].min_delays[0]
            if i and other.is_rcpsp_max
            else task.recipes[0].duration,
        )
        for i, task in enumerate(other.tasks)  # the other library leaves out the lags of the source, all 0
        for n, j in enumerate(task.successors)
    ]
    assert sorted(project.lags) == sorted(lags)


def test_damaged_and_foreign_files_are_refused_with_file_line_and_remedy(tmp_path):
    whole = (HERE / "UBO10_01.sch").read_text().splitlines()
    single = (HERE / "j301_1.sm").read_text()
    two_modes = single.replace("   2        1          3 ", "   2        2          3 ")
    two_modes = two_modes.replace(
        "  2      1     8       4", "  2      1     8       4    0    0    0\n         2     8       4"
    )
    cases = {
        "short.sch": ("\n".join(whole[:9]), "line 9: ends early; 12 activities need 26 lines"),
        "words.sch": ("\n".join([*whole[:3], "2 1 x"]), "line 4: 'x' is not a whole number"),
        "bare.sch": ("\n".join([whole[0], "0 1 2 1 2", *whole[2:]]), "line 2: a lag in brackets is needed"),
        "modes.mm": (two_modes, "activity 2 has 2 modes; only one is read: take a .sm file"),
        "empty.sm": ("", "damaged (Pattern 'PRECEDENCE RELATIONS' not found in lines.); take a fresh copy"),
        "far.sm": (single.replace("          20\n", "          77\n", 1), "followed by one that is not there"),
        "used.sm": (single.replace("  R 1  R 2  R 3  R 4\n   12", "  N 1  R 2  R 3  R 4\n   12"), "that are used up"),
    }  # fmt: skip
    for name, (text, words) in cases.items():
        (tmp_path / name).write_text(text)
        with pytest.raises(FileFault) as refused:
            read_project(tmp_path / name)
        assert str(refused.value).startswith(str(tmp_path / name))
        assert words in str(refused.value)
    with pytest.raises(FileFault, match=r"not a \.sm or \.sch file"):
        read_project(tmp_path / "plan.txt")


def test_instances_of_a_folder_come_in_the_order_of_their_numbers(tmp_path):
    for name in ("psp10.sch", "psp2.sch", "PSP1.SCH", "j301_1.sm", "notes.txt"):
        (tmp_path / name).write_text("")

    assert [path.name for path in instances(tmp_path)] == ["PSP1.SCH", "j301_1.sm", "psp2.sch", "psp10.sch"]
    with pytest.raises(FileFault, match="no such folder"):
        instances(tmp_path / "nowhere")
    with pytest.raises(FileFault, match=r"holds no \.sm"):
        instances(Path(__file__).parent)


def test_command_prints_best_bound_status_and_seconds_of_each_instance(capsys, tmp_path):
    for name in ("j301_1.sm", "UBO10_01.sch"):
        (tmp_path / name).write_text((HERE / name).read_text())
    (tmp_path / "torn.sch").write_text("10 5\n")

    code = main([str(tmp_path), "--seconds", "20", "--workers", "1", "--job-shop", "ft06"])

    out, err = capsys.readouterr()
    rows = [line.split() for line in out.splitlines()]
    assert rows[0] == ["instance", "tasks", "best", "bound", "status", "seconds"]
    assert [row[:-1] for row in rows[1:]] == [
        ["ft06", "36", "55", "55", "optimal"],
        ["UBO10_01", "12", "-", "-", "infeasible"],
        ["j301_1", "32", "43", "43", "optimal"],
    ]
    assert (code, "torn.sch, line 1: ends early" in err) == (2, True)


def test_command_without_instances_or_with_an_unknown_job_shop_says_what_to_name(capsys):
    with pytest.raises(SystemExit) as refused:
        main([])
    assert refused.value.code == 2
    assert main(["--job-shop", "zz99"]) == 2
    assert "no job shop of that name" in capsys.readouterr().err
