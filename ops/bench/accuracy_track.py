"""How well parts are followed, against clips whose truth is known.

usage: accuracy_track.py CLIPS TRACK_MANY [--clicks 1,3,6] [--baselines] [--parts a,b] [--limit N]
CLIPS holds folders with truth.json and clean.mp4; TRACK_MANY is the built example `track_many` of the crate `motion`.
Prints name<TAB>value<TAB>unit. Clicks are the truth on evenly spaced frames on which the part is seen (one click: the first
frame with the part in the open for three frames). Frames count that are seen and not clicked. `within` is the share at most 4 px
off (at 640 px width), `kept` the share not lost, `right` the share of kept within 4 px, `ece` the expected calibration error in
ten bins (Guo et al. 2017), `hidden lost` the share of hidden frames said lost. Baselines: OpenCV's pyramidal LK followed from
frame to frame outwards from the nearest click, and the natural cubic spline through the clicks.
"""
import argparse, glob, json, os, pickle, subprocess, sys, tempfile
import numpy as np

PARTS = ["head", "chest", "hip", "wrist.left", "wrist.right", "elbow.left", "knee.right", "ankle.left", "ankle.right"]


def even(hidden, count):
    if count == 1:
        runs = [f for f in range(2, len(hidden) - 3) if not hidden[f : f + 3].any()]
        return runs[:1]
    seen = np.nonzero(~hidden)[0]
    if len(seen) < 4 * count:
        return []
    return sorted({int(seen[i]) for i in np.round(np.linspace(0, len(seen) - 1, count + 2)[1:-1]).astype(int)})


def decode(path, width, height):
    run = subprocess.run(["ffmpeg", "-v", "error", "-i", path, "-f", "rawvideo", "-pix_fmt", "rgb24", "-s", f"{width}x{height}", "-"], capture_output=True, check=True)
    return run.stdout


def spline(clicks, n):
    from scipy.interpolate import CubicSpline
    t = [c["frame"] for c in clicks]
    p = np.array([[c["x"], c["y"]] for c in clicks])
    at = np.clip(np.arange(n), t[0], t[-1])
    if len(t) == 1:
        return np.repeat(p, n, 0)
    return CubicSpline(t, p, bc_type="natural")(at)


def chain(grey, clicks, n):
    import cv2
    out = np.zeros((n, 2))
    frames = np.array([c["frame"] for c in clicks])
    for c in clicks:
        for step in (1, -1):
            p = np.float32([[[c["x"], c["y"]]]])
            f = c["frame"]
            out[f] = p[0, 0]
            while 0 <= f + step < n and np.abs(frames - (f + step)).min() == abs(f + step - c["frame"]):
                q, ok, _ = cv2.calcOpticalFlowPyrLK(grey[f], grey[f + step], p, None, winSize=(21, 21), maxLevel=3)
                p = q if ok[0, 0] else p
                f += step
                out[f] = p[0, 0]
    return out


def add(rows, key, truth, hidden, clicks, place, confidence, lost, scale):
    use = ~hidden
    use[[c["frame"] for c in clicks]] = False
    off = np.hypot(*(place - truth).T) * scale
    frames = np.arange(len(place))
    away = np.abs(frames[:, None] - np.array([c["frame"] for c in clicks])).min(1)
    rows.setdefault(key, []).append((off[use] <= 4, confidence[use], lost[use], lost[hidden], off[use], away[use]))


def table(name, rows):
    good, sure, lost, gone = (np.concatenate([r[i] for r in rows]) for i in range(4))
    bins = np.clip((sure * 10).astype(int), 0, 9)
    ece = sum(abs((sure - good)[bins == b].sum()) for b in range(10)) / len(good)
    kept = ~lost
    print(f"{name} traces\t{len(rows)}\t1")
    print(f"{name} within\t{good.mean():.3f}\tshare")
    close = np.concatenate([r[4] for r in rows])[kept]
    print(f"{name} kept median\t{np.median(close) if len(close) else 0:.2f}\tpx")
    print(f"{name} kept\t{kept.mean():.3f}\tshare")
    print(f"{name} right\t{good[kept].mean() if kept.any() else 0:.3f}\tshare")
    print(f"{name} ece\t{ece:.3f}\t1")
    print(f"{name} hidden lost\t{gone.mean() if len(gone) else 0:.3f}\tshare", flush=True)


