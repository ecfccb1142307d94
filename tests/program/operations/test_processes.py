"""What stays running by itself: ended ones come back with growing pauses, and none outlives us."""

import os
import signal
import subprocess
import sys
import textwrap
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from program.operations import processes
from program.operations.processes import Process, keep_running

REPOSITORY = Path(__file__).resolve().parents[3]
LIVES_ON = "import time; time.sleep(60)"
TIDIES_UP = """
import os, signal, time
def tidy_up(*_):
    time.sleep(0.5)
    with open({path!r}, "a") as tidied:
        tidied.write(f"{{os.getpid()}}\\n")
    os._exit(0)
signal.signal(signal.SIGTERM, tidy_up)
"""
STUBBORN = f"import signal; signal.signal(signal.SIGTERM, signal.SIG_IGN); {LIVES_ON}"


def python(code: str, name: str = "The child") -> Process:
    return Process(name, [sys.executable, "-c", code])


def written(path: Path, then: str = "") -> str:
    """A program that adds its number to a file, and then does the rest."""
    return f"import os; open({str(path)!r}, 'a').write(f'{{os.getpid()}}\\n'); {then}"


def numbers(path: Path) -> list[int]:
    return [int(line) for line in path.read_text().split()] if path.exists() else []


def alive(pid: int) -> bool:
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except FileNotFoundError:
        return False


def wait_until(true: Callable[[], bool]) -> None:
    deadline = time.monotonic() + 20
    while not true():
        assert time.monotonic() < deadline
        time.sleep(0.02)


def looked_after(*kept: Process, until: Callable[[], bool]) -> list[str]:
    """What is said while the processes are kept running until something holds."""
    said: list[str] = []

    def look() -> None:
        if until():
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt), keep_running(kept, said.append) as kept_running:
        kept_running.look_after(look)
    return said


@pytest.fixture(autouse=True)
def quick(monkeypatch):
    monkeypatch.setattr(processes, "FIRST_PAUSE", 0.05)
    monkeypatch.setattr(processes, "SECONDS_BETWEEN_LOOKS", 0.01)
    monkeypatch.setattr(processes, "SECONDS_TO_STOP", 2)


def test_one_that_ends_by_itself_is_started_again_and_it_is_said(tmp_path):
    starts = tmp_path / "starts"
    said = looked_after(
        python(written(starts, "raise SystemExit(4)"), "The worker"),
        until=lambda: len(numbers(starts)) == 3,
    )
    assert said[0] == "The worker ended by itself (exit status 4). It is started again in 0.05 s."


def test_a_killed_one_is_said_by_the_name_of_its_signal(tmp_path):
    starts = tmp_path / "starts"
    said = looked_after(
        python(written(starts, "os.kill(os.getpid(), 9)")), until=lambda: len(numbers(starts)) == 2
    )
    assert "(SIGKILL)" in said[0]


def test_the_pauses_grow_while_it_goes_on_ending(tmp_path):
    starts = tmp_path / "starts"
    said = looked_after(python(written(starts)), until=lambda: len(numbers(starts)) == 4)
    assert [line.split()[-2] for line in said[:3]] == ["0.05", "0.1", "0.2"]


def test_one_that_ran_for_long_begins_again_with_the_first_pause(tmp_path, monkeypatch):
    monkeypatch.setattr(processes, "LONG", 0.0)
    starts = tmp_path / "starts"
    said = looked_after(python(written(starts)), until=lambda: len(numbers(starts)) == 4)
    assert {line.split()[-2] for line in said} == {"0.05"}


def test_no_pause_is_longer_than_the_longest(tmp_path, monkeypatch):
    monkeypatch.setattr(processes, "LONGEST_PAUSE", 0.1)
    starts = tmp_path / "starts"
    said = looked_after(python(written(starts)), until=lambda: len(numbers(starts)) == 5)
    assert {line.split()[-2] for line in said[1:]} == {"0.1"}


