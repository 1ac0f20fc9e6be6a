#!/usr/bin/env python3
"""Runs a sweep of many designs on a cluster of worker processes, and shows that nothing depends on it.

`rafterheat sweep --from-stdin` reads a design a line and writes a row a line. Here Dask distributed
(tried with 2026.8.0) hands lines to workers in lumps, each worker runs them through a program of its
own, and the rows are put together in the order of the designs. In the middle a worker that is at work
is killed. Then one program on one machine gets all the lines, and the two must give the same bytes.

    python3 -m venv venv && venv/bin/pip install 'dask[distributed]'
    cargo build --release
    venv/bin/python benches/distributed_sweep.py --rows 100000 --workers 4

Without --house and --weather it makes the smallest case that the program knows: the attic of the
starter house under rooms of a given temperature, for one day. With --address it uses a cluster that is
already there; program, house and weather must then be found under the same paths by all workers.
"""

import argparse
import hashlib
import os
import resource
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from dask.distributed import Client, LocalCluster, as_completed

from smallest_case import DAY, REPOSITORY, design, smallest_case


def run_lump(command, first, last):
    """Rows of designs first to last, bytes; with the process that ran them and its CPU time, s."""
    lines = "".join(design(number) + "\n" for number in range(first, last))
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    done = subprocess.run(command, input=lines.encode(), stdout=subprocess.PIPE, check=True)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    cpu_s = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return done.stdout, os.getpid(), cpu_s


def distributed(client, command, rows, lump, kill_after, out):
    """All rows in order, into a file; kills a worker after a share of them. Returns what happened."""
    starts = range(0, rows, lump)
    futures = [
        client.submit(run_lump, command, start, min(start + lump, rows), pure=False, retries=3)
        for start in starts
    ]
    place = {future.key: at for at, future in enumerate(futures)}
    waiting, following, killed, cpu_s, processes = {}, 0, None, 0.0, set()
    begun = time.monotonic()
    for arrived, (future, result) in enumerate(as_completed(futures, with_results=True), 1):
        text, process, lump_cpu_s = result
        cpu_s += lump_cpu_s
        processes.add(process)
        waiting[place[future.key]] = text
        future.release()
        while following in waiting:
            out.write(waiting.pop(following))
            following += 1
        if killed is None and kill_after is not None and arrived >= kill_after * len(futures):
            busy = [address for address, tasks in client.processing().items() if tasks]
            pids = client.run(os.getpid, workers=busy[:1])
            killed = next(iter(pids.values()))
            os.kill(killed, signal.SIGKILL)
            print(f"killed worker process {killed} at work, after {arrived} of {len(futures)} lumps",
                  flush=True)
    return {
        "wall_s": time.monotonic() - begun,
        "cpu_s": cpu_s,
        "processes": len(processes),
        "killed": killed,
    }


def digest(path):
    with open(path, "rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def main():
    about = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    about.add_argument("--program", type=Path, default=REPOSITORY / "target/release/rafterheat")
    about.add_argument("--house", type=Path)
    about.add_argument("--weather", type=Path)
    about.add_argument("--period", default=DAY)
    about.add_argument("--rows", type=int, default=2000)
    about.add_argument("--lump", type=int, default=250, help="designs in a task")
    about.add_argument("--workers", type=int, default=4, help="processes of a cluster of one's own")
    about.add_argument("--address", help="scheduler of a cluster that is already there")
    about.add_argument("--kill-after", type=float, default=0.4, help="share of lumps; 2 kills none")
    about.add_argument("--keep", type=Path, help="folder for rows.csv of either way")
    given = about.parse_args()

    with tempfile.TemporaryDirectory() as place:
        folder = given.keep or Path(place)
        folder.mkdir(parents=True, exist_ok=True)
        house, weather = given.house, given.weather
        if house is None or weather is None:
            house, weather = smallest_case(folder)
        command = [str(given.program), "sweep", str(house), "--weather", str(weather),
                   "--period", given.period, "--from-stdin", "--quiet"]

        cluster = None
        if given.address is None:
            cluster = LocalCluster(n_workers=given.workers, threads_per_worker=1, processes=True,
                                   dashboard_address=None)
        client = Client(given.address or cluster)
        # Workers elsewhere have not this folder.
        client.upload_file(str(REPOSITORY / "benches/smallest_case.py"))
        many = folder / "distributed.csv"
        with open(many, "wb") as out:
            told = distributed(client, [*command, "--threads", "1"], given.rows, given.lump,
                               given.kill_after, out)
        client.close()
        if cluster is not None:
            cluster.close()
        print(f"distributed: {given.rows} rows, {told['processes']} worker processes, "
              f"{told['wall_s']:.0f} s, {told['cpu_s']:.0f} s of CPU, "
              f"{1e3 * told['cpu_s'] / given.rows:.2f} ms a row", flush=True)

        one = folder / "one.csv"
        begun = time.monotonic()
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        with open(one, "wb") as out:
            program = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=out)
            for number in range(given.rows):
                program.stdin.write((design(number) + "\n").encode())
            program.stdin.close()
            if program.wait() != 0:
                sys.exit("the one program failed")
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        cpu_s = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
        print(f"one program: {time.monotonic() - begun:.0f} s, {cpu_s:.0f} s of CPU, "
              f"{1e3 * cpu_s / given.rows:.2f} ms a row")

        ok = sum(line.endswith(b",ok\n") for line in open(one, "rb"))
        lines = sum(1 for _ in open(many, "rb"))
        same = digest(many) == digest(one)
        print(f"rows {lines}, of them ok {ok}; sha256 {digest(many)[:16]} and {digest(one)[:16]}: "
              f"{'the same bytes' if same else 'DIFFERENT'}")
        if not same or lines != given.rows:
            sys.exit(1)


if __name__ == "__main__":
    main()
