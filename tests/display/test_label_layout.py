"""Labels of low and close blocks: each in the plot, none over another, set off ones with a leader to their block."""

from itertools import combinations

from hypothesis import given
from hypothesis import strategies as st

from display.label_layout import LINE_EM, Box, Label, Wanted, spread

EM = 6.5


def box_of(label: Label, width: float) -> Box:
    line = 100 * LINE_EM / EM
    return Box(label.x, label.y - line / 2, width, line)


def want(key: str, x: float, y: float, width: float, height: float) -> Wanted:
    return Wanted(key, Box(x, y, width, height), ((f"{key} 5.6 L", 7.0), (key, 2.1)))


def test_label_of_a_high_block_stands_in_it_with_its_litres() -> None:
    (label,) = spread([want("C1", 20, 50, 30, 40)], EM).values()
    assert (label.text, label.y, label.beside, label.leader) == ("C1 5.6 L", 70.0, False, None)


def test_label_of_a_short_block_leaves_its_litres_out() -> None:
    assert spread([want("C1", 20, 50, 4, 40)], EM)["C1"].text == "C1"


def test_labels_of_five_thin_lots_on_each_other_are_spread_and_led_to_their_blocks() -> None:
    thin = [want(f"L{n}", 40 + n, 96 - 4 * n, 20, 4) for n in range(5)]
    labels = spread(thin, EM)
    for one, other in combinations(labels.values(), 2):
        assert not box_of(one, 2.1).meets(box_of(other, 2.1))
    set_off = [one for one in thin if labels[one.key].leader]
    assert set_off
    for one in set_off:
        leader = labels[one.key].leader
        assert leader is not None
        assert leader[2] in (one.block.x, one.block.x + one.block.width)
        assert leader[3] == one.block.y + one.block.height / 2


BLOCKS = st.lists(
    st.tuples(st.floats(5, 80), st.floats(0, 95), st.floats(0.2, 15), st.floats(1, 5)), min_size=1, max_size=8
)


@given(BLOCKS)
def test_labels_stay_in_the_plot_and_never_cover_each_other(spec: list[tuple[float, float, float, float]]) -> None:
    labels = spread([want(f"L{n}", *block) for n, block in enumerate(spec)], EM)
    boxes = [box_of(label, 2.1) for label in labels.values()]
    assert len(boxes) == len(spec)
    assert all(box.x >= 0 and box.x + box.width <= 100 for box in boxes)
    assert not any(one.meets(other) for one, other in combinations(boxes, 2))
