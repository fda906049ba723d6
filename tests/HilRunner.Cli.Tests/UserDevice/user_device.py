#!/usr/bin/python3
"""A motion-classifying device as a user would write one: on a serial port, with pyserial, from the documents alone.

    user_device.py PORT lines    speaks the lines format of src/HilRunner.Device/README.md
    user_device.py PORT own      speaks a format of its own, which only a rig file describes

Shares no code with the tool. Takes 100 Hz samples, 1 mg a count. Ends when the port is gone.
"""
import math
import re
import sys
import time

import serial

RATE_MHZ = 100_000
CLASSES = ["resting", "carried", "conveyed"]


class Classifier:
    """Spread and mean crossings of |a| over one second, four times a second; a class must be seen twice running."""

    WINDOW = 100
    STEP = 25
    STILL_MG = 20
    SLOW_CROSSINGS = 12  # a walk of 2 Hz crosses its mean 4 times a second, a belt of 16 Hz 32 times

    def __init__(self):
        self.window = []
        self.fed = 0
        self.candidate = None

    def feed(self, counts):
        """The class after this sample, or None where none is worked out or the last one is not yet confirmed."""
        self.window = (self.window + [math.hypot(*counts)])[-self.WINDOW:]
        self.fed += 1
        if len(self.window) < self.WINDOW or self.fed % self.STEP != 0:
            return None
        found = self.classify()
        confirmed = found == self.candidate
        self.candidate = found
        return found if confirmed else None

    def classify(self):
        mean = sum(self.window) / self.WINDOW
        spread = math.sqrt(sum((a - mean) ** 2 for a in self.window) / self.WINDOW)
        if spread < self.STILL_MG:
            return 0
        above = [a > mean for a in self.window]
        crossings = sum(a != b for a, b in zip(above, above[1:]))
        return 1 if crossings < self.SLOW_CROSSINGS else 2


class Lines:
    """The documented format: banner, identity, clock, status, credit, decisions on change, numbered errors."""

    VERSION = "2.3.1"
    MAX_LENGTH = 256
    CREDIT_EACH = 64
    ERRORS = {1: "unknown", 2: "malformed", 4: "rate", 5: "order", 6: "too_long"}

    def __init__(self, say):
        self.say_line = lambda text: say((text + "\n").encode("ascii"))
        self.start()

    def start(self):
        self.started = time.monotonic_ns()
        self.running = False
        self.forget()
        self.say_line(f"boot {self.VERSION}")

    def forget(self):
        self.classifier = Classifier()
        self.decided = None
        self.last = -1
        self.credited = -1

    def now_us(self):
        return (time.monotonic_ns() - self.started) // 1000 % 2**32

    def refuse(self, code):
        self.say_line(f"e {code} {self.ERRORS[code]}")

    def hear(self, raw):
        if len(raw) > self.MAX_LENGTH:
            self.refuse(6)
            return
        words = raw.decode("ascii", "replace").split(" ")
        handlers = {
            "begin": (self.begin, 1), "s": (self.sample, 4), "end": (self.end, 0), "id": (self.identity, 0),
            "t": (self.clock, 1), "st": (self.status, 0), "reset": (self.start, 0),
        }
        if words[0] not in handlers:
            self.refuse(1)
            return
        handler, count = handlers[words[0]]
        if len(words) != count + 1 or not all(re.fullmatch(r"-?[0-9]+", word) for word in words[1:]):
            self.refuse(2)
            return
        handler(*map(int, words[1:]))

    def begin(self, rate_mhz):
        self.running = rate_mhz == RATE_MHZ
        self.forget()
        if not self.running:
            self.refuse(4)

    def sample(self, n, *counts):
        if not self.running:
            return
        if not all(-32768 <= count <= 32767 for count in counts):
            self.refuse(2)
            return
        if n <= self.last:
            self.refuse(5)
            return
        self.last = n
        found = self.classifier.feed(counts)
        if found is not None and found != self.decided:
            self.decided = found
            self.report()
        if n - self.credited >= self.CREDIT_EACH:
            self.credit()

    def credit(self):
        self.credited = self.last
        self.say_line(f"k {self.last}")

    def end(self):
        if self.running and self.last > self.credited:
            self.credit()
        self.running = False

    def report(self):
        self.say_line(f"c {self.last} {CLASSES[self.decided]} {self.now_us()} 0.900")

    def identity(self):
        self.say_line(f"id user-tag {self.VERSION} 0badc0de")

    def clock(self, token):
        self.say_line(f"t {token} {self.now_us()}")

    def status(self):
        if self.decided is None:
            self.say_line("st none")
        else:
            self.report()


class Own:
    """A format of its own: GO, X;Y;Z in 2 mg counts, HALT. Says its class by number every half second, and chats."""

    REPORT_EACH = 50

    def __init__(self, say):
        self.say_line = lambda text: say((text + "\r\n").encode("ascii"))
        self.running = False
        self.say_line("# motion tag, awake")

    def hear(self, raw):
        text = raw.decode("ascii", "replace")
        if text == "GO":
            self.classifier = Classifier()
            self.decided = None
            self.consumed = 0
            self.running = True
        elif text == "HALT":
            self.running = False
        elif self.running and re.fullmatch(r"-?\d+;-?\d+;-?\d+", text):
            self.sample([2 * int(word) for word in text.split(";")])

    def sample(self, counts_mg):
        self.consumed += 1
        found = self.classifier.feed(counts_mg)
        self.decided = self.decided if found is None else found
        if self.decided is not None and self.consumed % self.REPORT_EACH == 0:
            self.say_line(f"MOTION={self.decided};SEQ={self.consumed - 1}")


def main():
    port, form = sys.argv[1:]
    with serial.Serial(port, 115200) as line:
        device = {"lines": Lines, "own": Own}[form](line.write)
        print("listening", flush=True)
        pending = b""
        while True:
            try:
                pending += line.read(max(1, line.in_waiting))
            except (serial.SerialException, OSError):
                return
            *complete, pending = pending.split(b"\n")
            for raw in complete:
                raw = raw.removesuffix(b"\r")
                if raw:
                    device.hear(raw)
            pending = pending[: Lines.MAX_LENGTH + 1]  # enough to know that it is too long


if __name__ == "__main__":
    main()
