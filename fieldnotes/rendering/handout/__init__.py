"""The owner's aftercare handout: what it says (sheet), and its pages."""
