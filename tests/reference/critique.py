#!/usr/bin/env python3
"""Values of other people's libraries that `backend/critique` is checked against. Writes critique.json beside this file.

usage: critique.py [--check]     --check: fail if the file is not what the packages of requirements.txt compute now
"""
import json
import math
import sys
from pathlib import Path

import lifelines
import numpy as np
import rank_bm25
import scipy
import scipy.stats
import sklearn
from lifelines import KaplanMeierFitter
from rank_bm25 import BM25Okapi
from sklearn.feature_extraction.text import TfidfVectorizer

DOCS = [
    "left arm stops dead",
    "no ease in on the left arm",
    "right foot slides on the ground",
    "the head pops",
    "arm pops again",
    "the head turns and the head stops, then the head pops",
]
QUERIES = ["left arm still stops", "the head pops again", "something else entirely", "the the head"]


def words():
    """Likeness of texts: rank_bm25.BM25Okapi and sklearn's TfidfVectorizer, every token, no stemming."""
    sets = []
    for docs in (DOCS[:5], DOCS):
        bm25 = BM25Okapi([d.replace(",", "").split() for d in docs])
        rows = []
        for query in QUERIES:
            row = {"query": query, "bm25": bm25.get_scores(query.split()).tolist()}
            for name, sublinear in (("tfidf", False), ("tfidf_log", True)):
                tfidf = TfidfVectorizer(token_pattern=r"[a-z0-9]+", sublinear_tf=sublinear)
                matrix = tfidf.fit_transform(docs)
                row[name] = (matrix @ tfidf.transform([query]).T).toarray().ravel().tolist()
            rows.append(row)
        sets.append({"docs": docs, "rows": rows})
    return sets


def beta():
    """scipy.stats.beta."""
    rows = []
    for a, b in [(1.2, 4.8), (5.2, 6.8), (1.2, 7.8), (0.3, 0.7), (50, 3), (1, 1), (120.5, 340.25)]:
        dist = scipy.stats.beta(a, b)
        rows.append({
            "alpha": a, "beta": b, "mean": dist.mean(),
            "cdf": [[x, dist.cdf(x)] for x in (0.001, 0.05, 0.2, 0.5, 0.9, 0.999)],
            "quantile": [[p, dist.ppf(p)] for p in (0.05, 0.25, 0.5, 0.95)],
        })
    return rows


def habits():
    """The prior by moments as written out here, the posterior by scipy.stats.beta."""
    k = np.array([0, 1, 3, 0, 2, 5, 1, 0, 4, 1], dtype=float)
    n = np.array([5, 6, 5, 4, 7, 6, 8, 5, 6, 9], dtype=float)
    p, big_n, students = k.sum() / n.sum(), n.sum(), len(k)
    s = (n * (k / n - p) ** 2).sum()
    rho = (s - p * (1 - p) * (students - 1)) / (p * (1 - p) * (big_n - (n ** 2).sum() / big_n - students + 1))
    m = min(max(1 / rho - 1, 2), 50)
    posterior = []
    for with_, shots in [(4, 6), (0, 3)]:
        dist = scipy.stats.beta(1.2 + with_, 4.8 + shots - with_)
        posterior.append({"with": with_, "shots": shots, "mean": dist.mean(), "low": dist.ppf(0.05), "high": dist.ppf(0.95), "above": dist.sf(0.2)})
    return {"with": k.astype(int).tolist(), "shots": n.astype(int).tolist(), "alpha": p * m, "beta": (1 - p) * m, "posterior": posterior}


def survival():
    """lifelines.KaplanMeierFitter; the first sample is the example of Kaplan & Meier (1958), from memory."""
    samples = [
        ("Kaplan & Meier 1958", [0.8, 3.1, 5.4, 9.2, 1.0, 2.7, 7.0, 12.1], [1, 1, 1, 1, 0, 0, 0, 0]),
        ("revisions", [1, 1, 1, 2, 2, 2, 2, 3, 3, 4, 4, 5], [1, 1, 0, 1, 1, 0, 1, 1, 0, 1, 0, 0]),
        ("never half", [1, 2, 3, 4], [1, 0, 0, 0]),
        ("all cleared", [1, 2, 2, 3], [1, 1, 1, 1]),
    ]
    rows = []
    for name, times, cleared in samples:
        fit = KaplanMeierFitter().fit(times, cleared)
        table, curve = fit.event_table, fit.survival_function_["KM_estimate"]
        steps, total = [], 0.0
        for t, row in table.iterrows():
            d, at_risk = row["observed"], row["at_risk"]
            if d == 0:
                continue
            total += d / (at_risk * (at_risk - d)) if d < at_risk else 0.0
            steps.append([t, float(curve.loc[t]), float(curve.loc[t]) * math.sqrt(total)])
        median = fit.median_survival_time_
        rows.append({"name": name, "times": times, "cleared": cleared, "steps": steps, "median": None if math.isinf(median) else float(median)})
    return rows


def main():
    out = {
        "made_by": {"numpy": np.__version__, "scipy": scipy.__version__, "scikit-learn": sklearn.__version__, "lifelines": lifelines.__version__, "rank-bm25": "0.2.2"},
        "words": words(), "beta": beta(), "habits": habits(), "survival": survival(),
    }
    file, text = Path(__file__).with_name("critique.json"), json.dumps(out, indent=1) + "\n"
    if "--check" not in sys.argv:
        file.write_text(text)
    elif not close(json.loads(file.read_text()), out):
        sys.exit("critique.json is not what this script computes: run it without --check")


def close(a, b):
    """Whether two values are the same but for the last digits of numbers."""
    if isinstance(a, dict):
        return isinstance(b, dict) and a.keys() == b.keys() and all(close(a[k], b[k]) for k in a)
    if isinstance(a, (list, tuple)):
        return len(a) == len(b) and all(map(close, a, b))
    if isinstance(a, (int, float)) and isinstance(b, (int, float)):
        return math.isclose(a, b, rel_tol=1e-9, abs_tol=1e-12)
    return a == b


if __name__ == "__main__":
    main()
