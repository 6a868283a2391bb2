"""Renders the photograph of the Heron manual: `python3 manuals/heron/photograph.py` (needs numpy, numba and Pillow).

A path of light through a distance field, in centimetres: x towards the mug, y up, z towards the viewer. One large window
from the left, one bounce of light from whatever it falls on. The bird's measures are those of bird.py.
"""

import sys
from pathlib import Path

import numpy as np
from numba import njit, prange
from PIL import Image

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parent)]
from bird import MUG, Pose  # noqa: E402
from ink import Frame, sampled  # noqa: E402

TABLE, WALL, BASE, BIRD, DARK, BEAK, BRASS, GLAZE, TEA, PAPER, STEEL, EYE, WING, LEAF, KEY = range(15)
#                  red   green blue  gloss
LOOK = np.array([[0.60, 0.47, 0.34, 0.04], [0.37, 0.38, 0.375, 0.0], [0.33, 0.21, 0.12, 0.10], [0.80, 0.79, 0.74, 0.10],
                 [0.045, 0.05, 0.06, 0.16], [0.52, 0.24, 0.05, 0.14], [0.72, 0.52, 0.25, 0.55], [0.66, 0.68, 0.70, 0.20],
                 [0.12, 0.045, 0.015, 0.30], [0.80, 0.74, 0.62, 0.0], [0.10, 0.10, 0.11, 0.35], [0.012, 0.012, 0.015, 0.6],
                 [0.15, 0.18, 0.21, 0.10], [0.13, 0.06, 0.025, 0.0],
                 [0.80, 0.78, 0.72, 0.12]])
TOP = 7.4     # height of the top of the base above the table
# Read when the first picture is taken, so that another script may set them before: how far behind the bird the wall stands, and whether the table is of wood.
BACK, WOOD = 34.0, True


def spine(pose):
    """The neck and the beak as (x, y) in centimetres, from the pose of the drawings."""
    body = Frame().move(0, -172).turn(pose.tilt)
    neck = sampled(body.over(pose.neck), step=9)
    head = Frame(1, 0, 0, 1, *body.at(*pose.neck[-1])).turn(pose.head).scale(1.18)
    up = lambda p: (p[0] / 10, TOP - p[1] / 10)
    return (np.array([up(p) for p in neck]), np.array([up(head.at(*p)) for p in ((18, -2), (136, 5))]), np.array(up(head.at(2, -3)) + up(head.at(8, -4)) + up(head.at(-3, -12))),
            np.array([up(head.at(*p)) for p in ((-14, -12), (-48, -16), (-92, 6), (-12, -6), (-42, 0), (-74, 22))]),
            np.array([up(body.at(*p)) for p in ((-132, 24), (-70, 6), (-8, -4), (44, -4), (-120, 22), (-30, 2), (22, -8))]))


@njit(inline="always")
def smooth(a, b, k):
    h = max(k - abs(a - b), 0.0) / k
    return min(a, b) - h * h * k * 0.25


@njit(inline="always")
def cone(px, py, pz, ax, ay, az, bx, by, bz, ra, rb):
    """A rod from a to b with round ends, its radius running from ra to rb."""
    ex, ey, ez = bx - ax, by - ay, bz - az
    qx, qy, qz = px - ax, py - ay, pz - az
    long = np.sqrt(ex * ex + ey * ey + ez * ez)
    along = (qx * ex + qy * ey + qz * ez) / long
    beside = np.sqrt(max(qx * qx + qy * qy + qz * qz - along * along, 0.0))
    # The side leans, so the nearest ball of the rod stands a little towards its thicker end.
    lean = min(max((ra - rb) / long, -0.95), 0.95)
    h = min(max((along - beside * lean / np.sqrt(1 - lean * lean)) / long, 0.0), 1.0)
    dx, dy, dz = qx - ex * h, qy - ey * h, qz - ez * h
    return np.sqrt(dx * dx + dy * dy + dz * dz) - (ra + (rb - ra) * h)


@njit(inline="always")
def block(x, y, z, hx, hy, hz, r):
    dx, dy, dz = abs(x) - hx + r, abs(y) - hy + r, abs(z) - hz + r
    out = np.sqrt(max(dx, 0.0) ** 2 + max(dy, 0.0) ** 2 + max(dz, 0.0) ** 2)
    return out + min(max(dx, max(dy, dz)), 0.0) - r


