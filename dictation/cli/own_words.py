"""A practice's own words, taken up before a command runs: by option, environment or usual place."""

from __future__ import annotations

from pathlib import Path

from dictation.errors import BadInputError

VARIABLE = "HORNSWEEP_WORDS"


def usual_place() -> Path:
    """Where the file lies that every command takes up by itself."""
    from platformdirs import user_config_path

    return user_config_path("hornsweep") / "words.toml"


def take_up_words(named: Path | None) -> None:
    """Read with the words of a file, in every room; with ours alone where there is none.

    Raises BadInputError with file and line for what cannot be used.
    """
    from grammar.vocabulary import take_up

    path = named or usual_place()
    if named is None and not path.is_file():
        take_up(None)
        return
    from grammar.own_words import extended
    from grammar.vocabulary import VocabularyError, built_in

    try:
        take_up(extended(built_in(), path.read_text(encoding="utf-8"), str(path)))
    except OSError as error:
        raise BadInputError(
            f"{path} cannot be read ({error.strerror}): name another file with --words."
        ) from error
    except UnicodeDecodeError as error:
        raise BadInputError(f"{path} is not UTF-8: save it as UTF-8 text.") from error
    except VocabularyError as error:
        raise BadInputError(str(error)) from error
