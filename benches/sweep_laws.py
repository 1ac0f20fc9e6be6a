#!/usr/bin/env python3
"""What a sweep promises, measured on the smallest case: cost in proportion to rows, memory that does not
grow, two threads, the same bytes after a kill, for shards and for any number of threads.

    cargo build --release
    python3 benches/sweep_laws.py --rows 1000 5000 20000

CPU times are those of the operating system for the program alone; times by the clock say little on a
machine that has other work to do, and the share of two cores that was to be had is told with them.
"""

import argparse
import hashlib
import os
import signal
import subprocess
import tempfile
import time
from pathlib import Path

from smallest_case import DAY, REPOSITORY, smallest_case


def sweep(program, house, weather, rows, out, threads, more=()):
    command = [str(program), "sweep", str(house), "--weather", str(weather), "--period", DAY,
               "--sample", str(rows), "--vary", "fans.gable.count=0..8",
               "--vary", "roof.absorptance=0.4..0.95", "--vary", "ceiling.insulation=R-11..R-49",
               "--vary", "barrier.place=none,rafters,floor",
               "--threads", str(threads), "--quiet", "--out", str(out), *more]
    return subprocess.Popen(command, stdout=subprocess.DEVNULL)


def waited(process, started):
    """Seconds by the clock, CPU seconds, and the most memory in MB."""
    memory_kb = 0
    while True:
        # What the system tells at the end counts this program's own memory, from which that was forked.
        try:
            status = Path(f"/proc/{process.pid}/status").read_text()
            told = [line for line in status.splitlines() if line.startswith("VmHWM")]
            memory_kb = int(told[0].split()[1]) if told else memory_kb
        except OSError:
            pass
        ended, status, used = os.wait4(process.pid, os.WNOHANG)
        if ended:
            break
        time.sleep(0.02)
    if status != 0:
        raise SystemExit(f"the sweep ended with {status}")
    process.returncode = status
    return time.monotonic() - started, used.ru_utime + used.ru_stime, memory_kb / 1024


def digest(folder):
    return hashlib.sha256((folder / "sweep.csv").read_bytes()).hexdigest()[:16]


def busy_s():
    """Time that all processors have been at work for anyone, s."""
    fields = Path("/proc/stat").read_text().splitlines()[0].split()[1:]
    ticks = [int(field) for field in fields]
    return (sum(ticks) - ticks[3] - ticks[4]) / os.sysconf("SC_CLK_TCK")


def main():
    about = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    about.add_argument("--program", type=Path, default=REPOSITORY / "target/release/rafterheat")
    about.add_argument("--rows", type=int, nargs="+", default=[500, 1000, 2000])
    given = about.parse_args()
    with tempfile.TemporaryDirectory() as place:
        place = Path(place)
        house, weather = smallest_case(place)
        run = lambda rows, out, threads, more=(): sweep(
            given.program, house, weather, rows, place / out, threads, more)
        print("| rows | threads | CPU ms a row | clock s | others' work, cores | peak memory, MB |")
        print("|---|---|---|---|---|---|")
        for rows in given.rows:
            for threads in (1, 2) if rows == given.rows[0] else (2,):
                started, others = time.monotonic(), busy_s()
                clock_s, cpu_s, memory_mb = waited(run(rows, f"{rows}-{threads}", threads), started)
                others = (busy_s() - others - cpu_s) / clock_s
                print(f"| {rows} | {threads} | {1e3 * cpu_s / rows:.2f} | {clock_s:.1f} | {others:.2f} "
                      f"| {memory_mb:.1f} |", flush=True)
        rows = given.rows[0]
        whole = digest(place / f"{rows}-1")
        told = {"two threads": digest(place / f"{rows}-2") == whole}

        process = run(rows, "killed", 2)
        while not any(p.is_file() and p.stat().st_size > 40_000 for p in (place / "killed").glob("sweep.csv*")):
            time.sleep(0.05)
        process.send_signal(signal.SIGKILL)
        process.wait()
        left = max(len(p.read_bytes().splitlines()) for p in (place / "killed").glob("sweep.csv*"))
        waited(run(rows, "killed", 2), time.monotonic())
        told[f"killed with {left} lines written and taken up again"] = digest(place / "killed") == whole

        parts = 4
        for part in range(1, parts + 1):
            waited(run(rows, f"part-{part}", 1 + part % 2, ["--shard", f"{part}/{parts}"]), time.monotonic())
        names = [str(place / f"part-{part}") for part in (3, 1, 4, 2)]
        subprocess.run([str(given.program), "merge", str(place / "merged"), *names, "--quiet"], check=True,
                       stdout=subprocess.DEVNULL)
        told[f"{parts} shards merged"] = digest(place / "merged") == whole

        masked = dict(os.environ, GLIBC_TUNABLES="glibc.cpu.hwcaps=-AVX512F,-AVX2,-AVX,-FMA,-SSE4_2")
        os.environ.update(masked)
        waited(run(rows, "masked", 2), time.monotonic())
        told["without the C library's AVX, FMA and SSE 4.2"] = digest(place / "masked") == whole
        for what, same in told.items():
            print(f"{what}: {'the same bytes' if same else 'OTHER BYTES'}")
        if not all(told.values()):
            raise SystemExit(1)


if __name__ == "__main__":
    main()
