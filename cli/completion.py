"""``remetre completion``: let the shell complete commands, options and their values."""

from __future__ import annotations

import click

from .params import Word

__all__ = ["answer", "command"]

_VARIABLE = "_REMETRE_COMPLETE"
_SHELLS = ("bash", "zsh", "fish")
# A new account's zsh has not begun to complete: what registers a completion is not there yet.
_BEGIN = "(( $+functions[compdef] )) || { autoload -Uz compinit && compinit }"


@click.command("completion")
@click.argument("shell", type=Word(_SHELLS))
def command(shell: str) -> None:
    """Print what lets the shell complete commands, options and their values.

    Have it read at every start of the shell, then open a new one:

    \b
    bash:  remetre completion bash >> ~/.bashrc
    zsh:   remetre completion zsh >> ~/.zshrc
    fish:  remetre completion fish > ~/.config/fish/completions/remetre.fish

    After `remetre ` the Tab key then completes commands, options, metres, devices, other words that
    an option takes, and files.
    """
    from click.shell_completion import get_completion_class

    from .main import main

    kind = get_completion_class(shell)
    assert kind is not None
    if shell == "bash":
        # The class asks an installed bash for its version, which a script need not.
        kind = type("Bash", (kind,), {"_check_version": staticmethod(lambda: None)})
    script = kind(main, {}, "remetre", _VARIABLE).source()
    if shell == "zsh":
        first, _, rest = script.partition("\n")
        script = f"{first}\n{_BEGIN}\n{rest}"
    click.echo(script)


def answer(program: click.Group, instruction: str) -> int:
    """Answer the shell, which asks through the environment; the exit code."""
    from click.shell_completion import shell_complete

    return shell_complete(program, {}, "remetre", _VARIABLE, instruction)
