"""A person's settings in a folder of their own, a job to look at, and sound that nobody hears."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.tui import desk


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Settings and sound of this test alone."""
    for name in ("XDG_CONFIG_HOME", "XDG_STATE_HOME"):
        monkeypatch.setenv(name, str(tmp_path / "home"))
    monkeypatch.setenv("VOIDBOOK_SOUND", "none")
    folder = tmp_path / "home" / "voidbook"
    folder.mkdir(parents=True)
    (folder / "review.toml").write_text('who = "Kay"\n')
    return folder


@pytest.fixture
def root(tmp_path: Path) -> Path:
    """A filled job."""
    folder = tmp_path / "job"
    desk.filled(folder)
    return folder
