#!/usr/bin/python3
"""A link between the host's pseudo-terminal and the device's, with faults by the plan, and a log of its own of what it did.

    link.py FOLDER PLAN     makes FOLDER/host and FOLDER/device; FOLDER/control is the device's named pipe; logs to FOLDER/link.jsonl

PLAN: JSON {"dialect": the device's, "boot_ms": number or null, "runs": {"COUNT": fault, ...}}. A run goes from one begin of the host to the next
and is known by the number of samples that begin announces. boot_ms: the device boots for so long when the host opens its end. A fault:

    kind       none, drop_lines, garble_bytes, drop_bytes, duplicate_lines, delay_lines, stall, cut, lost_decisions; of the device: die, die-for-good, deaf
    direction  to, from, both (the device)
    share      of the lines or bytes that are hit, 0 to 1
    seed       of what is random
    at_sample  cut and what becomes of the device: once the host has sent so many samples
    phase_ms   stall: when the first one begins, after begin; each of 300 ms, every 3 700 ms

LOG: JSON Lines, each with "at" (the machine's monotonic clock, ns), "run" (its number of samples; 0 before the first) and "what": opened, closed,
begin, sent (count, and sha of "AX,AY,AZ;" of each sample; at the end of a run), fault (kind, dir, decision: was it one), passed (of a message with
samples: the number of its last one, when it was due at the device by the plan, and how long this process had to wait for a processor since it began to
wait for the message, ns). It ends with its standard input; the log is written then, so that a slow disk holds nothing up.
"""
import errno
import hashlib
import json
import os
import random
import select
import sys
import termios
import time
import tty

import formats

STALL_NS, STALL_EACH_NS = 300_000_000, 3_700_000_000
LINE_KINDS = ("drop_lines", "duplicate_lines", "delay_lines", "lost_decisions")


def waited_ns():
    """For how long this process could have run and had no processor, as the kernel counts it."""
    with open("/proc/self/schedstat", encoding="ascii") as numbers:
        return int(numbers.read().split()[1])


class Way:
    """One direction: bytes in, whole messages out, each not before it is due, none before the one ahead of it."""

    def __init__(self, name, end):
        self.name, self.end = name, end
        self.buffer, self.queue, self.random = b"", [], random.Random(0)

    def messages(self, data):
        *whole, self.buffer = (self.buffer + data).split(self.end)
        return [message + self.end for message in whole]

    def put(self, due, data):
        due = max(due, self.queue[-1][0] if self.queue else 0)
        self.queue.append((due, data))
        return due


