"""What is typed is shown as typed, controls removed, in every output; it never becomes code."""

from __future__ import annotations

import csv
import email
import email.policy
import io
import json
import re
import unicodedata
import xml.etree.ElementTree as ET
from dataclasses import replace
from html.parser import HTMLParser

import pytest
from icalendar import Calendar
from markdown_it import MarkdownIt

from fieldnotes.casework.desk import Casework
from fieldnotes.cli.main import main
from fieldnotes.domain.entries import HorseSet, OwnerSet, PersonSet, PracticeSet, PremisesSet
from fieldnotes.domain.text import clean, clean_line
from fieldnotes.storage.casebook import Casebook, create_store
from tests.builders import (
    a_care,
    a_closure,
    a_drug_dispensed,
    a_finding,
    a_horse,
    a_person,
    a_practice,
    a_premises,
    a_visit,
    an_opening,
    an_owner,
    at,
    day,
)
from tests.hostile import HOSTILE

NOW = at(0, 12)

PAGE_TAGS = """
a html head meta title style body main header footer section article h1 h2 h3 h4 p ul ol li
table thead tbody tr th td strong em br hr div span figure figcaption blockquote
svg g path rect circle ellipse line polyline polygon text tspan desc defs pattern clippath
"""
ALLOWED_TAGS = set(PAGE_TAGS.split())
STEERING = set("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u200e\u200f")
ALLOWED_CONTROLS = {"\n", "\t", "\r"}


def short(text):
    return text if len(text) <= 30 else f"{text[:12]}...{len(text)}"


def ids(text):
    return re.sub(r"[^ -~]", "?", short(text))


class Outside:
    """A store in which every text is a hostile one, and the command line over it."""

    def __init__(self, folder, names, capture):
        self.folder, self.capture = folder, capture
        self.horse, self.owner, self.premises = (clean(name) for name in names)
        create_store(folder)
        desk = Casework(Casebook(folder), lambda: NOW)
        for body in records(*names):
            desk.save(body)
        self.ref = desk.open_case(opening(names[1]), visit(*names)).ref
        self.desk = desk

    def run(self, *words):
        self.capture.readouterr()
        code = main(["--data", str(self.folder), "--now", NOW.isoformat(), *words])
        out, err = self.capture.readouterr()
        assert code == 0, err.decode()
        return out.decode("utf-8")


def records(horse, owner, premises):
    return (
        PracticeSet(a_practice(name=premises)),
        PersonSet(a_person(name=owner)),
        OwnerSet(an_owner(name=owner, note=horse)),
        PremisesSet(a_premises(name=premises, access=owner)),
        HorseSet(a_horse(name=horse, breed=owner, allergies=(premises,), note=owner)),
    )


def opening(text):
    return replace(an_opening(), mechanism=text, history=text)


def visit(horse, owner, premises):
    return a_visit(
        0,
        history=horse,
        instructions=premises,
        findings=(a_finding(note=owner),),
        care=(a_care(closure=a_closure(pattern=owner, material=horse), note=horse),),
        dispensed=(a_drug_dispensed(amount=1.1, owner_dose=horse, note=owner),),
    )


def controls(text):
    """Give what would steer a terminal: control characters, halves and changes of direction."""
    found = {c for c in text if unicodedata.category(c) in {"Cc", "Cs"}} - ALLOWED_CONTROLS
    return found | (set(text) & STEERING)


class Page(HTMLParser):
    """The tags, attributes and words of a page, as a browser would see them."""

    def __init__(self, page):
        super().__init__(convert_charrefs=True)
        self.tags, self.attributes, self.words, self.links = set(), set(), [], []
        self.feed(page)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.tags.add(tag)
        self.attributes |= {name for name, _ in attrs}
        self.links += [value for name, value in attrs if name in {"href", "src", "xlink:href"}]

    def handle_data(self, data):
        self.words.append(data)

    def handle_comment(self, data):
        self.tags.add("comment")

    @property
    def text(self):
        return folded(" ".join(self.words))


def folded(text):
    return " ".join(text.split())


TOGETHER = [tuple(HOSTILE[(i + j) % len(HOSTILE)] for j in range(3)) for i in range(0, 47, 3)]
ALONE = [pytest.param((text,) * 3, marks=pytest.mark.long, id=ids(text)) for text in HOSTILE]


@pytest.mark.parametrize("names", [*TOGETHER, *ALONE], ids=lambda names: ids(" ".join(names)))
def test_hostile_text_is_shown_as_written_in_every_output(names, tmp_path, capsysbinary):
    """One store and one pass over all outputs: horse, owner and premises have such names.

    In the quick set each text is the name of one of them, in the long one of all three.
    """
    outside = Outside(tmp_path / "store", names, capsysbinary)
    for check in (records_show, day_shows, handouts_show, calendars_hold, exports_hold):
        check(outside)


def shows(document, *texts):
    """Whether a document has every text in it, white space apart, and nothing that steers."""
    assert not controls(document)
    return all(folded(text) in folded(document) for text in texts)


