#!/usr/bin/python3
"""A device that classifies motion, apart from the product, with a log of its own of all that it felt and said.

    device.py PORT CONTROL LOG DIALECT     DIALECT: JSON, see DEFAULTS

It classifies by the deviation of the z axis over whole windows of samples, counted by itself. CONTROL is a named pipe: die, die-for-good,
deaf, boot MILLISECONDS. LOG: JSON Lines, each with "at" (the machine's monotonic clock, ns) and "what": boot, begin, end, felt (i: how
many it had felt before; n: as told; counts), decided (i: of its last sample; class), said (text, kind), refused, control. Ends when the port is gone.
"""
import errno
import json
import math
import os
import select
import sys
import time

import formats

DEFAULTS = {
    "format": "text",       # or cobs
    "told": None,           # n or batch: what a sample message is numbered by
    "n": None,              # of decisions: counted, repeated; None: decisions carry none
    "batch": 1,             # samples in a message: numbers that it says are those of messages
    "stamps": False,        # decisions carry the device's clock
    "credit": 0,            # says how far it is, each so many samples and at the end
    "counters": False,      # answers q
    "bits": 32,             # width of these counters
    "seq": 0,               # width of the message counter in all it says; 0: none
    "windows": False,       # reports every window; else changes only
    "at_end": False,        # says its class once more at the end
    "think_ms": 0,          # from the sample that decides to the decision
    "window": 25,           # samples
}
RESTING_MG, MOVING_MG = 40, 260


class Log:
    """Written at the end, so that a slow disk holds nothing up."""

    def __init__(self, path):
        self.path, self.entries = path, []

    def write(self, what, **more):
        self.entries.append({"at": more.pop("at", None) or time.monotonic_ns(), "what": what, **more})

    def close(self):
        with open(self.path, "w", encoding="ascii") as log:
            log.writelines(json.dumps(entry) + "\n" for entry in self.entries)