def test_one_that_ends_leaves_the_others_alone(tmp_path):
    steady, ending = tmp_path / "steady", tmp_path / "ending"
    looked_after(
        python(written(steady, LIVES_ON)),
        python(written(ending)),
        until=lambda: len(numbers(ending)) == 3 and len(numbers(steady)) > 0,
    )
    assert len(numbers(steady)) == 1


def test_all_are_ended_and_one_that_will_not_is_killed(tmp_path, monkeypatch):
    monkeypatch.setattr(processes, "SECONDS_TO_STOP", 0.3)
    starts = tmp_path / "starts"
    looked_after(
        python(written(starts, LIVES_ON)),
        python(written(starts, STUBBORN)),
        until=lambda: len(numbers(starts)) == 2,
    )
    assert [pid for pid in numbers(starts) if alive(pid)] == []


def test_what_a_child_started_itself_ends_with_it(tmp_path, monkeypatch):
    monkeypatch.setattr(processes, "SECONDS_TO_STOP", 0.3)
    starts = tmp_path / "starts"
    grandchild = written(starts, STUBBORN)
    child = f"import subprocess, sys; subprocess.run([sys.executable, '-c', {grandchild!r}])"
    looked_after(python(child), until=lambda: len(numbers(starts)) == 1)
    wait_until(lambda: not alive(numbers(starts)[0]))


def test_a_program_that_is_not_there_is_said_in_words():
    with (
        pytest.raises(processes.CannotGoOn, match=r"The worker .*no-such-program"),
        keep_running([Process("The worker", ["no-such-program"])], print),
    ):
        pass


def test_one_that_says_another_start_would_fail_too_ends_everything(tmp_path):
    starts = tmp_path / "starts"
    wanted = [python(written(starts, LIVES_ON)), python("raise SystemExit(3)", "The web server")]
    with (
        pytest.raises(processes.CannotGoOn, match="The web server cannot start"),
        keep_running(wanted, print) as running,
    ):
        running.look_after()
    assert [pid for pid in numbers(starts) if alive(pid)] == []


@pytest.fixture
def supervisor(tmp_path):
    """A process that keeps two others running, as a program of its own."""
    starts = tmp_path / "starts"
    child = TIDIES_UP.format(path=str(tmp_path / "tidied")) + written(starts, LIVES_ON)
    code = f"""
        import sys
        from program.operations.processes import Process, keep_running
        kept = [Process(name, [sys.executable, "-c", {child!r}]) for name in "ab"]
        with keep_running(kept, print) as running:
            running.look_after()
    """
    process = subprocess.Popen(
        [sys.executable, "-c", textwrap.dedent(code)],
        cwd=REPOSITORY,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        # The tests themselves may run under nohup, and what it ignores stays ignored.
        preexec_fn=lambda: signal.signal(signal.SIGHUP, signal.SIG_DFL),
    )
    wait_until(lambda: len(numbers(starts)) == 2)
    yield process, starts
    if process.poll() is None:
        process.kill()
    process.communicate()


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
def test_a_signal_ends_all_of_them_without_a_word(supervisor, number):
    process, starts = supervisor
    process.send_signal(number)
    assert process.communicate(timeout=20) == ("", "")
    assert process.returncode == 128 + number
    assert [pid for pid in numbers(starts) if alive(pid)] == []


def test_a_second_ctrl_c_does_not_keep_them_from_tidying_up(supervisor):
    process, starts = supervisor
    for _ in range(3):
        process.send_signal(signal.SIGINT)
        time.sleep(0.1)
    process.wait(20)
    assert sorted(numbers(starts.with_name("tidied"))) == sorted(numbers(starts))
    assert [pid for pid in numbers(starts) if alive(pid)] == []


def test_where_we_are_killed_the_kernel_ends_them(supervisor):
    process, starts = supervisor
    os.kill(process.pid, signal.SIGKILL)
    process.wait()
    wait_until(lambda: not any(alive(pid) for pid in numbers(starts)))


def test_ctrl_c_of_a_terminal_reaches_us_alone(supervisor):
    process, starts = supervisor
    assert {os.getpgid(pid) for pid in numbers(starts)}.isdisjoint({os.getpgid(process.pid)})
