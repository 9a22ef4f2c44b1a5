"""The commands about the set-up: pedal, settings, doctor."""

import sys

import click

from companion.base.clean import clean_line
from companion.base.errors import PedalError, SettingsError
from companion.cli.health import findings
from companion.cli.options import Number, print_lines
from companion.devices.pedal.character_mode import CharacterMode
from companion.devices.pedal.devices import list_devices
from companion.devices.pedal.learn import kept, learn, learn_switch
from companion.devices.pedal.presses import PedalPresses, terminal_press
from companion.guide.choices import FIRST_ITEM_FACTOR, ROUNDS
from companion.settings import (
    describe,
    load,
    load_usable,
    reset_value,
    save,
    set_value,
    settings_path,
)


@click.group()
def pedal() -> None:
    """Set up a foot pedal."""


@pedal.command(name="list")
def list_pedals() -> None:
    """List the devices that could be a pedal (Linux)."""
    devices = list_devices()
    print_lines(map(str, devices))
    if not devices:
        click.echo("No input devices are seen here. A pedal that types keys works all the same.")


@pedal.command(name="learn")
@click.option(
    "--background",
    is_flag=True,
    help="Read the pedal by itself (Linux), so that it works when another window is in front.",
)
@click.option(
    "--one-switch", is_flag=True, help="One switch for all: a press, quick presses, and a hold."
)
@click.option(
    "--dwell",
    type=Number(0, 20, float),
    metavar="SECONDS",
    help="How long each choice stands; 0 has a press move on, and quick ones or a hold take.",
)
def learn_pedal(*, background: bool, one_switch: bool, dwell: float | None) -> None:
    """Press each pedal once, and its keys are kept in the settings.

    \b
    With one switch:   companion pedal learn --one-switch --dwell 2
    """
    if not sys.stdin.isatty():
        raise PedalError(
            "Expected a terminal to learn a pedal in, but input comes from a file or pipe. "
            "Run this in a terminal."
        )
    settings = load()
    with CharacterMode(sys.stdin.fileno()):
        presses = _background_presses().next if background else terminal_press
        learnt = learn_switch(presses, click.echo) if one_switch else learn(presses, click.echo)
    if learnt is None:
        return
    settings = kept(settings, learnt)
    if dwell is not None:
        settings = set_value(settings, "walk.scan_seconds", str(dwell))
    save(settings)
    if one_switch:
        click.echo(switch_ways(settings.walk.scan_seconds, has_hold=bool(learnt.device)))
    click.echo(f"Kept in {settings_path()}.")


def switch_ways(scan_seconds: float, *, has_hold: bool) -> str:
    """Return what one switch does from now on."""
    call = f"Three quick presses{' or a hold' if has_hold else ''}"
    if not scan_seconds:
        return f"A press is done. {call} read the choices: then a press moves on, and those take."
    return (
        f"A press is done. {call} read the choices, each for {scan_seconds:g} seconds, the first "
        f"for {FIRST_ITEM_FACTOR * scan_seconds:g}: a press takes the one just said. After "
        f"{ROUNDS} rounds they close by themselves."
    )


def _background_presses() -> PedalPresses:
    presses = PedalPresses(list_devices())
    if presses.is_empty:
        raise PedalError(
            "No input device may be read here. Learn the pedal without --background, or see "
            "companion doctor for the permission it needs."
        )
    return presses


@click.command()
@click.argument("key", required=False)
@click.argument("value", required=False)
@click.option("--reset", is_flag=True, help="Put KEY back to its default.")
def settings(key: str | None, value: str | None, *, reset: bool) -> None:
    """Show every setting; show KEY alone, or those of a table; or set KEY to VALUE.

    \b
    companion settings speech.words_per_minute 180
    companion settings keys.bindings.f13 done
    """
    key, value = (None if typed is None else clean_line(typed) for typed in (key, value))
    if reset and (key is None or value is not None):
        raise SettingsError(
            "Expected one KEY to put back, as in: companion settings --reset speech.numbers"
        )
    current = load(without=key if key and (reset or value is not None) else "")
    if key is not None and (reset or value is not None):
        changed = reset_value(current, key) if reset else set_value(current, key, value or "")
        save(changed)
        current = changed
    rows = [
        row
        for row in describe(current)
        if key is None or _is_in(row.key, key) or _is_in(key, row.key)
    ]
    if key is not None and not rows:
        reset_value(current, key)  # says which setting was meant, where there is none such
        click.echo(f"{key}: not set.")
    print_lines(f"{row.key}: {row.value}. {row.meaning}" for row in rows)


def _is_in(key: str, table: str) -> bool:
    return f"{key}.".startswith(f"{table}.")


@click.command()
def doctor() -> None:
    """Say what of voice, loudspeaker, microphone, pedal and models works, and mend the rest.

    In a terminal the voices are heard too. Nothing here is needed to walk a plan by keys and text.
    """
    has_sound = False
    for finding in findings():
        click.echo(finding.line)
        has_sound |= finding.part == "Loudspeaker" and finding.state == "works"
    if has_sound and sys.stdout.isatty():
        from companion.session.voice_trial import trial  # noqa: PLC0415 - seldom

        with trial(load_usable()[0], click.echo) as heard:
            heard.say_by_each()
            heard.say("To choose one: companion voices.")
