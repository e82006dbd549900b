"""What `--help` shows of each command: lines that can be typed as they stand, on the demo.

A test runs every one of them on a copy of the demo.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

EXAMPLES: Mapping[str, tuple[tuple[str, str], ...]] = {
    "init": (
        (
            "init --dir hill --name 'Hill Practice' --phone '01632 960001' --vet 'A Vet; R-1001'",
            "a new store in the folder hill",
        ),
        (
            "init --dir dale --name Dale --phone '01632 960002' --vet 'B Vet' --units us",
            "one that weighs in pounds",
        ),
    ),
    "today": (("today", "next stop, overdue, flags, what to load, outbox, backup"),),
    "case": (
        ("case list --open --text 'proud flesh'", "open cases that speak of it"),
        ("case show k7m2q --map", "one record, with the body map"),
    ),
    "due": (("due --days 7", "this week's follow-ups, the overdue first"),),
    "plan": (
        ("plan k7m2q", "what comes next for a case, why, and whose word it is"),
        (
            "plan k7m2q missed bandage-first --who owner --reason 'away'",
            "it is to be offered again",
        ),
        (
            "plan h9b6c done culture-result --result 'no growth' --told",
            "the result, the owner told",
        ),
    ),
    "flags": (
        ("flags list", "every flag of every open case"),
        ("flags list g5h2v", "what is off its course, by which rule"),
    ),
    "chart": (("chart g5h2v --what advance", "how fast the edge moves in"),),
    "rules": (("rules show drain-out", "one rule with its window and source"),),
    "route": (("route --format markdown", "today's day sheet"),),
    "day": (("day show", "today as it stands: done, open, proposed"),),
    "rounds": (("rounds --days 3", "which visit on which of the next days"),),
    "outcomes": (("outcomes --by closure", "days to closure, by how the wound was closed"),),
    "handout": (("handout k7m2q --format text", "the owner's sheet as plain text"),),
    "paper": (("paper k7m2q --kind handover", "one page for a colleague"),),
    "templates": (
        ("templates wounds list", "the templates of common wounds"),
        ("templates wounds show wire", "what one fills in"),
        ("templates wounds rename wire 'Wire cut, open'", "another name for it"),
        ("templates wounds export --output wounds.json", "to hand on, or to edit"),
        ("templates wounds import wounds.json --dry-run", "what it would come to"),
        ("templates wounds remove 'Wire cut, open'", "off the list"),
    ),
    "calendar": (("calendar k7m2q --output bramble.ics", "the owner's calendar as a file"),),
    "note": (("note k7m2q 'owner rang: eating well'", "adds a note, prints its id"),),
    "measure": (("measure k7m2q --wound A --length-cm 7 --width-cm 2.5", "a size between visits"),),
    "formulary": (("formulary show flunixin", "every dose with its source"),),
    "settings": (("settings day_start 8:00", "the day starts at eight from now on"),),
    "outbox": (("outbox list", "what waits to be sent"),),
    "backup": (("backup all.zip", "one verified archive of everything"),),
    "export": (
        ("export --output everything.json", "everything, for another program"),
        ("export --format csv --output tables.zip", "the same as tables for a spreadsheet"),
    ),
    "reckon": (
        ("reckon weight --girth-cm 180 --length-cm 160", "how heavy, with the error"),
        ("reckon dose flunixin --weight-kg 500", "how much, by which route, how often"),
        ("reckon dose flunixin --weight 1100lb", "the same of a weight in pounds"),
        ("reckon anaesthetic lidocaine --weight-kg 500 --percent 2 --ml 20 15", "all wounds"),
        ("reckon region 'lh cannon dorsal' --length-cm 8 --width-cm 3", "what lies beneath"),
        ("reckon note 'lac LH dorsal cannon 8x3 cm, no drain'", "how a line is read"),
    ),
}


def taught(name: str) -> str:
    """Give a command's examples for its help; empty if it has none."""
    rows = EXAMPLES.get(name, ())
    if not rows:
        return ""
    lines = "\n".join(f"  fieldnotes {line}\n      {what}" for line, what in rows)
    return f"examples:\n{lines}"
