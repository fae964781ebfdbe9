"""Whether healed results can be used: when they were judged, by whom, and on what."""

from collections.abc import Iterator

import pandas as pd

from pmulab.counting import counted
from pmulab.tables.days import days_healed, first_session
from pmulab.tables.expectations import Expectations
from pmulab.tables.headers import plain
from pmulab.tables.records import Records, row_problem
from pmulab.tables.report import BLOCKS, LOOK, Problem
from pmulab.tables.rules_visits import true
from pmulab.tables.worked import worked

_JUDGED = ("seen", "photo_only")
_SIDES = {"L": "left", "R": "right"}


def _judged(records: Records) -> pd.DataFrame:
    healed = records.healed
    return healed[healed["seen"].isin(_JUDGED)]


def healed_without_session(records: Records, _: Expectations) -> Iterator[Problem]:
    """Point to healed eyelids that were never worked."""
    if "sessions" not in records.sources:
        return
    worked = first_session(records).index
    healed = records.healed.dropna(subset=["client_code", "side"])
    pairs = pd.MultiIndex.from_frame(healed[["client_code", "side"]])
    for row in healed.index[~pairs.isin(worked)]:
        client, side = healed.loc[row, "client_code"], healed.loc[row, "side"]
        yield row_problem(
            records, "healed", row, ("healed_without_session", BLOCKS), "side",
            (f"There is a healed result for side {side} of {client}, but no session.",
             "Look at code and side, or add the missing row to 'sessions'."),
        )  # fmt: skip


def healed_row_missing(records: Records, expectations: Expectations) -> Iterator[Problem]:
    """Point to clients with a healed row for one eyelid only, or none once the time is over."""
    if expectations.today is None or "healed" not in records.sources:
        return
    eyelid = ["client_code", "side"]
    first = records.sessions[worked(records)].dropna(subset=eyelid)
    first = first.sort_values("session_no", kind="stable").drop_duplicates(eyelid)
    there = pd.MultiIndex.from_frame(records.healed[eyelid])
    first = first[~pd.MultiIndex.from_frame(first[eyelid]).isin(there)]
    days = (pd.Timestamp(expectations.today) - first["session_date"]).dt.days
    late = expectations.healed_window[1]
    begun = first["client_code"].isin(records.healed["client_code"])
    for client, rows in first[true(days.gt(late)) | begun].groupby("client_code"):
        sides = " and the ".join(_SIDES[side] for side in sorted(rows["side"]))
        yield row_problem(
            records, "sessions", rows.index[0], ("healed_row_missing", LOOK), "session_date",
            (f"There is no row in 'healed' for the {sides} eyelid of {client}, whose time for it "
             f"ends on day {late}.",
             "Write one row for each eyelid that was worked; if nobody could look, lost or refused "
             "in 'seen' and the reason codes for the results."),
        )  # fmt: skip


def judged_when(records: Records, expectations: Expectations) -> Iterator[Problem]:
    """Point to rows judged before the work, too early, or late."""
    early, late = expectations.healed_window
    days = days_healed(records)[_judged(records).index]
    for row in days.index[true(days.lt(0))]:
        yield row_problem(
            records, "healed", row, ("healed_before_session", BLOCKS), "healed_date",
            (f"The healed result is dated {counted(int(-days[row]), 'day')} before the session.",
             "Correct one of the two dates."),
        )  # fmt: skip
    for row in days.index[true(days.ge(0) & days.lt(early))]:
        yield row_problem(
            records, "healed", row, ("judged_too_early", LOOK), "healed_date",
            (f"Judged on day {days[row]}; before day {early} a line is not healed.",
             f"This row does not count as healed. Judge again between day {early} and {late},"
             f" best on day {expectations.planned_day}."),
        )  # fmt: skip
    first_visit = records.healed.loc[days.index, "visit_no"].eq(1)
    for row in days.index[true(days.gt(late) & first_visit)]:
        yield row_problem(
            records, "healed", row, ("judged_late", LOOK), "healed_date",
            (f"Judged on day {days[row]}, after day {late}.",
             "The row is kept and shown as late. Look at the date."),
        )  # fmt: skip


def touched_up_before(records: Records, _: Expectations) -> Iterator[Problem]:
    """Point to first healed visits judged after a touch-up."""
    healed = _judged(records)
    healed = healed[true(healed["visit_no"].eq(1))]
    later = records.sessions[true(records.sessions["session_no"].gt(1))]
    first_later = later.groupby(["client_code", "side"])["session_date"].min()
    eyelids = pd.MultiIndex.from_frame(healed[["client_code", "side"]])
    when = pd.Series(first_later.reindex(eyelids).to_numpy(), index=healed.index)
    for row in healed.index[true(when < healed["healed_date"])]:
        yield row_problem(
            records, "healed", row, ("touched_up_before_judging", BLOCKS), "seen",
            (f"A touch-up on {when[row].date()} came before this judging.",
             "Write touched_up_before in 'seen', with NA_not_applicable for the results; or"
             " correct the dates."),
        )  # fmt: skip


