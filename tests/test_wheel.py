"""The wheel carries everything: pages, styles, scripts and the example kitchen, and installs the command."""

import subprocess
import sys
import tarfile
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("wheel")
    # From an archive of the tracked files, as a fresh clone would build it; nothing is downloaded.
    archive = out / "tree.tar"
    listed = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, check=True, capture_output=True).stdout
    with tarfile.open(archive, "w") as tar:
        for name in filter(None, listed.decode().split("\0")):
            if (ROOT / name).is_file():
                tar.add(ROOT / name, name)
    with tarfile.open(archive) as tar:
        # From Python 3.11.4 on; before, extractall() knows no filter by name.
        tar.extraction_filter = getattr(tarfile, "data_filter", lambda member, path: member)
        tar.extractall(out / "tree")  # noqa: S202  # what we packed ourselves a moment ago
    subprocess.run(
        [sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", str(out), str(out / "tree")],
        check=True,
        capture_output=True,
    )
    return next(out.glob("*.whl"))


def test_wheel_holds_every_module_page_style_script_and_kitchen_file(wheel: Path) -> None:
    names = set(zipfile.ZipFile(wheel).namelist())
    wanted = {
        str(p.relative_to(ROOT))
        for top in ("orchestrator", "display")
        for p in (ROOT / top).rglob("*")
        if p.is_file() and "__pycache__" not in p.parts
    }
    wanted |= {
        "coldwright_example/" + str(p.relative_to(ROOT / "config"))
        for p in (ROOT / "config").rglob("*")
        if p.suffix in {".yaml", ".json"}
    }
    tracked = set(
        subprocess.run(["git", "ls-files"], cwd=ROOT, check=True, capture_output=True, text=True).stdout.split("\n")
    )
    wanted = {w for w in wanted if w.replace("coldwright_example/", "config/") in tracked}
    assert wanted - names == set()
    assert any(name.startswith("display/templates/") for name in names)
    assert "coldwright_example/kitchen.yaml" in names


def test_wheel_installs_the_command(wheel: Path) -> None:
    archive = zipfile.ZipFile(wheel)
    entry = next(n for n in archive.namelist() if n.endswith("entry_points.txt"))
    assert "coldwright = orchestrator.cli.main:main" in archive.read(entry).decode()
