"""Put first on a process's path, this notes and refuses whatever the process asks of a network."""

import os
import sys

_NOTES = os.environ.get("PMULAB_NETWORK_NOTES", os.devnull)
_OWN_COMPUTER = {"127.0.0.1", "::1", "localhost", "0.0.0.0", "::", "", "0", 0, None}
_REACHING_OUT = {"socket.connect": 1, "socket.sendto": 1}
_ASKING_NAMES = {"socket.getaddrinfo": 0, "socket.gethostbyname": 0}


def _host(event, args):
    if event in _REACHING_OUT:
        address = args[_REACHING_OUT[event]]
        return address[0] if isinstance(address, tuple) else None  # else a socket of this computer
    host = args[_ASKING_NAMES[event]]
    return host.decode() if isinstance(host, bytes) else host


def _watch(event, args):
    if event not in _REACHING_OUT and event not in _ASKING_NAMES:
        return
    host = _host(event, args)
    if host not in _OWN_COMPUTER:
        with open(_NOTES, "a", encoding="utf-8") as notes:
            notes.write(f"{event} {host}\n")
        raise OSError(f"nothing here may reach a network, but {event} asked for {host}")


sys.addaudithook(_watch)
