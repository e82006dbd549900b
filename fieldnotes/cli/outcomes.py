"""`fieldnotes outcomes`: days to closure, complications and bandages over all cases."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING, Any

import msgspec

from fieldnotes.casework.outcomes import By, practice_outcomes
from fieldnotes.cli.command import emit_json
from fieldnotes.cli.opening import open_desk, write_out
from fieldnotes.cli.text import columns
from fieldnotes.domain.text import defused

if TYPE_CHECKING:
    import argparse

    from fieldnotes.casework.outcomes import OutcomeGroup, Outcomes
    from fieldnotes.clinical.outcomes import Rate

COMPLICATIONS = ("dehiscence", "infection", "proud_flesh")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the grouping, the format and where to put it."""
    parser.add_argument("--by", choices=[b.value for b in By], default=By.REGION.value)
    parser.add_argument("--format", choices=("text", "csv"), default="text")
    parser.add_argument("--output", metavar="FILE", help="write the CSV here (default stdout)")


def run(args: argparse.Namespace) -> int:
    """Count and print."""
    found = practice_outcomes(open_desk(args), By(args.by))
    if args.json:
        emit_json(outcomes_document(found))
    elif args.format == "csv":
        write_out(_csv(found), args.output)
    else:
        print(_text(found))
    return 0


def outcomes_document(found: Outcomes) -> dict[str, Any]:
    """Give the outcomes as JSON holds them; a rate is null where no wound could have had it."""
    return {
        "by": found.by.value,
        "few_below": found.few_below,
        "groups": [_group(group) for group in found.groups],
        "all": _group(found.total),
        "bandages": [{"kind": kind, "wounds": count} for kind, count in found.bandages],
        "wounds": msgspec.to_builtins(found.wounds),
        "definitions": msgspec.to_builtins(found.definitions),
    }


def _group(group: OutcomeGroup) -> dict[str, Any]:
    document: dict[str, Any] = msgspec.to_builtins(group)
    return {**document, "censored": group.censored}


def _csv(found: Outcomes) -> bytes:
    heads = [found.by.value, "wounds", "closed", "censored", "median_days", "few"]
    for name in COMPLICATIONS:
        heads += [f"{name}_count", f"{name}_of", f"{name}_share", f"{name}_low", f"{name}_high"]
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(heads)
    for group in (*found.groups, found.total):
        writer.writerow([defused(cell) for cell in _cells(group)])
    return out.getvalue().encode("utf-8")


def _cells(group: OutcomeGroup) -> list[str]:
    median = "" if group.median_days is None else f"{group.median_days:g}"
    cells = [group.name, str(group.wounds), str(group.closed), str(group.censored), median]
    cells.append("yes" if group.few else "no")
    for name in COMPLICATIONS:
        rate: Rate | None = getattr(group, name)
        cells += (
            ["", "", "", "", ""]
            if rate is None
            else [str(rate.count), str(rate.total)]
            + [f"{share:.4f}" for share in (rate.share, rate.low, rate.high)]
        )
    return cells


def _told(rate: Rate | None) -> str:
    if rate is None:
        return "-"
    counts = f"{rate.count} of {rate.total}"
    if rate.few:
        return f"{counts} *"
    return f"{counts}, {rate.share:.0%} ({rate.low:.0%}-{rate.high:.0%})"


def _row(group: OutcomeGroup) -> list[str]:
    median = "not reached" if group.median_days is None else f"{group.median_days:g}"
    median += " *" if group.few_closed and group.closed else ""
    counts = (str(group.wounds), str(group.closed), str(group.censored), median)
    return [group.name, *counts, *(_told(getattr(group, name)) for name in COMPLICATIONS)]


def _text(found: Outcomes) -> str:
    heads = (found.by.value, "wounds", "closed", "not closed", "median days", "breakdown",
             "infection", "proud flesh")  # fmt: skip
    lines = [columns(heads, [_row(group) for group in (*found.groups, found.total)]), ""]
    if found.bandages:
        used = ", ".join(f"{kind} {count}" for kind, count in found.bandages)
        lines += [f"bandages used (wounds): {used}"]
    lines += [
        f"* fewer than {found.few_below} wounds (for the median: closed wounds): not to compare",
        "median: Kaplan-Meier; died, referred, ended otherwise or still open count as censored;",
        "95 % intervals: Wilson",
    ]
    lines += [f"{d.words} ({d.source})" for d in found.definitions if d.id in COMPLICATIONS]
    return "\n".join(lines)
