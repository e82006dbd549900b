"""The commands of what opens over a form: the body map and the calculators."""

from __future__ import annotations

from fieldnotes.tui.command import Command

MODAL = ("map", "reckon")
"""Screens that leave no other command to be pressed."""

MODAL_COMMANDS = (
    # the body map
    Command("map.find", "Find", "part of a region's name", "slash", ("map",), "find"),
    Command("map.view", "Other view", "the next view of the horse, or of the limb", "v", ("map",),
            "turn_view"),
    Command("map.left", "Left side", "the whole horse from its left", "1", ("map",), "whole(1)"),
    Command("map.right", "Right side", "the whole horse from its right", "2", ("map",),
            "whole(2)"),
    Command("map.front", "Front", "the whole horse from the front", "3", ("map",), "whole(3)"),
    Command("map.behind", "Behind", "the whole horse from behind", "4", ("map",), "whole(4)"),
    Command("map.head_left", "Head, left", "the head from its left", "5", ("map",), "whole(5)"),
    Command("map.head_right", "Head, right", "the head from its right", "6", ("map",), "whole(6)"),
    Command("map.lateral", "Outside", "the limb under the cursor, lateral", "o", ("map",),
            "face('lateral')"),
    Command("map.medial", "Inside", "the limb under the cursor, medial", "i", ("map",),
            "face('medial')"),
    Command("map.dorsal", "Dorsal", "the limb under the cursor from the front", "d", ("map",),
            "face('dorsal')"),
    Command("map.palmar", "Palmar, plantar", "the limb under the cursor from behind", "p",
            ("map",), "face('back')"),
    Command("map.sole", "Underside", "the sole of the limb under the cursor", "u", ("map",),
            "face('sole')"),
    Command("map.closer", "Closer", "the close-up under the cursor, then larger", "plus,z",
            ("map",), "zoom(1)"),
    Command("map.further", "Further", "smaller, then back to the whole horse", "minus", ("map",),
            "zoom(-1)"),
    Command("map.synovial", "Synovial", "outline joints, sheaths and bursae (approximate)", "s",
            ("map",), "pouches"),
    Command("map.longer", "Longer", "the wound half a centimetre longer (G shorter)", "g",
            ("map",), "grow('length_mm', 1)"),
    Command("map.shorter", "Shorter", "the wound half a centimetre shorter", "G", ("map",),
            "grow('length_mm', -1)"),
    Command("map.wider", "Wider", "the wound half a centimetre wider (W narrower)", "w", ("map",),
            "grow('width_mm', 1)"),
    Command("map.narrower", "Narrower", "the wound half a centimetre narrower", "W", ("map",),
            "grow('width_mm', -1)"),
    Command("map.turn", "Turn", "turn the wound by 15 degrees (R back)", "r", ("map",),
            "turn_wound(1)"),
    Command("map.turn_back", "Turn back", "turn the wound back by 15 degrees", "R", ("map",),
            "turn_wound(-1)"),
    Command("map.lines", "Lines", "draw lines instead of filled cells", "b", ("map",), "lines"),
    Command("map.more", "Read on", "more of what lies at the place", "pagedown", ("map",),
            "scroll_facts(1)"),
    Command("map.less", "Read back", "back in what lies at the place", "pageup", ("map",),
            "scroll_facts(-1)"),
    Command("map.help", "Help", "list these keys", "question_mark,f1", ("map",), "explain"),
    Command("map.back", "Back", "leave the map, nothing taken", "escape", ("map",), "back"),
    # the calculators
    Command("reckon.put", "Put in", "put the result into the visit, as far as it has a place",
            "ctrl+s", ("reckon",), "put", footer=True),
    Command("reckon.next", "Next page", "the next calculator", "pagedown,ctrl+n", ("reckon",),
            "page(1)", footer=True),
    Command("reckon.before", "Page back", "the calculator before", "pageup,ctrl+o", ("reckon",),
            "page(-1)", footer=True),
    Command("reckon.help", "Help", "explain the calculators and list their keys", "f1",
            ("reckon",), "explain", footer=True),
    Command("reckon.back", "Leave", "leave; what was typed is kept until the screen is left",
            "escape,f7", ("reckon",), "back", footer=True),
)  # fmt: skip
