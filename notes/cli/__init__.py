"""The commands: one file a verb, each loaded only when asked for, so that `--help` and every reader start fast."""

from __future__ import annotations

import sys
from importlib import import_module
from keyword import iskeyword

import click

from notes.errors import UsageError, VoidbookError

VERBS = {
    "Begin": {
        "new": "Make a job: a folder with its rooms, its book and its media.",
        "demo": "Make a job from the recordings that come along, and show what it tells.",
    },
    "Bring in": {
        "take": "File recordings, photos, notes, or folders of them.",
        "dictate": "Record a memo with this machine's microphone, and file it.",
        "watch": "File what arrives in a folder, as it arrives.",
        "problems": "List the files that could not be filed, and why.",
    },
    "Ask": {
        "log": "What was said, by day and room.",
        "followups": "What is still open, worst first.",
        "trace": "Where a pipe goes and ends, asked in plain words.",
        "find": "Find words in all that was said.",
        "runs": "List the pipe runs and what state each is in.",
        "facts": "List every fact.",
        "rooms": "List the rooms and what is filed of each.",
        "memo": "Show one memo with its words and facts.",
        "photos": "Which pipes no clear photo shows, and every photo.",
    },
    "Hand over": {
        "record": "Write the record of a day, a room or the whole job.",
        "sketch": "Draw the pipe runs by floor and room.",
        "shopping": "What is to be ordered or fetched.",
        "export": "Write the whole job as plain files.",
        "import": "Bring in a job that was exported, or merge it.",
    },
    "Decide": {
        "review": "Go through the day on the screen: read, listen, put right, sign off.",
        "close": "Close a follow-up, with a reason.",
        "reopen": "Open a follow-up again.",
        "assign": "Give a follow-up to somebody.",
        "photo": "Move a photo to the room that it shows.",
        "accept": "Say that a fact is right as it stands.",
        "correct": "Put one field of a fact right.",
        "reject": "Say that a fact was not said.",
        "add": "Add a fact by hand.",
        "word": "Put a misheard word right.",
        "merge": "Say that two runs are one pipe.",
        "part": "Say that two runs are two pipes.",
        "sign": "Sign off a day or a room.",
        "decisions": "List what was decided.",
        "undo": "Take a decision back.",
    },
    "Look after": {
        "explain": "Show how a sentence is read, and why.",
        "words": "The job's own words: list, add, drop, check them.",
        "reread": "Read all memos again, by the words and rules of today.",
        "recheck": "Work out all follow-ups again.",
        "verify": "Check that everything is still there and right.",
        "backup": "Copy the job into another folder, while it is in use.",
        "restore": "Make a job out of a backup.",
        "forget": "Remove a memo for good.",
        "model": "Choose the speech model.",
    },
    "Many machines": {
        "cluster": "Be the place where workers and whoever takes recordings meet.",
        "worker": "Lend this machine to a cluster.",
    },
}
"""Verbs by what they are for. The lines stand here so that help needs no verb's file."""

_LINES = {verb: line for verbs in VERBS.values() for verb, line in verbs.items()}


def command_of(verb: str) -> click.Command:
    """The command in the verb's own module; one that is a word of Python's stands with an underscore."""
    command: click.Command = import_module(f"notes.cli.{verb}{'_' if iskeyword(verb) else ''}").command
    return command


class LazyGroup(click.Group):
    """A group whose verbs live in modules of the same name."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(_LINES)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in _LINES:
            return None
        return command_of(cmd_name)

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        if args and args[0] not in _LINES and not args[0].startswith("-"):
            from notes.job import near

            close = near(args[0], _LINES)
            todo = f"did you mean {close!r}?" if close else "see them with: voidbook --help"
            raise UsageError(f"no command is called {args[0]!r}", todo=todo)
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        for heading, verbs in VERBS.items():
            with formatter.section(heading):
                formatter.write_dl(list(verbs.items()), col_max=12)


def _version(ctx: click.Context, _param: click.Parameter, wanted: bool) -> None:
    if wanted:
        from importlib.metadata import version

        click.echo(f"voidbook {version('voidbook')}")
        ctx.exit()


@click.group(cls=LazyGroup, context_settings={"help_option_names": ["-h", "--help"]})
@click.option("--version", is_flag=True, is_eager=True, expose_value=False, callback=_version, help="Show the version.")
def command() -> None:
    """The memory of a heating and plumbing job.

    Speak or type what you did; voidbook keeps it as a log for each room, as pipe runs you can trace, and as a list of
    what is still open. Everything stays on this machine.
    """


def main(args: list[str] | None = None) -> None:
    """Run a command. Every error that a person can cause is one line on stderr and an exit code of its kind."""
    sys.exit(_code(args))


def _code(args: list[str] | None) -> int:
    from notes.cli import out

    out.prepare()
    try:
        result = command.main(args, prog_name="voidbook", standalone_mode=False)
        sys.stdout.flush()
    except VoidbookError as wrong:
        return out.wrong(wrong)
    except click.exceptions.NoArgsIsHelpError as no_args:
        out.say(no_args.format_message())
        return 0
    except click.UsageError as wrong:
        return out.wrong(UsageError(wrong.format_message(), todo=_help(wrong.ctx)))
    except click.ClickException as wrong:
        return out.wrong(UsageError(wrong.format_message()))
    except (KeyboardInterrupt, click.Abort):
        return out.stopped()
    except BrokenPipeError:
        return out.reader_gone()
    except SystemExit as end:  # click's own way to end when whoever reads has enough
        return int(end.code or 0)
    except OSError as wrong:
        return out.wrong(VoidbookError(wrong.strerror or str(wrong), file=wrong.filename, todo="check the disk"))
    return result if isinstance(result, int) else 0


def _help(ctx: click.Context | None) -> str:
    return f"see: {ctx.command_path} --help" if ctx else ""
