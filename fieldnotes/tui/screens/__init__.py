"""Screens: what the app shows, one file each."""
