"""The photographs of cases: taken in, listed, given out; and wounds traced on them."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

from fieldnotes.domain.errors import RefusedInputError, UnknownNameError
from fieldnotes.domain.pictures import Photograph
from fieldnotes.domain.text import clean_line

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable

    from fieldnotes.casework.desk import Casework
    from fieldnotes.casework.ports import Pictures
    from fieldnotes.casework.views import Saved
    from fieldnotes.domain.cases import Case
    from fieldnotes.domain.entries import Body
    from fieldnotes.rendering.pictures import Prepared

Data: TypeAlias = bytes  # inside the album that word is a method
SUFFIXES = {"jpeg": "jpg", "png": "png", "webp": "webp"}


@dataclass(frozen=True)
class Shot:
    """A picture file to be kept with a visit, and the wound it shows."""

    file: str
    wound: str = ""


@dataclass(frozen=True)
class Photo:
    """A photograph of a case with the entry that holds it."""

    entry: str
    case: str
    added_at: dt.datetime
    by: str
    picture: Photograph

    @property
    def when(self) -> dt.datetime:
        """When it was taken, else when it was added."""
        return self.picture.taken_at or self.added_at

    @property
    def file_name(self) -> str:
        """A name for the file outside the store: day, wound and entry; no name of anyone."""
        wound = f"-{self.picture.wound}" if self.picture.wound else ""
        suffix = SUFFIXES[self.picture.format.value]
        return f"{self.case}{wound}-{self.when:%Y%m%d}-{self.entry}.{suffix}"


class Album:
    """The pictures of one desk."""

    def __init__(self, desk: Casework, pictures: Pictures) -> None:
        self._desk = desk
        self._pictures = pictures

    def list(self, ref: str) -> tuple[Photo, ...]:
        """Give a case's photographs, oldest first."""
        return photos_of(self._desk.case(ref), self._desk.now().tzinfo)

    def bytes(self, ref: str, entry: str) -> bytes:
        """Give a photograph as it is kept; StoreError if it is missing or was altered."""
        photo = self.photo(ref, entry)
        return self._pictures.get(photo.case, photo.picture.sha256)

    def photo(self, ref: str, entry: str) -> Photo:
        """Give one photograph by any unique end of its entry's id, or the only one there is."""
        found = [p for p in self.list(ref) if p.entry.endswith(entry.strip())]
        if len(found) == 1:
            return found[0]
        reason = f"'{entry}' fits more than one photograph" if found else "there is no such one"
        raise UnknownNameError("photograph", reason, tuple(p.entry for p in found))

    def add(
        self,
        ref: str,
        file: str,
        wound: str = "",
        caption: str = "",
        *,
        keep_position: bool = False,
    ) -> Saved:
        """Copy a picture into the store, then say so in the record; refused, nothing is kept."""
        prepared = self._prepared(file, keep_position=keep_position)
        photograph = self._photograph(prepared, wound, clean_line(caption))
        full = self._desk.case(ref).ref
        for problem in self._desk.check(full, photograph):
            raise RefusedInputError(problem.field, problem.message)
        self._pictures.put(full, prepared.data)
        return self._desk.record(full, photograph)

    def fault(self, ref: str, file: str) -> str:
        """Say why a file cannot be added to a case; empty if it can."""
        try:
            photograph = self._photograph(self._prepared(file))
        except RefusedInputError as error:
            return error.reason
        return "; ".join(problem.message for problem in self._desk.check(ref, photograph))

    def unreadable(self, file: str) -> str:
        """Say why a file is no picture to be kept; empty if it is one."""
        from fieldnotes.rendering.pictures import decoded  # noqa: PLC0415  (only pictures pay for it)

        try:
            decoded(self.taken_in(file), self._desk.knowledge.limits)
        except RefusedInputError as error:
            return error.reason
        return ""

    def taken_in(self, file: str) -> Data:
        """Read a file from outside the store; RefusedInputError says what is wrong with it."""
        most = self._desk.knowledge.limits["picture_mb"].most
        return self._pictures.take_in(file, int(most * 1e6))

    def kept(self, ref: str, shots: Iterable[Shot]) -> tuple[Body, ...]:
        """Put the pictures of a visit into the store and give their entries, to be saved with it.

        RefusedInputError names the field `photos.WOUND`; then none is kept.
        """
        ready: tuple[tuple[Prepared, Photograph], ...] = ()
        for shot in shots:
            try:
                prepared = self._prepared(shot.file)
            except RefusedInputError as error:
                reason = f"{shot.file}: {error.reason}"
                raise RefusedInputError(f"photos.{shot.wound}", reason) from error
            ready = (*ready, (prepared, self._photograph(prepared, shot.wound)))
        for prepared, _ in ready:
            self._pictures.put(ref, prepared.data)
        return tuple(photograph for _, photograph in ready)

    def give_out(self, ref: str, folder: str, entry: str = "") -> tuple[str, ...]:
        """Write a case's photographs, or one of them, into a folder; gives the files' names."""
        chosen = (self.photo(ref, entry),) if entry else self.list(ref)
        written = []
        for photo in chosen:
            path = f"{folder.rstrip('/')}/{photo.file_name}"
            self._pictures.give_out(path, self._pictures.get(photo.case, photo.picture.sha256))
            written.append(path)
        return tuple(written)

    def _prepared(self, file: str, *, keep_position: bool = False) -> Prepared:
        from fieldnotes.rendering.pictures import prepare  # noqa: PLC0415  (only pictures pay for it)

        limits = self._desk.knowledge.limits
        return prepare(self.taken_in(file), limits, keep_position=keep_position)

    def _photograph(self, found: Prepared, wound: str = "", caption: str = "") -> Photograph:
        taken = found.taken
        if taken is not None and taken.tzinfo is None:
            taken = taken.replace(tzinfo=self._desk.now().tzinfo)
        return Photograph(
            sha256=hashlib.sha256(found.data).hexdigest(),
            format=found.format,
            width_px=found.width_px,
            height_px=found.height_px,
            original_sha256=found.original_sha256,
            wound=wound,
            caption=caption,
            taken_at=taken,
            position_kept=found.position_kept,
        )


def photos_of(case: Case, zone: dt.tzinfo | None) -> tuple[Photo, ...]:
    """Give a case's photographs, oldest first, times as in a zone."""
    found = (
        Photo(p.entry.id, case.ref, p.entry.time.astimezone(zone), p.entry.author, p.body)
        for p in case.photographs
    )
    return tuple(sorted(found, key=lambda photo: photo.when))