class Device:
    def __init__(self, tty, dialect, log):
        self.tty, self.log = tty, log
        self.dialect = {**DEFAULTS, **dialect}
        self.format = (formats.Cobs if self.dialect["format"] == "cobs" else formats.Text)(self.dialect)
        self.buffer = b""
        self.state = "alive"            # alive, hung (a reset revives it), dead, deaf, booting
        self.timers = []                # (due ns, what is done then)
        self.boot(silent=True)

    # what happens to it

    def boot(self, silent=False):
        self.started = time.monotonic_ns()
        self.state = "alive"
        self.received = self.bad = self.said = self.seq = 0
        self.running = False
        self.timers = []
        self.forget()
        self.log.write("boot", at=self.started)
        if not silent:
            self.say("boot", 1)

    def forget(self):
        self.felt, self.told, self.window, self.name, self.credited = 0, None, [], None, 0

    def control(self, words):
        self.log.write("control", words=words)
        if words[0] == "boot":
            self.state, self.running, self.buffer = "booting", False, b""
            self.timers = [(time.monotonic_ns() + int(words[1]) * 1_000_000, self.boot)]
        elif words[0] == "deaf":
            self.state = "deaf"
            self.repeat_itself()
        else:
            self.state = "hung" if words[0] == "die" else "dead"
            self.timers = []

    def repeat_itself(self):
        """Deaf: what it last found, as if the motion went on."""
        if self.name is not None:
            self.report(self.felt)
        self.timers.append((time.monotonic_ns() + 10_000_000 * self.dialect["window"], self.repeat_itself))

    # what it hears

    def hear(self, data):
        if self.state in ("dead", "deaf", "booting"):
            return
        self.buffer += data
        *messages, self.buffer = self.buffer.split(self.format.END)
        for raw in messages:
            message = self.format.hear(raw)
            if self.state == "hung":
                if message is not None and message[0] == "reset":
                    self.boot()
            elif message is not None:
                self.handle(*message)
            elif raw:
                self.refuse(raw)

    def refuse(self, raw):
        self.bad += 1
        self.log.write("refused", text=raw.hex())

    def handle(self, kind, values):
        if kind == "samples":
            self.take(*values)
        elif kind == "begin":
            self.running = True
            self.forget()
            self.timers = []
            self.log.write("begin", count=values[1])
        elif kind == "end":
            self.end()
        elif kind == "reset":
            self.boot()
        elif kind == "id":
            self.say("id", "witness", "1.0.0")
        elif kind == "t":
            self.say("t", self.next_seq(), values[0], self.now_us())
        elif self.dialect["counters"]:
            mask = (1 << self.dialect["bits"]) - 1
            self.say("q", self.next_seq(), self.received & mask, self.bad & mask, self.said & mask)
        else:
            self.refuse(kind.encode())

    def take(self, number, samples):
        if not self.running or (number is not None and not self.follows(number, len(samples))):
            self.refuse(b"samples")
            return
        for place, counts in enumerate(samples):
            at = time.monotonic_ns()
            told = self.told + place if self.told is not None and self.dialect["told"] == "n" else self.told
            self.log.write("felt", at=at, i=self.felt, n=told, counts=counts)
            self.felt += 1
            self.received += 1
            self.window.append(counts[2])
            if len(self.window) == self.dialect["window"]:
                self.classify()
            if self.dialect["credit"] and self.felt - self.credited >= self.dialect["credit"]:
                self.credit()
        if self.told is not None and self.dialect["told"] == "n":
            self.told += len(samples) - 1

    def follows(self, number, count):
        """Numbers rise; those of one byte wrap. A jump is taken as it is."""
        last = -1 if self.told is None else self.told
        if self.dialect["format"] == "cobs":
            step = (number - last) % 256
            if not 0 < step <= 128:
                return False
            number = last + step
        elif number <= last:
            return False
        self.told = number
        return True

    def end(self):
        if self.running:
            if self.dialect["credit"] and self.felt > self.credited:
                self.credit()
            if self.dialect["at_end"] and self.name is not None:
                self.report(self.felt)
        self.running = False
        self.log.write("end")

    # what it finds

    def classify(self):
        mean = sum(self.window) / len(self.window)
        deviation = math.sqrt(sum((value - mean) ** 2 for value in self.window) / len(self.window))
        self.window = []
        found = formats.CLASSES[0 if deviation < RESTING_MG else 1 if deviation < MOVING_MG else 2]
        if found == self.name and not self.dialect["windows"]:
            return
        self.name = found
        felt, told = self.felt, self.told
        if self.dialect["think_ms"]:
            self.timers.append((time.monotonic_ns() + self.dialect["think_ms"] * 1_000_000, lambda: self.report(felt, found, told)))
        else:
            self.report(felt, found, told)

    def number(self, felt, told):
        """The number that stands for the last of so many samples, in the words of its dialect."""
        if self.dialect["n"] == "repeated":
            return told
        return (felt - 1) // self.dialect["batch"] if self.dialect["n"] == "counted" else None

    def report(self, felt, name=None, told=None):
        name = name or self.name
        stamp = self.now_us()
        self.log.write("decided", i=felt - 1, **{"class": name})
        number = self.number(felt, self.told if told is None else told)
        self.say("c", self.next_seq(), number, name, stamp if self.dialect["stamps"] else None)

    # what it says

    def credit(self):
        self.credited = self.felt
        self.say("k", self.next_seq(), self.number(self.felt, self.told))

    def next_seq(self):
        if not self.dialect["seq"]:
            return None
        self.seq = (self.seq + 1) % (1 << self.dialect["seq"])
        return self.seq

    def now_us(self):
        return (time.monotonic_ns() - self.started) // 1000 % 2 ** 32

    def say(self, kind, *values):
        if kind in ("c", "k"):
            self.said += 1
        data = self.format.say(kind, *values)
        os.write(self.tty, data)
        self.log.write("said", kind=kind, text=data.decode("ascii").rstrip("\n") if self.format.END == b"\n" else data.hex())

    def run_timers(self):
        """Seconds until the next one."""
        while self.timers:
            self.timers.sort(key=lambda timer: timer[0])
            wait = self.timers[0][0] - time.monotonic_ns()
            if wait > 0:
                return wait / 1e9
            self.timers.pop(0)[1]()
        return None


def main():
    port, control_path, log_path, dialect = sys.argv[1:]
    tty = os.open(port, os.O_RDWR | os.O_NOCTTY)
    control = os.open(control_path, os.O_RDWR | os.O_NONBLOCK)
    log = Log(log_path)
    device = Device(tty, json.loads(dialect), log)
    print("listening", flush=True)
    try:
        while True:
            wait = device.run_timers()
            ready, _, _ = select.select([tty, control], [], [], 0.5 if wait is None else wait)
            if control in ready:
                for line in os.read(control, 4096).decode("ascii").splitlines():
                    device.control(line.split(" "))
            if tty in ready:
                data = os.read(tty, 4096)
                if not data:
                    return
                device.hear(data)
    except OSError as gone:
        if gone.errno != errno.EIO:
            raise
    finally:
        log.close()


if __name__ == "__main__":
    main()