def assessor_blinding(records: Records, expectations: Expectations) -> Iterator[Problem]:
    """Point to assessors noted as blind who know the arm, and to unblinded scoring."""
    healed = _judged(records)
    blind = true(healed["blinded"])
    knows = blind & true(healed["rater_is_operator"]) & healed["photo_code"].isna()
    for row in healed.index[knows]:
        yield row_problem(
            records, "healed", row, ("assessor_knows_arm", BLOCKS), "blinded",
            ("The assessor did the work and no coded photo was used, so she knows the arm.",
             "Write no, or score coded and mixed photos and give their photo_code."),
        )  # fmt: skip
    for row in healed.index[blind & healed["guess_arm"].isna()]:
        yield row_problem(
            records, "healed", row, ("guess_missing", LOOK), "guess_arm",
            ("The assessor did not know the arm, but her guess was not asked.",
             "Ask after scoring, before the arms are opened: A, B or no_idea."),
        )  # fmt: skip
    if expectations.blinded_outcome:
        for row in healed.index[true(healed["blinded"].eq(False))]:
            yield row_problem(
                records, "healed", row, ("not_blinded", LOOK), "blinded",
                ("The plan says that the outcome is scored blind; here the assessor knew the arm.",
                 "Have a coded photo scored by someone who does not know, as another row."),
            )  # fmt: skip


def assessor_is_operator(records: Records, _: Expectations) -> Iterator[Problem]:
    """Point to assessors who have an operator's code but are noted as someone else."""
    operators = set(records.sessions["operator_code"].dropna())
    healed = records.healed
    same = healed["rater_code"].isin(operators) & true(healed["rater_is_operator"].eq(False))
    for row in healed.index[same]:
        yield row_problem(
            records, "healed", row, ("assessor_is_operator", LOOK), "rater_is_operator",
            (f"{healed.loc[row, 'rater_code']} did work in this study but is noted as another"
             " person here.",
             "Write yes, or give the assessor a code of her own, such as RA1."),
        )  # fmt: skip


def arm_in_photo_code(records: Records, expectations: Expectations) -> Iterator[Problem]:
    """Point to photo codes that tell the arm."""
    labels = [plain(label) for label in expectations.arms.values() if len(plain(label)) > 2]
    codes = records.healed["photo_code"].dropna()
    telling = [code for code in codes.unique() if any(label in plain(code) for label in labels)]
    for row, code in codes[codes.isin(telling)].items():
        yield row_problem(
            records, "healed", row, ("arm_in_photo_code", LOOK), "photo_code",
            (f"The photo code '{code}' tells the arm; whoever sees it is not blind.",
             "Give the photo a code without meaning, such as P0517, and score it again."),
        )  # fmt: skip


def results_contradict(records: Records, _: Expectations) -> Iterator[Problem]:
    """Point to results nobody could see, from a refused photo, or in contradiction."""
    healed = records.healed
    scored = healed["segments_kept"].notna()
    for row in healed.index[scored & healed["seen"].isin(["lost", "refused"])]:
        yield row_problem(
            records, "healed", row, ("scored_but_not_seen", BLOCKS), "seen",
            ("There are results, but 'seen' says nobody could look.",
             "Correct 'seen', or write the reason code in place of the results."),
        )  # fmt: skip
    refused = true(healed["photo_quality"].ne("ok"))
    for row in healed.index[scored & refused & healed["seen"].eq("photo_only").fillna(False)]:
        yield row_problem(
            records, "healed", row, ("scored_from_refused_photo", LOOK), "photo_quality",
            ("Scored from a photo that was refused.",
             "Take a new photo and score that, or write NA_not_done in place of the results."),
        )  # fmt: skip
    idle = true(healed["touchup_needed"].eq(False)) & true(healed["touchup_min"].gt(0))
    for row in healed.index[idle]:
        yield row_problem(
            records, "healed", row, ("touchup_contradicts", LOOK), "touchup_min",
            ("No touch-up was needed, but minutes are noted.", "Write 0, or touchup_needed yes."),
        )  # fmt: skip


def preference_contradicts(records: Records, _: Expectations) -> Iterator[Problem]:
    """Point to a preferred side noted in two ways within one visit."""
    keys = ["client_code", "visit_no"]
    rows = records.healed[[*keys, "preference"]].dropna()
    other = rows["preference"].ne(rows.groupby(keys)["preference"].transform("first"))
    for row in rows[other].drop_duplicates(keys, keep="last").index:
        yield row_problem(
            records, "healed", row, ("preference_contradicts", LOOK), "preference",
            (f"{rows.loc[row, 'client_code']} has two different preferred sides in one visit.",
             "It is one answer per client; write the same in all her rows of this visit."),
        )  # fmt: skip


RULES = (
    healed_without_session,
    healed_row_missing,
    judged_when,
    touched_up_before,
    assessor_blinding,
    assessor_is_operator,
    arm_in_photo_code,
    results_contradict,
    preference_contradicts,
)
