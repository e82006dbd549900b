"""Three themes as data: day for a sunlit cab, night, and the terminal's own 16 colours.

Semantic slots (`overdue`, `due`, `done`, `contaminated`, `quiet`) are variables of the style
sheet; a sign or word always stands beside the colour.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.theme import Theme

if TYPE_CHECKING:
    from rich.console import Console

SLOTS = ("overdue", "due", "done", "contaminated", "quiet")


def _theme(
    name: str,
    *,
    ground: str,
    ink: str,
    panel: str,
    field: str,
    accent: str,
    accent_ink: str,
    overdue: str,
    due: str,
    done: str,
    quiet: str,
    dark: bool,
    ansi: bool = False,
) -> Theme:
    return Theme(
        name=name,
        primary=accent,
        secondary=accent,
        accent=accent,
        foreground=ink,
        background=ground,
        surface=ground,
        panel=panel,
        success=done,
        warning=due,
        error=overdue,
        dark=dark,
        ansi=ansi,
        variables={
            "overdue": overdue,
            "due": due,
            "done": done,
            "contaminated": due,
            "quiet": quiet,
            "field": field,
            "accent-ink": accent_ink,
            "ansi-background": ground,
            "text": ink,
            "text-muted": quiet,
            "text-disabled": quiet,
            "foreground-muted": quiet,
            "foreground-disabled": quiet,
            "footer-foreground": ink,
            "footer-background": panel,
            "footer-key-foreground": accent,
            "footer-description-foreground": ink,
            "block-cursor-foreground": accent_ink,
            "block-cursor-background": accent,
            "block-cursor-text-style": "bold",
            "block-cursor-blurred-foreground": ink,
            "block-cursor-blurred-background": panel,
            "input-cursor-background": ink,
            "input-cursor-foreground": ground,
            "input-selection-background": panel,
            "border": quiet,
            "border-blurred": quiet,
            "scrollbar": quiet,
            "scrollbar-background": panel,
        },
    )


DAY = _theme(
    "day",
    ground="#FFFFFF",
    ink="#000000",
    panel="#EAECEF",
    field="#F1F3F5",
    accent="#002F5E",
    accent_ink="#FFFFFF",
    overdue="#7A0000",
    due="#573000",
    done="#00421A",
    quiet="#333A42",
    dark=False,
)
NIGHT = _theme(
    "night",
    ground="#0F1418",
    ink="#E8ECEF",
    panel="#1C242B",
    field="#182027",
    accent="#8CC8FF",
    accent_ink="#06121C",
    overdue="#FF9C8F",
    due="#F2C265",
    done="#8FDCA5",
    quiet="#B3BEC8",
    dark=True,
)
ANSI = _theme(
    "ansi",
    ground="ansi_black",  # named, so that the inks are known to be readable on it
    ink="ansi_bright_white",
    panel="ansi_black",
    field="ansi_black",
    accent="ansi_cyan",
    accent_ink="ansi_black",
    overdue="ansi_bright_red",
    due="ansi_bright_yellow",
    done="ansi_bright_green",
    quiet="ansi_white",
    dark=True,
    ansi=True,
)
THEMES = (DAY, NIGHT, ANSI)


def few_colours(console: Console) -> bool:
    """Whether a terminal has sixteen colours or fewer."""
    return console.color_system in {None, "standard", "windows"}


def first_theme(kept: str) -> str:
    """Give the theme to begin with: the one kept, if there is such a one, else night."""
    return kept if kept in {t.name for t in THEMES} else NIGHT.name


def next_theme(name: str) -> str:
    """Give the theme the switch key goes to."""
    names = [t.name for t in THEMES]
    return names[(names.index(name) + 1) % len(names)] if name in names else names[0]
