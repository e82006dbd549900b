"""The controlled-drug register over a period as a page of text, Markdown, or a table (CSV)."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

from fieldnotes.domain.text import clean_line, defused
from fieldnotes.domain.vial_book import said_ml
from fieldnotes.domain.vials import VialCount, VialMove, VialReceived
from fieldnotes.rendering.markdown import escape

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping, Sequence

    from fieldnotes.domain.vial_book import PeriodAccount, VialAccount, VialLine
    from fieldnotes.domain.vials import Vial, VialCorrection

HEADS = ("when", "entry", "what", "in mL", "out mL", "balance mL", "for", "by", "witness", "said")
CSV_HEADS = (
    "vial", "drug", "strength", "batch", "expiry", "entry", "at", "recorded", "what", "in_ml",
    "out_ml", "balance_ml", "counted_ml", "difference_ml", "case", "horse", "who", "witness",
    "to_or_from", "reason", "corrections",
)  # fmt: skip
CAUTION = (
    "This register reminds and adds up. Law, licence and the bound register they ask for rule."
)


def ml(volume: float) -> str:
    """Give a volume without trailing noughts, at most four figures after the point."""
    return f"{volume:.4f}".rstrip("0").rstrip(".")


def vial_line(vial: Vial) -> str:
    """Give "V1  ketamine 100 mg/mL, 10 mL, batch B7, expires 31 Jan 2027"."""
    return (
        f"{vial.id}  {vial.name} {vial.amount_per_ml:g} {vial.unit}/mL, {ml(vial.volume_ml)} mL, "
        f"batch {vial.batch}, expires {vial.expiry:%d %b %Y}"
    )


def discrepancy_text(account: VialAccount, zone: dt.tzinfo | None = None) -> str:
    """Say by how much a vial is off and since when; empty if it is not."""
    off = account.discrepancy
    if off is None:
        return ""
    how = "more" if off.volume_ml > 0 else "less"
    since, seen = off.agreed_at.astimezone(zone), off.seen_at.astimezone(zone)
    return (
        f"{ml(abs(off.volume_ml))} mL {how} than reckoned, seen {seen:%d %b %Y %H:%M}, "
        f"arose after {since:%d %b %Y %H:%M}"
    )


def correction_text(correction: VialCorrection) -> str:
    """Give what a correction says, in words."""
    if correction.struck:
        said = "struck out"
    elif correction.volume_ml is not None:
        said = f"should read {ml(correction.volume_ml)} mL"
    else:
        said = "should read"
    return f"{said}{' ' + correction.text if correction.text else ''}, because {correction.why}"


def _said(line: VialLine) -> str:
    """Give an entry's words, what it said before a correction, and each correction by its id."""
    body, parts = line.entry.body, []
    match body:
        case VialReceived(vial):
            parts += [f"from {vial.received_from}", vial.reason]
        case VialMove():
            parts += [f"to {body.to}" if body.to else "", body.reason]
        case VialCount():
            off = line.difference_ml
            parts += [f"found {ml(body.volume_ml)} mL"]
            parts += [f"OFF BY {ml(off)} mL" if off else "", body.note]
        case _:
            pass
    if line.doubled:
        parts.append("a second receipt under this mark: not added")
    if line.corrections:
        parts.append(f"first said {ml(said_ml(line.entry))} mL")
    parts += [f"{c.entry.id} by {c.body.who}: {correction_text(c.body)}" for c in line.corrections]
    return "; ".join(p for p in parts if p)


def _who(line: VialLine, people: Mapping[str, str]) -> str:
    who = getattr(line.entry.body, "who", line.entry.author)
    return people.get(who, who)


def line_cells(
    line: VialLine, people: Mapping[str, str], horses: Mapping[str, str], zone: dt.tzinfo | None
) -> tuple[str, ...]:
    """Give one entry's cells under HEADS; a late entry says when it was recorded."""
    body, change = line.entry.body, line.change_ml
    at, recorded = line.at.astimezone(zone), line.entry.time.astimezone(zone)
    late = f" (recorded {recorded:%d %b %Y %H:%M})" if recorded.date() > at.date() else ""
    horse, witness = getattr(body, "horse", ""), getattr(body, "witness", "")
    about = " ".join(p for p in (getattr(body, "case", ""), horses.get(horse, horse)) if p)
    return (
        f"{at:%d %b %Y %H:%M}{late}",
        line.entry.id,
        line.what,
        ml(change) if change > 0 else "",
        ml(-change) if change < 0 else "",
        ml(line.balance_ml),
        about,
        _who(line, people),
        people.get(witness, witness),
        _said(line),
    )


