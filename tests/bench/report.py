"""The measured figures as one Markdown page."""

from .levels import COMPARISON_ONLY
from .shapes import RARE_JUMPS, SHAPES

SIZES = (5, 6, 8, 10, 12, 16, 20)
PAIRED = (
    "mean difference",
    "typical difference",
    "standardised g_av",
    "standardised d_z",
    "probability higher",
    "ratio",
    "t",
    "noncentral t",
    "scipy t",
    "statsmodels t",
    "scipy BCa",
    "pingouin g",
    "dabest mean",
    "dabest g",
)
GROUPS = (
    "mean difference",
    "typical shift",
    "standardised g",
    "probability higher",
    "ratio",
    "Welch",
    "noncentral t",
    "scipy t",
    "statsmodels t",
    "scipy BCa",
    "pingouin g",
    "dabest mean",
    "dabest g",
)
OURS = {*PAIRED[:6], *GROUPS[:5]}


def row(*fields) -> str:
    return "| " + " | ".join(str(field) for field in fields) + " |"


def header(*fields) -> list[str]:
    return [row(*fields), "|" + "---|" * len(fields)]


def cells(found, design, shape, name):
    """The measured cells of one interval and shape, by number of clients."""
    keys = ((n, f"intervals|{design}|{shape}|{n}|{name}") for n in SIZES)
    return {n: found[key] for n, key in keys if key in found}


def coverage_section(found, design, names) -> list[str]:
    lines = []
    for name in names:
        lines += ["", f"**{name}**{' (ours)' if name in OURS else ''}", ""]
        lines += header("shape", *(f"n={n}" for n in SIZES), "none %", "shut %")
        for shape in (*SHAPES, RARE_JUMPS):
            got = cells(found, design, shape.name, name)
            if not got:
                continue
            figures = [f"{got[n]['coverage']:.1f}" if n in got else "" for n in SIZES]
            none = max(cell["none"] for cell in got.values())
            shut = max(cell["shut"] for cell in got.values())
            lines.append(row(shape.name, *figures, f"{none:.1f}", f"{shut:.1f}"))
    return lines


def worst_section(found, design, names) -> list[str]:
    lines = header("interval", *(f"n={n}" for n in SIZES), "worst cell", "in rare jumps")
    for name in names:
        by_shape = {s.name: cells(found, design, s.name, name) for s in SHAPES}
        figures = []
        for n in SIZES:
            values = [got[n]["coverage"] for got in by_shape.values() if n in got]
            figures.append(f"{min(values):.1f}" if values else "")
        everything = [
            (cell["coverage"], shape, n)
            for shape, got in by_shape.items()
            for n, cell in got.items()
        ]
        if not everything:
            continue
        least, shape, n = min(everything)
        jumps = cells(found, design, RARE_JUMPS.name, name)
        rare = f"{min(cell['coverage'] for cell in jumps.values()):.1f}" if jumps else ""
        label = f"**{name}**" if name in OURS else name
        lines.append(row(label, *figures, f"{least:.1f} ({shape}, n={n})", rare))
    return lines


def width_section(found, design, ours, yardstick) -> list[str]:
    lines = header(f"{ours} over {yardstick}", *(f"n={n}" for n in SIZES))
    for shape in (*SHAPES, RARE_JUMPS):
        own = cells(found, design, shape.name, ours)
        other = cells(found, design, shape.name, yardstick)
        if own and other:
            figures = [
                f"{own[n]['width'] / other[n]['width']:.3f}" if n in own else "" for n in SIZES
            ]
            lines.append(row(shape.name, *figures))
    return lines


def yes_no_section(found) -> list[str]:
    lines = []
    for design, yardstick in (("paired", "Tango"), ("groups", "Miettinen-Nurminen")):
        got = {n: found[f"yes-no|{design}|{n}"] for n in SIZES if f"yes-no|{design}|{n}" in found}
        if not got:
            continue
        lines += ["", f"Risk difference, {design}: worst coverage over the parameter space", ""]
        lines += header("interval", *(f"n={n}" for n in SIZES), "shut %")
        for name in got[SIZES[-1]]:
            figures = [f"{got[n][name]['worst']:.2f}" for n in got]
            shut = max(rows[name]["shut"] for rows in got.values())
            lines.append(row(f"**{name}**" if name == "ours" else name, *figures, f"{shut:.0f}"))
        widths = [f"{got[n]['ours']['width'] / got[n][yardstick]['width']:.3f}" for n in got]
        lines.append(row(f"width of ours over {yardstick}", *widths, ""))
    if f"yes-no|probability|{SIZES[0]}" not in found:
        return lines
    chance = [found[f"yes-no|probability|{n}"]["worst"] for n in SIZES]
    lines += ["", "Probability of superiority of a yes/no outcome, two groups: worst coverage", ""]
    lines += [*header("", *(f"n={n}" for n in SIZES)), row("ours", *(f"{x:.2f}" for x in chance))]
    lines += ["", "Type-I error, largest over the base rate, %", ""]
    lines += header("test", *(f"n={n}" for n in SIZES))
    tests = found[f"yes-no|type one|{SIZES[-1]}"]
    for name in tests:
        lines.append(row(name, *(f"{found[f'yes-no|type one|{n}'][name]:.2f}" for n in SIZES)))
    return lines


