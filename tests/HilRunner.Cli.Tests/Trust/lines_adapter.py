"""The built-in lines protocol, as an adapter. Notes each start in the file that is its argument."""
import json
import os
import sys

if len(sys.argv) > 1:
    with open(sys.argv[1], "a") as log:
        log.write("started\n")
buffer, place = b"", 0


def encode(request):
    kind = request["encode"]
    if kind == "begin":
        return f"begin {request['rate_mhz']}\n"
    if kind == "samples":
        return "".join(f"s {request['n'] + i} {' '.join(map(str, row))}\n" for i, row in enumerate(request["samples"]))
    if kind == "message":
        return request["text"].replace("{token}", str(request["token"])) + "\n"
    return "end\n"


def decode(data):
    global buffer, place
    buffer += data
    unknown = 0
    while b"\n" in buffer:
        line, buffer = buffer.split(b"\n", 1)
        at = {"first": place, "last": place + len(line)}
        place += len(line) + 1
        words = line.decode("latin-1").split()
        if words[:1] == ["c"] and len(words) > 2:
            yield {"message": "decision", "n": int(words[1]), "class": words[2], **at}
        elif words[:1] == ["k"]:
            yield {"message": "credit", "n": int(words[1]), **at}
        elif words[:1] == ["boot"]:
            yield {"message": "booted", "fields": {"version": words[1]}, **at}
        elif words[:1] == ["t"]:
            yield {"message": "clock", "token": int(words[1]), "ticks": int(words[2]), **at}
        else:
            unknown += 1
    yield {"done": True, "unknown": unknown}


for text in sys.stdin:
    request = json.loads(text)
    if "encode" in request:
        answers = [{"done": True, "bytes": encode(request).encode().hex()}]
    elif "decode" in request:
        answers = decode(bytes.fromhex(request["decode"]))
    else:
        answers = [{"done": True}]
    for answer in answers:
        print(json.dumps(answer))
    sys.stdout.flush()