def records_show(outside):
    document = json.loads(outside.run("case", "show", outside.ref, "--json"))
    names = {key: document[key] for key in ("horse", "owner", "premises")}
    assert names == {key: getattr(outside, key) for key in names}
    assert document["mechanism"] == outside.owner
    assert document["visits"][0]["instructions"] == outside.premises
    text = outside.run("case", "show", outside.ref)
    assert shows(text, outside.horse, outside.owner, outside.premises)
    outside.desk.note(outside.ref, f"said: {outside.horse}")
    noted = json.loads(outside.run("case", "show", outside.ref, "--json"))["entries"][-1]
    assert noted["text"] == f"said: {outside.horse}"
    (listed,) = json.loads(outside.run("case", "list", "--json"))
    assert (listed["horse"], listed["owner"]) == (outside.horse, outside.owner)
    assert shows(outside.run("case", "list"), outside.horse, outside.owner, outside.premises)


def day_shows(outside):
    on = day(1).isoformat()
    due = json.loads(outside.run("due", "--date", on, "--days", "30", "--json"))
    assert due
    assert {(d["horse"], d["premises"]) for d in due} == {(outside.horse, outside.premises)}
    assert shows(outside.run("due", "--date", on, "--days", "30"), outside.horse, outside.premises)
    soon = min(d["earliest"] for d in due if d["by"] == "vet")
    route = json.loads(outside.run("route", "--date", soon, "--json"))
    assert [s["premises"] for s in route["stops"]] == [outside.premises]
    assert shows(outside.run("route", "--date", soon), outside.premises, outside.horse)
    table = outside.run("route", "--date", soon, "--format", "markdown")
    assert not controls(table)
    page = Page(MarkdownIt("commonmark", {"html": True}).enable("table").render(table))
    assert shows(page.text, outside.premises, outside.horse)
    plain = {"h1", "h2", "p", "table", "thead", "tbody", "tr", "th", "td", "ul", "li"}
    assert page.tags <= plain | {"a"}
    assert all(link.startswith("geo:") for link in page.links)  # the position, nothing typed
    gpx = outside.run("route", "--date", soon, "--format", "gpx")
    names = [e.text or "" for e in ET.fromstring(gpx).iter() if e.tag.endswith("name")]  # noqa: S314  (our own)
    assert shows("\n".join(names), outside.premises)
    places = json.loads(outside.run("route", "--date", soon, "--format", "geojson"))
    assert clean_line(outside.premises) in [f["properties"]["name"] for f in places["features"]]


def handouts_show(outside):
    markdown = outside.run("handout", outside.ref)
    page = Page(outside.run("handout", outside.ref, "--format", "html"))
    assert not controls(markdown)
    assert shows(outside.run("handout", outside.ref, "--format", "text"), outside.horse)
    assert shows(page.text, outside.horse, outside.premises)
    assert page.tags <= ALLOWED_TAGS
    assert all(link.startswith("tel:") for link in page.links)
    assert not [a for a in page.attributes if a.startswith("on")]
    other = Page(MarkdownIt("commonmark", {"html": True}).enable("table").render(markdown))
    assert not other.tags & {"script", "img", "b", "comment"}
    assert shows(other.text, outside.horse)


def calendars_hold(outside):
    mail = email.message_from_string(
        outside.run("handout", outside.ref, "--format", "eml"), policy=email.policy.default
    )
    assert set(mail.keys()) >= {"From", "To", "Subject", "Message-ID"}
    assert mail["Bcc"] is None
    assert len(mail.get_all("Subject")) == 1
    assert [a.addr_spec for a in mail["To"].addresses] == ["olive@example.org"]
    for one in (outside.run("calendar"), outside.run("calendar", outside.ref)):
        assert not controls(one)
        assert max(len(row.encode()) for row in one.split("\r\n")) <= 75  # RFC 5545, 3.1
        parsed = Calendar.from_ical(one)
        assert len(parsed.walk("VCALENDAR")) == 1
        summaries = [str(e.get("SUMMARY")) for e in parsed.walk("VEVENT")]
        assert shows("\n".join(summaries), outside.horse)


def exports_hold(outside):
    whole = json.loads(outside.run("export"))
    assert whole["cases"][0]["horse"] == outside.horse
    assert next(iter(whole["register"]["owners"].values()))["note"] == outside.horse
    table = outside.run("export", "--table", "cases")
    assert not controls(table)
    (row,) = csv.DictReader(io.StringIO(table, newline=""))
    for key in ("horse", "owner", "premises"):
        assert row[key].removeprefix("'") == getattr(outside, key).removeprefix("'")
        assert not row[key].startswith(("=", "+", "-", "@", "\t", "\r"))
    case = json.loads(outside.run("case", "export", outside.ref))
    assert case["entries"][0]["body"]["mechanism"] == outside.owner


def test_the_checks_see_what_they_look_for():
    """The negative control: each check must object to what it is there to catch."""
    assert controls("a\x1b[31m")
    assert controls("\u202e321")
    assert Page("<p>x<script>y</script></p>").tags - ALLOWED_TAGS
    assert "onerror" in Page("<img src=x onerror=alert(1)>").attributes
    assert Page("<p>&lt;b&gt; as written</p>").text == "<b> as written"
