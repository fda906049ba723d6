#!/usr/bin/python3
"""Device and link without the product: what the logs say is what was done. Ends with "N cases held"; a case that does not hold raises.

    selftest.py FOLDER
"""
import collections
import concurrent.futures
import json
import os
import pathlib
import select
import subprocess
import sys
import termios
import time
import tty

import formats

HERE = pathlib.Path(__file__).parent
SAMPLES = 400
PLAIN = {"n": "counted", "at_end": True, "counters": True}
COBS = {"format": "cobs", "n": "counted", "stamps": True, "credit": 16, "counters": True}


class Bench:
    """Link and device as processes, and the host's end of the link."""

    def __init__(self, folder, dialect, fault, boot_ms=None):
        self.folder, self.dialect = folder, dialect
        folder.mkdir()
        (folder / "plan.json").write_text(json.dumps({"dialect": dialect, "boot_ms": boot_ms, "runs": {str(SAMPLES): fault}}))
        self.link = self.start("link.py", folder, folder / "plan.json")
        self.device = self.start("device.py", folder / "device", folder / "control", folder / "device.jsonl", json.dumps(dialect))
        self.tty = os.open(folder / "host", os.O_RDWR | os.O_NOCTTY)
        tty.setraw(self.tty, termios.TCSANOW)
        self.heard = b""

    @staticmethod
    def start(program, *arguments):
        process = subprocess.Popen([sys.executable, HERE / program, *map(str, arguments)], stdin=subprocess.PIPE, stdout=subprocess.PIPE)
        process.stdout.readline()
        return process

    def say(self, text):
        os.write(self.tty, text if isinstance(text, bytes) else text.encode("ascii") + b"\n")
        while select.select([self.tty], [], [], 0)[0]:
            self.heard += os.read(self.tty, 4096)

    def listen(self, seconds):
        until = time.monotonic() + seconds
        while (left := until - time.monotonic()) > 0:
            if select.select([self.tty], [], [], left)[0]:
                self.heard += os.read(self.tty, 4096)

    def close(self):
        os.close(self.tty)
        self.link.stdin.close()
        for process in (self.link, self.device):
            if process.wait(10):
                raise AssertionError(f"{process.args[1]} ended with {process.returncode}")
        self.link_log, self.device_log = ([json.loads(line) for line in open(self.folder / name)] for name in ("link.jsonl", "device.jsonl"))

    def count(self, what, **more):
        return sum(entry["what"] == what and more.items() <= entry.items() for entry in self.device_log)

    def faults(self, **more):
        return sum(entry["what"] == "fault" and more.items() <= entry.items() for entry in self.link_log)


