"""Reads the captures of make.py with `keyway read --json` and compares with their truth.

    python3 check.py KEYWAY FOLDER...
"""
import collections
import concurrent.futures
import glob
import json
import os
import subprocess
import sys


def read(keyway, stem):
    run = subprocess.run([keyway, "read", stem + ".vcd", "--job", stem + ".job.toml", "--json"], capture_output=True, text=True)
    try:
        return json.loads(run.stdout)
    except ValueError:
        return {"failed": f"exit {run.returncode}: {run.stderr.strip()[:300]}"}


def main():
    keyway = sys.argv[1]
    stems = [p[: -len(".truth.json")] for d in sys.argv[2:] for p in sorted(glob.glob(os.path.join(d, "*.truth.json")))]
    with concurrent.futures.ThreadPoolExecutor(2) as pool:
        results = list(pool.map(lambda s: read(keyway, s), stems))
    inside = given = gross = 0
    errors, sharp = collections.defaultdict(list), collections.defaultdict(list)
    right, confusion = collections.Counter(), collections.Counter()
    total = collections.Counter()
    reasons, reason_total, no_number = collections.Counter(), collections.Counter(), []
    wide = []
    for stem, result in zip(stems, results):
        truth = json.load(open(stem + ".truth.json"))
        name = os.path.basename(stem)
        if "failed" in result:
            print(name, result["failed"])
            continue
        reading = result["reading"]
        label = f"{name} {truth['wheel']} {truth['engine']} {truth['spark']} {truth['control']} {truth['cause']}"
        shown = reading["status"] == "given"
        if truth["withheld"]:
            reason_total[truth["withheld"]] += 1
            got = reading["withheld_because"]
            if truth["withheld"] in got:
                reasons[truth["withheld"]] += 1
            else:
                print("reason", label, "asked", truth["withheld"], "got", got, reading["advance_btdc_deg"], "±", reading["uncertainty_deg"], "truth", truth["advance"])
        elif not shown:
            expected = {"clamp-on-coil-lead": "spark-rate"}.get(truth["cause"])
            if expected not in reading["withheld_because"]:
                no_number.append((label, reading["withheld_because"]))
        if shown and truth["advance"] is not None and truth["withheld"] in (None, "interference"):
            error = (reading["advance_btdc_deg"] - truth["advance"] + 180) % 360 - 180
            given += 1
            ok = abs(error) <= reading["uncertainty_deg"]
            inside += ok
            errors[truth["wheel"]].append(abs(error))
            sharp[truth["wheel"]].append(reading["uncertainty_deg"])
            if not ok:
                print(f"outside {label} error {error:+.3f} ± {reading['uncertainty_deg']:.3f} rpm {truth['rpm']} scatter {truth['scatter']}")
            if abs(error) > max(0.5, 2 * reading["uncertainty_deg"]):
                gross += 1
                print("GROSS", label)
        if not truth["withheld"]:
            causes = result["causes"]
            first = causes[0]["id"] if causes else "(no cause)"
            total[truth["cause"]] += 1
            tie = len(causes) > 1 and abs(causes[0]["probability"] - causes[1]["probability"]) < 0.02
            if first == truth["cause"] or tie and causes[1]["id"] == truth["cause"]:
                right[truth["cause"]] += 1
            else:
                confusion[(truth["cause"], first)] += 1
                print("cause", label, "got", [(c["id"], round(c["probability"], 2)) for c in causes[:3]],
                      f"err {result['error_deg']} target {truth['target']} off {truth['offset']} trend {result['speed_trend']} why {reading['withheld_because']}")
    print(f"\n{len(stems)} captures, {given} numbers, {inside} inside ±, {gross} gross; no number although fit: {len(no_number)}")
    for n in no_number:
        print("  ", *n)
    for wheel in sorted(errors):
        e, s = sorted(errors[wheel]), sorted(sharp[wheel])
        print(f"  {wheel:8} {len(e):4} median error {e[len(e) // 2]:.3f} worst {e[-1]:.3f} median ± {s[len(s) // 2]:.3f}")
    for cause in total:
        print(f"  {cause:24} {right[cause]} of {total[cause]}", {k[1]: v for k, v in confusion.items() if k[0] == cause})
    for reason in reason_total:
        print(f"  {reason:24} {reasons[reason]} of {reason_total[reason]}")
    print(f"first cause right {sum(right.values())} of {sum(total.values())}")


main()
