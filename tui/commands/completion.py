"""`porewatch completion SHELL`: the script that makes the Tab key know commands and cells."""

import click
from click.shell_completion import get_completion_class


@click.command("completion")
@click.argument("shell", type=click.Choice(["bash", "zsh", "fish"]))
def command(shell: str) -> None:
    """Print the completion script of SHELL.

    \b
    bash:  porewatch completion bash >> ~/.bashrc
    zsh:   porewatch completion zsh >> ~/.zshrc
    fish:  porewatch completion fish > ~/.config/fish/completions/porewatch.fish
    """
    from tui.commands.main import COMPLETION, program  # noqa: PLC0415 (main loads this module)

    found = get_completion_class(shell)
    if found is None:  # pragma: no cover - the choice above leaves only shells that click knows
        raise click.UsageError(f"no completion for {shell!r}")
    click.echo(found(program, {}, "porewatch", COMPLETION).source())