def motion(n):
    """Still, then shaken, then still."""
    return (3, -2, 1000 + (300 if SAMPLES // 4 < n < SAMPLES // 2 and n % 2 else 0))


def frame(kind, body=b""):
    payload = bytes([kind]) + body
    return formats.cobs_encode(payload + formats.crc16(payload).to_bytes(2, "little")) + b"\0"


def play(bench):
    """A whole run, some four samples a millisecond."""
    text = bench.dialect.get("format") != "cobs"
    bench.say(f"begin 100000 {SAMPLES}" if text else frame(1, (100_000).to_bytes(4, "little") + SAMPLES.to_bytes(4, "little")))
    for n in range(0, SAMPLES, 8):
        counts = [motion(i) for i in range(n, n + 8)]
        if text:
            for sample in counts:
                bench.say("s %d %d %d" % sample)
        else:
            bench.say(frame(2, bytes([n % 256]) + b"".join(v.to_bytes(2, "little", signed=True) for sample in counts for v in sample)))
        time.sleep(0.002)
    bench.say("end" if text else frame(3))
    bench.say("q" if text else frame(9))
    bench.listen(0.5)


def published_frames():
    """The frames to check an implementation with (src/HilRunner.Device/README.md), and the check value of the sum."""
    assert formats.crc16(b"123456789") == 0x29B1
    for text, start in (("05 88 13 4A 0F 03 D8 7B 00", b"\x88"), ("05 01 A0 86 01 03 E0 EB 00", b"\x01"),
                        ("03 82 6D 01 01 05 01 D0 A1 10 05 84 03 E5 8D 00", b"\x82")):
        raw = bytes.fromhex(text)
        payload = formats.cobs_decode(raw[:-1])
        assert payload.startswith(start) and formats.crc16(payload[:-2]) == int.from_bytes(payload[-2:], "little"), text
        assert formats.cobs_encode(payload) == raw[:-1], text
    for length in (253, 254, 255, 508):
        for data in (b"\1" * length, b"\1" * length + b"\0", b"\0" + b"\1" * length):
            assert formats.cobs_decode(formats.cobs_encode(data)) == data, length


def clean(bench):
    play(bench)
    yield
    assert bench.count("felt") == SAMPLES and bench.faults() == 0
    sent = next(entry for entry in bench.link_log if entry["what"] == "sent")
    assert sent["count"] == SAMPLES
    found = [entry["class"] for entry in bench.device_log if entry["what"] == "decided"]
    assert found[:3] == ["resting", "moving", "resting"], found
    assert bench.heard.count(b"\n" if bench.dialect.get("format") != "cobs" else b"\0") == bench.count("said")


def lines_to(bench):
    """Of a line that is dropped or doubled the device feels nothing, or twice as much."""
    play(bench)
    yield
    hit = bench.faults(dir="to")
    assert hit > 0 and bench.faults(dir="from") == 0
    sign = 1 if bench.faults(kind="duplicate_lines") else -1
    spared = SAMPLES + sign * hit - bench.count("felt")
    assert 0 <= -spared * sign <= 3, spared      # begin, end and the question may be among them


def decisions_lost(bench):
    play(bench)
    yield
    lost = bench.faults(dir="from", decision=True)
    assert lost == bench.faults() > 0
    assert bench.heard.count(b"c ") == bench.count("said", kind="c") - lost


def bytes_to(bench):
    play(bench)
    yield
    assert bench.faults(dir="to") > 0
    assert bench.count("refused") > 0


def stalled(bench):
    play(bench)
    yield
    assert bench.faults(kind="stall") > 0
    felt = [entry["at"] for entry in bench.device_log if entry["what"] == "felt"]
    assert len(felt) == SAMPLES
    longest = max(b - a for a, b in zip(felt, felt[1:]))
    assert 0.2e9 < longest < 1e9, longest


def cut(bench):
    play(bench)
    yield
    assert bench.count("felt") == 199 and bench.count("end") == 0


def dead(bench, revived):
    play(bench)
    assert b"q " not in bench.heard
    bench.say("reset")
    bench.listen(0.2)
    bench.say("t 7")
    bench.listen(0.2)
    yield
    assert 100 < bench.count("felt") < 200
    assert (b"boot 1\nt 7 " in bench.heard) == revived, bench.heard


def deaf(bench):
    play(bench)
    bench.listen(0.6)
    yield
    felt = bench.count("felt")
    assert 100 < felt < 200
    assert bench.heard.count(b"c %d " % (felt - 1)) >= 2, bench.heard


def opened(bench):
    bench.listen(0.6)
    yield
    kinds = collections.Counter(entry["what"] for entry in bench.device_log)
    assert kinds["boot"] == 2 and bench.heard == b"boot 1\n", bench.heard


CASES = [
    ("clean text", PLAIN, {"kind": "none"}, clean),
    ("clean frames", COBS, {"kind": "none"}, clean),
    ("lines dropped", PLAIN, {"kind": "drop_lines", "direction": "to", "share": 0.1, "seed": 1}, lines_to),
    ("lines doubled", PLAIN, {"kind": "duplicate_lines", "direction": "to", "share": 0.1, "seed": 1}, lines_to),
    ("decisions lost", {**PLAIN, "windows": True}, {"kind": "lost_decisions", "direction": "from", "share": 0.3, "seed": 1}, decisions_lost),
    ("bytes garbled", COBS, {"kind": "garble_bytes", "direction": "to", "share": 0.01, "seed": 1}, bytes_to),
    ("bytes dropped", PLAIN, {"kind": "drop_bytes", "direction": "both", "share": 0.03, "seed": 1}, bytes_to),
    ("stalled", PLAIN, {"kind": "stall", "direction": "to", "phase_ms": 50, "seed": 1}, stalled),
    ("cut", PLAIN, {"kind": "cut", "direction": "to", "at_sample": 200, "seed": 1}, cut),
    ("dead until reset", PLAIN, {"kind": "die", "at_sample": 200}, lambda bench: dead(bench, True)),
    ("dead for good", PLAIN, {"kind": "die-for-good", "at_sample": 200}, lambda bench: dead(bench, False)),
    ("deaf", PLAIN, {"kind": "deaf", "at_sample": 200}, deaf),
    ("boots when opened", PLAIN, {"kind": "none"}, opened),
]


def hold(folder, name, dialect, fault, case):
    bench = Bench(folder, dialect, fault, 150 if case is opened else None)
    steps = case(bench)
    try:
        next(steps)
        bench.close()
        next(steps, None)
    except AssertionError as wrong:
        raise AssertionError(f"{name}: {wrong}") from wrong


def main():
    published_frames()
    folder = pathlib.Path(sys.argv[1])
    with concurrent.futures.ThreadPoolExecutor(5) as threads:
        for case in [threads.submit(hold, folder / str(number), *case) for number, case in enumerate(CASES)]:
            case.result()
    print(f"{len(CASES)} cases held")


if __name__ == "__main__":
    main()
