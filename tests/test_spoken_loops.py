"""A model that is stuck says the same again and again; people seldom do so thrice."""

from dataclasses import replace

from notes.spoken import Said, Token, fluent, join


def _said(text: str) -> Said:
    tokens = tuple(Token(f" {word}", float(n), n + 0.5, 0.9) for n, word in enumerate(text.split()))
    return Said(tokens, -0.2, 0.1, 1.5)


def test_a_phrase_said_thrice_on_end_stays_once() -> None:
    stuck = "airing cupboard, flow and return's on to the coil, " * 3 + "and a gauge on the hot"
    assert join([_said(stuck)])[1] == "airing cupboard, flow and return's on to the coil, and a gauge on the hot"


def test_a_phrase_said_twice_is_left_as_it_was() -> None:
    twice = "capped the hot, capped the hot and the cold"
    assert join([_said(twice)])[1] == twice


def test_short_words_may_repeat() -> None:
    assert join([_said("no no no no")])[1] == "no no no no"


def test_underscores_are_no_words() -> None:
    assert join([_said("fifteen for the ____________ dishwasher")])[1] == "fifteen for the dishwasher"


def test_a_stretch_in_which_the_model_got_stuck_is_no_hearing() -> None:
    good, stuck = _said("hot capped at the wall"), _said("up stairs main bathroom " * 6)
    assert fluent([good, stuck]) == [good]
    assert fluent([good, replace(good, compression=11.0)]) == [good]
