"""Colours of every picture and page: apart in lightness, so that they survive grey print.

Marks reach 3:1 and text 4.5:1 against the paper (WCAG 2.1, success criteria 1.4.11 and 1.4.3).
Colour never carries a meaning alone; arms also differ in marker, place and letter.
"""

PAPER = "#FFFFFF"
INK = "#1A1A1A"
QUIET = "#555555"
JOIN = "#8A8A8A"
BAND = "#E8EAEE"
ARM_A = "#0B2C5C"
ARM_B = "#B35900"
ALARM = "#9C1C2E"

TEXT = (INK, QUIET, ARM_A, ARM_B, ALARM)
"""What letters may be drawn in."""

MARKS = (*TEXT, JOIN)
"""What lines and markers may be drawn in."""

ARM_COLOURS = {"A": ARM_A, "B": ARM_B}
ARM_MARKERS = {"A": "o", "B": "s"}
ARM_SIGNS = {"A": "●", "B": "■"}
"""The same marks as letters, beside an arm's name."""
