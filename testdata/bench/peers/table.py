#!/usr/bin/python3
"""Reads a depth log with pandas, its times by the fast way for ISO 8601. usage: table.py LOG"""

import sys
import time

import pandas as pd

start = time.perf_counter()
log = pd.read_csv(sys.argv[1])
log["time"] = pd.to_datetime(log["time"], utc=True)
print(f"inside {time.perf_counter() - start:.6f}")
print(f"{len(log)} rows, depths add up to {log['depth_m'].sum():.1f}")
