#!/usr/bin/env python3
"""Our equilibrium beside IPhreeqc, in one run on one machine: who solves how many waters in a second, and the ratio.

    python beside_iphreeqc.py [ROUNDS]      (default 5; needs phreeqpython and the Rust toolchain)

Each round runs `cargo bench -p water --bench solve` and then `iphreeqc_speed.py`, both on one thread over the waters of
phreeqc_cases.json. Both take the best of several repeats within a round, and the peer's call overhead is taken off by its
own script. What is compared:

  cold   our solve with the constants made anew for each water's own temperature, no starting guess: what the peer does
  warm   our solve with the constants at hand, started from a similar water: what the planner does; the peer has no such
         call, so its ratio is told for information only
  net    the peer with pH and the index of calcite given out (without them there is no usable answer)
  bare   the peer without giving anything out: what remains is its solving and the reading of its input text

Printed (waters per second): every round as a JSON line, then the table for docs/benchmarks.md. Its ratios are the hardest on us that the rounds
allow: our slowest round over the peer's fastest.
"""
import json
import os
import platform
import subprocess
import sys

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(HERE)
BENCH = ["cargo", "bench", "--quiet", "-p", "water", "--bench", "solve"]


def json_lines(command, cwd):
    done = subprocess.run(command, cwd=cwd, check=True, stdout=subprocess.PIPE, text=True)
    return [json.loads(line) for line in done.stdout.splitlines() if line.startswith("{")]


def one_round():
    ours = {line["start"]: line["waters_per_second"] for line in json_lines(BENCH, ROOT)}
    (peer,) = json_lines([sys.executable, os.path.join(HERE, "iphreeqc_speed.py")], HERE)
    net, bare = peer["waters_per_second_net"], peer["waters_per_second_no_output"]
    return {"cold": ours["cold"], "warm": ours["warm"], "net": net, "bare": bare}


def machine():
    cpu = platform.processor() or platform.machine()
    try:
        with open("/proc/cpuinfo") as f:
            cpu = next((line.split(":", 1)[1].strip() for line in f if line.startswith("model name")), cpu)
    except OSError:
        pass
    rust = subprocess.run(["rustc", "--version"], cwd=ROOT, check=True, stdout=subprocess.PIPE, text=True).stdout.strip()
    return f"{cpu}, {os.cpu_count()} cores, {platform.system()}, {rust}, Python {platform.python_version()}"


def main():
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 5
    rounds = []
    for _ in range(count):
        rounds.append(one_round())
        print(json.dumps(rounds[-1]), flush=True)

    def span(key):
        values = sorted(r[key] for r in rounds)
        return f"{values[0]:,.0f} to {values[-1]:,.0f}".replace(",", " ")

    def times(ours, theirs):
        return f"{min(r[ours] for r in rounds) / max(r[theirs] for r in rounds):.0f}"

    print(f"\nMachine: {machine()}. Rounds: {count}.\n")
    print("| what | waters per second, one thread | times IPhreeqc net | times IPhreeqc bare |")
    print("|---|---|---|---|")
    for name in ("cold", "warm"):
        print(f"| ours, {name} | {span(name)} | {times(name, 'net')} | {times(name, 'bare')} |")
    print(f"| IPhreeqc, net | {span('net')} | 1 | |")
    print(f"| IPhreeqc, bare | {span('bare')} | | 1 |")


if __name__ == "__main__":
    main()
