"""Strict JSON: what could be read in two ways is refused, with its place."""

from __future__ import annotations

import contextlib
import hashlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldnotes.domain.errors import StoreError
from fieldnotes.storage.strict_json import LARGEST_INTEGER, JsonRefusedError, dumps, loads

VALUES = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-LARGEST_INTEGER, LARGEST_INTEGER)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(st.characters(exclude_categories=("Cs",))),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(st.text(st.characters(exclude_categories=("Cs",))), inner, max_size=4)
    ),
    max_leaves=20,
)

REFUSED = [
    (b'{"mg": NaN}', "line 1, column 8"),
    (b'{"mg":\n Infinity}', "line 2, column 2"),
    (b'{"mg": -Infinity}', "column 8"),
    (b'{"mg": 1e999}', "too large"),
    (b'{"mg": -1e999}', "too large"),
    (b'{"n": 9007199254740993}', "line 1, column 7"),
    (b'{"n": ' + b"9" * 5000 + b"}", "too large"),
    (b'{"a": 1,\n "a": 2}', "line 2, column 2: the key 'a' stands twice"),
    (b'{"b": {"a": 1, "\\u0061": 2}}', "stands twice"),
    (b'["\\ud800"]', "half a character"),
    (b'["\\udc00\\ud800"]', "half a character"),
    (b'{"\\ud83d": 1}', "half a character"),
    (b'["\xff"]', "not UTF-8"),
    (b'{"a": 1}\n\nx', "line 3, column 1"),
    (b"{} {}", "Extra data"),
    (b"", "line 1, column 1"),
    (b'{"a": 1,}', "line 1"),
    (b'{"a": 01}', "line 1"),
    (b'{"a": "two\nlines"}', "control character"),
    (b"[" * 65 + b"]" * 65, "nested too deeply"),
    (b"[" * 500_000, "nested too deeply"),
    (b'"' + b'\\"' * 200_000, "line 1"),
    (b" " * 10_000_001, "10 MB"),
    ('["\ud800"]', "half a character"),
]


@pytest.mark.parametrize(("data", "told"), REFUSED)
def test_what_is_refused_names_the_file_and_the_place(data, told):
    with pytest.raises(JsonRefusedError, match=r"^case\.json") as caught:
        loads(data, name="case.json")
    assert told in str(caught.value)


@pytest.mark.parametrize(
    ("data", "value"),
    [
        (b'\xef\xbb\xbf{"a": 1}', {"a": 1}),
        ("\ufeff[1.5e3]", [1500.0]),
        (b"9007199254740992", LARGEST_INTEGER),
        (b'["\\ud83d\\ude00"]', ["\N{GRINNING FACE}"]),
        (b'{"a": {"a": 1}, "b": "a", "c": ["a", "a"]}', {"a": {"a": 1}, "b": "a", "c": ["a", "a"]}),
        (b'{"a": "{[{[ \\" NaN 1e999 : "}', {"a": '{[{[ " NaN 1e999 : '}),
        (b"[" * 64 + b"]" * 64, None),
        (b"[" + b"[]," * 100 + b"{}]", None),
    ],
)
def test_sound_documents_are_read(data, value):
    found = loads(data, name="x")
    assert value is None or found == value


@given(VALUES)
def test_a_written_value_reads_back_the_same(value):
    assert loads(dumps(value), name="x") == value


@given(st.binary(max_size=200) | st.text(max_size=200))
def test_no_bytes_do_anything_but_read_or_be_refused(data):
    with contextlib.suppress(JsonRefusedError):
        loads(data, name="x")


def test_the_canonical_form_is_the_same_whatever_the_order_of_keys():
    one, other = dumps({"b": 1, "a": "é"}), dumps({"a": "é", "b": 1})
    assert one == other == '{"a":"é","b":1}'.encode()
    assert hashlib.sha256(one).digest() == hashlib.sha256(other).digest()


@pytest.mark.parametrize("value", [float("nan"), float("inf"), "\ud800"])
def test_what_could_not_be_read_back_is_not_written(value):
    with pytest.raises(StoreError):
        dumps([value])
