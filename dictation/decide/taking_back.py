"""Taking back: the facts of one entry the other way round, for voice, keys, desk and page alike.

What came on record stays there as withdrawn. Taking back what took something back is redo.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from dictation.decide.draft import Draft
from dictation.visit import facts
from dictation.visit.inputs import INPUTS, PEOPLES, EntryTakenBack, PhraseHeard, PhraseTyped
from dictation.visit.parts import Alternative, Keep, QueryState, TakeBack
from dictation.visit.state import Act, Visit
from grammar.exam import FindingState
from grammar.wording import capital, written

UNDOING = INPUTS[EntryTakenBack]
PHRASES = frozenset({INPUTS[PhraseHeard], INPUTS[PhraseTyped]})


def scratch(draft: Draft, asking_phrase: int) -> None:
    """Take back the last phrase of the exam in hand that did anything.

    Where this animal has none, nothing is done: reaching into the animal before is asked about
    first, because 'scratch that' is more often said once too often than meant for her.
    """
    visit = draft.visit
    here = last_that_did(visit, asking_phrase)
    if here is not None:
        take_back(draft, here.seq, ask_again=True)
        return
    others = (act for act in _backwards(visit) if act.phrase != asking_phrase)
    before = next((act for act in others if _did(visit, act)), None)
    if before is None:
        draft.reply("There is nothing to take back.")
        return
    phrase = visit.phrase(before.phrase)
    assert phrase is not None
    exam = visit.exam(phrase.exam)
    whose = f"tag {exam.tag}" if exam is not None and exam.tag else "the animal before"
    question = f"Take back '{phrase.text}' of {whose}?"
    taking = Alternative(question[:-1], TakeBack(phrase.number))
    draft.ask(asking_phrase, question, "nothing was said of this animal yet", (taking,))


def last_that_did(visit: Visit, but: int | None = None) -> Act | None:
    """The last phrase of the exam in hand that can be taken back, as the entry that took it.

    ``but``: only what was said before this phrase counts.
    """
    if visit.in_hand is None:
        return None
    for act in _backwards(visit):
        phrase = visit.phrase(act.phrase)
        here = phrase is not None and phrase.exam == visit.in_hand
        earlier = phrase is not None and (but is None or phrase.number < but)
        if here and earlier and _did(visit, act):
            return act
    return None


def touched_by(act: Act) -> tuple[int, ...]:
    """Numbers of the findings that an entry set, in that order."""
    return tuple(dict.fromkeys(f.number for f in act.of(facts.FindingSet)))


def last_to_undo(visit: Visit) -> Act | None:
    """The last thing a person did that stands and is no taking back itself."""
    done = (act for act in _backwards(visit) if act.kind in PEOPLES - {UNDOING})
    return next((act for act in done if not is_taken_back(visit, act.seq)), None)


def last_to_redo(visit: Visit) -> Act | None:
    """A person's last taking back, as long as no person has done anything else since."""
    for act in _backwards(visit):
        if act.kind in PEOPLES and not is_taken_back(visit, act.seq):
            if act.kind != UNDOING:
                return None
            # What it was about comes last; before it, what that one had taken back itself.
            undone = [f.entry for f in act.of(facts.TakenBack)]
            if undone and not _takes_back(visit.acts[undone[-1]]):
                return act
    return None


def last_scratch(visit: Visit) -> Act | None:
    """The last 'scratch that' that stands, as long as nothing else came of speech or people since.

    Noise that came to nothing does not count.
    """
    for act in _backwards(visit):
        if act.kind not in (PEOPLES | PHRASES) - {UNDOING} or is_taken_back(visit, act.seq):
            continue
        if _takes_back(act):
            return act
        if any(not isinstance(f, facts.PhraseSet | facts.GoingSet) for f in act.facts):
            return None
    return None


def _takes_back(act: Act) -> bool:
    """Whether an entry takes another back: at the desk, or by 'scratch that'."""
    said = act.kind in PHRASES and bool(act.of(facts.TakenBack))
    return said or act.kind == UNDOING


