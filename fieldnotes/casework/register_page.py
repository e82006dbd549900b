"""The controlled-drug register of a period as a page, in the formats it is printed in."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldnotes.rendering import vial_register

if TYPE_CHECKING:
    import datetime as dt

    from fieldnotes.casework.desk import Casework
    from fieldnotes.casework.pharmacy import OpenDose, RegisterReport

FORMATS = {"text": "txt", "markdown": "md", "html": "html", "csv": "csv"}
"""Each format with the ending of its file's name."""
PERIOD_DAYS = 30


def register_page(desk: Casework, start: dt.date, end: dt.date, form: str) -> bytes:
    """Give the register from one day to another, both included, in one of FORMATS.

    RefusedInputError where the period ends before it begins.
    """
    report, zone = desk.pharmacy.report(start, end), desk.now().tzinfo
    horses = {h.id: h.name for h in desk.register().horses.values()}
    if form == "csv":
        return vial_register.csv_rows(report.accounts, horses).encode("utf-8")
    title = _title(report)
    rows = {
        p.account.vial.id: [
            vial_register.line_cells(line, report.people, horses, zone) for line in p.lines
        ]
        for p in report.accounts
    }
    notes = [_not_booked(x, zone) for x in report.open_doses]
    if form == "text":
        return vial_register.text(title, report.accounts, rows, notes).encode("utf-8")
    page = vial_register.markdown(title, report.accounts, rows, notes)
    if form == "html":
        from fieldnotes.rendering.handout.pages import paper_html  # noqa: PLC0415  (only where it is asked for)

        page = paper_html(title[0], page, ())
    return page.encode("utf-8")


def _title(report: RegisterReport) -> tuple[str, ...]:
    law = report.law
    return (
        f"Controlled drugs, {report.start:%d %b %Y} to {report.end:%d %b %Y}",
        f"{report.practice}, printed {report.printed_at:%d %b %Y %H:%M}",
        *([f"{law.id}: {law.asks} ({law.source})"] if law else []),
    )


def _not_booked(dose: OpenDose, zone: dt.tzinfo | None) -> str:
    amount = "" if dose.amount is None else f"{dose.amount:,.10g} {dose.unit} "
    return (
        f"Not booked: {dose.name} {amount}to {dose.horse} on "
        f"{dose.at.astimezone(zone):%d %b %Y %H:%M} (case {dose.case}, dose {dose.id})"
    )
