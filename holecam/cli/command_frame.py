"""The frame of a command that stands alone in its module; light, because every look-up imports it."""

import typer


def app_for_command() -> typer.Typer:
    """Return the frame of a command that stands alone in its module."""
    return typer.Typer(rich_markup_mode=None, pretty_exceptions_enable=False, add_completion=False)
