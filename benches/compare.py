#!/usr/bin/env python3
"""The program beside the usual script, on the same capture, in one run: wall time, processor time, peak memory.

    cargo build --release && python3 benches/compare.py [RUNS]          # needs pandas and scipy

The capture, 2 million rows of three columns, is made once under target/bench.
"""
import os
import pathlib
import platform
import statistics
import subprocess
import sys
import time

HERE = pathlib.Path(__file__).resolve().parent
TARGET = HERE.parent / "target"
PROGRAM = TARGET / "release" / "evenfire"
FOLDER = TARGET / "bench"
ROWS = 2_000_000
RATE = 400_000


def whole():
    """A simulated capture with a reference and rows enough; what else it holds is drawn, so some are passed over."""
    for seed in range(1, 100):
        subprocess.run([PROGRAM, "simulate", "whole", "--into", FOLDER, "--firing-order", "1-8-4-3-6-5-7-2",
                        "--weak", "3=62", "--signal", "battery-voltage", "--coupling", "ac", "--rate", str(RATE),
                        "--seed", str(seed)], check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        with open(FOLDER / "whole.csv", "rb") as made:
            columns = next(made).count(b",") + 1
            if columns == 3 and sum(1 for _ in made) >= ROWS:
                return
    sys.exit("no simulated capture has three columns and rows enough")


def capture():
    made = FOLDER / "fast.csv"
    if made.exists():
        return made
    FOLDER.mkdir(parents=True, exist_ok=True)
    whole()
    with open(FOLDER / "whole.csv") as rows, open(made, "w") as cut:
        cut.write(next(rows))
        for row, line in zip(range(ROWS), rows):
            _, rest = line.split(",", 1)
            cut.write(f"{row / RATE:.6f},{rest}")
    os.rename(FOLDER / "whole.setup.yaml", FOLDER / "fast.setup.yaml")
    os.remove(FOLDER / "whole.csv")
    return made


def once(command):
    begun = time.perf_counter()
    child = subprocess.Popen(command, stdout=subprocess.DEVNULL)
    _, status, used = os.wait4(child.pid, 0)
    wall = time.perf_counter() - begun
    if status:
        sys.exit(f"{command}: status {status}")
    return wall, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024


def main():
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 9
    made = capture()
    ways = {
        "evenfire analyse": [PROGRAM, "analyse", made, "--format", "json"],
        "evenfire analyse --describe": [PROGRAM, "analyse", made, "--describe"],
        "read_csv, sosfiltfilt, find_peaks": [sys.executable, HERE / "usual.py", made],
    }
    seen = {name: [] for name in ways}
    for command in ways.values():
        once(command)
    # one after the other, so that what else the machine does meets all alike
    for _ in range(runs):
        for name, command in ways.items():
            seen[name].append(once(command))
    size = made.stat().st_size
    print(f"{size / 1e6:.1f} MB, {ROWS} rows; {os.cpu_count()} cores, {platform.machine()}; {runs} runs each\n")
    print("| | wall, median (least), s | processor, median, s | peak memory, MiB | file's bytes a second |")
    print("|---|---|---|---|---|")
    for name, all_runs in seen.items():
        wall, cpu, peak = zip(*all_runs)
        rate = size / statistics.median(wall) / 1e6
        print(f"| {name} | {statistics.median(wall):.3f} ({min(wall):.3f}) | {statistics.median(cpu):.3f} "
              f"| {max(peak):.0f} | {rate:.0f} MB/s |")


main()
