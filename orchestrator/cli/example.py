"""Where the example kitchen lies: in the tree, or inside the installed wheel."""

from pathlib import Path

import orchestrator


def example_kitchen() -> Path:
    """Folder of the example kitchen.

    Raises:
        FileNotFoundError: it was not installed along.
    """
    beside = Path(orchestrator.__file__).parents[1]
    for folder in (beside / "config", beside / "coldwright_example"):
        if (folder / "kitchen.yaml").is_file():
            return folder
    raise FileNotFoundError(f"the example kitchen is not installed beside {beside}: name a kitchen's folder")
