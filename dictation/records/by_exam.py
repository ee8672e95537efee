"""What is made of each exam, kept, so that a visit that goes on costs one exam and not all of them.

An exam is frozen, and a visit hands the same object on for as long as nothing of it changes.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from grammar.exam import Exam

Beside = TypeVar("Beside")
Made = TypeVar("Made")


def by_exam(make: Callable[[Exam, Beside], Made]) -> Callable[[Exam, Beside], Made]:
    """What ``make`` makes of an exam and what comes beside it; anew only for other ones."""
    kept: dict[int, tuple[Exam, Beside, Made]] = {}

    def made(exam: Exam, beside: Beside) -> Made:
        was = kept.get(exam.number)
        # Equal exams are not looked for: comparing all findings takes as long as making it anew.
        if was is None or was[0] is not exam or was[1] != beside:
            was = kept[exam.number] = (exam, beside, make(exam, beside))
        return was[2]

    return made
