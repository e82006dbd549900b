"""The command line: joins the parts and prints what the screens show."""

from fieldnotes.cli.main import main

__all__ = ["main"]
