"""Fits scenarios/open-data/model.yaml to open recordings of people, and says how good it is on other people.

    /usr/bin/python3 scenarios/open-data/fit_model.py [--data FOLDER] [--check]

Fitted on the people FIT, tested on the people TEST; nobody is in both, and nothing was chosen by looking at TEST. Features are
those of src/HilRunner.Core/Models/README.md, computed by the slow twin of the model. --check writes nothing and fails when the model
file would change. Needs numpy and scikit-learn (Debian: python3-sklearn); the data set is named in README.md beside this file.
"""
import argparse
import math
import os
import pathlib
import sys

import numpy
from sklearn.model_selection import GroupKFold, cross_val_score
from sklearn.tree import DecisionTreeClassifier

HERE = pathlib.Path(__file__).resolve().parent
ROOT = HERE.parents[1]
sys.path.insert(0, str(ROOT / "tests" / "HilRunner.Core.Tests" / "Models"))
import model_twin  # noqa: E402  (found by the line above)

FIT = [(9, 5), (11, 6)]
TEST = [(1, 1), (3, 2), (5, 3), (7, 4)]
CLASSES = ["walking", "upright", "lying"]
NAMES = {1: "walking", 2: "walking", 3: "walking", 4: "upright", 5: "upright", 6: "lying"}
WINDOW, HOP, CONFIRM = 128, 25, 3
DEPTH, LEAF = 3, 12


def samples(folder, experiment, user):
    rows = numpy.loadtxt(folder / f"acc_exp{experiment:02}_user{user:02}.txt")
    # Whole milli-g, half to even: as the stimulus is quantised.
    return [tuple(int(v) for v in row) for row in numpy.rint(rows * 1000)]


def labels(folder, experiment, user):
    rows = numpy.loadtxt(folder / "labels.txt", dtype=int)
    # Numbers of samples are 1-based, the last one belongs to the activity.
    return [(first - 1, last, code) for e, u, code, first, last in rows.tolist() if (e, u) == (experiment, user)]


def windows(folder, people):
    """Windows that lie in one activity: features, class, person."""
    x, y, who = [], [], []
    for experiment, user in people:
        motion = samples(folder, experiment, user)
        for start, end, code in labels(folder, experiment, user):
            if code not in NAMES:
                continue
            for at in range(start, end - WINDOW + 1, HOP):
                x.append(model_twin.all_features(motion[at:at + WINDOW]))
                y.append(CLASSES.index(NAMES[code]))
                who.append(user)
    return x, numpy.array(y), numpy.array(who)


def lines(tree, names, node=0, indent="  "):
    """The tree as YAML. Features are whole numbers: value <= t is value < floor(t) + 1."""
    if tree.children_left[node] < 0:
        counts = tree.value[node][0]
        # Laplace's rule: a leaf of few windows is not sure of itself.
        confidence = (counts.max() * tree.n_node_samples[node] / counts.sum() + 1) / (tree.n_node_samples[node] + len(CLASSES))
        return [f"{indent}class: {CLASSES[int(counts.argmax())]}", f"{indent}confidence: {confidence:.3f}"]
    found = [f"{indent}feature: {names[tree.feature[node]]}", f"{indent}below: {math.floor(tree.threshold[node]) + 1}"]
    for word, child in (("then", tree.children_left[node]), ("else", tree.children_right[node])):
        found += [f"{indent}{word}:", *lines(tree, names, child, indent + "  ")]
    return found


def main():
    parser = argparse.ArgumentParser()
    default = os.environ.get("HIL_OPEN_DATA", str(ROOT.parent / "shared" / "data"))
    parser.add_argument("--data", default=default, help="folder that holds activity/")
    parser.add_argument("--check", action="store_true")
    options = parser.parse_args()
    folder = pathlib.Path(options.data) / "activity"

    x, y, who = windows(folder, FIT)
    # Nothing of y or z alone: the device may be worn turned about its long axis.
    names = sorted(n for n in x[0] if not n.endswith(("(ay)", "(az)")))
    table = numpy.array([[f[n] for n in names] for f in x])
    fitted = DecisionTreeClassifier(max_depth=DEPTH, min_samples_leaf=LEAF, class_weight="balanced", random_state=1)
    across = cross_val_score(fitted, table, y, groups=who, cv=GroupKFold(2))
    fitted.fit(table, y)

    test_x, test_y, test_who = windows(folder, TEST)
    test_table = numpy.array([[f[n] for n in names] for f in test_x])
    found = fitted.predict(test_table)
    print(f"fitted on people {[u for _, u in FIT]}: {len(y)} windows; one person from the other: {', '.join(f'{s:.4f}' for s in across)}")
    print(f"tested on people {[u for _, u in TEST]}: {len(test_y)} windows, right {(found == test_y).mean():.4f}")
    for user in sorted(set(test_who)):
        mine = test_who == user
        print(f"  person {user}: {(found[mine] == test_y[mine]).mean():.4f} of {mine.sum()}")
    for code, name in enumerate(CLASSES):
        print(f"  {name}: {(found[test_y == code] == code).mean():.4f} of {(test_y == code).sum()}")

    text = "\n".join([
        "# Fitted by fit_model.py beside this file, from open recordings; do not edit. README.md says on whom and how good it is.",
        "model: activity",
        f"classes: [{', '.join(CLASSES)}]",
        "input:",
        "  rate: 50 Hz",
        "  channels: {ax: 1 mg, ay: 1 mg, az: 1 mg}",
        f"window: {WINDOW / 50} s",
        f"hop: {HOP * 20} ms",
        "tree:",
        *lines(fitted.tree_, names),
        f"confirm: {{{', '.join(f'{name}: {CONFIRM}' for name in CLASSES)}}}",
        "",
    ])
    path = HERE / "model.yaml"
    if options.check:
        if path.read_text() != text:
            sys.exit(f"{path} is not what this script makes of the data")
    else:
        path.write_text(text)


if __name__ == "__main__":
    main()
