"""An environment for processes in which every step towards a network is noted and refused."""

import os
import shutil
import subprocess
from pathlib import Path

_HOOK = Path(__file__).with_name("watched")


def watched(notes: Path) -> dict[str, str]:
    """Give an environment whose Python processes note whatever they ask of a network."""
    path = os.pathsep.join([str(_HOOK), *filter(None, [os.environ.get("PYTHONPATH")])])
    return os.environ | {"PYTHONPATH": path, "PMULAB_NETWORK_NOTES": str(notes)}


def cut_off() -> list[str]:
    """Give the words that run a command in a namespace without any network but its own loopback.

    Empty where the machine has no namespaces; the notes hold there as well.
    """
    words = [
        "unshare",
        "--map-root-user",
        "--net",
        "--",
        "sh",
        "-c",
        'ip link set lo up; exec "$@"',
        "sh",
    ]
    known = shutil.which("unshare") and shutil.which("ip")
    works = known and not subprocess.run([*words, "true"], capture_output=True).returncode
    return words if works else []
