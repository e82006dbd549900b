"""What `fieldnotes drugs` prints: the vials, the doses still open, the register of a period."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, Any

import msgspec

from fieldnotes.casework.register_page import PERIOD_DAYS, register_page
from fieldnotes.cli.command import emit_json
from fieldnotes.cli.opening import day, write_out
from fieldnotes.cli.text import columns, plain
from fieldnotes.rendering.vial_register import discrepancy_text, ml

if TYPE_CHECKING:
    import argparse

    from fieldnotes.casework.desk import Casework
    from fieldnotes.casework.pharmacy import OpenDose
    from fieldnotes.domain.vial_book import VialAccount, VialLine


def _discrepancy(account: VialAccount) -> dict[str, Any] | None:
    off = account.discrepancy
    if off is None:
        return None
    return {
        "difference_ml": off.volume_ml,
        "seen_at": off.seen_at.isoformat(),
        "agreed_at": off.agreed_at.isoformat(),
    }


def vial_document(account: VialAccount, today: dt.date) -> dict[str, Any]:
    """Give a vial with its balance as JSON."""
    vial, counted = account.vial, account.counted
    return {
        "vial": vial.id,
        "drug": vial.name,
        "id": vial.drug,
        "concentration": vial.amount_per_ml,
        "concentration_unit": f"{vial.unit}/mL",
        "volume_ml": vial.volume_ml,
        "balance_ml": account.balance_ml,
        "batch": vial.batch,
        "expiry": vial.expiry.isoformat(),
        "expired": vial.expiry < today,
        "received_at": vial.received_at.isoformat(),
        "received_from": vial.received_from,
        "counted_at": counted.at.isoformat() if counted else None,
        "discrepancy": _discrepancy(account),
    }


def _line_document(line: VialLine) -> dict[str, Any]:
    return {
        "entry": line.entry.id,
        "what": line.what,
        "at": line.at.isoformat(),
        "recorded_at": line.entry.time.isoformat(),
        "recorded_by": line.entry.author,
        "change_ml": line.change_ml,
        "balance_ml": line.balance_ml,
        "difference_ml": line.difference_ml,
        "body": msgspec.to_builtins(line.entry.body),
        "corrections": [
            {"entry": c.entry.id, "by": c.entry.author, **msgspec.to_builtins(c.body)}
            for c in line.corrections
        ],
    }


def print_list(desk: Casework, args: argparse.Namespace) -> int:
    """Print the vials, those with something left unless all are asked for."""
    today, zone = desk.today(), desk.now().tzinfo
    kept = [a for a in desk.pharmacy.accounts() if args.all or a.balance_ml > 0 or a.discrepancy]
    if args.json:
        emit_json([vial_document(a, today) for a in kept])
        return 0
    rows = [
        (
            a.vial.id,
            a.vial.name,
            f"{a.vial.amount_per_ml:g} {a.vial.unit}/mL",
            f"{ml(a.balance_ml)} of {ml(a.vial.volume_ml)} mL",
            a.vial.batch,
            f"{a.vial.expiry:%d %b %Y}" + (" EXPIRED" if a.vial.expiry < today else ""),
            discrepancy_text(a, zone),
        )
        for a in kept
    ]
    heads = ("vial", "drug", "strength", "left", "batch", "expires", "discrepancy")
    print(columns(heads, rows) if rows else "No vial is in stock.")
    still = desk.pharmacy.open_doses()
    if still:
        print(f"\n{len(still)} doses given are not booked: 'fieldnotes drugs open' lists them")
    return 0


def open_document(dose: OpenDose) -> dict[str, Any]:
    """Give a dose that is not booked as JSON."""
    return {"dose": dose.id, **msgspec.to_builtins(dose)}


def print_open(desk: Casework, args: argparse.Namespace) -> int:
    """Print the doses of visits that the register does not hold as given."""
    found = desk.pharmacy.open_doses(args.days)
    if args.json:
        emit_json([open_document(x) for x in found])
        return 0
    zone = desk.now().tzinfo
    rows = [
        (
            x.id,
            f"{x.at.astimezone(zone):%d %b %Y %H:%M}",
            x.case,
            x.horse,
            x.name,
            "" if x.amount is None else f"{plain(x.amount)} {x.unit}",
            "not said" if x.volume_ml is None else f"{ml(x.volume_ml)} mL",
            f"{ml(x.booked_ml)} mL" if x.booked_ml else "not booked",
        )
        for x in found
    ]
    heads = ("dose", "given", "case", "horse", "drug", "amount", "volume", "register")
    print(columns(heads, rows) if rows else "Every dose is booked.")
    return 0


def print_register(desk: Casework, args: argparse.Namespace) -> int:
    """Print the register from one day to another."""
    end = day(args.end, "--to") or desk.today()
    start = day(args.start, "--from") or end - dt.timedelta(days=PERIOD_DAYS)
    if args.json:
        report = desk.pharmacy.report(start, end)
        emit_json({
            "from": start.isoformat(),
            "to": end.isoformat(),
            "practice": report.practice,
            "vials": [
                {
                    **vial_document(p.account, desk.today()),
                    "brought_forward_ml": p.opening_ml,
                    "carried_forward_ml": p.closing_ml,
                    "entries": [_line_document(line) for line in p.lines],
                }
                for p in report.accounts
            ],
            "open_doses": [open_document(x) for x in report.open_doses],
        })  # fmt: skip
        return 0
    write_out(register_page(desk, start, end, args.format), args.output)
    return 0
