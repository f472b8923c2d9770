"""Draws a figure in a set, as a clip. Everything drawn is invented."""
import subprocess

import cv2
import numpy as np

from figure import I, J
from params import PARAMS as C

BONES = [('pelvis', 'thigh.right', 'thigh.left', .075), ('torso', 'hip', 'neck', .098), ('neck', 'neck', 'head', .032), ('skull', 'head', 'head', .078)]
for _s in ('right', 'left'):
    BONES += [(f'upperarm.{_s}', f'shoulder.{_s}', f'elbow.{_s}', .040), (f'forearm.{_s}', f'elbow.{_s}', f'wrist.{_s}', .033), (f'palm.{_s}', f'wrist.{_s}', f'hand.{_s}', .034),
              (f'thighbone.{_s}', f'thigh.{_s}', f'knee.{_s}', .055), (f'shin.{_s}', f'knee.{_s}', f'ankle.{_s}', .042), (f'foot.{_s}', f'ankle.{_s}', f'toe.{_s}', .034)]
TOUCH = {j: [b[0] for b in BONES if j in (b[1], b[2])] for j in J}
TOUCH['chest'] = ['torso']
TOUCH['head'] = ['skull']
TOUCH['hip'] = ['torso', 'pelvis']
for _s in ('right', 'left'):
    TOUCH[f'shoulder.{_s}'] = [f'upperarm.{_s}', 'torso']
    TOUCH[f'thigh.{_s}'] = [f'thighbone.{_s}', 'pelvis']


