"""`voidbook explain` and `voidbook words`: what a sentence is read as and why, and the job's own words."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest

from notes import job as jobs
from notes.lexicon import load
from notes.model import Job
from notes.ownwords import doubts


def test_explain_tells_words_cues_and_facts(voidbook: Callable[..., Any]) -> None:
    out = voidbook("explain", "The hot is capped in fifteen but the cold isn't tested.").out
    assert "fifteen: size 15" in out
    assert (
        "“n't” says not done, after it, up to 6 words in the same clause, but not past 'but': it decides"
        in " ".join(out.split())
    )
    assert "hot: capped" in out
    assert "cold: not tested" in out


def test_explain_as_data_takes_the_room(voidbook: Callable[..., Any]) -> None:
    row = json.loads(voidbook("explain", "Capped the cold.", "--room", "back kitchen", "--json").out)
    assert [(f["room"], f["subject"], f["action"]) for f in row["facts"]] == [("Scullery", "cold", "cap")]
    assert {w["kind"] for w in row["words"]} == {"pipe", "work"}


def test_explain_uses_the_jobs_own_words(voidbook: Callable[..., Any]) -> None:
    voidbook("words", "add", "jelly rail", "towel rail")
    out = voidbook("explain", "The jelly rail is fitted.").out
    assert "Read as: The towel rail is fitted." in out
    assert "towel rail: fitted" in out


def test_explain_outside_a_job(voidbook: Callable[..., Any], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    monkeypatch.chdir(elsewhere)
    ran = voidbook("explain", "Lovely", "weather")
    assert ran.code == 0
    assert "None: nothing is told of a pipe or a thing." in ran.out


def test_explain_refuses_an_unknown_room(voidbook: Callable[..., Any]) -> None:
    ran = voidbook("explain", "Capped the cold.", "--room", "scullary")
    assert ran.code == 2
    assert "did you mean 'Scullery'?" in ran.err


@pytest.mark.parametrize("text", ["", " ", "\x1b[31mred\x07", "🔥" * 50, "مرحبا"])
def test_explain_never_fails(voidbook: Callable[..., Any], text: str) -> None:
    ran = voidbook("explain", text)
    assert ran.code == 0
    assert "\x1b[31m" not in ran.out


def test_words_are_listed_added_and_dropped(voidbook: Callable[..., Any], root: Path) -> None:
    assert voidbook("words", "list").out == "The job has no words of its own.\n"
    assert "jelly rail is now read as towel rail" in voidbook("words", "add", "jelly rail", "towel rail").err
    voidbook("words", "add", "the shed end", "Boiler house")
    assert voidbook("words", "list").out == "the shed end = Boiler house\njelly rail = towel rail\n"
    assert voidbook("words", "list", "--json").rows[1] == {"heard": "jelly rail", "meant": "towel rail"}
    assert voidbook("words", "drop", "jelly rail").code == 0
    assert jobs.load(root).words == {"the shed end": "Boiler house"}
    assert voidbook("words", "drop", "the shed end").code == 0
    assert jobs.load(root).words == {}


def test_the_job_may_be_named_on_either_side(
    voidbook: Callable[..., Any], root: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert voidbook("words", "--job", root, "add", "slink", "sink").code == 0
    assert voidbook("words", "list", "--job", root).out == "slink = sink\n"
    assert voidbook("words", "list").code == 3


def test_dropping_leaves_the_rest_of_the_file_as_typed(voidbook: Callable[..., Any], root: Path) -> None:
    file = root / jobs.NAME
    typed = file.read_text() + '\n# our own\n[words]\n"snod" = "sink" # Ken\n"x y" = "bath"\n'
    file.write_text(typed)
    voidbook("words", "drop", "x y")
    assert file.read_text() == typed.replace('"x y" = "bath"\n', "")


def test_dropping_touches_no_other_table(voidbook: Callable[..., Any], root: Path) -> None:
    file = root / jobs.NAME
    file.write_text(file.read_text() + '\n[words]\n"gas" = "oil"\n\n[working_pressure_bar]\ngas = 1.0\n')
    voidbook("words", "drop", "gas")
    assert jobs.load(root).words == {}
    assert jobs.load(root).working_pressure_bar == {"gas": 1.0}


def test_dropping_an_unknown_word_names_the_nearest(voidbook: Callable[..., Any]) -> None:
    voidbook("words", "add", "jelly rail", "towel rail")
    ran = voidbook("words", "drop", "jely rail")
    assert ran.code == 3
    assert "did you mean 'jelly rail'?" in ran.err


def test_words_refuses_an_empty_side(voidbook: Callable[..., Any]) -> None:
    assert voidbook("words", "add", " ", "bath").code == 2


def test_check_ends_with_one_where_a_word_can_do_harm(voidbook: Callable[..., Any]) -> None:
    assert voidbook("words", "check").code == 0
    assert "but: 'cold' is a word for cold already" in voidbook("words", "add", "cold", "hot").err
    ran = voidbook("words", "check")
    assert ran.code == 1
    assert "cold = hot: 'cold' is a word for cold already" in ran.out
    assert voidbook("words", "check", "--json").rows[0]["heard"] == "cold"


@pytest.mark.parametrize(
    ("words", "what"),
    [
        ({"the": "bath"}, "said all the time"),
        ({"uh": "bath"}, "said all the time"),
        ({"jelly rail": "towel rial"}, "no word of the trade"),
        ({"Bath": "bath"}, "means itself"),
        ({"snod": ""}, "one side is empty"),
        ({"snod\x07": "sink"}, "can't be spoken"),
        ({"snod": "sink", "SNOD": "bath"}, "the same as 'snod'"),
    ],
)
def test_what_is_wrong_with_a_word(a_job: Job, words: Mapping[str, str], what: str) -> None:
    found = doubts(words, load(a_job))
    assert len(found) == 1
    assert what in found[0].what


@pytest.mark.parametrize("words", [{"jelly rail": "towel rail"}, {"the shed end": "Boiler house"}, {"slink": "sink"}])
def test_good_words_raise_no_doubt(a_job: Job, words: Mapping[str, str]) -> None:
    assert doubts(words, load(a_job)) == []
