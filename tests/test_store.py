"""Media are kept whole or not at all, once, under the SHA-256 of their bytes."""

from __future__ import annotations

import errno
import hashlib
import os
import stat
import subprocess
import sys
import textwrap
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from notes import store as stores
from notes.errors import MediaError, VoidbookError
from notes.store import Store


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return Store(tmp_path / "job" / "media")


@pytest.fixture
def memo(tmp_path: Path) -> Path:
    path = tmp_path / "Memo 1.M4A"
    path.write_bytes(b"hot return" * 1000)
    return path


def files(store: Store) -> list[Path]:
    return [path for path in store.root.rglob("*") if path.is_file()] if store.root.exists() else []


def test_a_file_lies_under_the_sha256_of_its_bytes(store: Store, memo: Path) -> None:
    before = memo.stat()
    put = store.put(memo)
    sha = hashlib.sha256(memo.read_bytes()).hexdigest()
    assert put == (sha, 10_000, False)
    assert store.path(sha) == store.root / sha[:2] / sha[2:4] / f"{sha}.m4a"
    assert store.path(sha).read_bytes() == memo.read_bytes()
    after = memo.stat()
    assert (after.st_mtime_ns, after.st_mode, after.st_ino) == (before.st_mtime_ns, before.st_mode, before.st_ino)


def test_only_the_owner_may_look(store: Store, memo: Path) -> None:
    path = store.path(store.put(memo).sha)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    made = (path.parent, path.parent.parent, store.root, store.root.parent)
    assert {stat.S_IMODE(folder.stat().st_mode) for folder in made} == {0o700}


def test_the_same_bytes_under_another_name_are_kept_once(store: Store, memo: Path, tmp_path: Path) -> None:
    first = store.put(memo)
    copy = tmp_path / "copy.mp4"
    copy.write_bytes(memo.read_bytes())
    assert store.put(copy) == (first.sha, first.size, True)
    assert store.put_bytes(memo.read_bytes(), ".txt").already
    assert files(store) == [store.path(first.sha)]


def test_a_kept_file_that_lost_bytes_is_healed_by_taking_it_again(store: Store, memo: Path) -> None:
    sha = store.put(memo).sha
    store.path(sha).write_bytes(b"hot")
    assert not store.put(memo).already
    store.verify(sha)


@pytest.mark.parametrize("name", ["x.", "x.m 4", "x.\x1b[2J", "x.toolongending", "x.é"])
def test_an_ending_that_is_not_plain_is_left_out(store: Store, tmp_path: Path, name: str) -> None:
    (tmp_path / name).write_bytes(b"x")
    sha = store.put(tmp_path / name).sha
    assert store.path(sha).name == sha


@given(blobs=st.lists(st.binary(max_size=300), max_size=8))
def test_walk_gives_what_was_put_and_verify_agrees(
    tmp_path_factory: pytest.TempPathFactory, blobs: list[bytes]
) -> None:
    store = Store(tmp_path_factory.mktemp("media"))
    put = [store.put_bytes(blob, ".txt") for blob in blobs]
    assert [sha for sha, _ in store.walk()] == sorted({p.sha for p in put})
    for (sha, size, _), blob in zip(put, blobs, strict=True):
        store.verify(sha)
        with store.open(sha) as kept:
            assert kept.read() == blob
        assert size == len(blob)


def test_verify_finds_changed_bytes_and_missing_files(store: Store, memo: Path) -> None:
    sha = store.put(memo).sha
    path = store.path(sha)
    path.write_bytes(b"hot returm" + path.read_bytes()[10:])
    with pytest.raises(MediaError, match="bytes have changed"):
        store.verify(sha)
    path.unlink()
    with pytest.raises(MediaError, match="not in the media folder"):
        store.verify(sha)


@pytest.mark.parametrize("sha", ["", "../../etc/passwd", "*", "A" * 64])
def test_what_is_no_sha_finds_nothing(store: Store, memo: Path, sha: str) -> None:
    store.put(memo)
    with pytest.raises(MediaError):
        store.path(sha)


