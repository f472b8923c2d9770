"""How well faults are measured, against clips whose truth is known.

usage: score.py CLIPS MEASURE [--jitter PX] [--seed S]     MEASURE: the command, such as 'target/debug/refrain measure'
Traces are the true joints with normal noise (0.15 px). Prints a table, a line a kind:
recall and precision of findings (one clip in as many as there are kinds holds the fault, so that precision is what would be seen if
every measure spoke unasked), rho (Spearman, strength to value on the faulty and the eased clips), told (pairs of faulty and eased of
which a verdict was given), right (share of told that say better), moved (pairs of clean and clean that seem to differ), false alarms a
minute of clean recorded and of clean posed motion; and the same rho, right and recall for a baseline (`plain.py`).
"""
import argparse, glob, json, os, shlex, subprocess
from collections import defaultdict
import numpy as np
from scipy.stats import spearmanr

import plain
from figure import J

FORMS = ('clean', 'eased', 'fault')
TRACED = [j for j in J if not j.startswith('hand')]


def cases(folder):
    for path in sorted(glob.glob(os.path.join(folder, '*', 'truth.json'))):
        yield json.load(open(path))


def request(truth, form, rng, jitter, at=None):
    f = truth['forms'][form]
    shake = lambda j: [[x + rng.normal(0, jitter), y + rng.normal(0, jitter), 1.0] for x, y, _ in j]
    traces = {p: shake(f['joints'][p]) for p in TRACED}
    traces['camera'] = [[x, y, 1.0] for x, y in f['camera']]
    out = dict(fps=truth['fps'], height_px=truth['height_px'], traces=traces, contacts=f['contacts'])
    return dict(out, at=at) if at else out


def limb(part):
    joint, _, side = part.partition('.')
    if part == 'body':
        return 'any'
    if joint in ('wrist', 'hand', 'elbow'):
        return 'arm.' + side
    if joint in ('ankle', 'toe', 'knee'):
        return 'leg.' + side
    return 'head' if joint in ('head', 'neck') else 'trunk'


def hits(finding, fault):
    """The same kind on the same limb, frames overlapping by three tenths or with middles two frames apart."""
    parts = [limb(p) for p in (fault['part'], fault.get('other')) if p]
    own = limb(finding['part'])
    if finding['measure'] != fault['kind'] or not (own in parts or 'any' in (own, *parts)):
        return False
    a, b, c, d = finding['start'], finding['end'], fault['start'], fault['end']
    return (min(b, d) - max(a, c) + 1) / (max(b, d) - min(a, c) + 1) >= .3 or abs(a + b - c - d) <= 4


def ask(command, body):
    run = subprocess.run(command, input=json.dumps(body), capture_output=True, text=True)
    if run.returncode:
        raise SystemExit(f'{command}: {run.stderr}')
    return json.loads(run.stdout)


def main():
    cli = argparse.ArgumentParser()
    cli.add_argument('clips')
    cli.add_argument('measure')
    cli.add_argument('--jitter', type=float, default=.15)
    cli.add_argument('--seed', type=int, default=5)
    args = cli.parse_args()
    rng = np.random.default_rng(args.seed)
    measure = shlex.split(args.measure) + ['--json']
    rows = defaultdict(lambda: defaultdict(float))
    strengths, minutes = defaultdict(list), defaultdict(float)
    for truth in cases(args.clips):
        source = 'recorded' if truth['source'].startswith('mocap') else 'posed'
        fault = truth['forms']['fault']['faults'][0]
        kind = fault['kind']
        row = rows[kind]
        at = [dict(measure=kind, part=fault['part'], start=fault['start'], end=fault['end'])]
        row['n'] += 1
        asked = {form: request(truth, form, rng, args.jitter, at) for form in FORMS}
        simple = {form: plain.value(asked[form], at[0]) for form in FORMS}
        minutes[source] += truth['forms']['clean']['frames'] / truth['fps'] / 60
        for form in FORMS:
            answer = ask(measure, asked[form])
            if form != 'clean':
                strengths[kind].append((truth['forms'][form]['faults'][0]['strength'], answer['at'][0]['value'], simple[form]))
            for f in answer['findings']:
                if form == 'clean':
                    rows[f['measure']]['alarms ' + source] += 1
                elif form == 'fault' and not hits(f, fault):
                    rows[f['measure']]['wrong'] += 1
            if form == 'fault':
                row['found'] += any(hits(f, fault) for f in answer['findings'])
        row['plain right'] += simple['eased'] < simple['fault']
        compare = lambda a, b: ask(measure + ['--compare'], dict(before=request(truth, a, rng, args.jitter), after=request(truth, b, rng, args.jitter), at=at))['verdicts'][0]['verdict']
        row[compare('fault', 'eased')] += 1
        row['moved'] += compare('clean', 'clean') in ('better', 'worse')
    print(f"{'kind':<16}{'n':>4}{'recall':>8}{'prec.':>7}{'rho':>6}{'told':>6}{'right':>7}{'same':>6}{'moved':>7}{'recorded/min':>14}{'posed/min':>11}{'plain rho':>11}{'plain right':>13}")
    total = defaultdict(float)
    for kind in sorted(rows):
        r = rows[kind]
        told = r['better'] + r['worse']
        for k in ('n', 'better', 'worse', 'same', 'moved', 'plain right'):
            total[k] += r[k]
        own = [(s, v) for s, v, _ in strengths[kind] if v is not None]
        rho = spearmanr(*zip(*own)).statistic if len(own) > 3 else float('nan')
        plain_rho = spearmanr([s for s, _, _ in strengths[kind]], [p for _, _, p in strengths[kind]]).statistic if len(strengths[kind]) > 3 else float('nan')
        share = lambda a, b: a / b if b else float('nan')
        print(f"{kind:<16}{r['n']:>4.0f}{share(r['found'], r['n']):>8.2f}{share(r['found'], r['found'] + r['wrong']):>7.2f}{rho:>6.2f}{told:>6.0f}{share(r['better'], told):>7.2f}{r['same']:>6.0f}{r['moved']:>7.0f}"
              f"{share(r['alarms recorded'], minutes['recorded']):>14.2f}{share(r['alarms posed'], minutes['posed']):>11.2f}{plain_rho:>11.2f}{share(r['plain right'], r['n']):>13.2f}")
    told = total['better'] + total['worse']
    print(f"\npairs\t{total['n']:.0f}\ntold\t{told:.0f}\nright\t{total['better'] / told:.3f}\tshare of told\nmoved\t{total['moved'] / total['n']:.3f}\tshare of clean pairs\nplain right\t{total['plain right'] / total['n']:.3f}\tshare of all")
    print('\n'.join(f'{k}\t{v:.2f}\tminutes of clean motion' for k, v in minutes.items()))


if __name__ == '__main__':
    main()
