"""The command ``hornsweep``: its subcommands, loaded when used, and how errors end."""

from __future__ import annotations

import importlib
import os
import sys
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

import click

from dictation.cli.endings import unread, unwind_when_told_to_end
from dictation.console.terminal import sentence
from dictation.disk import NO_ROOM
from dictation.errors import BadInputError, HornsweepError, MissingError

COMMANDS: dict[str, tuple[str, str]] = {
    "demo": ("dictation.cli.demo", "The whole job on the shipped recording."),
    "replay": ("dictation.cli.replay", "Hear recordings, or take typed phrases."),
    "listen": ("dictation.cli.listen", "The microphone, live."),
    "parse": ("dictation.cli.parse", "Read typed phrases."),
    "say": ("dictation.cli.say", "What can be said of what, on one sheet."),
    "check": ("dictation.cli.check", "Every flag of a visit."),
    "correct": ("dictation.cli.correct", "Correct what was heard, in the console."),
    "review": ("dictation.cli.review", "The page of the spoken log."),
    "export": ("dictation.cli.export", "Write what leaves the truck."),
    "farm": ("dictation.cli.farm", "The farms of the practice."),
    "plan": ("dictation.cli.plan", "Who should be examined, and why."),
    "import": ("dictation.cli.importing", "Take in a herd list, or a visit out of CSV."),
    "merge": ("dictation.cli.merge", "Two vets' halves of one visit made one."),
    "animal": ("dictation.cli.animal", "One animal over all visits, and words in them."),
    "summary": ("dictation.cli.summary", "What many visits say together."),
    "rehear": ("dictation.cli.rehear", "An archive heard again."),
    "forget": ("dictation.cli.forget", "Remove sound or words for good."),
    "repair": ("dictation.cli.repair", "What can be read of a damaged visit."),
    "ready": ("dictation.cli.ready", "Is everything there?"),
    "bench": ("dictation.cli.bench", "How well your own recordings are heard."),
}
"""Name of a command: the module that holds it as ``command``, and one line for --help."""

MOST_BYTES_OF_WORDS = 2**20
INTERNAL_ERROR = 5
INTERRUPTED = 130


class LazyGroup(click.Group):
    """A group whose commands are imported when they are called, so that each starts fast."""

    def __init__(self, *, lazy: dict[str, tuple[str, str]], **settings: object) -> None:
        super().__init__(**settings)  # type: ignore[arg-type]
        self._lazy = lazy

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Names in the order of the table."""
        return list(self._lazy)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import a command; None for a name that is none."""
        if cmd_name not in self._lazy:
            return None
        found = importlib.import_module(self._lazy[cmd_name][0]).command
        assert isinstance(found, click.Command)
        return found

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The list for --help, from the table: nothing is imported for it."""
        if not self._lazy:
            return
        with formatter.section("Commands"):
            formatter.write_dl([(name, line) for name, (_, line) in self._lazy.items()])


@click.group(
    cls=LazyGroup,
    lazy=COMMANDS,
    context_settings={"help_option_names": ["-h", "--help"]},
    epilog="Example: hornsweep demo --out my-demo",
)
@click.option(
    "--words",
    type=click.Path(path_type=Path),
    envvar="HORNSWEEP_WORDS",
    help="TOML file of the practice's own words.",
)
@click.version_option(package_name="hornsweep")
def hornsweep(words: Path | None) -> None:
    """Offline voice-dictated note taker for cattle reproduction exams."""
    _take_up_words(words)


def _take_up_words(named: Path | None) -> None:
    """Read with a practice's own words, from a named file or the usual place; else with ours alone.

    Raises BadInputError with file and line for what cannot be used.
    """
    from platformdirs import user_config_path

    from grammar.vocabulary import take_up

    path = named or user_config_path("hornsweep") / "words.toml"
    if named is None and not path.is_file():
        take_up(None)
        return
    from dictation.gate import content_of
    from grammar.own_words import extended
    from grammar.vocabulary import VocabularyError, built_in

    content = content_of(path, "the file of your own words (--words)", MOST_BYTES_OF_WORDS)
    try:
        take_up(extended(built_in(), content.decode("utf-8"), str(path)))
    except UnicodeDecodeError as error:
        raise BadInputError(f"{path} is not UTF-8: save it as UTF-8 text.") from error
    except VocabularyError as error:
        raise BadInputError(str(error)) from error


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the command line and exit with its code."""
    unwind_when_told_to_end()
    # Folders and files of a visit, logs and caches are this user's alone.
    os.umask(0o077)
    code = run(arguments)
    unread()
    sys.exit(code)


def run(  # noqa: PLR0911 - one an ending
    arguments: Sequence[str] | None = None,
    *,
    command: click.Command = hornsweep,
    name: str = "hornsweep",
) -> int:
    """Run the command line; its exit code. Never lets an error through."""
    try:
        code = command.main(
            args=None if arguments is None else list(arguments),
            prog_name=name,
            standalone_mode=False,
        )
        return code if isinstance(code, int) else 0
    except click.exceptions.Exit as stop:
        return stop.exit_code
    except HornsweepError as error:
        sentence(str(error))
        return error.exit_code
    except click.ClickException as error:
        sentence(_usage(error))
        return 2
    except (KeyboardInterrupt, click.Abort):
        sentence("Stopped; everything heard so far is kept.")
        return INTERRUPTED
    except (BrokenPipeError, SystemExit):
        # The reader of our output has gone, at which click exits by itself.
        return 0
    except Exception as error:
        if isinstance(error, OSError) and unread():
            return INTERRUPTED
        told = _told_by_the_system(error) or HornsweepError(_internal())
        sentence(str(told))
        return told.exit_code


def _told_by_the_system(error: Exception) -> HornsweepError | None:
    """What the machine refuses, and no part of hornsweep foresaw; None for a mistake of ours."""
    if isinstance(error, MemoryError):
        return MissingError("There is not enough memory: close other programs and try again.")
    if not isinstance(error, OSError) or error.filename is None:
        return None
    if error.errno in NO_ROOM:
        return MissingError(f"There is no room on the disk for {error.filename}: make room.")
    return BadInputError(
        f"{error.filename} cannot be used ({error.strerror}): look where it is, and who may use it."
    )


def _usage(error: click.ClickException) -> str:
    words = " ".join(error.format_message().split()).rstrip(".")
    where = ""
    if isinstance(error, click.UsageError) and error.ctx is not None:
        where = f" See '{error.ctx.command_path} --help'."
    return f"{words}.{where}"


def _internal() -> str:
    """Write the details of a mistake of ours where they can be sent from, and say where."""
    import tempfile
    import traceback

    details = traceback.format_exc()
    last = details.strip().splitlines()[-1]
    stamp = datetime.now(UTC).strftime("%Y%m%dT%H%M%SZ")
    path = Path(tempfile.gettempdir()) / f"hornsweep-{stamp}-{os.getpid()}.log"
    try:
        path.write_text(details, encoding="utf-8")
    except OSError:
        return f"hornsweep made a mistake ({last}); what was recorded before is kept."
    return f"hornsweep made a mistake; what was recorded before is kept, details are in {path}."
