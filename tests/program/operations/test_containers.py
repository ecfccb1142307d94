"""Dockerfile and docker-compose.yml: valid, of one mind, and their own commands run here.

No engine runs containers here. So what the files tell one to run is read out of them and run in a
folder, with the paths, the ports and the database of this machine in place of a container's.
"""

import contextlib
import importlib.resources
import json
import os
import re
import shlex
import shutil
import signal
import subprocess
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from importlib import metadata
from pathlib import Path

import jsonschema
import pytest
from packaging.utils import canonicalize_name
from ruamel.yaml import YAML

from program.config import embedded_postgres
from program.config.database import from_url
from tests.program.config.embedded_postgres.ground import made_folder
from tests.program.demo.test_demo_command import SETTINGS_OF_THE_TEST_RUN, spare_port
from tests.release import shipped

REPOSITORY = Path(__file__).resolve().parents[3]
COMPOSE = YAML(typ="safe").load((REPOSITORY / "docker-compose.yml").read_text())
SERVICES = COMPOSE["services"]
OPERATOR_SAYS = {
    "OWNER_PASSWORD": "owner-secret",
    "WEB_PASSWORD": "web-secret",
    "SECRET_KEY": "of-this-test-alone-and-long-enough-to-be-taken-for-a-real-one-0123456789",
    "SITE": "fledge.example",
    "OPERATOR_MAIL": "operator@fledge.example",
    "MAIL_HOST": "127.0.0.1",
    "MAIL_FROM": "fledge@fledge.example",
}
OURS = {name for name, service in SERVICES.items() if service["image"] == "fledge"}


@dataclass
class Dockerfile:
    """What it says, in its order."""

    environment: dict[str, str] = field(default_factory=dict)
    run: list[str] = field(default_factory=list)
    copied: list[tuple[list[str], str]] = field(default_factory=list)
    others: dict[str, str] = field(default_factory=dict)


def dockerfile() -> Dockerfile:
    text = (REPOSITORY / "Dockerfile").read_text().replace("\\\n", " ")
    read = Dockerfile()
    for line in text.splitlines():
        word, _, rest = line.partition(" ")
        match word:
            case "" | "#":
                pass
            case "ENV":
                read.environment |= dict(pair.split("=", 1) for pair in shlex.split(rest))
            case "RUN":
                read.run.append(rest)
            case "COPY":
                *sources, target = rest.split()
                read.copied.append((sources, target))
            case _:
                read.others[word] = rest
    return read


def filled_in(text: str) -> str:
    """With what an operator has in .env, as Compose does it."""

    def value(found: re.Match[str]) -> str:
        name, otherwise = found["name"], found["otherwise"] or ""
        said = OPERATOR_SAYS.get(name, "")
        if not said and otherwise.startswith(":?"):
            raise AssertionError(f"{name} is asked for and not in the test")
        return said or otherwise.removeprefix(":-")

    pattern = r"\$\$|\$\{(?P<name>\w+)(?P<otherwise>:[-?][^}]*)?\}"
    return re.sub(pattern, lambda found: "$" if found[0] == "$$" else value(found), text)


def environment_of(service: str) -> dict[str, str]:
    return {name: filled_in(str(value)) for name, value in SERVICES[service]["environment"].items()}


def folders_of_the_user() -> list[str]:
    made = next(line for line in dockerfile().run if "install -d -o fledge" in line)
    return [word for word in made.split() if word.startswith("/")]


# The files


def test_the_compose_file_is_valid_by_the_compose_specifications_schema():
    vendored = importlib.resources.files("check_jsonschema") / "builtin_schemas" / "vendor"
    schema = json.loads((vendored / "compose-spec.json").read_text())
    jsonschema.Draft202012Validator(schema).validate(COMPOSE)
    broken = {**COMPOSE, "services": {"web": {"imagine": "fledge"}}}
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.Draft202012Validator(schema).validate(broken)


def test_every_tag_is_exact():
    images = {service["image"] for service in SERVICES.values()} - {"fledge"}
    images.add(dockerfile().others["FROM"])
    assert all(re.search(r":\d+\.\d+(\.\d+)?-[a-z-]+$", image) for image in images), images


