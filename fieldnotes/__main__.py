"""Run `python -m fieldnotes`."""

from fieldnotes.cli.main import main

raise SystemExit(main())
