"""Faults in a grower's words."""

from __future__ import annotations

import math

SAID = {
    "valve too shut": "Bed {subject} gets too little: its valve is too shut",
    "valve too open": "Bed {subject} gets too much: its valve is too open",
    "standpipe too long": "Bed {subject} cannot work: its standpipe is too long",
    "standpipe too short": "Bed {subject} cannot work: its standpipe is too short",
    "standpipe too wide": "Bed {subject} cannot work as asked: its standpipe is too wide",
    "standpipe too narrow": "Bed {subject} cannot work as asked: its standpipe is too narrow",
    "bell too low": "Bed {subject} cannot work: its bell is too low",
    "bell too narrow": "Bed {subject} cannot work: its bell is too narrow",
    "siphon does not suit": "Bed {subject} cannot work as asked with the siphon it has",
    "other valves too open": "Bed {subject} gets too little with its own valve wide open: others "
    "take its water, bed {blamed} most",
    "stretch too narrow": "Bed {subject} gets too little with its own valve wide open: {blamed} is "
    "too narrow",
    "stretch narrowed": "Bed {subject} gets too little with its own valve wide open: {blamed} is "
    "narrowed",
    "pump too weak": "Bed {subject} gets too little with its own valve wide open: the pump is too "
    "weak",
    "pump worn": "Bed {subject} gets too little with its own valve wide open: the pump is worn",
    "sump too small": "The {subject} is not safe: the sump is too small",
    "too little water": "The {subject} is not safe: there is too little water",
    "too much water": "{named} is not safe: there is too much water",
    "return pipe too small": "{subject} cannot carry the bursts of the siphons above it",
    "return pipe too flat": "{subject} falls less than the plumbing code asks for its size",
    "return pipe falls too far": "{subject} ends under the sump's water: from the siphons down to "
    "it, return pipe falls further than there is room",
    "tank too low": "Bed {subject} gets too little with its own valve wide open: the tank over the "
    "beds stands too low",
    "tank runs down": "The {subject} is not kept full: the pump brings less than the beds take",
    "overflow too small": "The {subject} may run over its rim: its overflow pipe carries less than "
    "the pump brings",
    "water too fast": "Water runs too fast in {subject}",
}


def fault_words(subject: str, cause: str, blamed: str, margin: float, detail: str) -> str:
    """Return a fault as a sentence: what fails, why, and by how much."""
    named = "The sump" if subject == "sump" else f"Bed {subject}"
    said = SAID[cause].format(subject=subject, blamed=blamed, named=named)
    by = "over" if cause == "valve too open" else "short"
    short = "" if math.isnan(margin) or margin <= -1.0 else f", {by} by {-margin:.0%}"
    why = f" ({detail})" if detail else ""
    return f"{said}{why}{short}."
