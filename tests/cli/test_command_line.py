"""Every command alike: complaints by the option's name, one meaning an option, shell completion."""

from __future__ import annotations

import errno
import json
import os
import signal
import subprocess
import sys
import time
from collections import defaultdict
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import typer

from packsim import study
from packsim.cli import commands
from packsim.cli.app import main
from packsim.cli.commands import app, ended
from packsim.sweep import KNOBS

Run = Callable[..., Any]
SWING = "scenarios/swing_line.toml"


def every_command() -> dict[str, Any]:
    """Every command by the words that call it."""
    found, groups = {}, [("", typer.main.get_command(app))]
    while groups:
        before, group = groups.pop()
        for name, command in group.commands.items():
            if hasattr(command, "commands"):
                groups.append((f"{before}{name} ", command))
            else:
                found[before + name] = command
    return found


COMMANDS = every_command()
LISTED = {"stage", "size"}  # once in some commands, again and again in others: other help
OWN_HELP = LISTED | {"file", "guides", "output", "lowest", "highest", "save", "svg", "show"}


@pytest.mark.parametrize(
    ("words", "line"),
    [
        ("studdy", "packsim: No such command 'studdy'. Did you mean 'study'?"),
        ("study", "packsim study: SCENARIO: got nothing; needs a value: scenario file (TOML)"),
        ("study x --units furlong", "packsim study: --units: got 'furlong'; needs one of "),
        ("study x --stge wash", "packsim study: --stge: no such option; did you mean --stage"),
        ("study x --json", "packsim study: --json: got nothing; needs a value"),
        ("study x y", "packsim study: Got unexpected extra argument"),
        ("change x", "packsim change: --to: got nothing; needs a value: can size to change to"),
        ("run x --cans many", "packsim run: --cans: got 'many'; needs a whole number"),
        ("trial plan x --power no", "packsim trial plan: --power: got 'no'; needs a number"),
        (f"trial plan {SWING} --power 2", "packsim trial plan: --power: got 2.0; needs a value"),
        (f"study {SWING} --stage foo", "packsim study: --stage: got 'foo'; needs one of pre-rinse"),
        (f"run {SWING} --workers 0", "packsim run: --workers: got 0; needs a whole number above 0"),
        (f"change {SWING} --to tin", "packsim change: --to: got 'tin'; needs one of 211 body, "),
        ("sizes --json no/such/a", "packsim sizes: --json: got 'no/such/a'; needs a folder that"),
        (
            f"sweep {SWING} --over fill --lowest 1 --highest 0.9",
            "packsim sweep: --highest: got '0.9'; needs more than --lowest 1",
        ),
        (
            f"proposal {SWING} {SWING}",
            "packsim proposal: --figures: got nothing; needs a value: your own figures (TOML)",
        ),
        (
            f"trial fit {SWING} scenarios/trials/swing_line_trial.toml --grouping stage",
            "packsim trial fit: --grouping: got 'stage'; needs one of ",
        ),
    ],
)
def test_a_wrong_option_is_one_line_with_its_name(
    packsim: Run, monkeypatch: pytest.MonkeyPatch, root: Path, words: str, line: str
) -> None:
    monkeypatch.chdir(root)
    result = packsim(*words.split())
    assert (result.returncode, result.stdout) == (2, "")
    assert result.stderr.startswith(line)
    assert len(result.stderr.splitlines()) == 1


def test_two_sizes_that_are_not_there_are_a_line_each(packsim: Run, root: Path) -> None:
    result = packsim("change", root / SWING, "--to", "tin", "--from", "x")
    assert (result.returncode, result.stdout) == (2, "")
    needs = "needs one of 211 body, sleek body"
    assert result.stderr.splitlines() == [
        f"packsim change: --from: got 'x'; {needs}",
        f"packsim change: --to: got 'tin'; {needs}",
    ]


