"""A bit that flips on the disk is noticed and named, and what is whole can be gone on with."""

from __future__ import annotations

import hashlib
import random
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from dictation.audio.keep import stop_at_damaged_sound
from dictation.cli.app import run
from dictation.errors import BadInputError, MissingError
from dictation.intake.repair import repair
from dictation.recognition.model_files import (
    ENCODER_FILE,
    SUMS_FILE,
    original_folder,
    read_model_file,
    whole_file,
)
from dictation.visit.facts import Repaired
from dictation.visit.inputs import PhraseHeard
from dictation.visit.journal import Journal
from grammar.findings import Ovary
from tests.releases import OF_FACTS, restored
from tests.review.test_access import Served
from tests.visit.test_forgetting import SAID, visit_in, visit_of


def rewritten(folder: Path, statement: str) -> None:
    """As rot does, past every guard."""
    with closing(sqlite3.connect(folder / "visit.sqlite")) as connection:
        for name in ("changes", "goes", "replaced"):
            connection.execute(f"DROP TRIGGER entry_never_{name}")
        assert connection.execute(statement).rowcount > 0
        connection.commit()


VALUE = "UPDATE entry SET facts = replace(facts, '\"size_mm\":22.0', '\"size_mm\":23.0')"


def test_a_value_that_became_another_is_refused_and_named(tmp_path: Path) -> None:
    folder = visit_in(tmp_path / "visit")
    rewritten(folder, VALUE)
    with pytest.raises(BadInputError, match=r"entry \d+ cannot be read .*hornsweep repair"):
        visit_of(folder)
    assert run(["check", str(folder)]) == 3


@pytest.mark.parametrize("column", ["at", "who", "input"])
def test_a_time_or_name_that_became_another_is_noticed(column: str, tmp_path: Path) -> None:
    folder = visit_in(tmp_path / "visit")
    rewritten(folder, f"UPDATE entry SET {column} = {column} || 'x' WHERE seq = 5")
    with pytest.raises(BadInputError, match="entry 5"):
        visit_of(folder)


def test_a_lost_entry_in_the_middle_is_noticed(tmp_path: Path) -> None:
    folder = visit_in(tmp_path / "visit")
    rewritten(folder, "DELETE FROM entry WHERE seq = 5")
    with pytest.raises(BadInputError, match="entry 6"):
        visit_of(folder)


def test_damaged_words_are_named_and_the_rest_goes_on(tmp_path: Path) -> None:
    folder = visit_in(tmp_path / "visit")
    rewritten(folder, "UPDATE entry SET evidence = replace(evidence, 'twenty-two', 'twenty-one')")
    with Journal.read(folder) as journal:
        assert len(journal.visit().phrases) == len(SAID)
        (told,) = journal.damage()
        assert "what was said is damaged" in told
        heard = [given.phrase for _, given in journal.evidence(PhraseHeard) if given]  # type: ignore[attr-defined]
        assert 2 not in heard
        assert len(heard) == len(SAID) - 1


@pytest.mark.parametrize("name", OF_FACTS)
def test_a_visit_of_a_time_before_digests_is_not_called_damaged(name: str, tmp_path: Path) -> None:
    folder = restored(name, tmp_path / "visit")
    before = visit_of(folder)
    Journal.write(folder).close()
    assert visit_of(folder) == before


