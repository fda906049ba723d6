"""What the witness device hears and says, as text lines and as COBS frames: written from the documents, not from the product.

Text, host to device: begin RATE COUNT | s [N] AX AY AZ | b BATCH COUNT AX,AY,AZ ... | end | reset | id | t TOKEN | q
Text, device to host: c [SEQ] [N] CLASS [T_US] | k N | boot 1 | id witness 1.0.0 | t [SEQ] TOKEN T_US | q [SEQ] RECEIVED BAD SAID
COBS (CRC-16/IBM-3740, low byte first, type u8): the same, as the rig file binary.yaml describes them.
"""
import re
import struct

CLASSES = ["resting", "moving", "fast"]
_NUMBER = re.compile(r"-?[0-9]{1,9}\Z")


def crc16(data):
    """CRC-16/IBM-3740: polynomial 1021, initial FFFF, not reflected, no final xor."""
    crc = 0xFFFF
    for byte in data:
        crc ^= byte << 8
        for _ in range(8):
            crc = (crc << 1 ^ 0x1021 if crc & 0x8000 else crc << 1) & 0xFFFF
    return crc


def cobs_encode(data):
    """Without the zero at the end (Cheshire and Baker 1999)."""
    out = bytearray()
    for index, piece in enumerate(pieces := data.split(b"\0")):
        while len(piece) >= 254:
            out += b"\xff" + piece[:254]
            piece = piece[254:]
            if not piece and index == len(pieces) - 1:
                return bytes(out)
        out += bytes([len(piece) + 1]) + piece
    return bytes(out)


def cobs_decode(data):
    """None where a code points past the end."""
    out = bytearray()
    at = 0
    while at < len(data):
        code = data[at]
        if code == 0 or at + code > len(data):
            return None
        out += data[at + 1:at + code]
        at += code
        if code != 255 and at < len(data):
            out.append(0)
    return bytes(out)


class Text:
    """One message a line."""

    END = b"\n"

    def __init__(self, dialect):
        self.told = dialect.get("told")
        self.seq = dialect.get("seq", 0)

    def hear(self, raw):
        """(kind, values) of one line without its end; None where it is refused."""
        try:
            words = raw.decode("ascii").split(" ")
        except UnicodeDecodeError:
            return None
        kind, rest = words[0], words[1:]
        if kind == "b" and self.told == "batch":
            return self._batch(rest)
        if not all(_NUMBER.match(word) for word in rest):
            return None
        numbers = [int(word) for word in rest]
        if kind == "s" and self.told != "batch":
            number = numbers.pop(0) if self.told == "n" and numbers else None
            return ("samples", (number, [tuple(numbers)])) if _is_sample(numbers) else None
        arguments = {"begin": 2, "end": 0, "reset": 0, "id": 0, "t": 1, "q": 0}
        return (kind, numbers) if arguments.get(kind) == len(numbers) else None

    def say(self, kind, *values):
        if kind == "c":
            seq, n, name, t_us = values
            words = ["c", seq, n, name, t_us]
        else:
            words = [kind, *values]
        return " ".join(str(word) for word in words if word is not None).encode("ascii") + self.END

    @staticmethod
    def _batch(words):
        if len(words) < 3 or not all(_NUMBER.match(word) for word in words[:2]):
            return None
        samples = []
        for word in words[2:]:
            parts = word.split(",")
            if not all(_NUMBER.match(part) for part in parts):
                return None
            samples.append(tuple(int(part) for part in parts))
        if len(samples) != int(words[1]) or not all(_is_sample(sample) for sample in samples):
            return None
        return "samples", (int(words[0]), samples)


class Cobs:
    """Binary frames. The number of a sample message is that of its first sample, modulo 256."""

    END = b"\0"

    def __init__(self, dialect):
        pass

    def hear(self, raw):
        payload = cobs_decode(raw)
        if payload is None or len(payload) < 3 or crc16(payload[:-2]) != int.from_bytes(payload[-2:], "little"):
            return None
        kind, body = payload[0], payload[1:-2]
        if kind == 0x02 and len(body) >= 7 and len(body) % 6 == 1:
            return "samples", (body[0], list(struct.iter_unpack("<3h", body[1:])))
        for number, name, form in ((1, "begin", "<II"), (3, "end", "<"), (4, "id", "<"), (5, "t", "<I"), (6, "reset", "<"), (9, "q", "<")):
            if kind == number and len(body) == struct.calcsize(form):
                return name, list(struct.unpack(form, body))
        return None

    def say(self, kind, *values):
        if kind == "c":
            _, n, name, t_us = values
            payload = struct.pack("<BBBI", 0x82, n % 256, CLASSES.index(name), t_us)
        elif kind == "k":
            payload = struct.pack("<BB", 0x83, values[1] % 256)
        elif kind == "id":
            payload = struct.pack("<BI", 0x84, 1_000_000)
        elif kind == "t":
            payload = struct.pack("<BII", 0x85, *values[1:])
        elif kind == "boot":
            payload = struct.pack("<BI", 0x88, 1_000_000)
        else:
            payload = struct.pack("<BHHH", 0x8A, *(value % 65536 for value in values[1:]))
        return cobs_encode(payload + crc16(payload).to_bytes(2, "little")) + self.END


def _is_sample(numbers):
    return len(numbers) == 3 and all(-32768 <= number <= 32767 for number in numbers)
