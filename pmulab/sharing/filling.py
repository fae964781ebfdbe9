"""What plan and data can fill into a report, one short phrase an item; empty if nothing."""

from pmulab.counting import counted
from pmulab.findings import Effect, Findings
from pmulab.wording import difference_parts, judged_knowing, judged_words, when_words, with_unit


def nothing(_: Findings) -> str:
    """Leave the item to the person."""
    return ""


def title(findings: Findings) -> str:
    """Name the study and its design."""
    within = findings.plan.within_person
    design = "left against right eyelid of one client" if within else "clients against clients"
    return f"At the head; add: {design}, drawn by lot"


def question(_: Findings) -> str:
    """Point to the question."""
    return "At the head of this page"


def changes(findings: Findings) -> str:
    """Name what was edited after locking."""
    provenance = findings.provenance
    if not provenance.locked:
        return "The plan was never locked."
    if provenance.changes:
        return "Edited after locking: " + ", ".join(one.entry for one in provenance.changes[:6])
    told = (provenance.harm, provenance.tampering, provenance.looks, provenance.replacements)
    if any(told) or provenance.stopped:
        what = "harm and its review" if provenance.harm else "what changed besides"
        return f"Plan as locked on {provenance.locked[:10]}; {what} under 'Read first'"
    return f"None; plan locked on {provenance.locked[:10]}"


def measure_changes(findings: Findings) -> str:
    """Name the edits that touch a measure."""
    entries = [
        change.entry
        for change in findings.provenance.changes
        if change.entry.startswith(("primary", "secondary"))
    ]
    if not findings.provenance.locked:
        return "Cannot be told: the plan was never locked."
    return ", ".join(entries[:4]) + "; the locked plan was analysed" if entries else "None"


def who_could(findings: Findings) -> str:
    """Say who could take part and who could not."""
    plan = findings.plan
    like = "two like" if plan.within_person else "suitable"
    own = len(plan.clients.exclude)
    further = f" and {counted(own, 'reason')} of this study" if own else ""
    return (
        f"Willing clients with {like} {plan.study.lid} eyelids; general health reasons{further} "
        "kept clients out (plan.toml)"
    )


def where(findings: Findings) -> str:
    """Say where, and who worked."""
    study = findings.plan.study
    return "; ".join(part for part in (study.setting, study.operator) if part)


def ways(findings: Findings) -> str:
    """Point to the steps, if both ways have some."""
    arms = findings.plan.arms
    if not (arms.A.steps.strip() and arms.B.steps.strip()):
        return ""
    order = "; one eyelid after the other" if findings.plan.within_person else ""
    return f"Under 'How it was done'{order}"


def measures(findings: Findings) -> str:
    """Name the main and the side measures."""
    plan = findings.plan
    unit = "each eyelid" if plan.within_person else "each client"
    told = f"Main, for {unit}: {plan.primary.title}, {when_words(plan.primary, plan)}"
    side = counted(len(plan.secondary), "further measure")
    return told + (f"; {side} under 'Exploratory'" if plan.secondary else "")


def how_many(findings: Findings) -> str:
    """Give the number planned and what would matter."""
    plan = findings.plan
    matters = with_unit(plan.primary.worthwhile, plan.primary)
    planned = counted(plan.clients.planned, "client")
    return f"{planned} planned; said to matter: {matters}. Say how chosen"


def looks(findings: Findings) -> str:
    """Give the planned looks and the right to stop."""
    looks = findings.plan.analysis.looks
    planned = f"at {' and '.join(map(str, looks))} clients" if looks else "none"
    if findings.plan.analysis.after_every_client:
        planned = "after every client"
    return f"Planned looks: {planned}. Stopping for harm is always allowed"


def lot(findings: Findings) -> str:
    """Say how the lot was drawn, if there is a sealed list."""
    seal = findings.provenance.allocation
    return f"By the kit from a random seed, list fingerprint {seal[:12]}" if seal else ""


def blocks(findings: Findings) -> str:
    """Say how sides and order were kept in balance."""
    drawn = "side and order both drawn" if findings.plan.within_person else "one way a client"
    return f"Balanced blocks of hidden, mixed size; {drawn}" if lot(findings) else ""


def sealed(findings: Findings) -> str:
    """Say how the next card was hidden."""
    if not lot(findings):
        return ""
    return "Sealed cards, opened one at a time after eligibility and consent were recorded"


def roles(findings: Findings) -> str:
    """Say who drew, enrolled and opened."""
    operator = findings.plan.study.operator or "the artist"
    return f"Drawn by the kit; enrolled and opened by {operator}" if lot(findings) else ""


