"""``archerysim new``: a first setup file, by questions, options, a file from before or a filled page of measures."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from shlex import quote
from typing import TYPE_CHECKING, Any

from archerysim.cli.options import Commands, add_plain_command, once, pair

if TYPE_CHECKING:
    from archerysim.equipment.first_setup.filled_page import FilledPage
    from archerysim.equipment.first_setup.interview import Interview
    from archerysim.equipment.first_setup.questions import Question

TEXT = "a setup file for your bow, from eighteen questions; what you do not know is taken as usual and marked"
HELLO = """\
Enter takes what stands in brackets; where "assumed" stands there it is marked so in the file, and = says that you
measured just that. ? says how to measure it, back returns to the previous question. Any unit will do: 220 mm, 8 5/8 in,
34 lb, 15 kg, 90 gr. Ctrl-C keeps your answers."""
BACK, HELP, SAME = ("back", "<"), ("?", "help"), "="
COLD = """\
archerysim: after the questions the bow is shot, to say what to measure next. On this machine that compiles first, once:
a minute or two, more on a busy one. "archerysim warmup" does it beforehand, elsewhere; --quick leaves it out."""


def add(commands: Commands) -> None:
    """What the command accepts."""
    from archerysim.equipment.first_setup.questions import QUESTIONS

    parser = add_plain_command(commands, "new", run, TEXT)
    parser.add_argument("out", metavar="SETUP", help="setup file to be written (.toml)")
    parser.add_argument(
        "--from", action="append", default=[], metavar="FILE", dest="before",
        help="take the answers in this file: a setup file, of which only what is marked as assumed is asked again, "
        "or a filled-in page of measures (.md); may be given once for each",
    )  # fmt: skip
    parser.add_argument("--usual", action="store_true", help="ask nothing: what no option gives is taken as usual")
    parser.add_argument("--replace", action="store_true", help="overwrite an existing file")
    parser.add_argument(
        "--quick", action="store_true", help="do not work out what to measure next, which takes some seconds"
    )
    parser.add_argument("--name", metavar="NAME", help="name of the setup (default: that of the file)")
    parser.add_argument(
        "--set", action="append", default=[], metavar="PATH=VALUE", type=pair, dest="more",
        help='any other field of a setup file, for example "limbs.mass=165 g"; may be given again',
    )  # fmt: skip
    for question in QUESTIONS:
        choices = f" ({', '.join(question.choices)})" if question.choices else ""
        parser.add_argument(
            f"--{question.name}", metavar="ANSWER", dest=f"answer_{question.name}",
            help=f"{question.ask[0].lower()}{question.ask[1:]}{choices}".replace("%", "%%"),
        )  # fmt: skip


def run(options: Any) -> int:
    """What the command does."""
    from archerysim.equipment.first_setup.interview import Interview
    from archerysim.errors import ArcherysimError
    from archerysim.fields.file_writing import check_target, write_text
    from archerysim.shot.warm_up import is_cold
    from archerysim.show.answers.first_setup import first_setup_answer
    from archerysim.study.uncertainty.measure_next import measure_next

    check_target(options.out, "out", (".toml",))
    _refuse_old(options)
    said, assumed = _before(options)
    interview = Interview(options.name or Path(options.out).stem, said, assumed)
    if not options.quick and is_cold():
        print(COLD, file=sys.stderr, flush=True)
    typed: list[Question] = []
    try:
        _answer(interview, options, typed)
        made = interview.finished()
        found = None if options.quick else measure_next(made.setup, made.assumed)
    except (KeyboardInterrupt, ArcherysimError):
        if typed:
            _keep(interview, options.out)
        raise
    write_text(options.out, made.text, "out")
    print(first_setup_answer(made, options.out, found))
    return 0


def _keep(interview: Interview, out: str) -> None:
    """Write what was answered at a terminal into a file beside the one that is not written, and say how to go on."""
    from archerysim.fields.file_writing import write_text

    kept = os.fspath(Path(out).with_name(f"{Path(out).stem}-unfinished.toml"))
    write_text(kept, interview.unfinished(), "out")
    print(
        f"\narcherysim: {out} is not written. Your answers are kept in {kept}, to go on or to be put right there: "
        f"archerysim new {quote(out)} --from {quote(kept)}",
        file=sys.stderr,
    )


def _refuse_old(options: Any) -> None:
    from archerysim.equipment import SetupError

    if Path(options.out).exists() and not options.replace:
        raise SetupError("out", f"{options.out} already exists", "Choose another name, or add --replace")


def _before(options: Any) -> tuple[dict[str, Any], dict[str, str]]:
    """What files from before and ``--set`` say of single fields, and what of it is marked as assumed."""
    from archerysim.equipment.first_setup.filled_page import read_filled, refuse_rows, wrong_answers
    from archerysim.equipment.first_setup.interview import Interview
    from archerysim.equipment.first_setup.questions import BY_NAME, checked
    from archerysim.equipment.first_setup.setup_text import read_marked

    said: dict[str, Any] = {}
    assumed: dict[str, str] = {}
    pages: dict[str, FilledPage] = {}
    for path in sorted(options.before, key=lambda one: one.lower().endswith(".md")):
        if path.lower().endswith(".md"):
            page = pages[path] = read_filled(path)
            for name, value in page.answers.items():
                if getattr(options, f"answer_{name}") is None:
                    setattr(options, f"answer_{name}", value)
            fields, marks = page.fields, dict[str, str]()
        else:
            fields, marks = read_marked(path)
        _say(said, fields)
        assumed = {name: why for name, why in (assumed | marks).items() if name in marks or name not in fields}
    for path, value in once(options.more).items():
        _say(said, {path: checked(path, value)})
        assumed.pop(path, None)
    given = {name: answer for name in BY_NAME if (answer := getattr(options, f"answer_{name}")) is not None}
    for path, page in pages.items():
        refuse_rows(path, wrong_answers(page, Interview("trial", said, assumed), given))
    return said, assumed


def _say(said: dict[str, Any], fields: dict[str, Any]) -> None:
    """Take fields into what is said: of both limbs in place of each limb's own, and the other way round."""
    from archerysim.fields.paths import PAIRS

    said |= fields
    for path in fields:
        head, _, name = path.partition(".")
        for both, twins in PAIRS.items():
            own = [f"{twin}.{name}" for twin in twins]
            if head == both:
                for one in own:
                    said.pop(one, None)
            elif head in twins and all(one in said for one in own):
                said.pop(f"{both}.{name}", None)


