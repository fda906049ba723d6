"""A network in ONNX, fitted by scikit-learn on the parcel's recordings, and what scikit-learn itself says of a motion.

    onnx_net.py fit RECORDINGS NET.onnx COEFFICIENTS.npz
    onnx_net.py predict COEFFICIENTS.npz STIMULUS.csv      prints "sample class" for every decision

The network takes [1, 128, 3] in g: logarithms of the variance of each axis and of its steps, then a logistic regression.
"""
import csv
import os
import sys

import numpy as np

WINDOW, HOP, CONFIRM = 128, 25, 3
CLASSES = ["resting", "carried", "conveyed"]


def motion(path):
    with open(path, newline="") as file:
        rows = list(csv.reader(file))
    at = [next(i for i, name in enumerate(rows[0]) if name.startswith(axis)) for axis in ("ax", "ay", "az")]
    return np.array([[float(row[i]) for i in at] for row in rows[1:]], dtype=np.float32)


def labels(path):
    with open(path, newline="") as file:
        return [(float(a), float(b), name) for a, b, name in list(csv.reader(file))[1:]]


def features(window):
    steps = window[1:] - window[:-1]
    return np.concatenate([np.log(part.var(axis=0) + 1e-6) for part in (window, steps)])


def fit(folder, net, coefficients):
    from sklearn.linear_model import LogisticRegression

    found, names = [], []
    for recording in ("morning", "belt"):
        samples = motion(os.path.join(folder, recording + ".csv"))
        for begin, end, name in labels(os.path.join(folder, recording + ".labels.csv")):
            if name not in CLASSES:
                continue
            for start in range(int(begin * 100), min(int(end * 100), len(samples)) - WINDOW, HOP):
                found.append(features(samples[start:start + WINDOW]))
                names.append(CLASSES.index(name))
    model = LogisticRegression(max_iter=5000).fit(np.array(found), names)
    np.savez(coefficients, weights=model.coef_, bias=model.intercept_)
    write(net, model.coef_.astype(np.float32), model.intercept_.astype(np.float32))


def write(path, weights, bias):
    from onnx import TensorProto, checker, helper, numpy_helper

    def constant(name, value):
        return numpy_helper.from_array(np.array(value), name)

    nodes, parts = [], []
    for name, source in (("x", "window"), ("d", "steps")):
        nodes += [
            helper.make_node("ReduceMean", [source], [name + "_mean"], axes=[1], keepdims=1),
            helper.make_node("Sub", [source, name + "_mean"], [name + "_off"]),
            helper.make_node("Mul", [name + "_off", name + "_off"], [name + "_square"]),
            helper.make_node("ReduceMean", [name + "_square"], [name + "_variance"], axes=[1], keepdims=0),
            helper.make_node("Add", [name + "_variance", "least"], [name + "_above"]),
            helper.make_node("Log", [name + "_above"], [name + "_log"]),
        ]
        parts.append(name + "_log")
    nodes = [
        helper.make_node("Slice", ["window", "one", "end", "axis"], ["later"]),
        helper.make_node("Slice", ["window", "zero", "last", "axis"], ["earlier"]),
        helper.make_node("Sub", ["later", "earlier"], ["steps"]),
        *nodes,
        helper.make_node("Concat", parts, ["features"], axis=1),
        helper.make_node("Gemm", ["features", "weights", "bias"], ["scores"], transB=1),
        helper.make_node("Softmax", ["scores"], ["shares"], axis=1),
    ]
    graph = helper.make_graph(
        nodes, "parcel",
        [helper.make_tensor_value_info("window", TensorProto.FLOAT, [1, WINDOW, 3])],
        [helper.make_tensor_value_info("shares", TensorProto.FLOAT, [1, len(CLASSES)])],
        [constant("weights", weights), constant("bias", bias), constant("least", np.float32(1e-6)), constant("one", np.array([1], np.int64)), constant("zero", np.array([0], np.int64)),
         constant("end", np.array([WINDOW], np.int64)), constant("last", np.array([WINDOW - 1], np.int64)), constant("axis", np.array([1], np.int64))])
    model = helper.make_model(graph, opset_imports=[helper.make_opsetid("", 13)])
    model.ir_version = 8
    checker.check_model(model)
    with open(path, "wb") as file:
        file.write(model.SerializeToString())


def predict(coefficients, stimulus):
    from sklearn.linear_model import LogisticRegression

    stored = np.load(coefficients)
    model = LogisticRegression()
    model.classes_, model.coef_, model.intercept_ = np.arange(len(CLASSES)), stored["weights"], stored["bias"]
    samples = motion(stimulus)
    candidate, runs, current = -1, 0, -1
    for last in range(WINDOW - 1, len(samples), HOP):
        found = int(model.predict([features(samples[last - WINDOW + 1:last + 1])])[0])
        candidate, runs = (candidate, runs + 1) if found == candidate else (found, 1)
        if runs >= CONFIRM and found != current:
            current = found
            print(last, CLASSES[found])


if __name__ == "__main__":
    {"fit": fit, "predict": predict}[sys.argv[1]](*sys.argv[2:])
