"""`fieldnotes day text STOP`: what each owner at a stop is told, and that they were told it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from fieldnotes.cli.command import emit_json, say
from fieldnotes.cli.opening import write_out

if TYPE_CHECKING:
    import argparse

    from fieldnotes.casework.desk import Casework


def run_texts(desk: Casework, args: argparse.Namespace, stop: str) -> int:
    """Print one text per owner; with --told keep the windows as promised."""
    texts = desk.road.texts(stop)
    if args.told:
        for text in texts:
            desk.road.tell(text)
        say(f"fieldnotes: kept as told to {', '.join(t.name for t in texts)}")
    if args.queue:
        for text in texts:
            desk.post.queue_arrival(text)
        say(f"fieldnotes: in the outbox for {', '.join(t.name for t in texts)}; nothing is sent")
    if args.folder:
        for text in texts:
            path = Path(args.folder).expanduser() / text.file_name
            write_out(f"{text.text}\n".encode(), str(path))
            say(f"fieldnotes: {path}")
        return 0
    if args.json:
        emit_json(
            [
                {
                    "owner": t.name,
                    "phone": t.phone,
                    "opens": t.promise.opens.isoformat(timespec="seconds"),
                    "closes": t.promise.closes.isoformat(timespec="seconds"),
                    "text": t.text,
                    "told_before": t.told is not None,
                    "moved": t.moved,
                }
                for t in texts
            ]
        )
        return 0
    print("\n\n".join(t.text for t in texts))
    return 0
