"""Wrong usage of a command, told in one line of ours.

Question answered: which word of this command line cannot be used, what may stand there, and where is that written?

The parser's findings are read by their kind; none of its sentences is repeated. ``main`` prints the line and exits 2.
"""

from __future__ import annotations

import difflib
import re
import sys
from typing import Any, Literal, get_args, get_origin, get_type_hints

import typer

from viz3d.echo import plain, shown

UsageError: type[Exception] = typer.BadParameter.__base__  # type: ignore[assignment]
"""What the parser raises for every wrong usage."""
NO_WORDS = "NoArgsIsHelpError"
"""The kind that stands for a bare ``viz3d``: its help is all there is to say."""


def usage_line(error: Any) -> str:
    """What is wrong with the command line, what may stand there, and how to see more."""
    context = error.ctx
    typed = next((w for w in sys.argv[1:] if not w.startswith("-")), "")
    inner = context.info_name if context is not None and context.parent is not None else "" if context else plain(typed)
    command = f"viz3d {inner}" if inner else "viz3d"
    told, near = _TOLD.get(type(error).__name__, _other)(error, command)
    more = f"'{command} -h' shows {'how it is used' if inner else 'what there is'}"
    return f"{told}; {more}" + (f"; did you mean {near[0]}?" if near else "")


Told = tuple[str, list[str]]
"""What is wrong, and what was meant where that is known."""


def _unknown_option(error: Any, command: str) -> Told:
    known = [o for p in error.ctx.command.params for o in (*p.opts, *p.secondary_opts)] if error.ctx else []
    near = difflib.get_close_matches(error.option_name, [k for k in known if k.startswith("--")], n=1, cutoff=0.7)
    return f"'{plain(error.option_name)}' is no option of '{command}'", near


def _missing(error: Any, command: str) -> Told:
    scene = ": a scene file, or a name that 'viz3d scenes' lists" if "SCENE" in _name(error.param) else ""
    return f"{_name(error.param)} is missing{scene}", []


def _no_value(error: Any, command: str) -> Told:
    return f"{error.option_name}: its value is missing", []


def _bad_value(error: Any, command: str) -> Told:
    param = error.param
    if param is None:
        return _other(error, command)
    found = _typed(param)
    allowed, words = _allowed(error.ctx, param)
    near = difflib.get_close_matches((found or "").lower(), words, n=1)
    return f"{_name(param)}: found {shown(found) if found is not None else 'another kind'}{allowed}", near


def _other(error: Any, command: str) -> Told:
    """Words too many, or a command that does not exist."""
    if error.ctx is not None and error.ctx.parent is None:
        word = plain(next((w for w in sys.argv[1:] if not w.startswith("-")), ""))
        return f"'{word}' is no command", difflib.get_close_matches(word.lower(), list(error.ctx.command.commands), n=1)
    found = re.search(r" \((.*)\)\.?$", str(error.message), re.DOTALL)
    word = plain(found[1]) if found else ""
    return f"'{word}' is more than '{command}' takes; names with spaces stand in quotes", []


_TOLD = {
    "NoSuchOption": _unknown_option, "MissingParameter": _missing, "BadOptionUsage": _no_value,
    "BadParameter": _bad_value,
}  # fmt: skip
"""The parser's kind of finding -> how it is told."""


def _name(param: Any) -> str:
    """What a person knows a parameter by: its option, or the word that stands for it in the help."""
    if param.param_type_name == "option":
        return str(max(param.opts, key=len))
    return str(param.metavar or param.name.upper()).rstrip(".")


def _typed(param: Any) -> str | None:
    """What was typed after an option; None where it cannot be told."""
    words = sys.argv[1:]
    for k, word in enumerate(words):
        name, equals, value = word.partition("=")
        if name in param.opts:
            return value if equals else next(iter(words[k + 1 :]), None)
    return None


def _allowed(context: Any, param: Any) -> tuple[str, list[str]]:
    """What an option takes, by the annotation of its command's function; and its words, where it chooses from some."""
    hint = get_type_hints(context.command.callback, include_extras=True).get(param.name) if context else None
    words = _words(hint)
    if words:
        return f"; allowed: {', '.join(words)}", words
    if int in _leaves(hint):
        bounds = next((e for e in getattr(hint, "__metadata__", ()) if hasattr(e, "min")), None)
        low, high = (getattr(bounds, n, None) for n in ("min", "max"))
        return "; allowed: a whole number" + (f" from {low} to {high}" if None not in (low, high) else ""), []
    return "", []


def _words(hint: Any) -> list[str]:
    if get_origin(hint) is Literal:
        return [str(a) for a in get_args(hint)]
    return [w for part in get_args(hint) for w in _words(part)]


def _leaves(hint: Any) -> set[Any]:
    parts = get_args(hint)
    return {hint} if not parts else {leaf for part in parts for leaf in _leaves(part)}
