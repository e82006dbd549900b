"""Of each practice, person, place and animal the latest record counts."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from fieldnotes.domain.entries import (
    REGISTER,
    HorseSet,
    OwnerSet,
    PersonSet,
    PracticeSet,
    PremisesSet,
)
from fieldnotes.domain.patients import PartyRole
from fieldnotes.domain.register import Register, fold_register
from tests.builders import (
    DAY0,
    a_horse,
    a_person,
    a_practice,
    a_premises,
    an_owner,
    day,
    entries,
)

BODIES = (
    PracticeSet(a_practice()),
    PracticeSet(a_practice(name="Dale Practice")),
    PersonSet(a_person()),
    OwnerSet(an_owner()),
    OwnerSet(an_owner(phone="07700 900199")),
    OwnerSet(an_owner(id="owner2", name="Otto Owner")),
    PremisesSet(a_premises()),
    PremisesSet(a_premises(position=None)),
    HorseSet(a_horse()),
    HorseSet(a_horse(weight_kg=None)),
)


def folded(bodies):
    return fold_register(entries(*bodies, stream=REGISTER))


@given(st.lists(st.sampled_from(BODIES), max_size=10).flatmap(st.permutations), st.randoms())
def test_the_register_is_the_same_whatever_order_its_entries_are_read_in(bodies, chance):
    told = list(entries(*bodies, stream=REGISTER))
    chance.shuffle(told)
    assert fold_register(told) == folded(bodies)


@given(st.lists(st.sampled_from(BODIES), min_size=1, max_size=10))
def test_the_latest_record_of_each_wins(bodies):
    owners = {b.owner.id: b.owner for b in bodies if isinstance(b, OwnerSet)}
    practices = [b.practice for b in bodies if isinstance(b, PracticeSet)]
    register = folded(bodies)
    assert register.owners == owners
    assert register.practice == (practices[-1] if practices else None)


def test_nothing_recorded_is_an_empty_register():
    assert fold_register(()) == Register()


def test_who_holds_a_role_depends_on_the_day():
    parties = a_horse().parties
    sold = a_horse(
        parties=(
            type(parties[0])(PartyRole.OWNER, "owner1", None, day(9)),
            type(parties[0])(PartyRole.OWNER, "owner2", day(10)),
        )
    )
    assert sold.party(PartyRole.OWNER, day(9)) == "owner1"
    assert sold.party(PartyRole.OWNER, day(10)) == "owner2"
    assert sold.party(PartyRole.AGENT, DAY0) is None
