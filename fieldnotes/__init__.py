"""fieldnotes: wound records, aftercare and recheck rounds for ambulatory equine vets."""

__version__ = "0.1.0"
