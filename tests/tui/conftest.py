"""The sample practice as a store, and an app over it with a fixed clock."""

from __future__ import annotations

import datetime as dt
import shutil
from typing import TYPE_CHECKING

import pytest
from fakes import DeskWithTray

from fieldnotes.cli.demo import make_demo
from fieldnotes.storage.casebook import Casebook
from fieldnotes.storage.drafts import Drafts
from fieldnotes.tui.app import FieldnotesApp

if TYPE_CHECKING:
    from pathlib import Path

NOW = dt.datetime(2026, 3, 3, 10, 30, tzinfo=dt.UTC)


@pytest.fixture(autouse=True)
def terminal(monkeypatch):
    """A terminal of many colours, whatever the tests are run in."""
    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.setenv("COLORTERM", "truecolor")
    monkeypatch.delenv("NO_COLOR", raising=False)


@pytest.fixture(scope="session")
def sample_store(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("sample") / "store"
    make_demo(folder, NOW)
    return folder


@pytest.fixture
def store(sample_store, tmp_path) -> Path:
    return shutil.copytree(sample_store, tmp_path / "store")


@pytest.fixture
def desk_and_drafts(store):
    return DeskWithTray(Casebook(store), lambda: NOW), Drafts(store / "drafts")


@pytest.fixture
def app(desk_and_drafts) -> FieldnotesApp:
    return FieldnotesApp(*desk_and_drafts)