def test_nothing_of_ours_runs_as_root_or_stops_for_good():
    assert dockerfile().others["USER"] == "fledge"
    lasting = SERVICES.keys() - {"prepare"}
    assert {SERVICES[name]["restart"] for name in lasting} == {"unless-stopped"}


def test_every_folder_that_is_to_last_is_a_volume_made_for_the_user_it_runs_as():
    read = dockerfile()
    for name in OURS:
        for volume in SERVICES[name].get("volumes", []):
            source, target = volume.split(":")
            assert source in COMPOSE["volumes"]
            assert target in folders_of_the_user()
            assert target in read.environment.values()


def test_only_what_migrates_and_backs_up_is_given_the_owners_password():
    owners = {name for name in OURS if "owner-secret" in str(environment_of(name))}
    assert owners == {"prepare", "backup"}


def test_the_web_server_is_reached_through_the_proxy_alone_which_is_believed():
    assert [name for name, service in SERVICES.items() if "ports" in service] == ["proxy"]
    in_front = {name for name, service in SERVICES.items() if "front" in service["networks"]}
    assert in_front == {"proxy", "web"}
    (subnet,) = COMPOSE["networks"]["front"]["ipam"]["config"]
    assert environment_of("web")["TRUSTED_PROXIES"] == subnet["subnet"]


def test_the_proxys_configuration_is_one_that_it_takes(tmp_path):
    caddy = shutil.which("caddy")
    if caddy is None:
        pytest.skip("no caddy on this machine to ask (Debian has it as the package caddy)")
    configuration = tmp_path / "Caddyfile"
    configuration.write_text(filled_in(COMPOSE["configs"]["caddyfile"]["content"]))
    for tls in ("", "tls internal"):
        environ = os.environ | OPERATOR_SAYS | {"PROXY_TLS": tls, "HOME": str(tmp_path)}
        said = subprocess.run(
            [caddy, "adapt", "--config", configuration, "--adapter", "caddyfile"],
            env=environ,
            capture_output=True,
            text=True,
        )
        assert said.returncode == 0, said.stderr
        (route,) = json.loads(said.stdout)["apps"]["http"]["servers"]["srv0"]["routes"]
        assert route["match"] == [{"host": ["fledge.example"]}]
        assert '"dial": "web:8000"' in json.dumps(route)


# Their commands


@dataclass
class Machine:
    """A folder that stands for the image's file system, and a database for that of `database`."""

    root: Path
    urls: dict[str, str]
    port: int

    def here(self, text: str) -> str:
        """With this machine's paths, and doors that only this machine has."""
        text = re.sub(r"/(app|opt)\b", lambda found: f"{self.root}{found[0]}", text)
        return text.replace("0.0.0.0", "127.0.0.1").replace("8000", str(self.port))  # noqa: S104

    def environment(self, service: str | None = None) -> dict[str, str]:
        of_image = {name: self.here(value) for name, value in dockerfile().environment.items()}
        of_image["PATH"] = of_image["PATH"].replace("$PATH", os.environ["PATH"])
        del of_image["UV_NO_CACHE"]  # what this machine has of the packages it need not fetch
        del of_image["UV_COMPILE_BYTECODE"]  # of all packages: ten seconds, saved once by an image
        of_service = environment_of(service) if service else {}
        for name in of_service.keys() & self.urls.keys():
            of_service[name] = self.urls[name]
        own = {k: v for k, v in os.environ.items() if k not in OF_THE_TEST_RUN}
        return own | of_image | of_service

    def command(self, service: str) -> list[str]:
        words = SERVICES[service]["command"]
        return [self.here(filled_in(word)) for word in words]

    def run(self, words: list[str], service: str | None = None) -> str:
        done = subprocess.run(
            words,
            cwd=self.root / "app",
            env=self.environment(service),
            capture_output=True,
            text=True,
        )
        assert done.returncode == 0, done.stdout + done.stderr
        return done.stdout

    @contextlib.contextmanager
    def running(self, service: str) -> Iterator[subprocess.Popen[str]]:
        process = subprocess.Popen(
            self.command(service),
            cwd=self.root / "app",
            env=self.environment(service),
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            start_new_session=True,
        )
        try:
            yield process
        finally:
            os.killpg(process.pid, signal.SIGTERM)  # as a container ends, with all that is in it
            process.communicate(timeout=30)