class Link:
    def __init__(self, folder, plan):
        self.plan = plan
        self.format = (formats.Cobs if plan["dialect"].get("format") == "cobs" else formats.Text)(plan["dialect"])
        self.log_path, self.entries = os.path.join(folder, "link.jsonl"), []
        os.mkfifo(os.path.join(folder, "control"))
        self.control = os.open(os.path.join(folder, "control"), os.O_RDWR)
        self.host = self.pseudo_terminal(os.path.join(folder, "host"), keep=False)
        self.device = self.pseudo_terminal(os.path.join(folder, "device"), keep=True)
        self.to, self.back = Way("to", self.format.END), Way("from", self.format.END)
        self.open = False
        self.run, self.fault, self.begun = 0, {"kind": "none"}, 0
        self.samples, self.sha = 0, hashlib.sha1()
        self.waited_before = waited_ns()

    @staticmethod
    def pseudo_terminal(path, keep):
        """Its master. keep: an end stays open here, so that the master is never without one."""
        master, slave = os.openpty()
        tty.setraw(slave, termios.TCSANOW)
        os.symlink(os.ttyname(slave), path)
        if not keep:
            os.close(slave)
        return master

    def log(self, what, **more):
        self.entries.append({"at": time.monotonic_ns(), "run": self.run, "what": what, **more})

    def tell_device(self, text):
        os.write(self.control, (text + "\n").encode("ascii"))

    # what is said over it

    def from_host(self, data):
        for message in self.to.messages(data):
            kind, values = self.format.hear(message[:-1]) or ("", None)
            if kind == "begin":
                self.next_run(values[1])
            elif kind == "samples":
                for counts in values[1]:
                    self.samples += 1
                    self.sha.update(("%d,%d,%d;" % counts).encode("ascii"))
                self.hit_device()
            due = self.send(self.to, message, False)
            if kind == "samples":
                self.log("passed", i=self.samples - 1, due=due, waited=waited_ns() - self.waited_before)

    def next_run(self, count):
        self.tell_sent()
        self.run, self.begun = count, time.monotonic_ns()
        self.fault = self.plan["runs"].get(str(count), {"kind": "none"})
        self.samples, self.sha = 0, hashlib.sha1()
        for way in (self.to, self.back):
            way.random = random.Random(f"{self.fault.get('seed', 0)} {way.name}")
        self.log("begin")

    def is_decision(self, message):
        if self.format.END == b"\n":
            return message.startswith(b"c ")
        return (formats.cobs_decode(message[:-1]) or b"\0")[0] == 0x82

    def tell_sent(self):
        if self.run:
            self.log("sent", count=self.samples, sha=self.sha.hexdigest())

    def hit_device(self):
        if self.fault["kind"] in ("die", "die-for-good", "deaf") and self.samples >= self.fault["at_sample"] and not self.fault.get("done"):
            self.fault["done"] = True
            self.tell_device(self.fault["kind"])
            self.log("fault", kind=self.fault["kind"], dir="device", decision=False)

    # what becomes of it

    def send(self, way, message, decision):
        fault = self.fault["kind"]
        now = due = time.monotonic_ns()
        copies = 1
        if self.fault.get("direction") in (way.name, "both"):
            if fault in LINE_KINDS:
                hit = way.random.random() < self.fault["share"] and (fault != "lost_decisions" or decision)
                if hit:
                    copies = {"duplicate_lines": 2, "delay_lines": 1}.get(fault, 0)
                    due += way.random.randrange(5, 80) * 1_000_000 if fault == "delay_lines" else 0
                    self.log("fault", kind=fault, dir=way.name, decision=decision)
            elif fault in ("garble_bytes", "drop_bytes"):
                changed = self.change_bytes(way, message, fault)
                if changed != message:
                    self.log("fault", kind=fault, dir=way.name, decision=decision)
                message = changed
            elif fault == "cut" and self.samples >= self.fault["at_sample"]:
                copies = 0
                self.log("fault", kind=fault, dir=way.name, decision=decision)
            elif fault == "stall":
                into = (now - self.begun - self.fault["phase_ms"] * 1_000_000) % STALL_EACH_NS
                if into < STALL_NS and now - self.begun >= self.fault["phase_ms"] * 1_000_000:
                    due += STALL_NS - into
                    self.log("fault", kind=fault, dir=way.name, decision=decision)
        for _ in range(copies):
            due = way.put(due, message)
        return due

    def change_bytes(self, way, message, fault):
        out = bytearray()
        for byte in message:
            if way.random.random() >= self.fault["share"]:
                out.append(byte)
            elif fault == "garble_bytes":
                out.append(byte ^ 1 << way.random.randrange(8))
        return bytes(out)

    def forward(self):
        """Seconds until what waits is due; None where nothing waits."""
        soonest = None
        for way, end in ((self.to, self.device), (self.back, self.host)):
            now = time.monotonic_ns()
            while way.queue and way.queue[0][0] <= now:
                data = way.queue.pop(0)[1]
                if way is self.to or self.open:
                    os.write(end, data)
            if way.queue:
                wait = (way.queue[0][0] - now) / 1e9
                soonest = wait if soonest is None else min(soonest, wait)
        return soonest

    def notice_host(self, is_open):
        if is_open == self.open:
            return
        self.open = is_open
        self.log("opened" if is_open else "closed")
        if is_open and self.plan.get("boot_ms") is not None:
            self.tell_device(f"boot {self.plan['boot_ms']}")
            self.log("fault", kind="boot", dir="device", decision=False)

    def serve(self):
        watch = select.poll()
        watch.register(self.host, select.POLLIN)
        watch.register(self.device, select.POLLIN)
        watch.register(sys.stdin, select.POLLIN)
        while True:
            wait = self.forward()
            longest = 500 if self.open else 5      # that the host opened its end wakes nobody
            self.waited_before = waited_ns()
            events = dict(watch.poll(longest if wait is None else min(longest, max(0.0, wait * 1000))))
            if events.get(sys.stdin.fileno(), 0):
                return
            if events.get(self.device, 0) & select.POLLIN:
                for message in self.back.messages(os.read(self.device, 4096)):
                    self.send(self.back, message, self.is_decision(message))
            state = events.get(self.host, 0)
            hung_up = bool(state & select.POLLHUP)
            self.notice_host(not hung_up)
            if state & select.POLLIN:
                try:
                    self.from_host(os.read(self.host, 4096))
                except OSError as gone:
                    if gone.errno != errno.EIO:
                        raise
            elif hung_up:
                time.sleep(0.002)

    def close(self):
        self.tell_sent()
        with open(self.log_path, "w", encoding="ascii") as log:
            log.writelines(json.dumps(entry) + "\n" for entry in self.entries)


def main():
    with open(sys.argv[2], encoding="utf-8") as plan:
        link = Link(sys.argv[1], json.load(plan))
    print("ready", flush=True)
    try:
        link.serve()
    finally:
        link.close()


if __name__ == "__main__":
    main()
