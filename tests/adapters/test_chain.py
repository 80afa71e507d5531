"""The chain of the log: any record that is changed, taken out, put in or cut off shows."""

import hashlib
import json
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from orchestrator.adapters.chain import START, Break, Head, Link, Stored, link, verify


def chained(*bodies: str) -> list[Link]:
    links, chain = [], START
    for seq, body in enumerate(bodies, 1):
        stored = Stored(seq, 1_000 * seq, f"c{seq}", "noted", body)
        chain = link(chain, stored)
        links.append(Link(stored, chain))
    return links


def changed(one: Link, **what: object) -> Link:
    return one._replace(stored=one.stored._replace(**what))  # type: ignore[arg-type]


def test_link_is_sha256_of_a_json_array() -> None:
    # Reference: hashlib and json of the standard library, the formula of the docstring written out.
    array = '["' + "0" * 64 + '",7,123,"c7","noted","{}"]'
    assert json.loads(array) == ["0" * 64, 7, 123, "c7", "noted", "{}"]
    assert link("0" * 64, Stored(7, 123, "c7", "noted", "{}")) == hashlib.sha256(array.encode()).hexdigest()


def test_chain_untouched_holds_to_its_head() -> None:
    links = chained("a", "b", "c")
    assert verify(links) == (Head(3, links[-1].chain), None)
    assert verify([]) == (Head(), None)


CHANGES: dict[str, Callable[[list[Link]], list[Link]]] = {
    "body": lambda links: [links[0], changed(links[1], body="B"), links[2]],
    "instant": lambda links: [links[0], changed(links[1], recorded_at_us=1), links[2]],
    "who": lambda links: [links[0], changed(links[1], command_id="c9"), links[2]],
    "kind": lambda links: [links[0], changed(links[1], kind="other"), links[2]],
    "hash": lambda links: [links[0], links[1]._replace(chain="0" * 64), links[2]],
}


@pytest.mark.parametrize("change", CHANGES)
def test_chain_record_changed_is_named(change: str) -> None:
    head, broken = verify(CHANGES[change](chained("a", "b", "c")))
    assert broken == Break(2, "changed")
    assert head.seq == 1


def test_chain_changed_record_with_its_own_hash_made_anew_shows_at_the_next() -> None:
    links = chained("a", "b", "c")
    stored = links[1].stored._replace(body="B")
    forged = Link(stored, link(links[0].chain, stored))
    assert verify([links[0], forged, links[2]])[1] == Break(3, "changed")


def test_chain_record_taken_out_is_missing() -> None:
    links = chained("a", "b", "c")
    assert verify([links[0], links[2]])[1] == Break(2, "missing")


def test_chain_record_put_in_shows() -> None:
    links = chained("a", "b", "c")
    assert verify([links[0], links[0], *links[1:]])[1] == Break(2, "missing")


def test_chain_end_cut_off_shows_against_a_head_written_down() -> None:
    links = chained("a", "b", "c")
    head, _ = verify(links)
    assert verify(links[:2])[1] is None, "nothing inside the log can tell"
    assert verify(links[:2], head)[1] == Break(3, "cut_off")
    assert verify(chained("a", "b", "c", "d"), head) == (Head(4, chained("a", "b", "c", "d")[-1].chain), None)


def test_chain_made_wholly_anew_shows_against_a_head_written_down() -> None:
    head, _ = verify(chained("a", "b", "c"))
    assert verify(chained("a", "B", "c"), head)[1] == Break(3, "other_log")


@given(st.lists(st.text(), min_size=1, max_size=8), st.data())
def test_chain_any_one_character_changed_shows(bodies: list[str], data: st.DataObject) -> None:
    links = chained(*bodies)
    at = data.draw(st.integers(0, len(links) - 1))
    links[at] = changed(links[at], body=data.draw(st.text().filter(lambda text: text != bodies[at])))
    assert verify(links)[1] == Break(at + 1, "changed")


def test_fields_cannot_lend_each_other_characters() -> None:
    assert link(START, Stored(1, 2, "c", "kind", "body")) != link(START, Stored(1, 2, "ck", "ind", "body"))
    assert link(START, Stored(1, 23, "c", "k", "b")) != link(START, Stored(12, 3, "c", "k", "b"))


def test_head_written_down_reads_back() -> None:
    head, _ = verify(chained("a"))
    assert Head.of(f" {head} ") == head
    for wrong in ("", "7", "7:xyz", ":" + "0" * 64, "7:" + "0" * 63, "7:" + "A" * 64):
        with pytest.raises(ValueError, match="is no head of a log"):
            Head.of(wrong)
