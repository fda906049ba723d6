"""Runs a program whose standard error is a terminal that nobody reads, and that has room for a few lines only.

usage: unread_terminal.py PROGRAM ARGUMENT...
Standard input: 'look' answers 'full' or 'room'; 'read' reads the terminal until the program ends, then says 'exit CODE'.
"""
import os
import pty
import select
import subprocess
import sys

ROOM = 1500  # some ten live lines


def has_room(slave):
    return bool(select.select([], [slave], [], 0.2)[1])


master, slave = pty.openpty()
os.set_blocking(slave, False)
while has_room(slave):
    try:
        os.write(slave, b"x" * 64)
    except BlockingIOError:
        break
left = ROOM
while left > 0:
    left -= len(os.read(master, left))
os.set_blocking(slave, True)
process = subprocess.Popen(sys.argv[1:], stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=slave)
for line in sys.stdin:
    if line.strip() == "look":
        print("room" if has_room(slave) else "full", flush=True)
    elif line.strip() == "read":
        while process.poll() is None:
            if select.select([master], [], [], 0.1)[0]:
                os.read(master, 65536)
        print(f"exit {process.returncode}", flush=True)
        break
