"""Which packages go into the wheel; everything else is in pyproject.toml."""

from setuptools import find_packages, setup

setup(
    packages=[*find_packages(include=["orchestrator*", "display*"]), "coldwright_example"],
    package_dir={"coldwright_example": "config"},  # the example kitchen travels inside the wheel
)
