"""Words every calculator prints."""

from __future__ import annotations

CAUTION = "Label, local law and the vet's judgement rule."
