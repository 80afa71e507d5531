"""Contrasts of the colours that the style sheet really has, by the formula of WCAG 2.2 (relative luminance)."""

import re
from pathlib import Path

import pytest

import display

CSS = (Path(display.__file__).parent / "static/css/tokens.css").read_text()
_SETS = re.findall(r":root \{(.*?)\}", CSS, re.DOTALL)
LIGHT, DARK = (dict(re.findall(r"--([a-z-]+): (#[0-9A-F]{6});", block)) for block in _SETS)
GROUNDS = ("ground", "paper", "warm", "cold", "hard")


def luminance(colour: str) -> float:
    """Relative luminance of sRGB as WCAG 2.2 defines it."""
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """(L1 + 0.05) / (L2 + 0.05), the lighter first."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_contrast_formula_against_the_known_grey_on_white() -> None:
    # #767676 on white is the well-known darkest grey that just passes AA: 4.542 : 1
    assert contrast("#767676", "#FFFFFF") == pytest.approx(4.542, abs=0.001)
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21.0)


@pytest.mark.parametrize(
    ("token", "least_light", "least_dark"),
    [("ink", 12.8, 12.9), ("soft", 6.0, 7.3), ("line", 3.0, 3.0), ("plan", 7.7, 7.8)],
)
def test_token_on_every_ground_keeps_its_contrast(token: str, least_light: float, least_dark: float) -> None:
    for colours, least in ((LIGHT, least_light), (DARK, least_dark)):
        worst = min(contrast(colours[token], colours[ground]) for ground in GROUNDS)
        assert worst >= least - 0.05, (token, worst)


@pytest.mark.parametrize("colours", [LIGHT, DARK], ids=["light", "dark"])
def test_text_on_caution_and_on_filled_alarms_is_read_at_two_metres(colours: dict[str, str]) -> None:
    assert contrast(colours["caution"], colours["caution-text"]) >= 10.5
    assert contrast(colours["alarm-ground"], colours["danger-text"]) >= 7.0
    assert contrast(colours["danger"], colours["danger-text"]) >= 4.5
