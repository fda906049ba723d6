"""Slow twin of the host model: plain Python integers, straight from the formulas of src/HilRunner.Core/Models/README.md.

Reads a JSON object on stdin: {"window", "hop", "tree", "confirm", "events", "samples": [[ax, ay, az], ...]} and writes the
decisions as JSON: [[n, class code, is event], ...], then all features of the last window.
"""
import json
import math
import sys


def div(a, b):
    """Division that drops the fraction, as C does."""
    return a // b if a >= 0 else -((-a) // b)


def features(v):
    w, s, q = len(v), sum(v), sum(x * x for x in v)
    mean = div(s, w)
    deviation = math.isqrt((w * q - s * s) // (w * w))
    steps = [b - a for a, b in zip(v, v[1:])]
    roughness = math.isqrt(sum(d * d for d in steps) // (w - 1))
    sides = [1 if x - mean > deviation // 2 else -1 if x - mean < -(deviation // 2) else 0 for x in v]
    sides = [x for x in sides if x]
    return {
        "mean": mean,
        "deviation": deviation,
        "minimum": min(v),
        "maximum": max(v),
        "range": max(v) - min(v),
        "step": sum(abs(d) for d in steps) // (w - 1),
        "roughness": roughness,
        "pace": 1000 * roughness // deviation if deviation else 0,
        "crossings": sum(1 for a, b in zip(sides, sides[1:]) if a != b),
    }


def all_features(window):
    """window: rows of (ax, ay, az). Names as in the model file, with ax ay az, a and main."""
    axes = list(zip(*window))
    series = {"ax": axes[0], "ay": axes[1], "az": axes[2], "a": [math.isqrt(x * x + y * y + z * z) for x, y, z in window]}
    found = {name: features(list(v)) for name, v in series.items()}
    main = max(("ax", "ay", "az"), key=lambda name: found[name]["deviation"])
    found["main"] = found[main]
    return {f"{k}({name})": value for name, of in found.items() for k, value in of.items()}


def classify(tree, values, above):
    while "class" not in tree:
        threshold = tree["below"] - (tree["hysteresis"] if above.get(id(tree)) else 0)
        above[id(tree)] = values[tree["feature"]] >= threshold
        tree = tree["else"] if above[id(tree)] else tree["then"]
    return tree["class"]


def run(job):
    w, hop = job["window"], job["hop"]
    seen, since, current, candidate, runs = 0, 0, None, None, 0
    above = {}
    rules = [{"low": 0, "wait": 0, "quiet": 0} for _ in job["events"]]
    decisions, samples = [], job["samples"]
    for n, (x, y, z) in enumerate(samples):
        seen += 1
        due = seen >= w and (seen - w) % hop == 0
        a = math.isqrt(x * x + y * y + z * z)
        event = None
        for rule, state in zip(job["events"], rules):
            if state["quiet"]:
                state["quiet"] -= 1
                continue
            state["low"] = state["low"] + 1 if a < rule["below"] else 0
            if state["low"] >= rule["for"]:
                state["wait"] = rule["within"]
            elif state["wait"]:
                state["wait"] -= 1
                if a > rule["above"]:
                    state["wait"], state["quiet"] = 0, rule["quiet"]
                    event = rule["class"] if event is None else event
        if event is not None:
            decisions.append([n, event, True])
            seen, candidate, runs = 0, None, 0
        elif due:
            found = classify(job["tree"], all_features(samples[n - w + 1:n + 1]), above)
            runs = runs + 1 if found == candidate else 1
            candidate = found
            if runs >= job["confirm"][found] and found != current:
                current = found
                decisions.append([n, found, False])
    return {"decisions": decisions, "features": all_features(samples[-w:])}


if __name__ == "__main__":
    json.dump(run(json.load(sys.stdin)), sys.stdout)
