"""What is said about photos: how to take them, and what they must never be used for."""

PROTOCOL = (
    "Wait until the line is healed: day 28 at the earliest, best on the planned day.",
    "Same room, same two soft lamps left and right, curtain closed, other lamps off. No flash. "
    "Take lamps of 4,000 K or more: the number stands on the lamp or its box. The higher it is, "
    "the less yellow the light.",
    "Same phone, 2x lens, about 30 cm away. No beauty mode, no night mode. If the camera can set "
    "its white balance, set it on the grey bar.",
    "Hold the phone parallel to the strip. Tipped by 20 degrees towards brow or cheek, the line "
    "looks 5 to 6 % narrower, and the kit cannot see that.",
    "Eye closed and relaxed, not squeezed. Lid clean and dry: no make-up, no ointment, no lash "
    "extensions. Lashes point away from the line.",
    "Hold the strip on the cheek-bone or the brow, level with the lid and along it, flat and near "
    "the line: it must lie as far from the phone as the lid does.",
    "Tap the grey bar to set focus and light, then take the photo. Keep 6 mm of bare lid beside "
    "the line in the picture.",
    "Put the phone down, take it up again, and take a second photo of every third eyelid: it "
    "shows how small a change your photos can tell.",
)
"""Common practice, no source, but for what the checks of the kit ask."""

PHOTO_CAUTIONS = (
    "Never lay a card, scale or strip on the eye, on the lashes or on broken skin. A fresh strip "
    "for every client.",
    "Photos of eyes identify people. They stay in the studio, and so does every picture on this "
    "page. Only numbers leave it, and only with consent.",
    "No photo replaces looking at the eye. Stop and refer at once on eye pain, changed vision, "
    "suspected injury of the cornea, infection or an allergic reaction.",
    "A photo cannot tell between-lash work from lashes: score it blind by grades.",
)
