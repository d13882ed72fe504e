"""Fits the wall model on the rows that samples.ts wrote, and prints packages/imaging/src/wall-weights.ts.

    python3 bench/wall/fit.py SETS HAZED PHANTOMS [--leave-out PART OF PARTS] > packages/imaging/src/wall-weights.ts

Model    one layer of 24 units (positive part of a weighted sum), log odds of the wall at each of 49 radii of a ray
Loss     cross-entropy against a bell of 0.6 mm about the true wall; each set counts by the square root of its rays,
         hazed copies for 0.7 of that, phantoms together for half of the sets
Phantoms stand a little deeper in the picture than they are (slow fat): a first short fit tells by how much for each, and
         that is taken out of their labels
Needs    numpy; seeded, so the same rows give the same weights on the same machine
"""
import json
import sys

import numpy as np

UNITS, PASSES, BATCH, ALONG = 24, 14, 256, 29


def load(stem):
    shape = json.load(open(stem + '.json'))
    states, features = shape['states'], shape['features']
    rows = np.fromfile(stem + '.bin', np.float32).reshape(-1, states * features + 6)
    return rows[:, : states * features].reshape(-1, states, features), rows[:, states * features :].copy()


class Model:
    def __init__(self, sample, units, random):
        features = sample.shape[-1]
        self.mean, self.spread = sample.mean(0), sample.std(0) + 1e-3
        self.hidden = random.normal(0, 1 / np.sqrt(features), (features, units)).astype(np.float32)
        self.bias = np.zeros(units, np.float32)
        self.out = random.normal(0, 1 / np.sqrt(units), (units, 1)).astype(np.float32)
        self.parts = [self.hidden, self.bias, self.out]
        self.first = [np.zeros_like(part) for part in self.parts]
        self.second = [np.zeros_like(part) for part in self.parts]
        self.steps = 0

    def run(self, rows):
        count, states, features = rows.shape
        scaled = (rows.reshape(-1, features) - self.mean) / self.spread
        sums = scaled @ self.hidden + self.bias
        active = np.maximum(sums, 0)
        return scaled, sums, active, (active @ self.out).reshape(count, states)

    def shares(self, rows, allowed):
        odds = np.where(allowed, self.run(rows)[3], -1e9)
        shares = np.exp(odds - odds.max(1, keepdims=True))
        return shares / shares.sum(1, keepdims=True)

    def step(self, rows, wanted, allowed, rate):
        scaled, sums, active, odds = self.run(rows)
        odds = np.where(allowed, odds, -1e9)
        shares = np.exp(odds - odds.max(1, keepdims=True))
        shares /= shares.sum(1, keepdims=True)
        pull = ((shares - wanted) * allowed / len(rows)).reshape(-1, 1).astype(np.float32)
        back = (pull @ self.out.T) * (sums > 0)
        self.steps += 1
        for part, slope, first, second in zip(
            self.parts, [scaled.T @ back, back.sum(0), active.T @ pull], self.first, self.second
        ):
            slope = slope + 1e-5 * part
            first *= 0.9
            first += 0.1 * slope
            second *= 0.999
            second += 0.001 * slope * slope
            part -= rate * (first / (1 - 0.9**self.steps)) / (np.sqrt(second / (1 - 0.999**self.steps)) + 1e-8)


def allowed_of(keys, states):
    return np.arange(states)[None] <= keys[:, 5][:, None]


def fit(rows, keys, chosen, weights, units, passes):
    random = np.random.default_rng(0)
    states = rows.shape[1]
    sample = rows[random.choice(chosen, min(4000, len(chosen)), replace=False)].reshape(-1, rows.shape[2])
    model = Model(sample, units, random)
    chance = weights[chosen] / weights[chosen].sum()
    for number in range(passes):
        order = random.choice(chosen, len(chosen), p=chance)
        rate = 3e-3 * 0.5 * (1 + np.cos(np.pi * number / passes)) + 1e-5
        for start in range(0, len(order) - BATCH + 1, BATCH):
            some = order[start : start + BATCH]
            bell = np.exp(-0.5 * ((np.arange(states)[None] - keys[some, 3][:, None]) / 1.2) ** 2)
            model.step(rows[some], bell / bell.sum(1, keepdims=True), allowed_of(keys[some], states), rate)
    return model


def main(arguments):
    leave = None
    if '--leave-out' in arguments:
        at = arguments.index('--leave-out')
        leave = (int(arguments[at + 1]), int(arguments[at + 2]))
        arguments = arguments[:at]
    loaded = [load(stem) for stem in arguments]
    known = int(loaded[0][1][:, 0].max()) + 1
    loaded[2][1][:, 0] += known
    rows = np.concatenate([one[0] for one in loaded])
    keys = np.concatenate([one[1] for one in loaded])
    kind = np.repeat([0, 1, 2], [len(one[1]) for one in loaded])
    case = keys[:, 0].astype(int)
    good = keys[:, 3] >= 0
    weights = 1 / np.sqrt(np.bincount(case).clip(1)[case])
    weights[kind == 1] *= 0.7
    weights /= weights[(kind < 2) & good].sum()
    weights[kind == 2] *= 0.5 / weights[(kind == 2) & good].sum()
    states = rows.shape[1]
    early = fit(rows, keys, np.where(good)[0], weights, 12, 4)
    for one in np.unique(case[kind == 2]):
        some = np.where(good & (case == one))[0]
        if len(some) < 40:
            continue
        shares = early.shares(rows[some], allowed_of(keys[some], states))
        off = (shares * np.arange(states)).sum(1) - keys[some, 3]
        along = rows[some, states // 2, ALONG]
        near = abs(off) < 10
        if near.sum() < 30:
            continue
        shift = np.clip((off[near] * along[near]).sum() / (along[near] ** 2).sum(), -10, 10)
        keys[some, 3] = np.clip(keys[some, 3] + shift * along, 0, states - 1)
    kept = good.copy()
    if leave:
        order = np.random.default_rng(1).permutation(known)
        kept &= ~np.isin(case, np.array_split(order, leave[1])[leave[0]])
    model = fit(rows, keys, np.where(kept)[0], weights, UNITS, PASSES)
    folded = (model.hidden / model.spread[:, None]).T
    bias = model.bias - folded @ model.mean
    text = lambda values: ', '.join(f'{value:.5g}' for value in values)
    print('// Made by bench/wall/fit.py; the header of the file in packages/imaging/src says what it is.')
    print('export const wallWeights = {\n  units: [')
    for unit in folded:
        print(f'    [{text(unit)}],')
    print(f'  ],\n  bias: [{text(bias)}],\n  out: [{text(model.out[:, 0])}],\n}};')


if __name__ == '__main__':
    if len(sys.argv) < 4:
        sys.exit(__doc__)
    main(sys.argv[1:])