def levels_section(found) -> list[str]:
    sizes = (6, 8, 12)
    first = found.get(f"type one|{SHAPES[0].name}|12")
    if first is None:
        return []
    tests = sorted(first.keys() - {"replicates"}, key=lambda one: (one in COMPARISON_ONLY, one))
    lines = ["", f"Type-I error of tests at 5 %, {first['replicates']} samples a cell, %", ""]
    lines += header("test", "use", *(f"{s.name}" for s in SHAPES), "worst")
    for name in tests:
        by_shape = [[found[f"type one|{s.name}|{n}"][name] for n in sizes] for s in SHAPES]
        worst = max(max(values) for values in by_shape)
        joined = (" / ".join(f"{value:.1f}" for value in values) for values in by_shape)
        use = "comparison only" if name in COMPARISON_ONLY else "offered, exact"
        lines.append(row(name, use, *joined, f"{worst:.2f}"))
    error = 100 * (0.05 * 0.95 / first["replicates"]) ** 0.5
    lines += [
        "",
        f"Each entry: n = {', '.join(map(str, sizes))} (clients, or clients a group). Standard",
        f"error of a true 5.0: {error:.2f}; the largest of 21 such lies near {5 + 2 * error:.1f}.",
    ]
    lines += ["", "Coverage with an order effect (shift in SDs of one difference), %", ""]
    lines += header(
        "n", "A first in", "shift", "adjusted for order and side", "Hills-Armitage", "t"
    )
    for key, got in found.items():
        if key.startswith("order|"):
            _, n, share, shift = key.split("|")
            figures = (got["adjusted"], got["Hills-Armitage"], got["unadjusted t"])
            lines.append(
                row(n, f"{100 * float(share):.0f} %", shift, *(f"{x:.1f}" for x in figures))
            )
    lines += ["", "Rare one-sided jumps (one client in ten, 5 SD)", ""]
    lines += header("design", "n", *found["jumps|paired|5"])
    for design in ("paired", "groups"):
        for n in SIZES:
            got = found[f"jumps|{design}|{n}"]
            lines.append(row(design, n, *(f"{value:.1f}" for value in got.values())))
    return lines


def speed_section(found) -> list[str]:
    lines = header("task", "ours, ms", "peer", "peer, ms", "ratio")
    for got in found.get("speed", []):
        theirs = got["theirs"]
        other = (
            ("cannot", "", "")
            if got["peer"] is None
            else (got["peer"], f"{1000 * theirs:.3g}", f"{theirs / got['ours']:,.3g}")
        )
        other = ("", "", "") if "report" in got["task"] else other
        lines.append(row(got["task"], f"{1000 * got['ours']:.3g}", *other))
    return lines


def dabest_note(found) -> list[str]:
    asked = found.get("dabest")
    if asked is None:
        return []
    return [
        "",
        f"dabest: {asked['samples']} samples a cell (standard error of a true 95: "
        f"{100 * (0.95 * 0.05 / asked['samples']) ** 0.5:.1f}), {asked['resamples']} resamples.",
        "Its g stops when one resample has no spread: at five pairs with its default of 5,000",
        "resamples nearly always.",
    ]


def table(found) -> str:
    some = next((v for k, v in found.items() if k.startswith("intervals|") and "|t" in k), None)
    replicates = some["replicates"] if some else "?"
    lines = [
        "# Measured",
        "",
        f"Written by `python -m bench.measure`; versions {found.get('versions')}. Coverage in % of",
        f"{replicates} samples (fewer for scipy, statsmodels, pingouin and dabest), nominal 95 %;",
        "no interval counts as a miss. At n = 5 pairs the interval of the mean states 93.75 %.",
        "'none': samples without an interval; 'shut': of zero width. The standard error at 20,000",
        "samples is 0.15, so the least of 50 cells of a true 95.0 lies near 94.7 by chance alone.",
        *dabest_note(found),
        "",
        "## Worst cell over shapes",
        "",
        "Paired",
        "",
        *worst_section(found, "paired", PAIRED),
        "",
        "Two groups (n each)",
        "",
        *worst_section(found, "groups", GROUPS),
        "",
        "## Widths",
        "",
    ]
    for design, ours, yardstick in (
        ("paired", "mean difference", "t"),
        ("paired", "typical difference", "t"),
        ("paired", "standardised g_av", "noncentral t"),
        ("groups", "mean difference", "Welch"),
        ("groups", "typical shift", "Welch"),
        ("groups", "standardised g", "noncentral t"),
    ):
        lines += [*width_section(found, design, ours, yardstick), ""]
    lines += ["## Yes/no, by full enumeration", *yes_no_section(found), "", "## Levels"]
    lines += [*levels_section(found), "", "## Speed", "", *speed_section(found)]
    lines += ["", "## Every cell: paired", *coverage_section(found, "paired", PAIRED)]
    lines += ["", "## Every cell: two groups", *coverage_section(found, "groups", GROUPS), ""]
    return "\n".join(lines)