def main():
    ask = argparse.ArgumentParser()
    ask.add_argument("clips")
    ask.add_argument("program")
    ask.add_argument("--clicks", default="1,3,6")
    ask.add_argument("--parts", default=",".join(PARTS))
    ask.add_argument("--baselines", action="store_true")
    ask.add_argument("--by-part", action="store_true")
    ask.add_argument("--limit", type=int, default=0)
    ask.add_argument("--shard", default="0/1", help="every so many-th clip, as in 1/4")
    ask.add_argument("--save", default="", help="a pickle of all frames' errors and confidences")
    a = ask.parse_args()
    counts, rows, seconds, frames = [int(c) for c in a.clicks.split(",")], {}, 0.0, 0
    shard, shards = (int(v) for v in a.shard.split("/"))
    for at, path in enumerate(sorted(glob.glob(os.path.join(a.clips, "*", "truth.json")))):
        if a.limit and at >= a.limit:
            break
        if at % shards != shard:
            continue
        truth = json.load(open(path))
        form = truth["forms"]["clean"]
        w, h = truth["width"], truth["height"]
        scale = 640 / max(w, h)
        wide, high = round(w * scale), round(h * scale)
        raw = decode(os.path.join(os.path.dirname(path), form["file"]), wide, high)
        source = truth["source"].split(":")[0]
        wants, requests = [], []
        for part in a.parts.split(","):
            joint = form["joints"][part]
            place, hidden = np.array([[x, y] for x, y, _ in joint]), np.array([o for _, _, o in joint], bool)
            for count in counts:
                clicks = [dict(frame=f, x=place[f, 0], y=place[f, 1]) for f in even(hidden, count)]
                if clicks:
                    wants.append((part, count, place, hidden))
                    requests.append(clicks)
        with tempfile.NamedTemporaryFile("w", suffix=".json") as file:
            json.dump(requests, file)
            file.flush()
            answer = json.loads(subprocess.run([a.program, str(w), str(h), file.name], input=raw, capture_output=True, check=True).stdout)
        seconds += answer["seconds"]
        frames += answer["frames"] * len(requests)
        grey = None
        for (part, count, place, hidden), clicks, trace in zip(wants, requests, answer["traces"]):
            n = min(len(place), len(trace["points"]))
            got = np.array([[p["x"], p["y"], p["confidence"], p["lost"]] for p in trace["points"][:n]])
            keys = [f"{count} {source}"] + ([f"{count} {source} {part}"] if a.by_part else [])
            for key in keys:
                add(rows, key, place[:n], hidden[:n].copy(), clicks, got[:, :2], got[:, 2], got[:, 3] > 0.5, scale)
            if a.baselines:
                import cv2
                if grey is None:
                    grey = [cv2.cvtColor(f, cv2.COLOR_RGB2GRAY) for f in np.frombuffer(raw, np.uint8).reshape(-1, high, wide, 3)]
                known, none = np.ones(n), np.zeros(n, bool)
                add(rows, f"{count} {source} lk chain", place[:n], hidden[:n].copy(), clicks, chain(grey, clicks, n), known, none, scale)
                add(rows, f"{count} {source} spline", place[:n], hidden[:n].copy(), clicks, spline(clicks, n), known, none, scale)
        print(f"{os.path.basename(os.path.dirname(path))}: {answer['seconds']:.1f} s for {len(requests)} traces of {answer['frames']} frames", file=sys.stderr, flush=True)
    if a.save:
        with open(a.save, "wb") as file:
            pickle.dump(dict(rows=rows, seconds=seconds, frames=frames), file)
    for key in sorted(rows):
        table(f"track {key}", rows[key])
    print(f"track time\t{seconds * 1e3 / max(frames, 1):.2f}\tms/frame/trace")


main()
