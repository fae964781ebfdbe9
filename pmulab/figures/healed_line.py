"""The measured line of one photo: laid straight, in ten parts, and in profile.

The picture holds a strip of the photo. It is for the studio only, and no part of any handout.
"""

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from pmulab.figures.palette import ALARM, ARM_A, ARM_B, BAND, INK, QUIET
from pmulab.figures.picture import Picture, drawn
from pmulab.photo.colour import to_lab
from pmulab.photo.measuring import Measured, Reading
from pmulab.photo.pigment import SEGMENTS, Lid, kept, pigmented

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

WIDTH, HEIGHT = 7.1, 4.6
_LOOK_MM, _BELOW_MM = 3.0, 0.15


def healed_line(code: str, reading: Reading) -> Picture:
    """Draw what was measured in one photo.

    Parameters
    ----------
    code : str
        Of the photo.
    reading : Reading
        With values.

    Returns
    -------
    Picture

    Raises
    ------
    ValueError
        If the photo was refused.
    """
    measured, lid = reading.measured, reading.lid
    if measured is None or lid is None:
        raise ValueError("a refused photo has no line to draw")

    def draw(sheet: "Figure") -> None:
        _straight(sheet.add_axes((0.09, 0.60, 0.89, 0.32)), lid)
        _parts(sheet.add_axes((0.09, 0.11, 0.40, 0.31)), lid)
        _profile(sheet.add_axes((0.60, 0.11, 0.38, 0.31)), lid, measured)

    title = f"The measured line of {code}"
    return drawn(draw, title=title, alt=_words(code, measured), width=WIDTH, height=HEIGHT)


def _words(code: str, measured: Measured) -> str:
    values = [f"kept {measured.kept}", f"spread {measured.spread}"]
    if measured.width:
        values.insert(1, f"width {measured.width}")
    if measured.contrast:
        values.append(f"contrast {measured.contrast.value:.1f} (CIEDE2000)")
    return (
        f"A strip of the photo {code} along the planned line, laid straight, with the planned "
        f"edges and what was taken for pigment: {', '.join(values)}. Of ten equal parts, "
        f"{measured.segments_kept} hold pigment on half their area or more. {measured.note}"
    )


def _straight(axes: "Axes", lid: Lid) -> None:
    from skimage.color import lab2rgb

    long = len(lid.light) * lid.step
    near = np.abs(lid.across) <= lid.width / 2 + _LOOK_MM
    across = lid.across[near]
    seen = lab2rgb(to_lab(lid.light[:, near].transpose(1, 0, 2)))[::-1]
    extent = (0, long, float(across[0]), float(across[-1]))
    axes.imshow(np.round(np.clip(seen, 0, 1), 3), extent=extent, aspect="auto")
    found = _connected(lid)[:, near].T
    if found.any() and not found.all():
        along = (np.arange(len(lid.light)) + 0.5) * lid.step
        axes.contour(along, across, found, levels=[0.5], colors="#FFFFFF", linewidths=1.6)
        axes.contour(along, across, found, levels=[0.5], colors=INK, linewidths=0.6)
    for edge in (-lid.width / 2, lid.width / 2):
        axes.axhline(edge, color="#FFFFFF", linewidth=1.6)
        axes.axhline(edge, color=ALARM, linewidth=1.0, linestyle=(0, (5, 3)))
    axes.set_ylabel("mm, skin upward")
    axes.set_xlabel("mm along the line")
    axes.set_title("Dashed: planned edges. Outlined: taken for pigment.", fontsize=8, loc="left")


def _connected(lid: Lid) -> NDArray[np.bool_]:
    """Give the pigment in the plan and what hangs together with it toward the skin."""
    from scipy.ndimage import label

    found = pigmented(lid) & (lid.across > -lid.width / 2 - _BELOW_MM)
    pieces, _ = label(found)
    inside = np.abs(lid.across) <= lid.width / 2
    return np.isin(pieces, np.setdiff1d(pieces[:, inside], [0]))


def _parts(axes: "Axes", lid: Lid) -> None:
    shares = [100 * part.mean() for part in np.array_split(kept(lid, pigmented(lid)), SEGMENTS)]
    for place, share in enumerate(shares, start=1):
        enough = share >= 50
        axes.bar(
            place, share, width=0.8, facecolor=ARM_A if enough else "none", edgecolor=ARM_A,
            linewidth=1.2,
        )  # fmt: skip
    axes.axhline(50, color=QUIET, linewidth=0.8, linestyle="--")
    axes.set_ylim(0, 105)
    axes.set_xticks(range(1, SEGMENTS + 1))
    axes.set_ylabel("kept, %")
    axes.set_xlabel("part of the line")
    axes.set_title("Kept in each tenth; hollow: under half", fontsize=8, loc="left")


def _profile(axes: "Axes", lid: Lid, measured: Measured) -> None:
    there = kept(lid, pigmented(lid)) > 0.5
    rows = lid.density[there] if there.any() else lid.density
    near = np.abs(lid.across) <= lid.width / 2 + _LOOK_MM
    axes.axvspan(-lid.width / 2, lid.width / 2, color=BAND, zorder=0)
    axes.plot(lid.across[near], np.median(rows, axis=0)[near], color=INK, linewidth=1.2)
    if measured.width:
        axes.axhline(0.5, color=ARM_B, linewidth=0.8, linestyle="--")
    axes.set_xlabel("mm across the line, skin to the right")
    axes.set_ylabel("pigment (0 skin, 1 line)")
    axes.set_title("Middle profile; grey: planned width", fontsize=8, loc="left")
