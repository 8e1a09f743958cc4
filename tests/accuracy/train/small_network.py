"""A small fully connected network in NumPy: training, use, and the C table it becomes.

Deterministic: fixed seeds, one thread (set OPENBLAS_NUM_THREADS=1). Adam as in Kingma and
Ba, "Adam: a method for stochastic optimization", ICLR 2015, with a cosine fall of the step.
"""
import textwrap

import numpy as np


def forward(layers, x, activation):
    """Activations of every layer; the last is linear. x[n][n_in] -> list of arrays."""
    outputs = [x]
    for i, (weights, bias) in enumerate(layers):
        x = x @ weights + bias
        if i + 1 < len(layers):
            x = activation(x)
        outputs.append(x)
    return outputs


def rectify(x):
    return np.maximum(x, 0)


def softmax(z):
    e = np.exp(z - z.max(axis=1, keepdims=True))
    return e / e.sum(axis=1, keepdims=True)


def start_layers(sizes, rng, scale):
    return [
        [
            (rng.standard_normal((a, b)) * np.sqrt(scale / a)).astype(np.float32),
            np.zeros(b, np.float32),
        ]
        for a, b in zip(sizes[:-1], sizes[1:])
    ]


class Adam:
    def __init__(self, layers, step, total, decay):
        self.layers, self.step, self.total, self.decay = layers, step, total, decay
        self.first = [[np.zeros_like(p) for p in layer] for layer in layers]
        self.second = [[np.zeros_like(p) for p in layer] for layer in layers]
        self.t = 0

    def update(self, gradients):
        self.t += 1
        step = self.step * 0.5 * (1 + np.cos(np.pi * self.t / self.total))
        for layer, grads, m, v in zip(self.layers, gradients, self.first, self.second):
            for k in range(2):
                g = grads[k] + (self.decay * layer[k] if k == 0 else 0)
                m[k] = 0.9 * m[k] + 0.1 * g
                v[k] = 0.999 * v[k] + 0.001 * g * g
                m_hat = m[k] / (1 - 0.9**self.t)
                v_hat = v[k] / (1 - 0.999**self.t)
                layer[k] = (layer[k] - step * m_hat / (np.sqrt(v_hat) + 1e-8)).astype(
                    layer[k].dtype
                )


def backward(layers, outputs, error, slope):
    """Gradients of every layer from the error at the linear output."""
    gradients = [None] * len(layers)
    for i in range(len(layers) - 1, -1, -1):
        gradients[i] = [outputs[i].T @ error, error.sum(axis=0)]
        if i > 0:
            error = (error @ layers[i][0].T) * slope(outputs[i])
    return gradients


def c_number(v):
    text = "%.6g" % v
    return text + ("f" if "." in text or "e" in text else ".0f")


def c_row(values):
    return "\n".join(textwrap.wrap("{" + ", ".join(c_number(v) for v in values) + "}", 100))


def c_matrix(name, rows, n_rows, n_columns):
    body = ",\n".join(c_row(row) for row in rows)
    return f"static const float {name}[{n_rows}][{n_columns}] = {{\n{body}}};\n"


def c_vector(name, values, n):
    return f"static const float {name}[{n}] =\n{c_row(values)};\n"


def c_values(numbers):
    return "\n".join(textwrap.wrap("{" + ", ".join(numbers) + "}", 100))


def c_table(kind, name, shape, members, number):
    """members[i]: the vector or matrix of network i; number makes the text of a value."""
    texts = []
    for values in members:
        rows = [c_values([number(v) for v in row]) for row in np.atleast_2d(values)]
        inside = ",\n".join(rows)
        texts.append("{" + inside + "}" if np.ndim(values) == 2 else inside)
    size = "".join(f"[{n}]" for n in shape)
    return f"static const {kind} {name}{size} = {{\n" + ",\n".join(texts) + "};\n"


# Whose recordings the tables learned from; their licence asks that it is said.
SOURCES = (
    " * The open recordings, ODC-By 1.0: PhysioNet/CinC Challenge 2016, also with its hand-corrected\n"
    " * states (Liu et al., Physiol. Meas. 37 (2016) 2181), and CirCor DigiScope 2022 (Oliveira et al.,\n"
    " * IEEE J. Biomed. Health Inform. 26 (2022) 2524), both by PhysioNet (Goldberger et al.,\n"
    " * Circulation 101 (2000) e215).\n"
)


def c_header(path, guard, what, body):
    with open(path, "w") as out:
        out.write(f"/**\n * @file {path.rsplit('/', 1)[-1]}\n{what} */\n")
        out.write(f"#ifndef {guard}\n#define {guard}\n\n{body}\n#endif\n")
