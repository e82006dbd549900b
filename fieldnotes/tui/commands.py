"""The command table: one row per command. Keys, footer, palette and help all read it."""

from __future__ import annotations

from dataclasses import dataclass

from textual.binding import Binding

APP = "app"
MODAL = ("map",)
CASE_SCREENS = ("today", "cases", "days", "case")


@dataclass(frozen=True)
class Command:
    """One thing the vet can do with one key, and the screens it is for (`app` is all).

    `action` is the Textual action; `footer` rows are shown at the foot of the screen.
    """

    id: str
    title: str
    help: str
    key: str
    screens: tuple[str, ...]
    action: str
    footer: bool = False

    @property
    def shown_key(self) -> str:
        """The key as it is spoken of."""
        first = self.key.split(",")[0]
        names = {
            "question_mark": "?",
            "slash": "/",
            "plus": "+",
            "minus": "-",
            "pagedown": "PgDn",
            "pageup": "PgUp",
        }
        return names.get(first, first.replace("ctrl+", "^").replace("escape", "Esc"))


COMMANDS = (
    # everywhere
    Command("help", "Help", "explain this screen and list its keys", "question_mark,f1", (APP,),
            "app.explain", footer=True),
    Command("theme", "Day / night", "switch between day, night and 16 colours", "f2", (APP,),
            "app.next_theme"),
    Command("quit", "Quit", "leave; drafts are kept", "q,ctrl+q", (APP,), "app.quit"),
    Command("go.today", "Today", "the round, what is overdue, what to load", "1", (APP,),
            "app.go('today')"),
    Command("go.cases", "Cases", "the list of cases", "2", (APP,), "app.go('cases')"),
    Command("go.days", "Coming days", "what is due in the next two weeks", "3", (APP,),
            "app.go('days')"),
    Command("go.outbox", "Outbox", "letters to owners and where they stand", "4", (APP,),
            "app.go('outbox')"),
    Command("go.outcomes", "Outcomes", "days to closure and complications over all cases", "5",
            (APP,), "app.go('outcomes')"),
    Command("go.vials", "Controlled drugs", "the register: vials, balances, doses not booked", "6",
            (APP,), "app.go('vials')"),
    Command("go.formulary", "Formulary", "drugs with their doses; the practice's own figures", "7",
            (APP,), "app.go('formulary')"),
    Command("go.rules", "Rules", "the follow-up rules, and what the sources dispute", "0", (APP,),
            "app.go('rules')"),
    Command("go.road", "Route", "the day as it runs: mark stops, calls, replanning", "8", (APP,),
            "app.go('road')"),
    Command("go.rounds", "Rounds", "which visit on which of the coming days", "9", (APP,),
            "app.go('rounds')"),
    # the day as it runs
    Command("road.there", "There", "the stop under the cursor is reached; logs the drive", "a",
            ("road",), "there", footer=True),
    Command("road.done", "Done", "the stop is done; logs the drive and the stay", "d", ("road",),
            "done", footer=True),
    Command("road.later", "15 min later", "the stop takes, or is reached, 15 min later", "l",
            ("road",), "later", footer=True),
    Command("road.call", "Call", "take an urgent call in", "i", ("road",), "form('road_call')",
            footer=True),
    Command("road.accept", "Take it", "take the proposed order; else announce the one shown", "y",
            ("road",), "accept", footer=True),
    Command("road.tell", "Owner", "what the owners at the stop are told", "w", ("road",), "tell",
            footer=True),
    Command("road.open", "Open", "open the case under the cursor", "enter", ("road",), "open"),
    Command("road.skip", "Leave out", "leave the stop out today, with a reason", "x", ("road",),
            "ask_stop('road_skip')"),
    Command("road.lock", "Lock", "first, last, at a fixed time, today in any case", "f",
            ("road",), "ask_stop('road_lock')"),
    Command("road.withdraw", "Call off", "take the call at the stop out again", "c", ("road",),
            "ask_stop('road_withdraw')"),
    Command("road.reopen", "Take back", "take back what was marked of the stop", "r", ("road",),
            "reopen"),
    Command("road.set_off", "Set off", "the base was left", "s", ("road",), "set_off"),
    Command("road.rested", "Break", "the break was taken and is over", "b", ("road",), "rested"),
    Command("road.keep", "Keep drive", "put an odd drive among the known ones", "o", ("road",),
            "keep_drive"),
    Command("road.map", "Map", "the rest of the round on a map", "m", ("road",),
            "large('roadmap')"),
    Command("road.back", "Back", "back to the list", "escape", ("road",), "back"),
    Command("road.days", "Break, caps", "the break, and the most visits or minutes of a day", "B",
            ("road", "rounds"), "form('road_days')"),
    Command("tell.copy", "Copy", "put the text on the clipboard", "c", ("tell",), "copy",
            footer=True),
    Command("tell.told", "Told", "keep that the owner was told this", "t", ("tell",), "told",
            footer=True),
    Command("tell.back", "Back", "back to the route", "escape", ("tell",), "back", footer=True),
    # the days to come
    Command("rounds.open", "Open", "open the case under the cursor", "enter", ("rounds",), "open",
            footer=True),
    Command("rounds.more", "More days", "plan 5 working days more", "plus,full_stop", ("rounds",),
            "days(5)", footer=True),
    Command("rounds.fewer", "Fewer days", "plan 5 working days less", "minus,comma", ("rounds",),
            "days(-5)", footer=True),
    Command("rounds.again", "Plan again", "plan the days anew", "p", ("rounds",), "again",
            footer=True),
    Command("rounds.stop", "Stop", "stop planning; the best plan so far is shown", "escape",
            ("rounds",), "stop", footer=True),
    Command("go.upkeep", "Upkeep", "where the records lie: check, back up, mend, import", "0",
            (APP,), "app.go('upkeep')"),
    # upkeep
    Command("upkeep.check", "Check", "verify every record, its hash and its chain", "c",
            ("upkeep",), "check", footer=True),
    Command("upkeep.backup", "Back up", "write one verified archive", "b", ("upkeep",),
            "back_up", footer=True),
    Command("upkeep.mend", "Mend", "put back what is damaged or missing as sealed", "m",
            ("upkeep",), "mend", footer=True),
    Command("upkeep.import", "Import", "owners, premises, horses or cases from a file", "i",
            ("upkeep",), "bring_in", footer=True),
    Command("upkeep.old", "Old cases", "closed cases past their retention time", "o",
            ("upkeep",), "old", footer=True),
    Command("upkeep.delete", "Delete them", "delete the old cases shown, a tombstone each", "X",
            ("upkeep",), "delete"),
    Command("upkeep.cancel", "Back", "put the line for a file away, or stop a long work", "escape",
            ("upkeep",), "cancel"),
    # import
    Command("import.column", "Next column", "another column for the field under the cursor",
            "right", ("import",), "column(1)", footer=True),
    Command("import.column_back", "Column before", "the column before", "left", ("import",),
            "column(-1)"),
    Command("import.table", "Other table", "owners, premises or horses", "t", ("import",),
            "table", footer=True),
    Command("import.write", "Write", "write all of it, if nothing is wrong", "ctrl+s",
            ("import",), "write", footer=True),
    Command("import.leave", "Leave", "back to upkeep; nothing is written", "escape", ("import",),
            "leave", footer=True),
    # drafts
    Command("drafts.open", "Go on", "go on with the form under the cursor", "enter", ("drafts",),
            "open", footer=True),
    Command("drafts.discard", "Throw away", "delete the draft under the cursor", "X", ("drafts",),
            "throw_away", footer=True),
    Command("drafts.leave", "Back", "back; the drafts stay", "escape", ("drafts",), "leave",
            footer=True),
    # today
    Command("today.open", "Open", "open the case under the cursor", "enter", ("today",), "open",
            footer=True),
    Command("today.new", "New case", "write up a first visit", "n", ("today",), "new",
            footer=True),
    Command("today.overdue", "Overdue", "everything overdue and why it matters", "x", ("today",),
            "large('overdue')", footer=True),
    Command("today.load", "To load", "what to load, and for which stops", "l", ("today",),
            "large('load')", footer=True),
    Command("today.stock", "Stock", "count what is in the truck", "S", ("today", "road"),
            "form('stock')"),
    Command("today.map", "Map", "the round on a map", "m", ("today",), "large('roundmap')"),
    Command("today.back", "Back", "back to the round", "escape", ("today",), "back"),
    # one case
    Command("case.handout", "Handout", "the owner's handout as the owner will read it", "h",
            ("case",), "handout", footer=True),
    Command("case.plan", "Plan", "the plan with its windows and reasons, large", "p", ("case",),
            "large('plan')", footer=True),
    Command("case.timeline", "Timeline", "every entry, newest first, large", "l", ("case",),
            "large('timeline')", footer=True),
    Command("case.back", "Back", "back to the whole case, then to the list", "escape",
            ("case",), "back", footer=True),
    Command("case.wounds", "Wounds", "the wounds with sizes and flags, large", "w", ("case",),
            "large('wounds')"),
    Command("case.map", "Map", "the body map, large", "m", ("case",), "large('map')"),
    Command("case.view", "Other view", "the body map from another side", "z", ("case",), "view"),
    Command("case.course", "Course", "the course of healing, large", "g", ("case",),
            "large('course')"),
    # case list
    Command("cases.new", "New case", "write up a first visit", "n", ("cases",), "new",
            footer=True),
    Command("cases.open", "Open", "open the case under the cursor", "enter", ("cases",),
            "open", footer=True),
    Command("cases.search", "Search", "narrow the list by horse, owner, place or region",
            "slash", ("cases",), "search", footer=True),
    Command("cases.status", "Open / all", "show open cases only, or all", "a", ("cases",),
            "status", footer=True),
    Command("cases.recheck", "Recheck", "write up a recheck of the case under the cursor", "v",
            CASE_SCREENS, "form('recheck')", footer=True),
    Command("cases.report", "Owner called", "write down what the owner reports", "o",
            CASE_SCREENS, "form('report')"),
    Command("cases.note", "Note", "add a free note", "t", CASE_SCREENS, "form('note')"),
    Command("cases.end", "End of case", "healed, discharged or closed", "e", CASE_SCREENS,
            "form('discharge')"),
    Command("cases.death", "Death", "the horse died or was euthanased", "D", CASE_SCREENS,
            "form('death')"),
    Command("cases.referral", "Referral", "offered, accepted, declined, returned", "R",
            CASE_SCREENS, "form('referral')"),
    Command("cases.hold", "Hold", "put the case on hold or take it off", "H", CASE_SCREENS,
            "form('hold')"),
    Command("cases.consent", "Consent", "what was agreed to or declined", "C",
            CASE_SCREENS, "form('consent')"),
    Command("cases.amend", "Amend", "correct an entry; the old text stays beside it", "A",
            ("today", "cases", "case"), "form('amendment')"),
    Command("cases.followup", "Follow-up", "done, moved, missed or cancelled", "f",
            CASE_SCREENS, "form('outcome')"),
    Command("cases.flag", "Answer a flag", "accepted, wait or not applicable, with the reason",
            "F", CASE_SCREENS, "form('flag_answer')"),
    Command("register.horse", "New horse", "add a horse to the register", "N", ("today", "cases"),
            "form('horse')"),
    Command("register.owner", "New owner", "add an owner to the register", "O", ("today", "cases"),
            "form('owner')"),
    Command("register.premises", "New premises", "add a place where horses stand", "P",
            ("today", "cases"), "form('premises')"),
    Command("register.practice", "Practice", "name, phones, base and hours", "ctrl+r",
            ("today", "cases"), "form('practice')"),
    Command("draft.resume", "Drafts", "take up a form that was not saved", "u", ("today", "cases"),
            "drafts"),
    # coming days and outbox
    Command("days.open", "Open", "open the case under the cursor", "enter", ("days", "outbox"),
            "open", footer=True),
    Command("days.who", "Vet / owner", "show the vet's, the owners', or both", "w", ("days",),
            "who", footer=True),
    Command("outcomes.group", "Group by", "by place, by closure, by bandage", "b", ("outcomes",),
            "group", footer=True),
    # rules
    Command("rules.open", "Change", "change the rule, or settle the dispute, under the cursor",
            "enter", ("rules",), "open", footer=True),
    Command("rules.new", "Own rule", "add a rule of the practice's own", "n", ("rules",),
            "form('new_rule')", footer=True),
    Command("rules.back", "Back", "back to the round", "escape", ("rules",), "back", footer=True),
    # formulary
    Command("formulary.open", "Large", "the drug's doses and sources, large", "enter",
            ("formulary",), "open"),
    Command("formulary.confirm", "Confirm", "the figures were compared with the label; or not",
            "y", ("formulary",), "confirm", footer=True),
    Command("formulary.dose", "Own dose", "the dose the practice uses", "d", ("formulary",),
            "form('own_dose')", footer=True),
    Command("formulary.strength", "Strength", "a strength the practice stocks", "s",
            ("formulary",), "form('own_strength')", footer=True),
    Command("formulary.choose", "Choose", "the published dose it goes by", "c",
            ("formulary",), "form('own_choice')", footer=True),
    Command("formulary.price", "Price", "what one mL, tablet ... costs", "p", ("formulary",),
            "form('own_price')", footer=True),
    Command("formulary.mark", "Register", "keep it in the controlled-drug register, or not", "m",
            ("formulary",), "form('own_mark')"),
    Command("formulary.find", "Only open", "all drugs, or those nobody confirmed", "a",
            ("formulary",), "status"),
    Command("formulary.draft", "Drafts", "take up a form that was not saved", "u",
            ("formulary",), "drafts"),
    Command("formulary.back", "Back", "back to the list", "escape", ("formulary",), "back"),
    # controlled-drug register
    Command("vials.open", "Book / entries", "book the dose, or read the vial's entries, large",
            "enter", ("vials",), "open"),
    Command("vials.receive", "Vial in", "take a vial into stock", "n", ("vials",),
            "form('vial_receive')", footer=True),
    Command("vials.draw", "Draw", "a draw that no visit books", "d", ("vials",),
            "form('vial_draw')", footer=True),
    Command("vials.waste", "Waste", "spilt or left over, with a witness", "w", ("vials",),
            "form('vial_waste')", footer=True),
    Command("vials.count", "Count", "what is really in the vial", "c", ("vials",),
            "form('vial_count')", footer=True),
    Command("vials.correct", "Correct", "correct an entry by a new one beside it", "x",
            ("vials",), "form('vial_correct')", footer=True),
    Command("vials.leave", "Out of stock", "returned, destroyed or lost", "r", ("vials",),
            "form('vial_leave')"),
    Command("vials.all", "In stock / all", "show empty vials as well", "a", ("vials",), "status"),
    Command("vials.draft", "Drafts", "take up a form that was not saved", "u", ("vials",),
            "drafts"),
    Command("vials.back", "Back", "back to the list", "escape", ("vials",), "back"),
    # handout
    Command("handout.queue", "Put in outbox", "queue it for the owner; nothing is sent", "o",
            ("handout",), "queue", footer=True),
    Command("handout.save", "Save to file", "write it to a file", "s", ("handout",), "save",
            footer=True),
    Command("handout.format", "Other format", "markdown, plain text, web page, message", "f",
            ("handout",), "format", footer=True),
    Command("handout.back", "Back", "back to the case", "escape", ("handout",), "back",
            footer=True),
    # forms
    Command("form.save", "Save", "check everything, then save", "ctrl+s", ("form",), "save",
            footer=True),
    Command("form.next", "Next page", "go to the next page of the form", "pagedown,ctrl+n",
            ("form",), "page(1)", footer=True),
    Command("form.back", "Page back", "go to the page before", "pageup,ctrl+o", ("form",),
            "page(-1)", footer=True),
    Command("form.leave", "Leave", "leave the form; what was typed is kept as a draft", "escape",
            ("form",), "leave", footer=True),
    Command("form.review", "Review", "see every problem and the plan", "f4", ("form",), "review",
            footer=True),
    Command("form.map", "Body map", "choose the region of a wound on the map", "f3", ("form",),
            "map"),
    # the body map over a form
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
    # after saving a first visit or a recheck
    Command("saved.queue", "Queue handout", "put the owner's handout in the outbox", "h",
            ("saved",), "queue", footer=True),
    Command("saved.handout", "Read handout", "read the handout first", "r", ("saved",), "read",
            footer=True),
    Command("saved.done", "Done", "back to the list", "escape,enter", ("saved",), "done",
            footer=True),
    # an empty store
    Command("empty.setup", "Set up", "enter the practice and who signs", "s", ("empty",),
            "setup", footer=True),
    Command("empty.import", "Import", "read a file of records", "i", ("empty",), "bring_in",
            footer=True),
    Command("empty.demo", "Demo", "look at the sample practice", "d", ("empty",), "demo",
            footer=True),
)  # fmt: skip


def commands_for(screen: str) -> tuple[Command, ...]:
    """Give a screen's own commands, then those that work everywhere, if it leaves them to."""
    own = tuple(c for c in COMMANDS if screen in c.screens)
    if screen in MODAL:
        return own
    return own + tuple(c for c in COMMANDS if APP in c.screens)


def bindings(screen: str) -> list[Binding]:
    """Give the key bindings of one screen (or of the app) from the table."""
    return [
        Binding(
            c.key,
            c.action,
            c.title,
            show=c.footer,
            key_display=c.shown_key,
            tooltip=c.help,
            id=c.id,
        )
        for c in COMMANDS
        if screen in c.screens
    ]