@pytest.mark.parametrize(
    ("words", "wrong"),
    [
        ("run x --cans many --seed few --units furlong", ["cans", "seed", "units"]),
        (
            "oven-heat x --mat-mass a --mat-specific-heat 3 --entry 3kg",
            ["mat-mass", "mat-specific-heat", "entry"],
        ),
        ("sweep x --over fill --lowest a --highest b --kick c", ["kick", "lowest", "highest"]),
        ("nozzles check x --wander a --pipe-share b", ["wander", "pipe-share"]),
        ("nozzles design x --pitch a --angle b --pipe-to c", ["angle", "pipe-to", "pitch"]),
    ],
)
def test_all_wrong_options_are_said_at_once(packsim: Run, words: str, wrong: list[str]) -> None:
    result = packsim(*words.split())
    assert (result.returncode, result.stdout) == (2, "")
    said = [line.partition(": got ")[0].rpartition("--")[2] for line in result.stderr.splitlines()]
    assert said == wrong


@pytest.mark.parametrize("words", COMMANDS)
def test_every_command_says_what_is_missing_and_what_it_does_not_know(
    packsim: Run, words: str
) -> None:
    required = [p for p in COMMANDS[words].params if p.required]
    if required:
        result = packsim(*words.split())
        assert result.returncode == 2
        names = {
            f"--{p.name.replace('_', '-')}" if p.opts[0][0] == "-" else p.metavar for p in required
        }
        found = {line.partition(": got nothing; needs ")[0] for line in result.stderr.splitlines()}
        assert found == {f"packsim {words}: {name}" for name in names}
    (line,) = packsim(*words.split(), "--no-such-thing").stderr.splitlines()
    assert line.startswith(f"packsim {words}: --no-such-thing: no such option")


def test_an_option_means_the_same_in_every_command() -> None:
    kinds, helps = defaultdict(set), defaultdict(set)
    for command in COMMANDS.values():
        for param in command.params:
            kinds[param.name].add((param.metavar, tuple(sorted(param.opts))))
            helps[param.name].add(param.help)
            assert param.help, (command.name, param.name)
            assert param.help.endswith("."), param.help
    assert not {name: kind for name, kind in kinds.items() if len(kind) > 1}
    assert not {
        name: text for name, text in helps.items() if len(text) > 1 and name not in OWN_HELP
    }


def test_what_every_command_that_answers_takes() -> None:
    for words, command in COMMANDS.items():
        names = {param.name for param in command.params}
        assert "replace" in names
        assert names & {"json", "output", "file"}, words
        if words != "renew":
            assert "units" in names, words
        assert "stage" not in names or "size" in names, words


def test_the_help_of_sweep_names_every_setting() -> None:
    text = next(p.help for p in COMMANDS["sweep"].params if p.name == "over")
    plain, of_headers = text.removeprefix("Setting to vary: ").removesuffix(".").split("; and ")
    turned = of_headers.split(": ")[1].split(", ")
    sides = [f"{name}-{side}" for name in turned for side in ("above", "below")]
    assert sorted([*plain.split(", "), *sides]) == sorted(knob.name for knob in KNOBS)


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish", "powershell", "pwsh"])
@pytest.mark.parametrize(
    ("words", "wanted"),
    [
        ("packsim st", {"study"}),
        (f"packsim why {SWING} --un", {"--units"}),
        (f"packsim why {SWING} --size sl", {"sleek body"}),
        (f"packsim draw {SWING} --stage pre-", {"pre-rinse", "pre-wash"}),
        (f"packsim nozzles check {SWING} --units inch --stage pre-w", {"pre-wash"}),
        (f"packsim sweep {SWING} --over pressure-", {"pressure-above", "pressure-below"}),
        ("packsim why no-such-file.toml --size s", set()),
    ],
)
def test_a_shell_completes_commands_options_and_names(
    packsim: Run,
    monkeypatch: pytest.MonkeyPatch,
    root: Path,
    shell: str,
    words: str,
    wanted: set[str],
) -> None:
    monkeypatch.chdir(root)
    monkeypatch.setenv("_PACKSIM_COMPLETE", f"complete_{shell}")
    monkeypatch.setenv("COMP_WORDS", words)
    monkeypatch.setenv("COMP_CWORD", str(len(words.split()) - 1))
    monkeypatch.setenv("_TYPER_COMPLETE_ARGS", words)
    monkeypatch.setenv("_TYPER_COMPLETE_WORD_TO_COMPLETE", words.split()[-1])
    monkeypatch.setenv("_TYPER_COMPLETE_FISH_ACTION", "get-args")
    said = packsim().stdout.replace("\\ ", " ")
    for name in wanted:
        assert name in said
    others = {"run", "--json", "211 body", "wash", "fill"} - wanted
    assert not any(f"\n{other}" in f"\n{said}" or f'"{other}"' in said for other in others)


