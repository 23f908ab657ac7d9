"""The posterior of many roofs on one grid of ln T a covering, vectorised: prior, standing through the lag, five
readings by two eyes as a mixture with gross errors and what each eye shares, in closed form.

    posterior.py grids roofs results

All three are plain files of doubles. grids: the count of coverings, of points, lag, power, line, gross share, shared
share, and of the scale of errors its slopes near a rating of 100 and between, what its second and third line begin with,
and its length; then for each covering the prior's density, T, and T^-power at each point. roofs: covering, age, then years ago,
place on the scale of errors and error of each reading. results: the 10, 50 and 90 % points of T. Prints the processor seconds that it took and the
roofs that it took at a time: the fastest of some.
"""
import sys
import time

import numpy as np

EYES = ((0, 1, 2), (3, 4))

head = np.fromfile(sys.argv[1], count=12)
coverings, points = int(head[0]), int(head[1])
lag, power, line, gross, shared, near_new, between, from_between, from_whole, most = head[2:]
grids = np.fromfile(sys.argv[1], offset=96).reshape(coverings, 3, points)
prior, years, slowness = grids[:, 0], grids[:, 1], grids[:, 2]
standing = np.exp(years / lag)
roofs = np.fromfile(sys.argv[2]).reshape(-1, 17)


def posterior(some, kind):
    """Quantiles of roofs of one covering."""
    n = len(some)
    age = some[:, 1]
    density = np.multiply(standing[kind], np.exp(-age / lag)[:, None])
    np.minimum(density, 1, out=density)
    density *= prior[kind]
    x = slowness[kind]
    q, m, like, room, scratch = ([None] * 8, [None] * 8, np.empty((n, points)), np.empty((n, points)), np.empty((n, points)))
    for eye in EYES:
        logs, squares = [np.zeros(n)], [np.zeros(n)]
        q[0] = m[0] = None
        bad_all = np.zeros(n)
        for i, reading in enumerate(eye):
            ago, fallen, error = some[:, 2 + 3 * reading], some[:, 3 + 3 * reading], some[:, 4 + 3 * reading]
            own, part = error * np.sqrt(1 - shared), error * np.sqrt(shared)
            bad = np.log(gross * own * np.sqrt(2 * np.pi) / most)
            bad_all += bad
            fall = np.multiply(((100 - line) * np.maximum(age - ago, 0) ** power)[:, None], x)
            # The scale of errors is the lowest of its lines.
            left = np.multiply(fall, between)
            left += from_between
            fall_near = np.multiply(fall, near_new, out=scratch)
            np.minimum(left, fall_near, out=left)
            fall += from_whole
            np.minimum(left, fall, out=left)
            np.minimum(left, most, out=left)
            left -= fallen[:, None]
            left /= own[:, None]
            one = left * left
            left *= (part / own)[:, None]
            for last in range(1 << i):
                logs.append(logs[last] + np.log1p(-gross) - bad)
                squares.append(squares[last] + (part / own) ** 2)
                q[last + (1 << i)] = one if last == 0 else q[last] + one
                m[last + (1 << i)] = left if last == 0 else m[last] + left
        like[:] = np.exp(bad_all)[:, None]
        for s in range(1, 1 << len(eye)):
            c = 1 / (1 + squares[s])
            np.multiply(m[s], m[s], out=room)
            room *= (c / 2)[:, None]
            np.multiply(q[s], 0.5, out=scratch)
            room -= scratch
            room += (bad_all + logs[s] + np.log(c) / 2)[:, None]
            np.exp(room, out=room)
            like += room
        density *= like
    np.add(density[:, 1:], density[:, :-1], out=room[:, 1:])
    room[:, 0] = 0
    np.cumsum(room, axis=1, out=scratch)
    rows = np.arange(n)
    out = np.empty((n, 3))
    log_years = np.log(years[kind])
    step = log_years[1] - log_years[0]
    for k, level in enumerate((0.1, 0.5, 0.9)):
        want = level * scratch[:, -1]
        at = np.sum(scratch < want[:, None], axis=1)
        below, above = scratch[rows, at - 1], scratch[rows, at]
        out[:, k] = np.exp(log_years[at - 1] + step * (want - below) / (above - below))
    return out


def all_of(these, chunk):
    out = np.empty((len(these), 3))
    for kind in range(coverings):
        index = np.flatnonzero(these[:, 0] == kind)
        for i in range(0, len(index), chunk):
            some = index[i:i + chunk]
            out[some] = posterior(these[some], kind)
    return out


best = None
for chunk in (25, 50, 100, 250, 1000):
    begin = time.process_time()
    all_of(roofs[:2000], chunk)
    took = time.process_time() - begin
    if best is None or took < best[0]:
        best = took, chunk
begin = time.process_time()
results = all_of(roofs, best[1])
print(time.process_time() - begin, best[1])
results.tofile(sys.argv[3])