@njit(inline="always")
def disc(u, v, w, radius, half, r):
    """A round slab: (u, v) in its plane, w along its axis."""
    a, b = np.sqrt(u * u + v * v) - radius + r, abs(w) - half + r
    return min(max(a, b), 0.0) + np.sqrt(max(a, 0.0) ** 2 + max(b, 0.0) ** 2) - r


@njit(inline="always")
def ring(u, v, w, radius, thick):
    a = np.sqrt(u * u + v * v) - radius
    return np.sqrt(a * a + w * w) - thick


@njit
def field(x, y, z, neck, beak, head, crest, trunk, bag):
    """Distance to the nearest surface, and what it is made of."""
    d, m = y, TABLE
    e = z + BACK
    if e < d:
        d, m = e, WALL
    # the base: a pebble, the dial, the keys, the pond
    bx, by = x - 9.7, y - TOP / 2
    near = block(bx, by, z, 23.0, TOP / 2 + 0.6, 9.6, 1.0)
    if near < d:
        if near > 1.2:
            d, m = near, BASE
        else:
            u, v = max(abs(bx) - 14.3, 0.0), z
            a, b = np.sqrt(u * u + v * v) - 8.2 + 1.3, abs(by) - TOP / 2 + 1.3
            e = min(max(a, b), 0.0) + np.sqrt(max(a, 0.0) ** 2 + max(b, 0.0) ** 2) - 1.3
            e = max(e, -(ring(x - MUG / 10, z, y - TOP - 0.02, 6.9, 0.22)))
            if e < d:
                d, m = e, BASE
            e = disc(x + 3.6, y - 3.4, z - 8.3, 1.7, 0.75, 0.25)
            if e < d:
                d, m = e, KEY
            e = cone(x, y, z, -3.6, 3.4, 9.1, -2.6, 4.4, 9.1, 0.17, 0.17)
            if e < d:
                d, m = e, STEEL
            for k in range(3):
                e = block(x - 1.6 - 4.5 * k, y - 3.4, z - 8.2, 1.75, 0.95, 0.55, 0.45)
                if e < d:
                    d, m = e, KEY
    # the mug
    ux, uy, uz = x - MUG / 10, y - TOP, z
    near = block(ux - 1.6, uy - 5.6, uz, 7.6, 6.2, 5.8, 1.0)
    if near < d:
        if near > 1.0:
            d, m = near, GLAZE
        else:
            q = np.sqrt(ux * ux + uz * uz)
            flare = 4.5 + 0.07 * uy
            a, b = abs(q - flare + 0.25) - 0.28, abs(uy - 5.5) - 5.3
            e = (np.sqrt(max(a, 0.0) ** 2 + max(b, 0.0) ** 2) + min(max(a, b), 0.0)) - 0.14
            e = min(e, disc(ux, uz, uy - 0.5, 4.4, 0.45, 0.25))
            h = ring((ux - 5.0) * 1.0, (uy - 5.4) * 0.92, uz, 3.0, 0.55)
            h = max(h, -(q - flare + 0.1))
            e = smooth(e, h, 0.5)
            if e < d:
                d, m = e, GLAZE
            e = max(q - flare + 0.3, abs(uy - 9.4) - 0.1)
            if e < d:
                d, m = e, TEA
    # legs and feet
    near = block(x - 0.2, y - TOP - 8.4, z, 4.6, 9.2, 3.6, 0.5)
    if near < d:
        if near > 1.0:
            d, m = near, STEEL
        else:
            for k in range(2):
                s = -1.0 if k == 0 else 1.0
                fx, kx, hx, sz = (-2.4, -3.4, -0.8, -1.7) if k == 0 else (2.2, 0.8, 1.0, 1.7)
                e = cone(x, y, z, fx, TOP + 0.4, sz, kx, TOP + 9.2, sz, 0.3, 0.3)
                e = min(e, cone(x, y, z, kx, TOP + 9.2, sz, hx, TOP + 16.4, sz, 0.32, 0.36))
                e = min(e, cone(x, y, z, fx, TOP + 0.3, sz, fx + 3.2, TOP + 0.25, sz, 0.28, 0.25))
                e = min(e, cone(x, y, z, fx, TOP + 0.3, sz, fx + 2.0, TOP + 0.25, sz + 1.7 * s, 0.28, 0.25))
                e = min(e, cone(x, y, z, fx, TOP + 0.3, sz, fx - 1.9, TOP + 0.25, sz + 0.4 * s, 0.28, 0.25))
                if e < d:
                    d, m = e, STEEL
                e = np.sqrt((x - kx) ** 2 + (y - TOP - 9.2) ** 2 + (z - sz) ** 2) - 0.85
                if e < d:
                    d, m = e, BRASS
    # the body and the neck
    near = block(x + 0.5, y - TOP - 26.0, z, 14.8, 17.5, 6.2, 2.0)
    if near < d:
        if near > 1.5:
            d, m = near, BIRD
        else:
            e = cone(x, y, z * 1.05, trunk[0, 0], trunk[0, 1], 0, trunk[1, 0], trunk[1, 1], 0, 0.35, 3.3)
            e = smooth(e, cone(x, y, z * 1.05, trunk[1, 0], trunk[1, 1], 0, trunk[2, 0], trunk[2, 1], 0, 3.3, 4.9), 3.0)
            e = smooth(e, cone(x, y, z * 1.05, trunk[2, 0], trunk[2, 1], 0, trunk[3, 0], trunk[3, 1], 0, 4.9, 4.4), 4.0)
            count = neck.shape[0]
            for i in range(count - 1):
                t, t2 = i / (count - 1), (i + 1) / (count - 1)
                r, r2 = 1.45 + 2.4 * (1 - t) ** 2.4, 1.45 + 2.4 * (1 - t2) ** 2.4
                c = cone(x, y, z, neck[i, 0], neck[i, 1], 0, neck[i + 1, 0], neck[i + 1, 1], 0, r, r2)
                e = smooth(e, c, 1.1 if i < 4 else 0.25)
            hx, hy = x - head[0], y - head[1]
            e = smooth(e, np.sqrt((hx * 0.86) ** 2 + hy * hy + z * z * 1.12) - 2.25, 0.9)
            e *= 0.92
            along = (x - trunk[4, 0]) * 0.94 + (y - trunk[4, 1]) * 0.34
            across = (y - trunk[4, 1]) * 0.94 - (x - trunk[4, 0]) * 0.34
            if e < d:
                d, m = e, DARK if along < 3.4 - 0.5 * across else BIRD
            # wings: a leaf on each side, dark towards the tail
            side = abs(z)
            w = cone(x, y, side * 2.4, trunk[4, 0], trunk[4, 1], 7.2, trunk[5, 0], trunk[5, 1], 11.6, 0.9, 3.1)
            w = smooth(w, cone(x, y, side * 2.4, trunk[5, 0], trunk[5, 1], 11.6, trunk[6, 0], trunk[6, 1], 11.6, 3.1, 3.5), 1.5) * 0.41
            w += 0.05 * abs(np.sin(across * 1.9 + 0.25 * along)) * min(max(13.0 - along, 0.0) * 0.3, 1.0)
            if w < d:
                d = w
                m = DARK if along < 6.6 + 0.6 * across else WING
            e = disc(x - 0.2, y - TOP - 16.2, side - 6.15, 1.35, 0.35, 0.15)
            e = max(e, -block((x - 0.2) * 0.77 + (y - TOP - 16.2) * 0.64, (y - TOP - 16.2) * 0.77 - (x - 0.2) * 0.64, side - 6.55, 1.1, 0.17, 0.3, 0.02))
            if e < d:
                d, m = e, BRASS
            e = smooth(cone(x, y, z, crest[0, 0], crest[0, 1], 0, crest[1, 0], crest[1, 1], 0, 1.25, 0.75),
                       cone(x, y, z, crest[1, 0], crest[1, 1], 0, crest[2, 0], crest[2, 1], 0, 0.75, 0.08), 0.9)
            c = smooth(cone(x, y, z, crest[3, 0], crest[3, 1], 0.5, crest[4, 0], crest[4, 1], 0.7, 1.0, 0.6),
                       cone(x, y, z, crest[4, 0], crest[4, 1], 0.7, crest[5, 0], crest[5, 1], 0.9, 0.6, 0.08), 0.9)
            e = min(e, c) * 0.9
            stripe = np.sqrt((x - head[4]) ** 2 * 0.8 + (y - head[5]) ** 2 * 0.8 + z * z * 0.9) - 1.62
            e = smooth(e, stripe, 0.4)
            if e < d:
                d, m = e, DARK
            ex, ey = x - head[2], y - head[3]
            e = disc(ex, ey, side - 1.95, 1.1, 0.3, 0.15)
            if e < d:
                d, m = e, PAPER
            e = np.sqrt((ex - 0.15) ** 2 + ey * ey + ((side - 2.15) * 1.4) ** 2) - 0.68
            if e < d:
                d, m = e, EYE
    # beak, peg, string, tea bag
    e = cone(x, y, z, beak[0, 0], beak[0, 1], 0, beak[1, 0], beak[1, 1], 0, 1.35, 0.1)
    if e < d:
        d, m = e, BEAK
    px, py = beak[1, 0] - 1.2, beak[1, 1] + 0.1
    e = block(x - px, y - py, z, 0.9, 1.15, 0.8, 0.3)
    if e < d:
        d, m = e, BRASS
    e = cone(x, y, z, px, py, 0, px, bag, 0, 0.1, 0.1)
    if e < d:
        d, m = e, STEEL
    taper = 1.9 - max(y - (bag - 1.4), 0.0) * 0.75
    e = block(x - px, y - (bag - 2.4), z, max(taper, 0.6), 2.5, 0.55, 0.25)
    if e < d:
        d, m = e * 0.8, LEAF if y < bag - 2.2 else PAPER
    return d, m


