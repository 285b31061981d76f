#!/usr/bin/env python3
"""How many waters per second IPhreeqc solves through its Python package, in one process.

    python iphreeqc_speed.py [NUMBER_OF_WATERS]      (default 6000; waters are those of phreeqc_cases.json, repeated)

Each water is solved for pH from (DIC, alkalinity) and pH and SI calcite are punched. Many SOLUTION blocks go into one
run_string call, the input text is made before the clock starts, loading the database is not counted. "Overhead" is
the cost of the same number of run_string calls on an empty input, and is subtracted. Every time is the best of 5 rounds.
"waters_per_second_no_output" is the same run without punching any result (and so without a usable answer).
"""
import json
import os
import sys
import time

from phreeqpython.viphreeqc import VIPhreeqc

from generate_phreeqc_cases import DB, solution_text

HERE = os.path.dirname(os.path.abspath(__file__))
BATCH = 200
ROUNDS = 5
PUNCH = "SELECTED_OUTPUT 1\n -reset false\n -high_precision true\nUSER_PUNCH 1\n -headings pH si\n" \
    " -start\n10 PUNCH -LA(\"H+\"), SI(\"Calcite\")\n -end\n"


def batches(count):
    with open(os.path.join(HERE, "phreeqc_cases.json")) as f:
        cases = json.load(f)["cases"]
    texts = []
    for c in cases:
        w = {"t_c": c["water"]["t_c"], "m": c["water"]["mol_per_kgw"], "alk_eq": c["water"]["alkalinity_eq_per_kgw"]}
        dic = c["given_dic"]["input"]["dic_mol_per_kgw"]
        texts.append(lambda n, w=w, dic=dic: solution_text(w, "dic", dic=dic, n=n))
    out = []
    for start in range(0, count, BATCH):
        size = min(BATCH, count - start)
        out.append("".join(texts[(start + i) % len(texts)](i + 1) for i in range(size)) + "END\n")
    return out, cases


def timed(ip, texts):
    """Best of ROUNDS: the fairest to the engine on a shared machine."""
    best = float("inf")
    for _ in range(ROUNDS):
        start = time.perf_counter()
        for t in texts:
            ip.run_string(t)
        best = min(best, time.perf_counter() - start)
    return best


def fresh(extra=""):
    ip = VIPhreeqc()
    ip.load_database(DB)
    if extra:
        ip.run_string(extra)
    return ip


def main():
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 6000
    texts, cases = batches(count)
    ip = fresh(PUNCH)
    ip.run_string(texts[0])  # warm up, and check that the answers are the recorded ones
    table = ip.get_selected_output_array()
    rows = table[1:]
    for r, c in zip(rows, cases):
        assert abs(r[0] - c["given_dic"]["result"]["pH"]) < 1e-5, (r, c["id"])
    assert len(rows) == min(BATCH, count), len(rows)
    gross = timed(ip, texts)
    overhead = timed(fresh(), [""] * len(texts))
    no_output = timed(fresh(), texts)
    print(json.dumps({"waters": count, "seconds_gross": round(gross, 4), "seconds_overhead": round(overhead, 6),
                      "waters_per_second_net": round(count / (gross - overhead), 1),
                      "waters_per_second_no_output": round(count / (no_output - overhead), 1),
                      "run_string_calls": len(texts)}))


if __name__ == "__main__":
    main()