def is_taken_back(visit: Visit, seq: int) -> bool:
    """Whether an entry was taken back and does not stand again."""
    return visit.index.taken_back.get(seq, 0) != 0


def why_not_taken_back(visit: Visit, seq: int) -> str | None:
    """Why a person cannot take an entry back; None where they can."""
    act = visit.acts.get(seq)
    if act is None or act.kind not in PEOPLES | PHRASES:
        return "There is no such correction."
    if is_taken_back(visit, seq):
        return "It was taken back already."
    last = {(type(f), f.about): f for f in act.of(facts.Setting)}
    return next(filter(None, (_why_fact_stays(visit, f, act) for f in last.values())), None)


_CHANGED_SINCE: dict[type, str] = {
    facts.FindingSet: "What it changed was changed again since: take that back first.",
    facts.QuerySet: "The question was answered otherwise since: take that back first.",
    facts.ApprovalSet: "It was approved anew since: take that back first.",
}


def _why_fact_stays(visit: Visit, fact: facts.Setting, act: Act) -> str | None:
    if type(fact) in _CHANGED_SINCE and visit.now(fact) != fact.now:
        return _CHANGED_SINCE[type(fact)]
    if not isinstance(fact, facts.ExamSet) or act.kind in PHRASES or fact.now is None:
        return None
    exam, mine = visit.exam(fact.number), set(touched_by(act))
    if exam is None:
        return "That animal is not there any more."
    if any(r.number not in mine for r in exam.recorded):
        return "More was recorded of that animal since: move it first."
    return None


def take_back(draft: Draft, seq: int, *, ask_again: bool = False) -> None:
    """Put back what an entry changed, as far as nothing has changed it since.

    ``ask_again``: a value that was once called wrong must not just stand again: it is asked about.
    """
    act = draft.visit.acts.get(seq)
    if act is None or is_taken_back(draft.visit, seq):
        return
    # A phrase that said 'next' has left the animal before for good; what it found is taken back.
    whole = act.kind not in PHRASES or bool(act.of(facts.TakenBack))
    opened = {f.number for f in act.of(facts.ExamSet) if f.was is None}
    for fact in reversed(act.facts):
        _back(draft, fact, opened if whole else set(), whole)
    if not whole and act.phrase is not None:
        _fall_away(draft, act.phrase)
        _back_to_closed_exam(draft, act)
    if ask_again and not any(
        isinstance(f, facts.QuerySet) and f.was is not None for f in act.facts
    ):
        _ask_about_restored(draft, act)
    draft.add(facts.TakenBack(seq, 0, draft.visit.given.seq + 1))


def _back(draft: Draft, fact: facts.Fact, opened: set[int], whole: bool) -> None:
    match fact:
        case facts.PhraseSet():
            _phrase_back(draft, fact)
        case facts.ExamSet() | facts.ExamClosed() | facts.GoingSet():
            if whole:
                _frame_back(draft, fact)
        case facts.ExamNamed():
            return  # her findings name her
        case facts.Setting() if draft.visit.now(fact) != fact.now:
            return
        case facts.FindingSet():
            _finding_back(draft, fact, opened)
        case facts.QuerySet(was=None, now=query) if query is not None:
            draft.settle(query, QueryState.LAPSED)
        case facts.Setting():
            draft.add(facts.reverse(fact))


def _finding_back(draft: Draft, fact: facts.FindingSet, opened: set[int]) -> None:
    if fact.was is not None and draft.visit.exam(fact.was.exam) is not None:
        draft.put(fact.was)
    elif fact.was is None and fact.now is not None and fact.now.exam in opened:
        draft.add(facts.reverse(fact))  # the animal itself goes: nothing else is in it
        draft.name(fact.now.exam)
    elif fact.was is None:
        draft.set_state(fact.number, FindingState.WITHDRAWN)


def _phrase_back(draft: Draft, fact: facts.PhraseSet) -> None:
    now = draft.visit.phrase(fact.number)
    if now is None or fact.now is None:
        return
    if fact.was is None:
        draft.put_phrase(replace(now, taken_back=True))
    elif now.exam == fact.now.exam and now.taken_back == fact.now.taken_back:
        draft.put_phrase(replace(now, exam=fact.was.exam, taken_back=fact.was.taken_back))


