"""Files that could hang, exhaust or crash a reader are refused at once, with one plain problem."""

from __future__ import annotations

import os
import subprocess
import sys
import time

import pytest

from diagnose.rulebase.locate import shipped
from diagnose.rulebase.nodes import MAX_BYTES, MAX_DEPTH, read_nodes
from diagnose.rulebase.reader import read_rulebase


def codes(data):
    """Return the codes of one file's problems, and the seconds it took to find them."""
    begin = time.process_time()
    _, problems = read_nodes("x.yaml", data)
    return [p.code for p in problems], time.process_time() - begin


def bomb(levels=30, wide=9):
    """Return YAML that would be wide**levels values if its aliases were followed."""
    lines = ["a0: &a0 [x, x]"]
    lines += [f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * wide)}]" for n in range(1, levels)]
    return "\n".join(lines).encode()


def test_an_alias_bomb_is_refused_in_time_linear_in_the_file():
    """Followed, these aliases would make 9**29 values; each is refused where it is met, none is followed."""
    found, seconds = codes(bomb())
    assert found == ["alias"] * (29 * 9)
    assert seconds < 1


def test_an_alias_to_itself_is_refused():
    """A list that holds itself has no end."""
    assert codes(b"a: &a [1, *a]")[0] == ["alias"]


def test_the_largest_file_is_read_and_one_byte_more_is_not():
    """The limit is exact, and a refused file is not parsed."""
    text = b"format: 1\n#"
    found, _ = codes(text + b"x" * (MAX_BYTES - len(text)))
    assert found == []
    found, seconds = codes(text + b"x" * (MAX_BYTES - len(text) + 1))
    assert found == ["file-size"]
    assert seconds < 0.1


@pytest.mark.parametrize(("depth", "wanted"), [(MAX_DEPTH, []), (MAX_DEPTH + 1, ["nesting"])])
def test_nesting_is_allowed_to_the_limit_and_no_further(depth, wanted):
    """The top of the file is level 0."""
    assert codes(b"a: " + b"[" * (depth - 1) + b"1" + b"]" * (depth - 1))[0] == wanted


@pytest.mark.parametrize("opener", ["[", "{a: ", "- ", "? "])
def test_nesting_deep_enough_to_exhaust_a_stack_does_not_end_the_program(opener):
    """In a process of its own: a crash of the parser would show as a signal, not as an exception."""
    code = (
        "import sys; from diagnose.rulebase.nodes import read_nodes\n"
        "data = (sys.argv[1] * (999_000 // len(sys.argv[1]))).encode()\n"
        "root, problems = read_nodes('x.yaml', data); print(root, len(problems))"
    )
    done = subprocess.run([sys.executable, "-c", code, opener], capture_output=True, text=True, timeout=20, check=False)
    assert (done.returncode, done.stdout.strip()) == (0, "None 1"), done.stderr[-300:]


@pytest.mark.parametrize("data", [b"", b"\n\n", b"# only a comment\n", b"\xef\xbb\xbf"])
def test_nothing_in_a_file_is_said(data):
    """Empty, blank, a comment, a lone byte order mark."""
    assert codes(data)[0] == ["empty"]


@pytest.mark.parametrize(("data", "line"), [(b"\xff\xfe\x00", 1), (b"a: 1\nb: \xe4\n", 2), (b"a: 1\n\n\xc3(", 3)])
def test_what_is_not_utf8_is_named_with_its_line(data, line):
    """The line of the first bad byte."""
    _, problems = read_nodes("x.yaml", data)
    assert [(p.code, p.line) for p in problems] == [("encoding", line)]


def test_a_folder_without_files_or_missing_is_a_problem(tmp_path):
    """Not an empty rule base that finds nothing wrong."""
    for folder in (tmp_path, tmp_path / "missing"):
        _, problems = read_rulebase([folder])
        assert [p.code for p in problems] == ["folder"]


@pytest.mark.parametrize("kind", ["pipe", "device", "directory", "nowhere"])
def test_what_is_no_ordinary_file_is_refused_at_once(tmp_path, kind):
    """A pipe without a writer would be waited for, an endless device read until memory is full."""
    odd = tmp_path / "x.yaml"
    if kind == "pipe":
        os.mkfifo(odd)
    elif kind == "directory":
        odd.mkdir()
    else:
        odd.symlink_to("/dev/zero" if kind == "device" else tmp_path / "gone")
    code = (
        "import sys; from pathlib import Path; from diagnose.rulebase.reader import read_rulebase\n"
        "print([(p.code, p.message) for p in read_rulebase([Path(sys.argv[1])])[1]])"
    )
    done = subprocess.run([sys.executable, "-c", code, str(tmp_path)], capture_output=True, text=True, timeout=20, check=False)
    assert done.stdout.strip() == "[('file', 'cannot be read: no ordinary file')]", done.stderr[-300:]


@pytest.mark.parametrize("count", ["\u00b2", "\u0663", "-4", "0", "four", "4.0"])
@pytest.mark.parametrize(
    "text",
    ["checks:\n  mag_check:\n    minutes: {'%s': 5}\n", "tables:\n  mine:\n    by_cylinders: {'%s': .2}\n"],
    ids=["minutes", "table"],
)
def test_a_count_of_cylinders_is_written_in_plain_digits(tmp_path, text, count):
    """A raised two is a digit to Python and no number; none is dropped without a word."""
    (tmp_path / "x.yaml").write_text(f"format: 1\nnumbers: estimate\n{text % count}")
    assert "number" in {p.code for p in read_rulebase([shipped("rulebase"), tmp_path])[1]}


def test_a_huge_file_in_a_folder_is_refused_fast(tmp_path):
    """Twelve megabytes of valid YAML, not read into memory."""
    (tmp_path / "big.yaml").write_bytes(b"a: 1\n" * 2_400_000)
    begin = time.process_time()
    _, problems = read_rulebase([tmp_path])
    assert [p.code for p in problems] == ["file-size"]
    assert time.process_time() - begin < 0.5
