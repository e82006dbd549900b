"""The owner's handout before it goes out: as it will be read, its grade, what is missing."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.content import Content

from fieldnotes.tui.screens.preview import FORMATS, PaperDone, PaperMade, PreviewScreen
from fieldnotes.tui.widgets.rows import wrapped

if TYPE_CHECKING:
    from textual.message import Message

    from fieldnotes.casework.desk import Casework
    from fieldnotes.rendering.readability import Reading

VERDICTS = {"pass": ("✓", "$done"), "amber": ("~", "$due"), "fail": ("!", "bold $overdue")}


class HandoutScreen(PreviewScreen):
    """The preview."""

    NAME = "handout"
    EXPLAINS = (
        "The owner's handout. 'o' puts it in the outbox, 's' saves it to a file, 'f' shows it in "
        "another format, 'e' writes own words that stand on this one alone, 'c' corrects the "
        "owner's phone and email, 'w' adds a weight. "
        "The reading grade counts school years; six or below is aimed at. "
        "Nothing is sent from here."
    )
    formats = (
        ("as the owner reads it", "markdown", "md"),
        ("markdown", "markdown", "md"),
        *FORMATS[1:],
        ("message, its source", "eml", "eml"),
    )

    def __init__(self, ref: str) -> None:
        super().__init__()
        self.ref = ref
        self.name_of_file = f"handout-{ref}"

    def heading(self) -> str:
        """Name the handout."""
        return f"Handout   case {self.ref}"

    def chosen_case(self) -> str:
        """Give this case."""
        return self.ref

    def made(self, at: int) -> PaperMade:
        """Write the handout, and grade it."""
        desk, ref = self.desk, self.ref
        file, data = desk.file(ref), desk.post.handout(ref, self.formats[at][1])
        width, graded = max(self.size.width - 2, 40), desk.post.grade(ref)
        above = about(graded[1] if graded else None, file.missing, width)
        for fault in desk.post.faults():
            above = Content("\n").join((wrapped(f"! {fault}", width, "bold $overdue"), above))
        return PaperMade(f"Handout   {file.horse.name}, case {ref}", data, at, above)

    def action_queue(self) -> None:
        """Put the handout in the outbox."""
        desk, ref = self.desk, self.ref
        self.ask(lambda: _queued(desk, ref), "queue")


def _queued(desk: Casework, ref: str) -> Message:
    desk.post.queue_handout(ref)
    return PaperDone("✓ the handout is in the outbox; nothing is sent yet")


def about(grade: Reading | None, missing: tuple[str, ...], width: int) -> Content:
    """Give the reading grade in words, what is missing, and the hardest sentence if it matters."""
    if grade is None:
        lines = [Content.styled("Reading grade: not computed for this language", "$quiet")]
        lines += (
            [wrapped(f"? not known: {', '.join(missing)}", width, "bold $due")] if missing else []
        )
        return Content("\n").join(lines)
    sign, style = VERDICTS[grade.verdict]
    words = f"{sign} Reading grade {grade.flesch_kincaid_grade:.1f} ({grade.verdict}; aim 6)"
    facts = f"   {grade.words} words, reading ease {grade.flesch_reading_ease:.0f}"
    lines = [Content.styled(words, style) + Content.styled(facts, "$quiet")]
    if missing:
        lines.append(wrapped(f"? not known: {', '.join(missing)}", width, "bold $due"))
    if grade.verdict != "pass" and grade.hardest:
        lines.append(wrapped(f"Hardest: {grade.hardest[0]}", width, "$quiet"))
    return Content("\n").join(lines)
