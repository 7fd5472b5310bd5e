"""`gatesim completion bash|zsh|fish`."""

from __future__ import annotations

import click

from gatesim.cli import options
from gatesim.cli.talk import Talk


@click.command("completion")
@click.argument("shell", type=click.Choice(["bash", "zsh", "fish"]))
@options.loudness
@options.pass_talk
def COMMAND(talk: Talk, shell: str) -> None:  # noqa: N802 - a value, made by the decorators
    """Print what makes a shell complete commands, options, files and ids.

    \b
    bash  gatesim completion bash > ~/.gatesim-completion; and in ~/.bashrc:
          . ~/.gatesim-completion
    zsh   gatesim completion zsh > ~/.gatesim-completion; and in ~/.zshrc:
          . ~/.gatesim-completion
    fish  gatesim completion fish > ~/.config/fish/completions/gatesim.fish
    """
    from click.shell_completion import get_completion_class

    context = click.get_current_context()
    kind = get_completion_class(shell)
    assert kind is not None
    script = kind(context.find_root().command, {}, "gatesim", "_GATESIM_COMPLETE")
    # `source` would first start bash to ask its version; the script is the same.
    talk.deliver(script.source_template % script.source_vars() + "\n", None)
