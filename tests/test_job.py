"""job.toml: read, refused, written, added to, found."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from notes import job as jobs
from notes.errors import JobError
from notes.model import PIPES, Job, Room

_TEXT = st.text(st.characters(codec="utf-8"), min_size=1, max_size=12).filter(str.strip)
_ROOM = st.builds(Room, _TEXT, st.text(st.characters(codec="utf-8"), max_size=8), st.tuples(_TEXT))
_JOBS = st.builds(
    Job,
    name=_TEXT,
    rooms=st.lists(_ROOM, max_size=3, unique_by=lambda room: room.name.lower()).map(tuple),
    services=st.lists(st.sampled_from(PIPES), max_size=3).map(tuple),
    crew=st.lists(_TEXT, max_size=3).map(tuple),
    words=st.dictionaries(_TEXT, _TEXT, max_size=3),
    zone=st.sampled_from(("UTC", "Europe/London")),
    working_pressure_bar=st.dictionaries(st.sampled_from(PIPES), st.floats(0.1, 20), max_size=2),
)


@given(_JOBS)
def test_what_is_written_is_read_back(tmp_path_factory: pytest.TempPathFactory, job: Job) -> None:
    folder = tmp_path_factory.mktemp("job")
    jobs.create(folder, job)
    assert jobs.load(folder) == job


@given(_JOBS, _TEXT, _TEXT)
def test_an_added_word_joins_the_others(
    tmp_path_factory: pytest.TempPathFactory, job: Job, heard: str, meant: str
) -> None:
    folder = tmp_path_factory.mktemp("job")
    jobs.create(folder, job)
    jobs.add_word(folder, heard, meant)
    assert jobs.load(folder).words == {**job.words, heard: meant}
    assert jobs.load(folder).rooms == job.rooms


def test_adding_a_word_leaves_the_rest_as_it_was_typed(tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_text('# Ours.\nname = "Barn"  # the big one\n\n[words]\n"man fold" = "manifold"\n')
    jobs.add_word(tmp_path, "see lender", "cylinder")
    text = (tmp_path / "job.toml").read_text()
    assert '# Ours.\nname = "Barn"  # the big one\n' in text
    assert jobs.load(tmp_path).words == {"man fold": "manifold", "see lender": "cylinder"}


@pytest.mark.parametrize(
    ("text", "what", "todo"),
    [
        ('naem = "x"', "no key of the job is called 'naem'", "did you mean 'name'?"),
        ('name = "x"\n[[rooms]]\nname = "a"\nflor = "b"', "no key of room 1 is called 'flor'", "did you mean 'floor'?"),
        ('name = "x"\nservices = ["hot retrun"]', "no service is called 'hot retrun'", "did you mean 'hot return'?"),
        ('name = "x"\nzone = "Europe/Lundon"', "no time zone is called 'Europe/Lundon'", "Europe/London"),
        ('zone = "UTC"', "the job: name must be text, and is missing", "put it right"),
        ('name = "x"\nrooms = 3', "the job: rooms must be a list", "put it right"),
        ('name = "x"\n[[rooms]]\nname="A"\n[[rooms]]\nname="a"', "two rooms are called 'a'", "rename"),
        ('name = "x"\n[working_pressure_bar]\ncold = "3"', "must be a table whose values are a number of bar", "put"),
        ("name = [", "not valid TOML", "put that line right"),
    ],
)
def test_what_is_wrong_is_named_with_file_key_and_nearest(tmp_path: Path, text: str, what: str, todo: str) -> None:
    (tmp_path / "job.toml").write_text(text)
    with pytest.raises(JobError) as wrong:
        jobs.load(tmp_path)
    assert what in wrong.value.what
    assert todo in wrong.value.todo
    assert wrong.value.file == str(tmp_path / "job.toml")


def test_an_unknown_key_is_told_what_is_allowed(tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_text('name = "x"\ncolour = 1')
    with pytest.raises(JobError, match="known: name, zone, rooms, services, crew, words, working_pressure_bar"):
        jobs.load(tmp_path)


def test_a_job_is_found_from_any_folder_below(tmp_path: Path) -> None:
    jobs.create(tmp_path / "job", Job("x"))
    deep = tmp_path / "job" / "a" / "b"
    deep.mkdir(parents=True)
    assert jobs.find(deep) == tmp_path / "job"
    with pytest.raises(JobError, match="voidbook new"):
        jobs.find(tmp_path)


def test_a_job_is_never_made_over_another(tmp_path: Path) -> None:
    jobs.create(tmp_path / "job", Job("first"))
    with pytest.raises(JobError, match="already"):
        jobs.create(tmp_path / "job", Job("second"))
    assert jobs.load(tmp_path / "job").name == "first"


def test_only_its_owner_reads_a_job(tmp_path: Path) -> None:
    jobs.create(tmp_path / "job", Job("x"))
    assert stat.S_IMODE((tmp_path / "job").stat().st_mode) == 0o700
    assert stat.S_IMODE((tmp_path / "job" / "job.toml").stat().st_mode) == 0o600


def test_json_gives_the_same_job_and_names_its_faults(tmp_path: Path) -> None:
    file = tmp_path / "job.json"
    file.write_text(
        '{"name": "x", "rooms": [{"name": "Bath", "floor": "First", "aliases": ["b"]}], "services": ["hot"]}'
    )
    assert jobs.from_json(file) == Job("x", (Room("Bath", "First", ("b",)),), ("hot",))
    for text in ('{"name": ', "[]", '{"name": "x", "rooms": ["Bath"]}', '{"name": "x", "floors": []}', "[" * 100_000):
        file.write_text(text)
        with pytest.raises(JobError):
            jobs.from_json(file)


def test_the_machine_names_its_zone(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TZ", "Europe/Berlin")
    assert jobs.machine_zone() == "Europe/Berlin"
    monkeypatch.setenv("TZ", "../../etc/passwd")
    assert jobs.machine_zone() == "UTC"


def test_no_half_file_is_left_where_writing_fails(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    jobs.create(tmp_path / "job", Job("x"))

    def full(_handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="No space"):
        jobs.add_word(tmp_path / "job", "a", "b")
    assert jobs.load(tmp_path / "job") == Job("x")
    assert [p.name for p in (tmp_path / "job").iterdir()] == ["job.toml"]
