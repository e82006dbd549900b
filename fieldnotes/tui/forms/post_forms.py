"""Forms of the post: the mail server, own words on one handout, how its owner is reached."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from fieldnotes.domain.entries import HorseSet, OwnerSet, PracticeSet
from fieldnotes.domain.errors import RefusedInputError
from fieldnotes.domain.mail import IMPLICIT_TLS_PORT, MailServer
from fieldnotes.domain.paperwork import HandoutWording
from fieldnotes.domain.patients import LANGUAGES, WeightMethod
from fieldnotes.tui.fields.choices import ChoiceField, of_words
from fieldnotes.tui.fields.field import Field, LongText
from fieldnotes.tui.fields.measures import NumberField
from fieldnotes.tui.forms.register_forms import RegisterForm
from fieldnotes.tui.forms.small import CaseForm
from fieldnotes.tui.forms.weighing import METHOD, as_weighed, weighed, weight_field

if TYPE_CHECKING:
    from fieldnotes.casework.desk import Casework
    from fieldnotes.tui.forms.form import Form, Reading


def server_fields(known: MailServer, *, required: bool = True) -> tuple[Field, ...]:
    """Give the fields of where mail is handed in; there is none for a password."""
    return (
        Field(key="host", label="Mail server", default=known.host, required=required,
              hint="its name, as in its certificate"),
        NumberField(key="port", label="Port", least=1, most=65535, default=str(known.port),
                    hint="465, or a port with STARTTLS such as 587"),
        Field(key="user", label="User", default=known.user,
              hint="the password is asked for when mail is sent, or lies in the keyring"),
        Field(key="from", label="From", default=known.sender, hint="empty: the practice's email"),
    )  # fmt: skip


def read_server(r: Reading) -> MailServer:
    """Give the server of what was typed."""
    port = int(r.get("port") or IMPLICIT_TLS_PORT)
    return MailServer(r.get("host", ""), port, r.get("user", ""), r.get("from", ""))


def mail_server(desk: Casework, _ref: str = "") -> Form:
    """Give the form for where mail is handed in; it has no field for a password."""
    practice = desk.practice()
    fields = server_fields(practice.mail_server or MailServer(""))

    def build(r: Reading) -> PracticeSet:
        return PracticeSet(replace(practice, mail_server=read_server(r)))

    return RegisterForm(desk, "mail_server", "Mail server", fields, build)


def contact(desk: Casework, ref: str) -> Form:
    """Give the form for how a case's owner is reached."""
    owner = desk.file(ref).owner
    if owner is None:
        raise RefusedInputError("owner", "this horse has no owner on record")
    names = (("phone", "Phone"), ("email", "Email"), ("address", "Address"))
    texts = tuple(Field(key=k, label=w, default=getattr(owner, k)) for k, w in names)
    tongue = ChoiceField(key="language", label="Language", given=of_words(LANGUAGES),
                         default=owner.language, hint="of handout, mail and calendar; empty: "
                         "the practice's")  # fmt: skip
    fields = (*texts, tongue)

    def build(r: Reading) -> OwnerSet:
        told = {k: r.get(k, "") for k in ("phone", "email", "address", "language")}
        return OwnerSet(replace(owner, **told))

    return RegisterForm(desk, "contact", f"Contact: {owner.name}", fields, build, case=ref)


def weight(desk: Casework, ref: str) -> Form:
    """Give the form for a new body weight of a case's horse."""
    horse, today = desk.file(ref).horse, desk.today()
    fields = (
        weight_field(desk.practice().units, required=True),
        ChoiceField(key=METHOD, label="Weight by", default=WeightMethod.TAPE,
                    given=of_words(m.value for m in WeightMethod)),
    )  # fmt: skip

    def build(r: Reading) -> HorseSet:
        return HorseSet(as_weighed(horse, weighed(horse, r, today)) or horse)

    return RegisterForm(desk, "weight", f"Weight: {horse.name}", fields, build, case=ref)


def wording(desk: Casework, ref: str) -> Form:
    """Give the form for the vet's own words on a case's handout."""
    fields = (
        LongText(key="text", label="Own words", default=desk.post.words(ref),
                 hint="first under 'From your vet'; empty takes them out"),
    )  # fmt: skip
    return CaseForm(
        desk, ref, "wording", "Own words for the handout", lambda *_: fields,
        lambda r: HandoutWording(r.get("text", "")),
    )  # fmt: skip
