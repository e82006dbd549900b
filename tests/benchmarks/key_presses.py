"""Key press to picture in the app at 120x40, by class: `python key_presses.py STORE [ROUNDS]`.

STORE is one of `make_store.py`, looked at a day after it was made. The clock runs from the press
until the update that shows what it asks for is written to the terminal, less what the loop's
thread stood in line for a processor; of the wall's own clock the p95 is told too. The bare app's
cursor is measured in the same run. Each round is a start of its own; the medians are given.
"""

from __future__ import annotations

import asyncio
import datetime as dt
import os
import statistics
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))
sys.path.insert(0, str(Path(__file__).parent))
from baseline import Baseline
from key_clock import Times, shown
from key_walk import TARGET_MS, moving, session
from make_store import NOW


async def bare() -> Times:
    """Move the cursor of the bare app."""
    app = Baseline()
    async with shown(app) as fingers:
        await moving(fingers, app, "bare app, moving", ("down", "up") * 20)
        return fingers.times["bare app, moving"]


def told(name: str, rounds: list[Times], target: str) -> None:
    """Print the medians of the rounds."""
    p50, p95, most = (statistics.median(t.at(share) for t in rounds) for share in (0.5, 0.95, 1))
    wall = statistics.median(t.at(0.95, "wall_ms") for t in rounds)
    count = len(rounds[0].presses)
    sys.stdout.write(
        f"{name:<24} {count:>3} presses: p50 {p50:4.0f}, p95 {p95:4.0f}, most {most:4.0f} ms;"
        f" wall p95 {wall:4.0f}   {target}\n"
    )


def main(store: Path, rounds: int) -> None:
    """Measure and print each class."""
    now = NOW + dt.timedelta(days=1)
    told("bare app, moving", [asyncio.run(bare()) for _ in range(rounds)], "")
    found = [asyncio.run(session(store, now)) for _ in range(rounds)]
    for name in found[0]:
        target = f"target {TARGET_MS[name]}" if name in TARGET_MS else ""
        told(name, [times[name] for times in found], target)


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else 3)
    sys.stdout.write(f"load {os.getloadavg()[0]:.1f} on {os.cpu_count()} processors\n")
    sys.stdout.flush()
    os._exit(0)  # a sealing thread need not be waited for
