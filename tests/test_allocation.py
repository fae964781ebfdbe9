"""Cards are balanced in every block, reproducible from their seed, and sealed."""

from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pmulab.allocation import SEQUENCES, card_words, draw, seal, unseal
from pmulab.errors import UserError

SEEDS = st.integers(min_value=0, max_value=2**64 - 1)


@given(seed=SEEDS, planned=st.integers(2, 60))
def test_each_block_holds_each_sequence_equally_often(seed, planned):
    blocks = {}
    for slot in draw("within-person", planned, seed).slots:
        blocks.setdefault((slot.block, slot.block_size), []).append((slot.left, slot.first))
    for (_, size), cards in blocks.items():
        assert Counter(cards) == dict.fromkeys(SEQUENCES, size // 4)


@given(seed=SEEDS, planned=st.integers(2, 60))
def test_each_block_between_clients_holds_both_arms_equally_often(seed, planned):
    blocks = {}
    for slot in draw("parallel", planned, seed).slots:
        blocks.setdefault(slot.block, []).append(slot.arm)
    for arms in blocks.values():
        assert arms.count("A") == arms.count("B")


@given(seed=SEEDS, planned=st.integers(2, 60))
def test_a_block_ends_at_the_planned_number(seed, planned):
    schedule = draw("within-person", planned, seed)
    ends = {slot.block: slot.number for slot in schedule.slots}

    assert -(-planned // 4) * 4 in ends.values()
    assert len(schedule) >= planned + 4


def test_block_sizes_are_mixed():
    sizes = {s.block_size for seed in range(20) for s in draw("within-person", 24, seed).slots}

    assert sizes == {4, 8}


def test_every_sequence_is_equally_likely_for_the_first_client():
    """By symmetry of the draw; 4,000 draws, chi-square limit at 0.1 % for 3 df is 16.27
    (Fisher & Yates, Statistical Tables)."""
    seen = Counter(
        (slot.left, slot.first) for seed in range(4000)
        for slot in draw("within-person", 8, seed).slots[:1]
    )  # fmt: skip

    assert sum((seen[card] - 1000) ** 2 / 1000 for card in SEQUENCES) < 16.27


@given(seed=SEEDS)
def test_the_same_seed_gives_the_same_sealed_text(seed):
    assert seal(draw("within-person", 12, seed)) == seal(draw("within-person", 12, seed))


@given(seed=SEEDS, design=st.sampled_from(["within-person", "parallel"]))
def test_sealed_cards_come_back(seed, design):
    schedule = draw(design, 10, seed)

    assert unseal(seal(schedule)) == schedule


def test_sealed_cards_do_not_show_their_content():
    text = seal(draw("within-person", 12, 1))
    sealed = [line.split(",")[1] for line in text.splitlines()[2:]]

    assert len({card[:12] for card in sealed}) == len(sealed)
    assert '"L"' not in text


@pytest.mark.parametrize(
    "spoil",
    [
        lambda text: text.replace("A", "B", 1),
        lambda text: "\n".join(text.splitlines()[:-3]) + "\n" + text.splitlines()[-1] + "\n",
        lambda text: "\n".join([*text.splitlines()[:3], *text.splitlines()[4:]]),
        lambda text: "",
        lambda text: "slot,sealed\n1,2\n",
        lambda text: text.replace(",", ";"),
        lambda text: text + '"' + "x" * 200_000,
    ],
)
def test_changed_cards_are_refused(spoil):
    with pytest.raises(UserError, match=r"allocation\.csv"):
        unseal(spoil(seal(draw("within-person", 12, 7))))


def test_a_card_is_said_in_words_with_the_clients_own_sides():
    slot = next(s for s in draw("within-person", 8, 3).slots if (s.left, s.first) == ("A", "R"))

    assert card_words(slot, "damp", "dry") == (
        "First the client's own RIGHT eyelid: dry. Then the client's own LEFT eyelid: damp."
    )
    assert slot.a_first is False
    assert slot.ways == ("B", "A")
    assert draw("parallel", 8, 3).slots[0].ways in (("A",), ("B",))
