"""`fieldnotes reckon ...`: the calculators on plain arguments; none of them needs a store."""

from __future__ import annotations

from fieldnotes.cli.command import Command

RECKONERS = (
    Command("weight", "body weight from girth and length", "fieldnotes.cli.reckon.weight"),
    Command("dose", "amount, volume and limits of a drug", "fieldnotes.cli.reckon.dose"),
    Command(
        "anaesthetic", "local anaesthetic over all wounds", "fieldnotes.cli.reckon.anaesthetic"
    ),
    Command("dilute", "dilution of an antiseptic", "fieldnotes.cli.reckon.dilute"),
    Command("wound", "area and perimeter of a wound", "fieldnotes.cli.reckon.wound"),
    Command("course", "healing course from a series of sizes", "fieldnotes.cli.reckon.course"),
    Command("bandage", "bandage build and material for a region", "fieldnotes.cli.reckon.bandage"),
    Command("region", "a place on the body map: what lies beneath", "fieldnotes.cli.reckon.region"),
    Command("age", "age class of a wound, and closing it", "fieldnotes.cli.reckon.age"),
    Command("tetanus", "tetanus prophylaxis after a wound", "fieldnotes.cli.reckon.tetanus"),
    Command("note", "what a note in one line is read as", "fieldnotes.cli.reckon.note"),
    Command("triage", "how soon an owner's report must be seen", "fieldnotes.cli.reckon.triage"),
    Command("readability", "reading grade of a text", "fieldnotes.cli.reckon.readability"),
)