OF_THE_TEST_RUN = SETTINGS_OF_THE_TEST_RUN | {"VIRTUAL_ENV", "FLEDGE_UPLOADS_DIR"}
NOT_HERE = {
    "pip install": "this machine's own uv is used, nothing is installed into its Python",
    "useradd": "no account is added to this machine; its folders are made for whoever tests",
}


@pytest.fixture(scope="module")
def machine() -> Iterator[Machine]:
    """The image's file system as the Dockerfile builds it, step by step."""
    ground = made_folder(in_memory=True)
    root = Path(tempfile.mkdtemp(prefix="fledge-image-"))
    database = embedded_postgres.start(ground / "data")
    urls = {
        "DATABASE_URL": database.url("fledge_web"),
        "DATABASE_OWNER_URL": database.url("fledge_owner"),
    }
    machine = Machine(root, urls, spare_port())
    (root / "app").mkdir()
    try:
        build(machine)
        yield machine
    finally:
        embedded_postgres.stop(ground / "data")
        for folder in (ground, root):
            shutil.rmtree(folder)


def build(machine: Machine) -> None:
    read = dockerfile()
    app = machine.root / "app"
    for sources, target in read.copied:
        for source in sources:
            found = REPOSITORY / source
            if found.is_dir():
                shutil.copytree(found, app / target, ignore=shutil.ignore_patterns("__pycache__"))
            else:
                shutil.copy(found, app / target)
    for folder in folders_of_the_user():
        Path(machine.here(folder)).mkdir(parents=True)
    for line in read.run:
        if not any(words in line for words in NOT_HERE):
            machine.run(["sh", "-c", machine.here(line)])


def test_what_is_left_out_here_is_only_what_would_change_this_machine():
    left_out = [line for line in dockerfile().run if any(words in line for words in NOT_HERE)]
    assert len(left_out) == len(NOT_HERE)


def test_the_image_holds_no_development_package_and_its_files_are_collected(machine):
    installed = {path.name for path in (machine.root / "opt/fledge/venv/lib").glob("*/*/*")}
    assert "django" in installed
    assert not {"pytest", "mypy", "playwright"} & installed
    (packages,) = (machine.root / "opt/fledge/venv/lib").glob("*/site-packages")
    in_the_image = {
        canonicalize_name(each.name) for each in metadata.distributions(path=[str(packages)])
    }
    assert shipped.names_without_extras() == in_the_image
    assert (machine.root / "opt/fledge/static/staticfiles.json").exists()
    assert (machine.root / "app/program/__pycache__").is_dir()


def test_their_commands_prepare_serve_and_back_up(machine):
    prepare = machine.command("prepare")
    assert "129 new" in machine.run(prepare, "prepare")
    with machine.running("web") as web, machine.running("worker") as worker:
        test = SERVICES["web"]["healthcheck"]["test"]
        assert test[0] == "CMD"
        ask = [machine.here(word) for word in test[1:]]
        deadline = time.monotonic() + 40
        while subprocess.run(ask, env=machine.environment("web"), capture_output=True).returncode:
            assert time.monotonic() < deadline
            assert (web.poll(), worker.poll()) == (None, None)
            time.sleep(0.2)
    with machine.running("backup") as backup:
        folder = machine.root / "opt/fledge/backups"
        while not list(folder.glob("fledge-*.tar")):
            assert time.monotonic() < deadline + 40
            assert backup.poll() is None
            time.sleep(0.2)


def test_the_databases_own_first_start_makes_the_role_that_the_web_server_signs_in_as():
    script = COMPOSE["configs"]["web_role"]["content"]
    role = from_url(environment_of("web")["DATABASE_URL"])
    assert f"CREATE ROLE {role['USER']} LOGIN PASSWORD" in script
    assert role["PASSWORD"] == environment_of("database")["WEB_PASSWORD"]
    assert role["HOST"] in SERVICES
