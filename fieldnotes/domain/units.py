"""Units of the trade and their exact conversions."""

from __future__ import annotations

KG_PER_LB = 0.45359237  # exact: international pound, 1959 agreement
CM_PER_IN = 2.54  # exact: international inch, 1959 agreement
MM_PER_CM = 10.0


def kg_from_lb(pounds: float) -> float:
    """Give kilograms."""
    return pounds * KG_PER_LB


def lb_from_kg(kilograms: float) -> float:
    """Give pounds."""
    return kilograms / KG_PER_LB


def cm_from_in(inches: float) -> float:
    """Give centimetres."""
    return inches * CM_PER_IN


def in_from_cm(centimetres: float) -> float:
    """Give inches."""
    return centimetres / CM_PER_IN


def celsius_from_fahrenheit(fahrenheit: float) -> float:
    """Give degrees Celsius."""
    return (fahrenheit - 32) * 5 / 9


def fahrenheit_from_celsius(celsius: float) -> float:
    """Give degrees Fahrenheit."""
    return celsius * 9 / 5 + 32
