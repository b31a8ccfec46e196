"""Errors keep every problem, also on their way from one process to another."""

import pickle

import pytest

from woodshop.errors import InputError, NothingToCutError, Problem, WoodshopError

PROBLEMS = (Problem("a", "b", "c", "d"), Problem("e", "f", "g", "h"))


@pytest.mark.parametrize("kind", [InputError, NothingToCutError, WoodshopError])
def test_an_error_comes_through_whole(kind: type[WoodshopError]) -> None:
    error = pickle.loads(pickle.dumps(kind(*PROBLEMS)))
    assert type(error) is kind
    assert error.problems == PROBLEMS
    assert str(error) == "a: given b; wanted c. d\ne: given f; wanted g. h"


def test_an_error_without_a_problem_is_refused() -> None:
    with pytest.raises(ValueError, match="says nothing"):
        InputError()