@pytest.mark.skipif(os.name != "posix", reason="bash keeps its settings in the home folder")
def test_completion_is_installed_for_a_shell(tmp_path: Path) -> None:
    result = subprocess.run(
        [sys.executable, "-m", "packsim", "--install-completion", "bash"],
        capture_output=True,
        text=True,
        check=False,
        timeout=300,
        env=os.environ
        | {"HOME": str(tmp_path), "_TYPER_COMPLETE_TEST_DISABLE_SHELL_DETECTION": "1"},
    )
    assert result.returncode == 0, result.stderr
    assert "_PACKSIM_COMPLETE" in "".join(
        path.read_text(encoding="utf-8") for path in tmp_path.rglob("*") if path.is_file()
    )


def test_completion_for_no_shell_is_wrong_input(capsys, monkeypatch) -> None:
    monkeypatch.setenv("SHELL", "")
    monkeypatch.setenv("_TYPER_COMPLETE_TEST_DISABLE_SHELL_DETECTION", "1")
    assert ended(["--show-completion", "no shell"]) == 2
    assert capsys.readouterr().err


@pytest.mark.all
def test_a_study_of_one_stage_and_size_is_part_of_the_whole(known: Run, root: Path) -> None:
    whole = json.loads(known("study", root / SWING, "--json", "-").stdout)
    part = known("study", root / SWING, "--stage", "wash", "--size", "sleek body", "--json", "-")
    (answer,) = json.loads(part.stdout)["answers"]
    assert answer in whole["answers"]
    said = known("study", root / SWING, "--stage", "wash", "--size", "sleek body", "--all").stdout
    assert "sleek body: 58.0 mm across" in said
    assert "211 body: " not in said


@pytest.mark.parametrize("columns", [80, 100])
def test_a_piped_report_is_as_wide_as_columns_says(
    packsim: Run, monkeypatch: pytest.MonkeyPatch, root: Path, columns: int
) -> None:
    monkeypatch.setenv("COLUMNS", str(columns))
    said = packsim("study", root / "scenarios" / "first_look.toml").stdout
    assert columns - 20 < max(map(len, said.splitlines())) <= columns


def test_bare_numbers_are_in_the_units_asked_for(known: Run, root: Path) -> None:
    asked = ("sweep", root / SWING, "--over", "clear-width", "--steps", "2", "--json", "-")
    inches = known(*asked, "--lowest", "54 1/2", "--highest", "55", "--units", "inch")
    named = known(*asked, "--lowest", "54.5 in", "--highest", "1397 mm", "--units", "inch")
    assert inches.returncode == 0, inches.stderr
    found = [json.loads(result.stdout) for result in (inches, named)]
    assert found[0].pop("stamp") != found[1].pop("stamp")  # the commands are not the same
    assert found[0] == found[1]