def test_damaged_sound_is_named_when_it_is_played(tmp_path: Path) -> None:
    folder = visit_in(tmp_path / "visit")
    phrase = visit_of(folder).spoken[2]
    assert phrase.audio is not None
    path = folder / "audio" / phrase.audio
    stop_at_damaged_sound(path, phrase.audio_digest)
    content = bytearray(path.read_bytes())
    content[len(content) // 2] ^= 4
    path.write_bytes(content)
    with pytest.raises(BadInputError, match="damaged"):
        stop_at_damaged_sound(path, phrase.audio_digest)


def test_the_page_does_not_play_damaged_sound_and_says_so(tmp_path: Path) -> None:
    page = Served(visit_in(tmp_path / "visit"))
    page.enter()
    assert page.client.get("/sound/2.flac").status_code == 200
    path = tmp_path / "visit" / "audio" / "0002.flac"
    content = bytearray(path.read_bytes())
    content[len(content) // 2] ^= 4
    path.write_bytes(content)
    answer = page.client.get("/sound/2.flac")
    page.record.close()
    assert answer.status_code == 410
    assert "damaged" in answer.text


def test_a_flipped_bit_in_a_model_is_noticed(tmp_path: Path) -> None:
    copy = tmp_path / "model"
    shutil.copytree(original_folder(), copy)
    digest = hashlib.sha256((copy / ENCODER_FILE).read_bytes()).hexdigest()
    (copy / SUMS_FILE).write_text(f"{digest}  {ENCODER_FILE}\n")
    assert whole_file(copy / ENCODER_FILE)
    content = bytearray((copy / ENCODER_FILE).read_bytes())
    content[len(content) // 2] ^= 0x40
    (copy / ENCODER_FILE).write_bytes(content)
    with pytest.raises(MissingError, match="damaged"):
        whole_file(copy / ENCODER_FILE)
    with pytest.raises(MissingError, match="damaged"):
        read_model_file(copy, ENCODER_FILE)


def test_the_model_as_installed_is_what_its_digests_say() -> None:
    for path in original_folder().iterdir():
        assert whole_file(path)


def test_a_damaged_visit_is_written_to_a_new_folder_without_what_is_lost(tmp_path: Path) -> None:
    folder = visit_in(tmp_path / "visit")
    before = visit_of(folder)
    rewritten(folder, VALUE)
    bytes_before = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    found = repair(folder, tmp_path / "new")
    assert {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()} == bytes_before
    after = visit_of(tmp_path / "new")
    assert len(found.lost_entries) >= 1
    assert [exam.tag for exam in after.exams] == [exam.tag for exam in before.exams]
    assert Ovary not in {type(f) for f in after.exams[0].findings}
    assert after.exams[1].findings == before.exams[1].findings
    assert not after.is_approved(1)
    lost = [fact for act in after.acts.values() for fact in act.of(Repaired)]
    assert [fact.lost for fact in lost] == [tuple(found.lost_entries)]
    assert (tmp_path / "new" / "exams.csv").is_file()
    assert run(["check", str(tmp_path / "new")]) == 0


def test_a_whole_visit_comes_out_of_repair_as_it_was(tmp_path: Path) -> None:
    folder = visit_in(tmp_path / "visit", approved="837 412")
    found = repair(folder, tmp_path / "new")
    assert found.lost == []
    before, after = visit_of(folder), visit_of(tmp_path / "new")
    assert after.exams == before.exams
    assert after.visit_approved == before.visit_approved
    kept = sorted(path.relative_to(folder) for path in folder.rglob("*.flac"))
    assert (
        sorted(p.relative_to(tmp_path / "new") for p in (tmp_path / "new").rglob("*.flac")) == kept
    )


def test_lost_entries_cost_what_hangs_on_them_alone(tmp_path: Path) -> None:
    folder = visit_in(tmp_path / "visit")
    rewritten(folder, "DELETE FROM entry WHERE seq IN (1, 3)")
    (folder / "audio" / "0004.flac").write_bytes(b"no sound")
    assert run(["repair", str(folder), "--strict"]) == 1
    after = visit_of(tmp_path / "visit-repaired")
    assert after.on_date is not None
    assert "412" in [exam.tag for exam in after.exams]
    assert not (tmp_path / "visit-repaired" / "audio" / "0004.flac").exists()
    assert (folder / "audio" / "0004.flac").read_bytes() == b"no sound"


@pytest.mark.parametrize("seed", range(12))
def test_damaged_pages_cost_what_is_on_them(seed: int, tmp_path: Path) -> None:
    folder = visit_in(tmp_path / "visit")
    path = folder / "visit.sqlite"
    content, chance = bytearray(path.read_bytes()), random.Random(seed)
    for _ in range(20):  # behind the page that says what the tables are
        content[chance.randrange(4096, len(content))] ^= 1 << chance.randrange(8)
    path.write_bytes(content)
    assert run(["repair", str(folder), "--out", str(tmp_path / "new")]) in (0, 3)
    if (tmp_path / "new").exists():
        assert run(["check", str(tmp_path / "new")]) == 0