def _frame_back(draft: Draft, fact: facts.ExamSet | facts.ExamClosed | facts.GoingSet) -> None:
    visit = draft.visit
    match fact:
        case facts.ExamSet(was=frame) if frame is not None and visit.exam(fact.number) is None:
            draft.add(facts.reverse(fact))
        case facts.ExamSet(was=None):
            exam = visit.exam(fact.number)
            if exam is not None and not exam.recorded and not draft.asked_ever(fact.number):
                draft.drop_exam(fact.number)
        case facts.ExamClosed():
            draft.set_closed(fact.exam, fact.was)
        case facts.GoingSet(slot="in_hand") if visit.in_hand == fact.now:
            if fact.was is None or visit.exam(int(fact.was)) is not None:
                draft.go("in_hand", fact.was)
        case facts.GoingSet(slot=slot) if slot in ("paused", "note_awaited", "closed"):
            draft.go(slot, fact.was)


def _back_to_closed_exam(draft: Draft, act: Act) -> None:
    """A tag that opened the next exam by itself is taken back: the exam before is in hand again."""
    visit = draft.visit
    implied = [f.number for f in act.of(facts.ExamSet) if f.now and f.now.implied]
    closed = [f.exam for f in act.of(facts.ExamClosed) if f.now]
    exam = visit.exam(implied[-1]) if implied else None
    if exam is None or not closed or visit.in_hand != exam.number:
        return
    if not exam.standing and not exam.open_queries:
        draft.join(exam.number, closed[-1])


def _ask_about_restored(draft: Draft, act: Act) -> None:
    for number in touched_by(act):
        mine = [f for f in act.of(facts.FindingSet) if f.number == number]
        was, now, restored = mine[0].was, mine[-1].now, draft.visit.recorded(number)
        if was is None or restored is None or restored != was.recorded:
            continue
        if now is not None and now.recorded.finding == restored.finding:
            continue
        draft.set_state(number, FindingState.QUERIED)
        words = written(restored.finding)
        phrase = draft.visit.phrase(act.phrase)
        why = f"'{phrase.text if phrase else ''}' was taken back"
        made_by = restored.phrase or act.phrase or 0
        draft.ask(made_by, f"{capital(words)} again?", why, (Alternative(words, Keep()),))


def _did(visit: Visit, act: Act) -> bool:
    """Whether a phrase did anything that 'scratch that' could take back, and still stands."""
    if act.kind not in PHRASES or is_taken_back(visit, act.seq):
        return False
    asked = act.of(facts.QuerySet)
    answers = any(f.was and f.now and f.now.state is QueryState.ANSWERED for f in asked)
    if act.of(facts.TakenBack) and not answers:
        # What 'scratch that' took back is not its own doing: a second one goes on further back.
        own = (visit.query(f.id) for f in asked if f.was is None)
        return any(q is not None and q.phrase == act.phrase for q in own)
    return bool(asked or act.of(facts.FindingSet))


def _backwards(visit: Visit) -> Iterator[Act]:
    # Entries are numbered without gaps; those of a draft in the making are not among them.
    return (visit.acts[seq] for seq in range(visit.given.seq, 0, -1) if seq in visit.acts)


def lapse_and_withdraw(draft: Draft, phrase: int) -> None:
    """What a phrase found and asked falls away; what it changed is as before."""
    act = draft.visit.act_of(phrase)
    for fact in reversed(() if act is None else act.of(facts.FindingSet)):
        if draft.visit.now(fact) == fact.now:
            _finding_back(draft, fact, set())
    _fall_away(draft, phrase)


def _fall_away(draft: Draft, phrase: int) -> None:
    for placed in draft.visit.findings_of(phrase):
        draft.set_state(placed.recorded.number, FindingState.WITHDRAWN)
    draft.settle_of(phrase, QueryState.LAPSED)