def judges(findings: Findings) -> str:
    """Say who judged each measure."""
    told = f"Main measure {judged_words(findings.primary)}"
    if not findings.secondary:
        return told
    knew = sum(map(judged_knowing, findings.secondary))
    return f"{told}. Of {counted(len(findings.secondary), 'other')}, {knew} by someone who knew"


def method(findings: Findings) -> str:
    """Name the estimator and its interval."""
    estimate = findings.primary.difference
    if estimate.interval is None:
        return f"{estimate.method}; no interval"
    return f"{estimate.method}; interval: {estimate.interval.method}"


def further_methods(findings: Findings) -> str:
    """Name what was computed beside it."""
    told = []
    if findings.primary.adjusted is not None:
        told.append("freed of working order and side")
    if any(effect.missing.low is not None for effect in findings.effects):
        told.append("worst and kindest case for missing results")
    return "; ".join(told) or "None"


def numbers(findings: Findings) -> str:
    """Count clients (and eyelids) from drawing to analysing."""
    flow = findings.flow
    eyelids = (
        f" ({counted(flow.eyelids_analysed, 'eyelid')})" if findings.plan.within_person else ""
    )
    return f"{flow.allocated} drawn, {flow.treated} worked on, {flow.analysed} analysed{eyelids}"


def losses(findings: Findings) -> str:
    """Give the losses with their reasons."""
    flow = findings.flow
    told = list(flow.lost_reasons)
    if flow.withdrawn:
        told.append(f"took back consent: {flow.withdrawn}")
    return "; ".join(told) or "None"


def dates(findings: Findings) -> str:
    """Give the days of locking and analysing."""
    provenance = findings.provenance
    return f"Plan locked {provenance.locked[:10] or 'never'}; analysed {provenance.analysed}"


def ended(findings: Findings) -> str:
    """Say why the study ended."""
    if findings.provenance.stopped:
        return f"Stopped early: {findings.provenance.stopped}"
    return f"{findings.flow.allocated} of {findings.plan.clients.planned} planned clients drawn"


def in_each(findings: Findings) -> str:
    """Count the clients of each comparison."""
    main, *rest = (one.difference.n for one in findings.effects)
    told = f"As drawn: {counted(main, 'client')} in the main comparison"
    if not rest:
        return told
    few, most = min(rest), max(rest)
    return f"{told}; {few if few == most else f'{few} to {most}'} in the others"


def result(findings: Findings) -> str:
    """Give both averages, difference, interval and correlation."""
    effect = findings.primary
    told = "; ".join(difference_parts(effect))
    if effect.a.mean is not None and effect.b.mean is not None:
        told = f"A {effect.a.mean:.4g}, B {effect.b.mean:.4g} ({effect.outcome.unit}); {told}"
    if effect.correlation is None:
        return told
    return f"{told}; correlation of the two eyelids {effect.correlation:.2f}"


def shares(findings: Findings) -> str:
    """Give both shares of each yes/no measure."""
    told = [_share(effect) for effect in findings.effects if effect.outcome.yes_no]
    return "; ".join(told) or "No yes/no measure"


def _share(effect: Effect) -> str:
    means = [one.mean for one in (effect.a, effect.b)]
    shares = ["none" if mean is None else f"{mean:.0f} %" for mean in means]
    return f"{effect.outcome.title}: yes with A {shares[0]}, with B {shares[1]}"


def others(findings: Findings) -> str:
    """Name the exploratory outcomes."""
    looks = counted(len(findings.secondary), "further measure")
    return f"{looks}, under 'Exploratory'" if findings.secondary else "None"


def harm(findings: Findings) -> str:
    """Count clients with an adverse event."""
    safety = findings.safety
    return (
        f"{safety.with_event} of {counted(safety.treated, 'client')}; listed under 'Adverse events'"
    )


def harm_sought(findings: Findings) -> str:
    """Count those of whom somebody looked for harm, on the day and when healed."""
    safety = findings.safety
    if safety.clients_healed is None:
        visits = counted(safety.visits, "visit")
        return f"{safety.visits_signed} of {visits} with an event or a signed 'none seen'"
    signed, treated = safety.clients_signed or 0, counted(safety.treated, "client")
    return (
        f"On the day: signed for {signed} of {treated}; healed: {safety.clients_healed} of "
        f"{safety.treated} seen, nothing is signed then"
    )


def plan_read(findings: Findings) -> str:
    """Say where the plan lies, with its fingerprint."""
    seal = findings.provenance.plan
    return f"plan.toml in the study folder, fingerprint {seal[:12]}" if seal else ""
