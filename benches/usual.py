#!/usr/bin/env python3
"""The usual way to look at a cranking capture: a data frame, a zero-phase filter, a search for peaks.

What the program is compared with. It says less: heights of humps, no cylinder, no interval.
"""
import sys

import numpy as np
import pandas as pd
from scipy.signal import butter, find_peaks, sosfiltfilt

frame = pd.read_csv(sys.argv[1])
time, signal, reference = (frame.iloc[:, at].to_numpy() for at in range(3))
rate = (len(time) - 1) / (time[-1] - time[0])
smooth = sosfiltfilt(butter(4, 60, "lowpass", fs=rate, output="sos"), signal)
humps, _ = find_peaks(-smooth, prominence=0.2 * np.ptp(smooth[len(smooth) // 4 : -len(smooth) // 4]),
                      distance=int(0.02 * rate))
events, _ = find_peaks(reference, height=0.5 * reference.max(), distance=int(0.025 * rate))
heights = -smooth[humps]
print(len(humps), len(events), float(np.mean(heights)))
