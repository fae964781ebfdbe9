"""The notes beside the entries of a new plan, each written once."""

from collections.abc import Mapping

HEAD = (
    "The plan of one comparison. Change what you like until you lock it; then it stays.",
    "How to write: words stand in double quotes, numbers use a point (2.5), a list stands in "
    "square brackets. A line that begins with # is a note to you.",
)

SECTIONS: Mapping[str, str] = {
    "format": "Version of this file. Leave it as it is.",
    "study": "WHAT IS COMPARED",
    "arms.A": "WAY A. All differences are reported as A minus B.",
    "arms.B": "WAY B. Only what is compared differs from way A; all else stays the same.",
    "arm.recorded": "What the sessions table has to show of this way; each row is checked for it. "
    "Delete this part if you do not want that.",
    "primary": "PRIMARY OUTCOME. The one measure that decides. Choose it now; it cannot be "
    "changed after the first result is known.",
    "secondary": "FURTHER OUTCOMES, at most four; delete a block you do not need. They are shown "
    "as extra looks, never as the answer. The entries mean the same as in the block above.",
    "clients": "WHO TAKES PART",
    "healed": "WHEN THE HEALED LINE IS JUDGED, in whole days after the session",
    "analysis": "HOW IT WILL BE ANALYSED",
    "promises": "WHAT IS SETTLED WITH PEOPLE FIRST. One or two plain sentences each, no names. "
    "What stands here already is a suggestion: make it true for your studio.",
}

_YOURS = "YOURS TO WRITE; locking refuses while it is empty."

PLACEHOLDER = "write your own figure here"
"""Stands in a ready question where only she knows the figure; locking refuses while it does."""

ENTRIES: Mapping[str, str] = {
    "study.code": "Short name of the study: small letters, digits and hyphens, at most 40.",
    "study.title": "One line, as it shall stand on the handout.",
    "study.question": "The question as you would ask it aloud.",
    "study.design": '"within-person" compares the left and right eyelid of each client; '
    '"parallel" compares clients with clients.',
    "study.lid": '"upper" or "lower". Only one of them in a study.',
    "study.library": "The ready question that this plan came from. Leave it.",
    "study.pigment": 'Pigment family in both ways: "iron_oxide", "carbon", "mixed" or "other". '
    '"varied" if the two ways differ in it. With carbon or mixed, clients with visible '
    "capillaries along the lash line are not enrolled.",
    "study.setting": 'Kind of place, without a name, such as "one-chair studio".',
    "study.operator": 'Who works, without a name, such as "one artist, 8 years of eyeliner".',
    "arm.label": "What you call this way. Shown wherever it is named.",
    "arm.steps": "Enough for a colleague to repeat it: material, times, amounts. Change it to "
    "what you really do.",
    "arm.pigment": 'Pigment family of this way: "iron_oxide", "carbon", "mixed" or "other".',
    "outcome.name": "Column of the table. A name that the tables do not know becomes a column of "
    "your own.",
    "outcome.table": '"sessions" if noted on the day, "healed" if judged when healed.',
    "outcome.title": "The measure in plain words.",
    "outcome.unit": "Its unit, printed on every axis.",
    "outcome.kind": '"continuous" (a measured number), "ordinal" (grades or a 0 to 10 scale), '
    '"count" or "yes-no".',
    "outcome.better": 'Which direction is welcome: "lower" or "higher". For yes-no, "lower" means '
    "that yes is unwelcome.",
    "outcome.worthwhile": "Smallest worthwhile difference in {unit}: the smallest average "
    "difference that would change what you buy or do. Ask: would a client notice? What does the "
    "change cost? Above 0. This is a suggestion until you decide.",
    "outcome.low": "Lowest possible value. Entries below it are refused.",
    "outcome.high": "Highest possible value. Entries above it are refused.",
    "outcome.step": "Smallest step of the scale; 0 if there is none.",
    "outcome.judged": '"measured" by clock, ruler or count; "blind" by someone who does not know '
    'which way was used; "open" by someone who does, the client included.',
    "outcome.worthwhile_reason": "Why that difference matters, in your own words.",
    "outcome.worthwhile_own": "Set to true once you have decided this is your own number.",
    "outcome.anchors": "What each grade looks like.",
    "clients.planned": "Clients to be enrolled in all, 2 to 400; a multiple of 4 keeps sides and "
    "order even. The command 'pmulab size' shows what this number can tell.",
    "clients.dropout": "Share you expect not to see again, 0 to 0.5; 0.15 is 15 in 100.",
    "clients.exclude": "Who does not take part, beside the general health reasons that are always "
    "asked. You may add reasons; the general ones stay.",
    "healed.planned_day": "Planned day, 28 to 400.",
    "healed.earliest": "Earlier than this it does not count as healed; 28 or later.",
    "healed.latest": "Later than this it is marked as late.",
    "analysis.lead": '"plain" (mean difference) or "adjusted" (for side and working order, '
    "left/right only) is named first. Both are always shown and must agree.",
    "analysis.looks": "Empty for none. Up to four early looks are possible, at fewer clients than "
    "planned, such as [12] of 24; they make the final answer a little harder to reach. "
    "'pmulab size' says when so few clients could decide nothing.",
    "analysis.spending": 'What early looks may use up: "hardly" (1 in 1,000 each: only a huge '
    'difference stops a study), "late" (little at first) or "evenly" (most, and most costly).',
    "analysis.after_every_client": "true lets you compare after every client, left/right only. It "
    "takes half to two thirds more clients, and whoever works knows how it stands.",
    "promises.allowed_by": f"{_YOURS} Who said that this comparison is allowed where you work "
    "(licence, local code, insurance, ethics), and when? A role, no name.",
    "promises.later_use": f"{_YOURS} What did clients agree to about later use of their numbers "
    "and photos, and how do they take it back?",
    "promises.unblinding": "Who may learn which way an eyelid was worked, and when.",
    "promises.looking_early": "Why nobody looks early, or who looks at what.",
    "promises.after_care": f"{_YOURS} What do you do, and who pays, if a client is harmed or is "
    "left with a line that does not match? Name the kind of doctor you refer to.",
    "promises.sharing": f"{_YOURS} What leaves the studio, for whom, and what never does?",
    "promises.cautions": "Cautions of this question, shown on every output. You may add some.",
}

AGAIN: Mapping[str, str] = {
    "worthwhile": "Smallest worthwhile difference in {unit}; a suggestion until you decide.",
    "judged": '"measured", "blind" or "open".',
    "worthwhile_own": ENTRIES["outcome.worthwhile_own"],
}
"""Shorter notes in each further block, on the entries that she should look at."""

RECORDED = "A choice, a number, or [lowest, highest]. Change it together with the steps."

MISSING_LIMIT = (
    "Largest difference that you would believe, in {unit}; it bounds missing results. Four times "
    "the smallest worthwhile difference unless you take away the # here and change the number:"
)