@njit
def march(ox, oy, oz, dx, dy, dz, far, neck, beak, head, crest, trunk, bag):
    t = 0.02
    for _ in range(160):
        d, m = field(ox + dx * t, oy + dy * t, oz + dz * t, neck, beak, head, crest, trunk, bag)
        if d < 0.0012 * (1 + 0.02 * t):
            return t, m
        t += d
        if t > far:
            break
    return far, -1


@njit
def normal(x, y, z, neck, beak, head, crest, trunk, bag):
    h = 0.004
    a, _ = field(x + h, y - h, z - h, neck, beak, head, crest, trunk, bag)
    b, _ = field(x - h, y - h, z + h, neck, beak, head, crest, trunk, bag)
    c, _ = field(x - h, y + h, z - h, neck, beak, head, crest, trunk, bag)
    d, _ = field(x + h, y + h, z + h, neck, beak, head, crest, trunk, bag)
    nx, ny, nz = a - b - c + d, -a - b + c + d, -a + b - c + d
    s = np.sqrt(nx * nx + ny * ny + nz * nz) + 1e-9
    return nx / s, ny / s, nz / s


@njit
def colour(m, x, y, z, look):
    r, g, b = look[m, 0], look[m, 1], look[m, 2]
    if m == BASE or m == TABLE and WOOD:
        k = 1.6 if m == TABLE else 3.2
        swirl = np.sin(z * 0.23 * k + 0.4 * np.sin(x * 0.11) + 0.6 * np.sin(x * 0.031 + z * 0.2))
        fine = np.sin(z * 5.1 * k + 2.5 * np.sin(x * 0.16 + y * 0.3) + y * 6.0)
        grain = 1.0 + 0.14 * swirl + 0.05 * fine
        r, g, b = r * grain, g * grain, b * grain
        if m == TABLE and abs((z + 100.0) % 13.0 - 0.1) < 0.1:
            r, g, b = r * 0.25, g * 0.25, b * 0.25
    return r, g, b


