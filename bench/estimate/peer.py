"""A level with a slope, filtered and smoothed by statsmodels; processor time a run and the smoothed levels as JSON."""
import json
import sys
import time

import numpy as np
from statsmodels.tsa.statespace.mlemodel import MLEModel

asked = json.load(sys.stdin)
rounds = int(sys.argv[1])
levels = np.array(asked["levels"])
noise = asked["noise"]
start = asked["start"]


class Filling(MLEModel):
    def __init__(self, values):
        super().__init__(values, k_states=2, k_posdef=2)
        self["design"] = np.array([[1.0, 0.0]])
        self["transition"] = np.array([[1.0, 1.0], [0.0, 1.0]])
        self["selection"] = np.eye(2)
        q, r = noise["contentVariancePerH"], noise["rateVariancePerH"]
        # A rate that wanders through the hour moves the level by its integral.
        self["state_cov"] = np.array([[q + r / 3, r / 2], [r / 2, r]])
        self["obs_cov"] = np.array([[asked["errorVariance"]]])
        self.ssm.initialize_known(
            np.array([start["contentMl"], start["rateMlPerH"]]),
            np.diag([start["contentVariance"], start["rateVariance"]]),
        )


model = Filling(levels)
model.ssm.smooth()
taken = []
for _ in range(rounds):
    before = time.process_time()
    for _ in range(20):
        result = model.ssm.smooth()
    taken.append((time.process_time() - before) * 1000 / 20)
print(json.dumps({"cpuMs": taken, "smoothed": result.smoothed_state[0].tolist()}))
