"""How a command line is read: near words named, examples that work, completion by the shell."""

from __future__ import annotations

import re
import shlex
import shutil
import subprocess

import pytest

from diagnose.__main__ import main
from diagnose.cli.calculations import ALL
from diagnose.cli.command_line import parsed, subcommands
from diagnose.cli.examples import EXAMPLES
from diagnose.cli.parser import SHELLS, make_parser
from diagnose.loaded import rulebase
from diagnose.rulebase.records import REGIMES

PARSER = make_parser("calc")
COMMANDS = subcommands(PARSER)


@pytest.mark.parametrize(
    ("argv", "told", "where"),
    [
        (["rnk"], "'rnk' is not known; did you mean rank?", "diagnose --help"),
        (["explian"], "did you mean explain", "diagnose --help"),
        (["rank", "--layot", "opposed-4"], "no option --layot here; did you mean --layout", "diagnose rank --help"),
        (["rank", "--layot=opposed-4"], "no option --layot here; did you mean --layout", "diagnose rank --help"),
        (["audit", "--quik"], "did you mean --quick", "diagnose audit --help"),
        (["calc", "egtt"], "did you mean egt", "diagnose calc --help"),
        (["calc", "egt", "--egt-bath", "1"], "did you mean --egt-both", "diagnose calc egt --help"),
        (["picture", "x.case", "--what", "engin"], "did you mean engine", "diagnose picture --help"),
        (["completion", "bsh"], "did you mean bash", "diagnose completion --help"),
        (["rank", "--zzz"], "no option --zzz here; see", "diagnose rank --help"),
        (["rank", "a.case", "b.case"], "too many words: b.case", "diagnose rank --help"),
    ],
)
def test_a_wrong_word_is_one_line_that_names_the_nearest(capsys, argv, told, where):
    assert main(argv) == 2
    said = capsys.readouterr().err
    assert told in said
    assert where in said
    assert said.count("\n") == 1


def test_every_command_has_examples():
    assert {name for name in EXAMPLES if " " not in name} == {"", *COMMANDS}
    assert {f"calc {name}" for name in ALL} >= {name for name in EXAMPLES if " " in name}
    assert all(EXAMPLES.values())


@pytest.mark.parametrize("name", EXAMPLES)
def test_examples_stand_at_the_end_of_the_help_and_are_read_by_the_parser(capsys, name):
    """Each is of the command it stands at, fits the screen, and the parser takes it."""
    assert main([*name.split(), "--help"]) == 0
    text = capsys.readouterr().out
    assert max(map(len, text.splitlines())) <= 80
    shown = re.sub(r" \\\n +", " ", text.rstrip().partition("examples:")[2])  # as a shell joins lines
    for line in EXAMPLES[name]:
        assert line in shown
        words = shlex.split(line.partition("   ")[0].partition(" > ")[0])
        assert words[0] == "diagnose"
        assert not name or words[1 : 1 + len(name.split())] == name.split()
        assert callable(parsed(PARSER, words[1:]).call)


def test_ids_in_examples_are_those_of_the_rule_base():
    """What another rule base renames is mended here."""
    base = rulebase()
    known = {*base.symptoms, *base.checks, *base.remedies, *base.causes, *base.principles, *base.access, *REGIMES}
    for line in (line for lines in EXAMPLES.values() for line in lines):
        for word in shlex.split(line.partition("   ")[0]):
            name = word.partition("@")[0].partition(".")[0]
            assert "_" not in name or name in known or "=" in name or "/" in name, word
            assert "@" not in word or name in known, word


def test_help_is_as_wide_as_asked_and_breaks_no_word_at_a_hyphen(capsys, monkeypatch):
    monkeypatch.setenv("COLUMNS", "60")
    assert main(["enter", "--help"]) == 0
    text = capsys.readouterr().out.partition("examples:")[0]
    assert max(map(len, text.splitlines())) <= 60
    assert not [line for line in text.splitlines() if line.endswith("-")]


@pytest.mark.parametrize("shell", SHELLS)
def test_the_script_of_a_shell_holds_every_command_layout_and_topic(capsys, shell):
    import shtab

    assert shell in shtab.SUPPORTED_SHELLS
    assert main(["completion", shell]) == 0
    script = capsys.readouterr().out
    base = rulebase()
    words = {*COMMANDS, *ALL, *base.layouts, *base.principles}
    missing = [word for word in words if word not in script]
    assert missing == []


def completed(script, folder, *words):
    """Return what bash offers for the last of some words."""
    text = f"""
source {script}
function_=$(complete -p diagnose | sed 's/.*-F \\([^ ]*\\).*/\\1/')
COMP_WORDS=({" ".join(map(shlex.quote, words))}); COMP_CWORD={len(words) - 1}; COMPREPLY=()
$function_ && printf '%s\\n' "${{COMPREPLY[@]}}"
"""
    bash = shutil.which("bash") or ""
    return subprocess.run([bash, "-c", text], cwd=folder, capture_output=True, text=True, check=False).stdout.split()


@pytest.mark.skipif(shutil.which("bash") is None, reason="no bash on this system")
def test_bash_completes_commands_options_words_and_files(capsys, tmp_path):
    assert main(["completion", "bash"]) == 0
    script = tmp_path / "diagnose.bash"
    script.write_text(capsys.readouterr().out)
    (tmp_path / "rough.case").touch()
    for words, offered in (
        (["ra"], "rank"),
        (["rank", "--lay"], "--layout"),
        (["rank", "--layout", "opposed-4-v"], "opposed-4-vibrator"),
        (["explain", "e_"], "e_gap"),
        (["calc", "egt", "--egt-b"], "--egt-both"),
        (["chase", "rou"], "rough.case"),
    ):
        assert completed(script, tmp_path, "diagnose", *words) == [offered]
