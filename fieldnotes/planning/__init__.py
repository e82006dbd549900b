"""Follow-ups, visits, travel and rounds, as pure functions."""
