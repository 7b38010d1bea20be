"""What is kept of a job belongs to that very job."""

import gc
from pathlib import Path

import pytest

from islewright.job import Job, read_job
from islewright.job.once import _JOBS, _KEPT, forget, once_a_job, once_a_part

COTTAGE = Path(__file__).parents[2] / "examples" / "cottage" / "cottage.yaml"


@pytest.fixture
def asked():
    return []


@pytest.fixture
def count(asked):
    @once_a_job
    def letters(job: Job, word: str) -> int:
        asked.append((job, word))
        return len(word)

    return letters


def test_the_same_question_of_the_same_job_is_worked_out_once(count, asked):
    """Another question, or an equal job that was read again, is worked out by itself."""
    job, again = read_job(COTTAGE), read_job(COTTAGE)

    assert [count(job, "ab"), count(job, "ab"), count(job, "abc"), count(again, "ab")] == [
        2,
        2,
        3,
        2,
    ]
    assert [word for _, word in asked] == ["ab", "abc", "ab"]


def test_nothing_is_kept_of_a_job_that_is_gone():
    """An answer goes with its job, whichever function gave it; those of other jobs stay."""
    letters = once_a_job(lambda _job, word: len(word))
    board = once_a_part(lambda _job, circuit: circuit.board)
    job, other = read_job(COTTAGE), read_job(COTTAGE)
    for each in (job, other):
        letters(each, "ab")
        board(each, next(iter(each.circuits.values())))
    gone, stays = id(job), id(other)
    assert [set(kept) for kept in _KEPT[-2:]] == [{gone, stays}] * 2
    del job, each
    gc.collect()

    assert not any(gone in kept for kept in (_JOBS, *_KEPT))
    assert all(stays in kept for kept in (_JOBS, *_KEPT[-2:]))


def test_a_forgotten_job_is_worked_out_anew(count, asked):
    """As if it had just been read."""
    job = read_job(COTTAGE)
    count(job, "ab")
    forget(job)
    count(job, "ab")

    assert len(asked) == 2


def test_what_is_raised_is_not_kept(asked):
    """A question that has no answer is asked again."""

    @once_a_job
    def refuses(job: Job) -> int:
        asked.append(job)
        raise ValueError("no")

    job = read_job(COTTAGE)
    for _ in range(2):
        with pytest.raises(ValueError, match="no"):
            refuses(job)
    assert len(asked) == 2


def test_an_argument_by_name_is_refused(count):
    """Else the same question could stand under two names."""
    with pytest.raises(TypeError, match="keyword"):
        count(read_job(COTTAGE), word="ab")


def test_parts_are_told_apart_by_identity_not_by_content(asked):
    """An equal circuit is another circuit."""

    @once_a_part
    def board(job: Job, circuit) -> str:
        asked.append(circuit)
        return circuit.board

    job = read_job(COTTAGE)
    circuit = next(iter(job.circuits.values()))
    twin = circuit.model_copy()

    assert {board(job, circuit), board(job, circuit), board(job, twin)} == {circuit.board}
    assert [each is circuit for each in asked] == [True, False]