@pytest.mark.parametrize(
    ("number", "said"), [(errno.EINVAL, ""), (errno.EPIPE, ""), (errno.ENOSPC, "cannot write")]
)
def test_a_reader_that_goes_away_is_quiet_on_every_system(
    monkeypatch: pytest.MonkeyPatch,
    capfd: pytest.CaptureFixture[str],
    number: int,
    said: str,
) -> None:
    def closed(_: object) -> int:
        raise OSError(number, os.strerror(number))  # EINVAL is what Windows makes of a closed pipe

    monkeypatch.setattr(commands, "ended", closed)
    with pytest.raises(SystemExit) as end:
        main()
    assert end.value.code == 1
    told = capfd.readouterr().err
    assert said in told
    assert bool(said) == bool(told)


@pytest.mark.parametrize("error", [KeyboardInterrupt, typer.Abort, SystemError])
def test_ctrl_c_in_a_command_ends_with_130(
    packsim: Run, monkeypatch: pytest.MonkeyPatch, root: Path, error: type[BaseException]
) -> None:
    def stopped(*_: object, **__: object) -> None:
        raise error from KeyboardInterrupt()  # as compiled code does

    monkeypatch.setattr(study, "study_line", stopped)
    result = packsim("study", root / SWING)
    assert (result.returncode, result.stdout, result.stderr) == (130, "", "")


@pytest.mark.parametrize(("name", "code"), [("SIGTERM", 143), ("SIGHUP", 129)])
@pytest.mark.parametrize("ignored", [False, True])
def test_an_end_from_outside_puts_away_what_it_began(
    packsim: Run, monkeypatch: pytest.MonkeyPatch, root: Path, name: str, code: int, ignored: bool
) -> None:
    """As Ctrl-C; one that is ignored, as under nohup, is not heard."""
    number = getattr(signal, name, None)
    if number is None or os.name != "posix":
        pytest.skip("there nothing ends a program this way")
    cleared: list[str] = []

    def ended(*_: object, **__: object) -> None:
        try:
            os.kill(os.getpid(), number)
            raise KeyboardInterrupt
        finally:
            cleared.append(name)

    monkeypatch.setattr(study, "study_line", ended)
    how = signal.SIG_IGN if ignored else signal.SIG_DFL
    was = signal.signal(number, how)
    try:
        result = packsim("study", root / SWING)
        assert signal.getsignal(number) == how
    finally:
        signal.signal(number, was)
    assert (result.returncode, cleared) == (130 if ignored else code, [name])
    assert (result.stdout, result.stderr) == ("", "")


@pytest.mark.parametrize(("name", "code"), [("SIGTERM", 143), ("SIGINT", 130)])
def test_an_end_that_comes_while_an_object_goes_is_not_lost(
    packsim: Run, monkeypatch: pytest.MonkeyPatch, root: Path, name: str, code: int
) -> None:
    """Python lets nothing out of there, and says so; met as a line of compiled code went."""
    if os.name != "posix":
        pytest.skip("there nothing ends a program this way")

    class Goes:
        def __del__(self) -> None:
            os.kill(os.getpid(), getattr(signal, name))
            time.sleep(0.001)

    lasted = []

    def lasting(*_: object, **__: object) -> None:
        Goes()
        time.sleep(20.0)
        lasted.append(True)

    monkeypatch.setattr(study, "study_line", lasting)
    result = packsim("study", root / SWING)
    assert (result.returncode, result.stdout, result.stderr) == (code, "", "")
    assert not lasted


@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
@pytest.mark.parametrize("asked", [(), ("--json", "-")])
def test_a_closed_standard_output_is_said(
    monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str], root: Path, asked: Any
) -> None:
    monkeypatch.setattr(sys, "argv", ["packsim", "sizes", *asked])
    monkeypatch.setattr(sys, "stdout", None)
    with pytest.raises(SystemExit) as end:
        main()
    assert end.value.code == 1
    assert capfd.readouterr().err == "packsim: cannot write: Bad file descriptor\n"


@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
def test_a_complaint_to_nobody_keeps_its_exit_code(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "argv", ["packsim", "study", "no such file"])
    monkeypatch.setattr(sys, "stderr", None)
    with pytest.raises(SystemExit) as end:
        main()
    assert end.value.code == 2
