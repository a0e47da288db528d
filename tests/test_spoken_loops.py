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


def test_a_word_that_begins_before_itself_ended_was_heard_twice() -> None:
    seam = (
        (" the", 12.4, 12.6),
        (" stack.", 12.6, 12.9),
        (" the", 12.5, 12.7),
        (" stack.", 12.7, 12.9),
        (" Next", 14, 14.2),
    )
    said = Said(tuple(Token(text, at, until, 0.9) for text, at, until in seam), -0.2, 0.1, 1.5)
    assert join([said])[1] == "the stack. Next"


def test_a_word_said_again_in_its_own_time_stays() -> None:
    assert join([_said("capped capped it twice")])[1] == "capped capped it twice"


def test_words_that_took_no_time_were_not_said() -> None:
    end = [(" lagged.", 3.0, 3.4), *((word, 3.5, 3.5) for word in (" I'm", " sorry.", " I'm", " sorry."))]
    said = Said(tuple(Token(text, at, until, 0.9) for text, at, until in end), -0.2, 0.1, 1.5)
    assert join([said])[1] == "lagged."