@njit
def direct(x, y, z, nx, ny, nz, u, v, geo0, geo1, geo2, geo3, geo4, bag):
    """Light of the window at a point; (u, v) choose the place on the pane."""
    lx, ly, lz = -58.0 + 0.0 * u, 38.0 + 34.0 * u, 8.0 + 40.0 * v
    dx, dy, dz = lx - x, ly - y, lz - z
    far = np.sqrt(dx * dx + dy * dy + dz * dz)
    dx, dy, dz = dx / far, dy / far, dz / far
    c = nx * dx + ny * dy + nz * dz
    face = dx * -0.88 + dy * 0.42 + dz * 0.2
    if c <= 0 or face <= 0:
        return 0.0
    _, m = march(x + nx * 0.02, y + ny * 0.02, z + nz * 0.02, dx, dy, dz, far, geo0, geo1, geo2, geo3, geo4, bag)
    return 0.0 if m >= 0 else c * face * 9200.0 / (far * far)


@njit
def sky(dx, dy, dz):
    """What a ray sees that leaves the scene: a dim room, brighter towards the window."""
    w = max(-dx * 0.8 + dy * 0.5 + dz * 0.25, 0.0)
    return 0.16 + 0.18 * max(dy, 0.0) + 0.9 * w ** 2


@njit(parallel=True)
def render(width, height, samples, eye, gaze, zoom, focus, lens, geo0, geo1, geo2, geo3, geo4, bag, look, out, deep):
    fx, fy, fz = gaze[0] - eye[0], gaze[1] - eye[1], gaze[2] - eye[2]
    s = np.sqrt(fx * fx + fy * fy + fz * fz)
    fx, fy, fz = fx / s, fy / s, fz / s
    rx, rz = -fz, fx
    s = np.sqrt(rx * rx + rz * rz)
    rx, rz = rx / s, rz / s
    ux, uy, uz = -rz * fy, rz * fx - rx * fz, rx * fy
    root = int(np.sqrt(samples))
    for row in prange(height):
        np.random.seed(row * 7919 + 17)
        for col in range(width):
            sr = sg = sb = depth = 0.0
            for k in range(root * root):
                ju, jv = (k % root + np.random.random()) / root, (k // root + np.random.random()) / root
                px = ((col + ju) / width - 0.5) * zoom
                py = (0.5 - (row + jv) / height) * zoom * height / width
                dx, dy, dz = fx + rx * px + ux * py, fy + uy * py, fz + rz * px + uz * py
                s = np.sqrt(dx * dx + dy * dy + dz * dz)
                reach = focus * s
                a, r = 2 * np.pi * np.random.random(), lens * np.sqrt(np.random.random())
                la, lb = np.cos(a) * r, np.sin(a) * r
                ox, oy, oz = eye[0] + rx * la + ux * lb, eye[1] + uy * lb, eye[2] + rz * la + uz * lb
                dx, dy, dz = eye[0] + dx / s * reach - ox, eye[1] + dy / s * reach - oy, eye[2] + dz / s * reach - oz
                s = np.sqrt(dx * dx + dy * dy + dz * dz)
                dx, dy, dz = dx / s, dy / s, dz / s
                t, m = march(ox, oy, oz, dx, dy, dz, 260.0, geo0, geo1, geo2, geo3, geo4, bag)
                depth += t
                if m < 0:
                    sr, sg, sb = sr + 0.05, sg + 0.05, sb + 0.05
                    continue
                x, y, z = ox + dx * t, oy + dy * t, oz + dz * t
                nx, ny, nz = normal(x, y, z, geo0, geo1, geo2, geo3, geo4, bag)
                cr, cg, cb = colour(m, x, y, z, look)
                u, v = ((k * 7) % root + np.random.random()) / root - 0.5, ((k * 3) // root % root + np.random.random()) / root - 0.5
                light = direct(x, y, z, nx, ny, nz, 2 * u * 0.5, 2 * v * 0.5, geo0, geo1, geo2, geo3, geo4, bag)
                # one bounce, or the room
                while True:
                    hx, hy, hz = 2 * np.random.random() - 1, 2 * np.random.random() - 1, 2 * np.random.random() - 1
                    q = hx * hx + hy * hy + hz * hz
                    if 0.001 < q < 1:
                        break
                q = np.sqrt(q)
                hx, hy, hz = nx + hx / q * 0.999, ny + hy / q * 0.999, nz + hz / q * 0.999
                q = np.sqrt(hx * hx + hy * hy + hz * hz)
                hx, hy, hz = hx / q, hy / q, hz / q
                t2, m2 = march(x + nx * 0.03, y + ny * 0.03, z + nz * 0.03, hx, hy, hz, 90.0, geo0, geo1, geo2, geo3, geo4, bag)
                ar = ag = ab = 0.0
                if m2 < 0:
                    ar = ag = ab = sky(hx, hy, hz)
                else:
                    x2, y2, z2 = x + hx * t2, y + hy * t2, z + hz * t2
                    n2 = normal(x2, y2, z2, geo0, geo1, geo2, geo3, geo4, bag)
                    l2 = direct(x2, y2, z2, n2[0], n2[1], n2[2], np.random.random() - 0.5, np.random.random() - 0.5, geo0, geo1, geo2, geo3,
                                geo4, bag) + 0.12
                    l2 = min(l2, 1.6)
                    c2 = colour(m2, x2, y2, z2, look)
                    ar, ag, ab = c2[0] * l2, c2[1] * l2, c2[2] * l2
                # gloss: the window and the room mirrored
                gloss = look[m, 3]
                if gloss > 0:
                    dn = dx * nx + dy * ny + dz * nz
                    mx, my, mz = dx - 2 * dn * nx, dy - 2 * dn * ny, dz - 2 * dn * nz
                    fres = gloss * (0.35 + 0.65 * (1 + dn) ** 3)
                    t3, m3 = march(x + nx * 0.03, y + ny * 0.03, z + nz * 0.03, mx, my, mz, 70.0, geo0, geo1, geo2, geo3, geo4, bag)
                    if m3 < 0:
                        g = sky(mx, my, mz) * 1.0
                        # the pane itself, with its cross
                        if mx < -0.01:
                            q = (-58.0 - x) / mx
                            wy, wz = y + my * q, z + mz * q
                            if 20 < wy < 58 and -14 < wz < 30 and abs(wy - 39) > 1.4 and abs(wz - 8) > 1.4:
                                g += 7.0
                        tint = 1.0 if m != BRASS else cr
                        sr, sg, sb = sr + fres * g * tint, sg + fres * g * (1.0 if m != BRASS else cg), sb + fres * g * (1.0 if m != BRASS else cb)
                    else:
                        c3 = colour(m3, 0.0, 50.0, 0.0, look)
                        sr, sg, sb = sr + fres * c3[0] * 0.3, sg + fres * c3[1] * 0.3, sb + fres * c3[2] * 0.3
                keep = 1.0 - gloss * 0.5
                sr += cr * (light + ar) * keep
                sg += cg * (light + ag) * keep
                sb += cb * (light + ab) * keep
            n = root * root
            out[row, col, 0], out[row, col, 1], out[row, col, 2] = sr / n, sg / n, sb / n
            deep[row, col] = depth / n


# Shadows are lifted until no stretch of the print is over 40 % black on any of the built-in printers.
PAPER_TONE = [round(255 * (value / 255) ** 0.58) for value in range(256)]


def film(light, exposure):
    """A shoulder for the lights, then sRGB."""
    x = light * exposure
    x = np.clip((x * (2.51 * x + 0.03)) / (x * (2.43 * x + 0.59) + 0.14), 0, 1)
    s = np.where(x <= 0.0031308, x * 12.92, 1.055 * np.power(x, 1 / 2.4) - 0.055)
    return Image.fromarray((s * 255 + 0.5).astype(np.uint8), "RGB")


def develop(light, exposure):
    """Grey: paper has no colours."""
    return film(light, exposure).convert("L").point(PAPER_TONE)


def quiet(light, deep, radius=4):
    """Evens out the grain of the samples where neither depth nor light shows an edge: a bilateral mean."""
    tone = np.log(light.mean(axis=2) + 0.02)
    total, weight = np.zeros_like(light), np.zeros(light.shape[:2])
    for dy in range(-radius, radius + 1):
        for dx in range(-radius, radius + 1):
            other, far, grey = (np.roll(a, (dy, dx), (0, 1)) for a in (light, deep, tone))
            w = np.exp(-(dx * dx + dy * dy) / (0.7 * radius * radius) - ((far - deep) / 0.35) ** 2 - ((grey - tone) / 0.22) ** 2)
            total += other * w[..., None]
            weight += w
    return total / weight[..., None]


SHOTS = {
    # name: pose, height of the tea bag's top above the base, eye, gaze, zoom, focus, lens, width, height, exposure
    "heron": (Pose(tilt=4, head=14), 22.6, (30.0, 42.0, 118.0), (10.2, 25.4, 0.0), 0.47, None, 0.4, 1000, 934, 0.95),
}


def shoot(shot, scale=1.0, samples=16, develop=develop):
    pose, bag, eye, gaze, zoom, focus, lens, width, height, exposure = shot
    neck, beak, head, crest, trunk = spine(pose)
    width, height = int(width * scale), int(height * scale)
    eye, gaze = np.array(eye), np.array(gaze)
    focus = focus or float(np.linalg.norm(gaze - eye)) - 2
    out, deep = np.zeros((height, width, 3)), np.zeros((height, width))
    render(width, height, samples, eye, gaze, zoom, focus, lens, neck, beak, head, crest, trunk, TOP + bag, LOOK, out, deep)
    return develop(quiet(out, deep), exposure)


if __name__ == "__main__":
    for name, shot in SHOTS.items():
        shoot(shot, samples=16).save(HERE / f"{name}.png", optimize=True)