class Look:
    """Textures, colours and the set of one case; the same for all forms of the case unless relit."""

    def __init__(self, rng, W, Hh):
        self.W, self.Hh = W, Hh
        self.style = rng.choice(C['styles'])
        pal = np.array(C['palette'], float)[rng.permutation(len(C['palette']))]
        skin = np.array(C['skins'][int(rng.integers(len(C['skins'])))], float)
        col = {'pelvis': pal[1], 'torso': pal[0], 'neck': skin, 'skull': skin}
        sleeve = rng.random() < .6
        for s in ('right', 'left'):
            col[f'upperarm.{s}'] = pal[0]
            col[f'forearm.{s}'] = pal[0] * .92 if sleeve else skin
            col[f'palm.{s}'] = skin
            col[f'thighbone.{s}'] = pal[1]
            col[f'shin.{s}'] = pal[1] * .95
            col[f'foot.{s}'] = pal[2] * .6
        self.outline = rng.random() < C['outline']
        self.fat = rng.uniform(.85, 1.25)
        self.tex = {}
        for b in BONES:
            self.tex[b[0]] = self.texture(rng, b[0], col[b[0]])
        self.bg = self.set(rng)
        self.blur = rng.random() < C['blur']
        self.noise = rng.uniform(0, C['noise'])
        self.crf = int(rng.integers(*C['crf']))

    def texture(self, rng, name, color):
        h, w = 48, 128
        yy = np.linspace(-1, 1, h)[:, None]
        xx = np.linspace(0, 1, w)[None]
        shade = 1 - .45 * (yy + .25) ** 2 + 0 * xx
        t = np.ones((h, w, 3)) * color[None, None] * shade[..., None]
        if self.style == 'cloth' and name != 'skull':
            n = cv2.resize(rng.normal(size=(10, 22)).astype(np.float32), (w, h), interpolation=cv2.INTER_CUBIC)
            t *= 1 + .10 * n[..., None]
        if self.style == 'stripes' and not name.startswith(('palm', 'skull', 'neck')):
            t *= (1 - .22 * (np.sin(xx * rng.uniform(18, 30)) > .3))[..., None]
        if self.style == 'check' and not name.startswith(('palm', 'skull', 'neck')):
            t *= (1 - .18 * ((np.sin(xx * 24) > 0) ^ (np.sin(yy * 5 + 1) > 0)))[..., None]
        if name.startswith(('forearm', 'shin')) and rng.random() < .5:
            t[:, 108:120] *= .55
        if name.startswith('palm'):
            for k in (-.35, 0, .35):
                r = int((k + 1) / 2 * h)
                t[r:r + 2, 75:] *= .7
        if name == 'skull':
            e = (xx - .5) ** 2 * 4 + yy ** 2
            t *= (1 - .25 * (e > .75))[..., None]
            for ex in (.36, .62):
                m = ((xx - ex) * 2.2) ** 2 * 1.4 + (yy + .12) ** 2 < .02
                t[m] = 30
            m = (np.abs(yy - .4) < .05) & (np.abs(xx - .5) < .12)
            t[m] = color * .4
            hair = (yy < -.55) & (xx >= 0)
            t[hair] = np.array([40, 50, 70])
        u = np.abs(yy) + 0 * xx
        r = .30
        endd = np.maximum(np.maximum(r - xx, xx - (1 - r)), 0) / r
        d = np.sqrt(u ** 2 + endd ** 2)
        if name == 'skull':
            d = np.sqrt(((xx - .5) * 2) ** 2 + yy ** 2)
        a = np.clip((1 - d) * 9, 0, 1)
        if self.outline:
            t = t * (1 - .75 * np.clip(1 - (1 - d) * 7, 0, 1)[..., None])
        return np.clip(t, 0, 255).astype(np.float32), a.astype(np.float32)

    def set(self, rng):
        W, Hh = self.W + 240, self.Hh
        yy = np.linspace(0, 1, Hh)[:, None, None]
        c0, c1 = rng.uniform(90, 200, 3), rng.uniform(120, 220, 3)
        im = (c0 * (1 - yy) + c1 * yy) * np.ones((Hh, W, 1))
        n = cv2.resize(rng.normal(size=(Hh // 12, W // 12)).astype(np.float32), (W, Hh), interpolation=cv2.INTER_CUBIC)
        im = im + C['bg_tex'] * n[..., None]
        for _ in range(int(rng.integers(*C['bg_boxes']))):
            x, y = int(rng.integers(0, W)), int(rng.integers(0, int(Hh * .8)))
            w, h = int(rng.integers(20, 130)), int(rng.integers(20, 150))
            cv2.rectangle(im, (x, y), (x + w, y + h), tuple(map(float, rng.uniform(60, 210, 3))), -1)
            if rng.random() < .6:
                cv2.rectangle(im, (x, y), (x + w, y + h), (50, 50, 50), 2)
        fl = int(Hh * .86)
        im[fl:] = im[fl:] * .6 + rng.uniform(60, 160, 3) * .4
        if rng.random() < .6:
            for x in range(-W, 2 * W, 46):
                cv2.line(im, (x, Hh), (int(W / 2 + (x - W / 2) * .7), fl), (90, 90, 90), 1)
        return np.clip(im, 0, 255).astype(np.float32)

    def frame(self, P, D, H, cam):
        """One picture and its id map. cam: horizontal camera shift in pixels."""
        x0 = 120 + cam
        M = np.float32([[1, 0, -x0], [0, 1, 0]])
        img = self.bg[:, int(x0):int(x0) + self.W].copy() if x0 == int(x0) else cv2.warpAffine(self.bg, M, (self.W, self.Hh), borderMode=cv2.BORDER_REPLICATE)
        ids = np.full((self.Hh, self.W), -1, np.int16)
        order = sorted(range(len(BONES)), key=lambda b: D[I[BONES[b][1]]] + D[I[BONES[b][2]]] + (.02 if BONES[b][0].startswith(('palm', 'skull', 'foot')) else 0) + (-.03 if BONES[b][0] in ('torso', 'pelvis') else 0))
        for b in order:
            n, ja, jb, r = BONES[b]
            A, B = P[I[ja]].copy(), P[I[jb]].copy()
            r = r * H * self.fat / 1.0
            if n == 'skull':
                ax = P[I['head']] - P[I['neck']]
                ax = ax / (np.linalg.norm(ax) + 1e-6)
                ax = np.array([-ax[1], ax[0]])
                A, B = A - ax * .001, B + ax * .001
            L = np.linalg.norm(B - A)
            ax = (B - A) / L if L > 1e-6 else np.array([1., 0])
            ay = np.array([-ax[1], ax[0]])
            tex, al = self.tex[n]
            h, w = al.shape
            full = L + 2 * r
            sx = full / w
            if n != 'skull' and L < .8 * r:
                pass
            O = A - ax * r - ay * r
            M = np.array([[ax[0] * sx, ay[0] * 2 * r / h, O[0]], [ax[1] * sx, ay[1] * 2 * r / h, O[1]]])
            corners = np.array([[0, 0, 1], [w, 0, 1], [0, h, 1], [w, h, 1]]) @ M.T
            lo = np.floor(corners.min(0)).astype(int) - 1
            hi = np.ceil(corners.max(0)).astype(int) + 2
            lo = np.maximum(lo, 0)
            hi = np.minimum(hi, [self.W, self.Hh])
            if (hi <= lo).any():
                continue
            M[:, 2] -= lo
            sz = (int(hi[0] - lo[0]), int(hi[1] - lo[1]))
            a = cv2.warpAffine(al, M, sz, flags=cv2.INTER_LINEAR)
            t = cv2.warpAffine(tex, M, sz, flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
            roi = img[lo[1]:hi[1], lo[0]:hi[0]]
            roi += a[..., None] * (t - roi)
            ids[lo[1]:hi[1], lo[0]:hi[0]][a > .5] = b
        return img, ids

    def render(self, P, D, H, cam, path, seed):
        """Writes the clip; returns occlusion flags [T, J] (True: hidden or outside)."""
        rng = np.random.default_rng(seed)
        T = len(P)
        name = [b[0] for b in BONES]
        occ = np.zeros((T, len(J)), bool)
        cmd = ['ffmpeg', '-y', '-loglevel', 'error', '-f', 'rawvideo', '-pix_fmt', 'bgr24', '-s', f'{self.W}x{self.Hh}', '-r', '24', '-i', '-',
               '-c:v', 'libx264', '-preset', 'veryfast', '-threads', '1', '-crf', str(self.crf), '-pix_fmt', 'yuv420p', path]
        p = subprocess.Popen(cmd, stdin=subprocess.PIPE)
        for i in range(T):
            img, ids = self.frame(P[i], D[i], H, cam[i])
            if self.blur:
                acc = img.copy()
                for d in (-.2, .2):
                    k = min(max(i + (1 if d > 0 else -1), 0), T - 1)
                    q = P[i] + (P[k] - P[i]) * abs(d)
                    acc += self.frame(q, D[i], H, cam[i] + (cam[k] - cam[i]) * abs(d))[0]
                img = acc / 3
            if self.noise:
                img = img + rng.standard_normal(img.shape[:2], dtype=np.float32)[..., None] * np.float32(self.noise)
            p.stdin.write(np.clip(img, 0, 255).astype(np.uint8).tobytes())
            for j, n in enumerate(J):
                x, y = int(round(P[i, j, 0])), int(round(P[i, j, 1]))
                ok = False
                if 0 <= x < self.W and 0 <= y < self.Hh:
                    w = ids[max(y - 1, 0):y + 2, max(x - 1, 0):x + 2]
                    hit = sum(1 for v in w.ravel() if v >= 0 and name[v] in TOUCH[n])
                    ok = hit * 2 >= w.size
                occ[i, j] = not ok
        p.stdin.close()
        p.wait()
        return occ
