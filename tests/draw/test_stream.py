"""The stream of choices: pinned for good, since a paper's code promises the same paper on every Python."""

from __future__ import annotations

import subprocess
import sys
from hashlib import sha256
from random import Random

import pytest

from molewright.draw.stream import Stream

WHOLE = [85, 82, 59, 11, 100, 48, 17, 34, 66, 72]
PICKED = ["c", "a", "e", "b", "a", "h", "g", "d"]
WEIGHTED = ["z", "x", "z", "z", "x", "x", "z", "z", "z", "z"]
CHANCES = [False, True, False, False, True, True, True, True]
SHUFFLED = [4, 7, 1, 6, 3, 0, 2, 5]
BRANCH = [907, 913, 252, 996, 333]


def test_the_sequence_never_changes() -> None:
    stream = Stream("pinned")
    assert [stream.whole(1, 100) for _ in range(10)] == WHOLE
    assert [stream.pick("abcdefgh") for _ in range(8)] == PICKED
    assert [stream.weighted("xyz", (1, 2, 7)) for _ in range(10)] == WEIGHTED
    assert [stream.chance(35) for _ in range(8)] == CHANCES
    assert stream.shuffled(range(8)) == SHUFFLED


def test_a_branch_never_changes_and_does_not_depend_on_what_was_picked() -> None:
    stream = Stream("pinned")
    early = stream.branch("0")
    stream.whole(0, 9)
    late = stream.branch("0")
    assert [early.whole(0, 999) for _ in range(5)] == BRANCH
    assert [late.whole(0, 999) for _ in range(5)] == BRANCH


def test_the_numbers_are_those_of_pythons_random_seeded_with_a_digest() -> None:
    # Python's documentation of random(): the sequence for a given integer seed does not change between versions
    generator = Random(int.from_bytes(sha256(b"pinned").digest()[:16], "big"))
    stream = Stream("pinned")
    assert [stream.whole(0, 10**6) for _ in range(50)] == [int(generator.random() * (10**6 + 1)) for _ in range(50)]


@pytest.mark.parametrize("hash_seed", ["0", "1", "4242"])
def test_another_process_picks_the_same(hash_seed: str, plain_environment: dict[str, str]) -> None:
    script = "from molewright.draw.stream import Stream\nstream = Stream('pinned')\n"
    script += "print([stream.whole(1, 100) for _ in range(10)])"
    run = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True,
        env={**plain_environment, "PYTHONHASHSEED": hash_seed},
    )  # fmt: skip
    assert run.stdout.strip() == str(WHOLE)


def test_every_option_is_picked_about_as_often_as_its_weight_says() -> None:
    stream = Stream("shares")
    picked = [stream.weighted("ab", (1, 3)) for _ in range(4000)]
    assert 900 < picked.count("a") < 1100  # 1000 expected, standard deviation 27
    assert {stream.whole(3, 5) for _ in range(100)} == {3, 4, 5}
    assert 1200 < sum(stream.chance(35) for _ in range(4000)) < 1600


def test_a_weight_of_nought_is_never_picked() -> None:
    stream = Stream("nought")
    assert {stream.weighted("abc", (0, 1, 0)) for _ in range(500)} == {"b"}


def test_a_shuffle_keeps_what_was_there_and_leaves_the_original() -> None:
    before = list("abcdefgh")
    after = Stream("shuffle").shuffled(before)
    assert sorted(after) == before == list("abcdefgh")
    assert after != before
