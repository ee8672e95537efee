"""What is made of each exam, kept, so that a visit that goes on costs one exam and not all of them.

An exam is frozen, and a visit hands the same object on for as long as nothing of it changes.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Generic, TypeVar

from grammar.exam import Exam

Beside = TypeVar("Beside")
Made = TypeVar("Made")


class ByExam(Generic[Beside, Made]):
    """Gives what ``make`` makes of an exam and what comes beside it; anew only for other ones."""

    def __init__(self, make: Callable[[Exam, Beside], Made]) -> None:
        self._make = make
        self._kept: dict[int, tuple[Exam, Beside, Made]] = {}

    def of(self, exam: Exam, beside: Beside) -> Made:
        """What is made of this exam."""
        kept = self._kept.get(exam.number)
        # Equal exams are not looked for: comparing all findings takes as long as making it anew.
        if kept is not None and kept[0] is exam and kept[1] == beside:
            return kept[2]
        made = self._make(exam, beside)
        self._kept[exam.number] = (exam, beside, made)
        return made