def test_sweep_takes_old_litter_only(store: Store, memo: Path) -> None:
    sha = store.put(memo).sha
    old, new = store.root / ".part-old", store.root / ".part-new"
    for path, age in ((old, 5000), (new, 10)):
        path.write_bytes(b"x")
        os.utime(path, (1_000_000 - age, 1_000_000 - age))
    os.utime(store.path(sha), (0, 0))
    assert store.sweep(3600, now=1_000_000) == [old]
    assert sorted(files(store)) == sorted([new, store.path(sha)])


def test_a_vanished_file_a_folder_and_a_pipe_are_refused(store: Store, tmp_path: Path) -> None:
    with pytest.raises(MediaError, match="no such file"):
        store.put(tmp_path / "gone.m4a")
    with pytest.raises(MediaError, match="not a plain file"):
        store.put(tmp_path)
    os.mkfifo(tmp_path / "pipe.m4a")
    with pytest.raises(MediaError, match="not a plain file"):
        store.put(tmp_path / "pipe.m4a")
    assert not files(store)


def test_a_file_without_rights_is_refused(store: Store, memo: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: Any, **__: Any) -> None:  # root may read everything, so rights alone would not show it
        raise PermissionError(errno.EACCES, "Permission denied")

    monkeypatch.setattr(Path, "open", refuse)
    with pytest.raises(MediaError, match="no right to read"):
        store.put(memo)


def test_a_file_that_grows_meanwhile_is_not_kept(store: Store, memo: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    copy = stores._copy

    def grow(source: Any, target: Any) -> tuple[str, int]:
        with memo.open("ab") as more:
            more.write(b"more")
        return copy(source, target)

    monkeypatch.setattr(stores, "_copy", grow)
    with pytest.raises(MediaError, match="still being written"):
        store.put(memo)
    assert not files(store)


@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EDQUOT])
def test_a_full_disk_files_nothing(store: Store, memo: Path, monkeypatch: pytest.MonkeyPatch, number: int) -> None:
    def full(_: int) -> None:
        raise OSError(number, os.strerror(number))

    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", full)
        with pytest.raises(VoidbookError, match=r"Memo 1\.M4A: the disk is full, nothing of it was filed"):
            store.put(memo)
    assert not files(store)
    assert not store.put(memo).already


def in_process(code: str, *args: object) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-c", textwrap.dedent(code), *map(str, args)]
    return subprocess.run(command, capture_output=True, text=True, timeout=60)


def test_a_real_limit_on_file_size_ends_in_one_line(store: Store, memo: Path) -> None:
    ran = in_process(
        """
        import resource, sys
        from pathlib import Path
        from notes.errors import VoidbookError
        from notes.store import Store
        resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096))
        try:
            Store(Path(sys.argv[1])).put(Path(sys.argv[2]))
        except VoidbookError as error:
            print(error)
        """,
        store.root,
        memo,
    )
    assert ran.stdout == "Memo 1.M4A: the disk is full, nothing of it was filed; make room\n"
    assert not files(store)


@pytest.mark.parametrize("call", ["os.fsync", "Path.replace"])
def test_a_crash_leaves_only_litter(store: Store, memo: Path, call: str) -> None:
    store.root.mkdir(parents=True)
    ran = in_process(
        f"""
        import os, signal, sys
        from pathlib import Path
        from notes.store import Store
        {call} = lambda *_: os.kill(os.getpid(), signal.SIGKILL)
        Store(Path(sys.argv[1])).put(Path(sys.argv[2]))
        """,
        store.root,
        memo,
    )
    assert ran.returncode == -9
    assert list(store.walk()) == []
    assert len(files(store)) == 1
    put = store.put(memo)
    assert not put.already
    assert len(store.sweep(-60)) == 1
    assert files(store) == [store.path(put.sha)]


def test_many_at_once_keep_one_file(store: Store, memo: Path) -> None:
    with ThreadPoolExecutor(8) as pool:
        put = list(pool.map(store.put, [memo] * 24))
    assert {p.sha for p in put} == {put[0].sha}
    assert files(store) == [store.path(put[0].sha)]
    store.verify(put[0].sha)
