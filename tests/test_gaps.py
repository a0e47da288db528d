"""Speech with no words is found; a pause is none."""

from hypothesis import given
from hypothesis import strategies as st

from notes.gaps import EDGE, LEAST, shortened, unheard, widened

SPANS = st.lists(st.tuples(st.floats(0, 60), st.floats(0, 5)).map(lambda p: (p[0], p[0] + p[1])), max_size=12).map(
    sorted
)


def test_a_hole_in_speech_is_found():
    assert unheard([(0.0, 30.0)], [(0.0, 10.0), (21.0, 30.0)]) == [(10.0, 21.0)]


def test_silence_is_no_hole():
    assert unheard([(0.0, 10.0), (21.0, 30.0)], [(0.0, 10.0), (21.0, 30.0)]) == []


def test_speech_with_no_words_at_all_is_one_hole():
    assert unheard([(3.0, 9.0)], []) == [(3.0, 9.0)]


def test_a_breath_is_no_hole():
    assert unheard([(0.0, 5.0)], [(0.0, 2.0), (2.0 + LEAST / 2, 5.0)]) == []


def test_holes_that_nearly_touch_are_one():
    assert unheard([(0.0, 10.0), (10.5, 20.0)], []) == [(0.0, 20.0)]


def test_widened_stays_inside_the_recording():
    assert widened((0.1, 9.9), 10.0) == (0.0, 10.0)
    assert widened((2.0, 4.0), 10.0) == (2.0 - EDGE, 4.0 + EDGE)


@given(SPANS, SPANS)
def test_no_word_stands_inside_a_hole_and_holes_rise(speech, words):
    speech = [s for n, s in enumerate(speech) if n == 0 or s[0] >= speech[n - 1][1]]
    holes = unheard(speech, words)
    assert holes == sorted(holes)
    for start, end in holes:
        assert end - start >= LEAST


def test_a_word_stretched_over_seconds_hides_no_speech() -> None:
    """Where the base model got stuck in m03 it gave 'some' seven seconds, and what was said in them was lost."""
    words = [(37.4, 38.04), (38.04, 45.04), (45.04, 45.4)]
    assert unheard([(37.4, 45.4)], words) == []
    assert unheard([(37.4, 45.4)], shortened(words)) == [(39.54, 45.04)]