def _answer(interview: Interview, options: Any, typed: list[Question]) -> None:
    """Take the options' answers, then ask for what is open, by what standard input is; those typed are listed."""
    from archerysim.equipment.first_setup.questions import QUESTIONS

    given = {one.name: getattr(options, f"answer_{one.name}") for one in QUESTIONS}
    asked = [one for one in QUESTIONS if given[one.name] is None and interview.is_open(one)]
    told = sys.stdin is not None and sys.stdin.isatty() and not options.usual
    if told and asked:
        print(HELLO)
    done = typed if told else []
    queue = list(QUESTIONS)
    while queue:
        question = queue.pop(0)
        answer = given[question.name]
        if answer is not None:
            interview.take(question, answer)
        elif interview.is_open(question):
            if options.usual:
                interview.take_usual(question)
            elif _ask(interview, question, told):
                done.append(question)
            elif done:
                queue = [done[-1], question, *queue]
                interview.reopen(done.pop())
            else:
                queue = [question, *queue]


def _ask(interview: Interview, question: Question, told: bool) -> bool:
    """Ask one question until it is answered; False to go back.

    Piped answers are taken a line each, an empty one as Enter; after the last one all is usual. A wrong one is asked
    again only at a terminal.
    """
    from archerysim.equipment import SetupError

    while True:
        line = _line(_prompt(interview, question) if told else "")
        if line in BACK and told:
            return False
        if line in HELP and told:
            print(f"  {question.how}")
            continue
        try:
            if told and (line == SAME or (not line and question.seen)):
                interview.confirm(question)
            elif line:
                interview.take(question, line)
                for remark in filter(None, (interview.odd(question), interview.edge(question, line)) if told else ()):
                    print(f"  {remark}")
            else:
                interview.take_usual(question)
            return True
        except SetupError as error:
            if not told:
                raise
            print(f"  {error}")


def _prompt(interview: Interview, question: Question) -> str:
    from archerysim.equipment.first_setup.questions import BY_NAME

    choices = f" ({', '.join(question.choices)})" if question.choices else ""
    number = f"{list(BY_NAME).index(question.name) + 1}/{len(BY_NAME)}"
    mark = "" if question.seen else ", assumed"
    return f"{number} {question.ask}{choices} [{interview.usual(question)}{mark}]: "


def _line(prompt: str) -> str:
    """A line of standard input without what surrounds it; empty at its end."""
    try:
        return input(prompt).strip() if prompt else (sys.stdin.readline().strip() if sys.stdin else "")
    except EOFError:
        print()
        return ""