def _table(rows: Sequence[Sequence[str]]) -> list[str]:
    lines = [" | ".join(("", *HEADS, "")).strip(), "|" + " --- |" * len(HEADS)]
    lines += ["| " + " | ".join(escape(c) for c in row) + " |" for row in rows]
    return lines


def markdown(
    title: Sequence[str],
    kept: Sequence[PeriodAccount],
    rows: Mapping[str, Sequence[Sequence[str]]],
    notes: Sequence[str],
) -> str:
    """Give the register as a CommonMark page with a table for each vial; `rows` by its mark."""
    lines = [f"# {escape(title[0])}", "", *(escape(t) for t in title[1:]), ""]
    for part in kept:
        vial = part.account.vial
        lines += [f"## {escape(vial_line(vial))}", ""]
        lines += [f"Brought forward: {ml(part.opening_ml)} mL", ""]
        lines += [*_table(rows[vial.id]), ""]
        lines += [f"Carried forward: {ml(part.closing_ml)} mL", ""]
        if off := discrepancy_text(part.account):
            lines += [f"**Discrepancy:** {escape(off)}", ""]
    lines += [f"- {escape(note)}" for note in notes]
    return "\n".join([*lines, "", CAUTION, ""])


def text(
    title: Sequence[str],
    kept: Sequence[PeriodAccount],
    rows: Mapping[str, Sequence[Sequence[str]]],
    notes: Sequence[str],
) -> str:
    """Give the register as plain text, two lines an entry where it says more."""
    lines = [*map(clean_line, title), ""]
    for part in kept:
        vial = part.account.vial
        lines += [clean_line(vial_line(vial)), f"  brought forward {ml(part.opening_ml)} mL"]
        for when, entry, what, came, went, left, about, who, witness, said in rows[vial.id]:
            moved = f"+{came}" if came else f"-{went}" if went else ""
            seen = f", witness {witness}" if witness else ""
            head = f"  {when}  {what:<9} {moved:>7} = {left:>7} mL  {about}  {who}{seen}  [{entry}]"
            lines += [head.rstrip(), *([f"      {clean_line(said)}"] if said else [])]
        lines.append(f"  carried forward {ml(part.closing_ml)} mL")
        if off := discrepancy_text(part.account):
            lines.append(f"  ! discrepancy: {off}")
        lines.append("")
    return "\n".join([*lines, *map(clean_line, notes), CAUTION, ""])


def csv_rows(kept: Sequence[PeriodAccount], horses: Mapping[str, str]) -> str:
    """Give one row for each entry under CSV_HEADS; no cell is run as a formula."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(CSV_HEADS)
    for part in kept:
        for line in part.lines:
            cells = map(clean_line, _csv_cells(part.account.vial, line, horses))
            writer.writerow([c if _is_number(c) else defused(c) for c in cells])
    return out.getvalue()


def _is_number(cell: str) -> bool:
    return cell.removeprefix("-").replace(".", "", 1).isdigit()


def _csv_cells(vial: Vial, line: VialLine, horses: Mapping[str, str]) -> tuple[str, ...]:
    body, change = line.entry.body, line.change_ml
    horse = getattr(body, "horse", "")
    counted = ml(body.volume_ml) if isinstance(body, VialCount) else ""
    said = vial.received_from if isinstance(body, VialReceived) else getattr(body, "to", "")
    reason = vial.reason if isinstance(body, VialReceived) else getattr(body, "reason", "")
    return (
        vial.id, vial.name, f"{vial.amount_per_ml:g} {vial.unit}/mL", vial.batch,
        vial.expiry.isoformat(), line.entry.id, line.at.isoformat(), line.entry.time.isoformat(),
        line.what, ml(change) if change > 0 else "", ml(-change) if change < 0 else "",
        ml(line.balance_ml), counted,
        "" if line.difference_ml is None else ml(line.difference_ml),
        getattr(body, "case", ""), horses.get(horse, horse),
        getattr(body, "who", line.entry.author), getattr(body, "witness", ""), said,
        reason or getattr(body, "note", ""),
        "; ".join(f"{c.entry.id}: {correction_text(c.body)}" for c in line.corrections),
    )  # fmt: skip
