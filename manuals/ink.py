"""A pen for one-bit pictures: the demo manuals' drawings are made with it (see heron/drawings.py, tick/drawing.py).

Everything is pure black or pure white, because a receipt printer has nothing else. Weights are in units of the sheet
and do not grow with a frame, so a bird drawn at any size keeps the line weight of the sheet it stands on. Curves run
through their points; a third member in a point makes it a corner.

It writes plain SVG paths and clip paths: no text, no style sheet, nothing from outside the file.
"""

from math import ceil, cos, hypot, pi, radians, sin


class Frame:
    """Where a part stands: moves, turns and scales, innermost last."""

    def __init__(self, a=1.0, b=0.0, c=0.0, d=1.0, e=0.0, f=0.0):
        self.m = (a, b, c, d, e, f)

    def then(self, a, b, c, d, e, f):
        A, B, C, D, E, F = self.m
        return Frame(A * a + C * b, B * a + D * b, A * c + C * d, B * c + D * d, A * e + C * f + E, B * e + D * f + F)

    def move(self, x, y):
        return self.then(1, 0, 0, 1, x, y)

    def turn(self, degrees):
        t = radians(degrees)
        return self.then(cos(t), sin(t), -sin(t), cos(t), 0, 0)

    def scale(self, x, y=None):
        return self.then(x, 0, 0, x if y is None else y, 0, 0)

    def at(self, x, y):
        a, b, c, d, e, f = self.m
        return (a * x + c * y + e, b * x + d * y + f)

    def over(self, points):
        return [self.at(p[0], p[1]) + tuple(p[2:]) for p in points]

    def size(self):
        a, b, _, _, _, _ = self.m
        return hypot(a, b)


def n(value):
    """A number as short as a tenth of a unit allows."""
    text = f"{value:.1f}"
    return text[:-2] if text.endswith(".0") else text


def segments(points, closed):
    """Cubic segments of the smooth curve through the points, broken at corners."""
    count = len(points)
    last = count if closed else count - 1

    def tangent(i):
        p = points[i]
        if len(p) > 2:
            return None
        before = points[(i - 1) % count] if closed or i > 0 else p
        after = points[(i + 1) % count] if closed or i < count - 1 else p
        dx, dy = after[0] - before[0], after[1] - before[1]
        length = hypot(dx, dy) or 1.0
        return dx / length, dy / length

    out = []
    for i in range(last):
        j = (i + 1) % count
        (x0, y0), (x1, y1) = points[i][:2], points[j][:2]
        reach = hypot(x1 - x0, y1 - y0)
        t0, t1 = tangent(i), tangent(j)
        straight = ((x1 - x0) / (reach or 1), (y1 - y0) / (reach or 1))
        if t0 is None and t1 is None:
            t0 = t1 = straight
        t0 = t0 or straight
        t1 = t1 or straight
        k = 0.36 * reach
        out.append(((x0, y0), (x0 + t0[0] * k, y0 + t0[1] * k), (x1 - t1[0] * k, y1 - t1[1] * k), (x1, y1)))
    return out


def path(points, closed=True):
    pieces = segments(points, closed)
    start = pieces[0][0]
    text = f"M{n(start[0])} {n(start[1])}"
    for _, c0, c1, end in pieces:
        text += f"C{n(c0[0])} {n(c0[1])} {n(c1[0])} {n(c1[1])} {n(end[0])} {n(end[1])}"
    return text + ("Z" if closed else "")


def sampled(points, closed=False, step=4.0):
    out = []
    for p0, c0, c1, p1 in segments(points, closed):
        count = max(2, ceil(hypot(p1[0] - p0[0], p1[1] - p0[1]) / step))
        for i in range(count):
            t = i / count
            u = 1 - t
            w = (u * u * u, 3 * u * u * t, 3 * u * t * t, t * t * t)
            out.append(tuple(sum(w[k] * q[axis] for k, q in enumerate((p0, c0, c1, p1))) for axis in (0, 1)))
    if not closed:
        out.append(tuple(points[-1][:2]))
    return out


def ribbon(points, widths):
    """The outline of a band along a curve; its width runs evenly through `widths`."""
    line = sampled(points)
    total = sum(hypot(b[0] - a[0], b[1] - a[1]) for a, b in zip(line, line[1:])) or 1.0
    left, right, gone = [], [], 0.0
    for i, (x, y) in enumerate(line):
        before, after = line[max(i - 1, 0)], line[min(i + 1, len(line) - 1)]
        if i:
            gone += hypot(x - line[i - 1][0], y - line[i - 1][1])
        dx, dy = after[0] - before[0], after[1] - before[1]
        length = hypot(dx, dy) or 1.0
        place = gone / total * (len(widths) - 1)
        k = min(int(place), len(widths) - 2)
        half = (widths[k] + (widths[k + 1] - widths[k]) * (place - k)) / 2
        left.append((x - dy / length * half, y + dx / length * half))
        right.append((x + dy / length * half, y - dx / length * half))
    return left + right[::-1]


def ellipse(x, y, rx, ry=None, turn=0):
    ry = rx if ry is None else ry
    t = radians(turn)
    out = []
    for i in range(12):
        a = 2 * pi * i / 12
        u, v = rx * cos(a), ry * sin(a)
        out.append((x + u * cos(t) - v * sin(t), y + u * sin(t) + v * cos(t)))
    return out


def box(x, y, width, height, r=0.0):
    """A rectangle with round corners, from its top left."""
    if r == 0:
        return [(x, y, 1), (x + width, y, 1), (x + width, y + height, 1), (x, y + height, 1)]
    q = r * 0.29
    X, Y = x + width, y + height
    return [
        (x + r, y), (X - r, y), (X - q, y + q), (X, y + r), (X, Y - r), (X - q, Y - q),
        (X - r, Y), (x + r, Y), (x + q, Y - q), (x, Y - r), (x, y + r), (x + q, y + q),
    ]


class Sheet:
    def __init__(self, width, height, weight=5.0):
        self.width, self.height, self.weight = width, height, weight
        self.body, self.clips = [], 0

    # -- marks -------------------------------------------------------------------------------------------------------

    def shape(self, points, fill="#fff", weight=None, frame=Frame(), heavy=0.35):
        """A closed outline; its lower right side is heavier by `heavy` of the weight, as if light fell from the upper left."""
        d = path(frame.over(points))
        w = self.weight if weight is None else weight
        if w and heavy:
            shift = n(w * heavy)
            self.body.append(f'<path d="{d}" transform="translate({shift} {shift})" stroke="#000" stroke-width="{n(w)}"/>')
        stroke = f' stroke="#000" stroke-width="{n(w)}"' if w else ""
        self.body.append(f'<path d="{d}" fill="{fill}"{stroke}/>')

    def solid(self, points, frame=Frame(), fill="#000"):
        self.body.append(f'<path d="{path(frame.over(points))}" fill="{fill}"/>')

    def joined(self, outlines, weight=None, fill="#fff", heavy=0.35):
        """Several outlines as one silhouette: no line where they meet."""
        w = self.weight if weight is None else weight
        ds = [path(points) for points in outlines]
        shift = n(w * heavy)
        for d in ds:
            self.body.append(f'<path d="{d}" transform="translate({shift} {shift})" stroke="#000" stroke-width="{n(w)}"/>')
        for d in ds:
            self.body.append(f'<path d="{d}" stroke="#000" stroke-width="{n(2 * w)}"/>')
        for d in ds:
            self.body.append(f'<path d="{d}" fill="{fill}"/>')

    def line(self, points, weight=None, frame=Frame(), taper=(1, 1), colour="#000"):
        """A stroke of the pen; `taper` is the share of the weight along it."""
        w = self.weight if weight is None else weight
        points = frame.over(points)
        if len(set(taper)) == 1:
            self.body.append(
                f'<path d="{path(points, False)}" fill="none" stroke="{colour}" stroke-width="{n(w * taper[0])}"/>'
            )
        else:
            outline = [p + (1,) for p in ribbon(points, [w * t for t in taper])]
            self.body.append(f'<path d="{straight(outline)}" fill="{colour}"/>')

    def ring(self, points, weight=None, frame=Frame(), colour="#000"):
        """A closed outline with nothing in it."""
        w = self.weight if weight is None else weight
        self.body.append(f'<path d="{path(frame.over(points))}" fill="none" stroke="{colour}" stroke-width="{n(w)}"/>')

    def lines(self, pairs, weight, colour="#000"):
        d = "".join(f"M{n(a[0])} {n(a[1])}L{n(b[0])} {n(b[1])}" for a, b in pairs)
        self.body.append(f'<path d="{d}" fill="none" stroke="{colour}" stroke-width="{n(weight)}"/>')

    # -- tone --------------------------------------------------------------------------------------------------------

    def clip(self, points):
        self.clips += 1
        name = f"c{self.clips}"
        self.body.append(f'<clipPath id="{name}"><path d="{path(points)}"/></clipPath><g clip-path="url(#{name})">')

    def unclip(self):
        self.body.append("</g>")

    def hatch(self, points, angle=45, pitch=11.0, weight=3.0, frame=Frame(), colour="#000"):
        """Parallel strokes inside an outline."""
        outline = frame.over(points)
        xs, ys = [p[0] for p in outline], [p[1] for p in outline]
        cx, cy = (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2
        reach = hypot(max(xs) - min(xs), max(ys) - min(ys)) / 2 + pitch
        t = radians(angle)
        u, v = (cos(t), sin(t)), (-sin(t), cos(t))
        pairs = []
        for i in range(-int(reach / pitch) - 1, int(reach / pitch) + 2):
            x, y = cx + v[0] * i * pitch, cy + v[1] * i * pitch
            pairs.append(((x - u[0] * reach, y - u[1] * reach), (x + u[0] * reach, y + u[1] * reach)))
        self.clip(outline)
        self.lines(pairs, weight, colour)
        self.unclip()

    def dots(self, points, pitch=14.0, radius=3.0, frame=Frame(), colour="#000", fade=None):
        """A tint of round dots at 45 degrees; `fade(x, y)` scales the radius."""
        outline = frame.over(points)
        xs, ys = [p[0] for p in outline], [p[1] for p in outline]
        d, row, y = "", 0, min(ys)
        while y <= max(ys):
            x = min(xs) + (pitch / 2 if row % 2 else 0)
            while x <= max(xs):
                r = radius * (fade(x, y) if fade else 1)
                if r > 0.6:
                    d += f"M{n(x - r)} {n(y)}a{n(r)} {n(r)} 0 1 0 {n(2 * r)} 0a{n(r)} {n(r)} 0 1 0 {n(-2 * r)} 0"
                x += pitch
            y += pitch / 2
            row += 1
        self.clip(outline)
        self.body.append(f'<path d="{d}" fill="{colour}"/>')
        self.unclip()

    # -- the file ----------------------------------------------------------------------------------------------------

    def svg(self):
        head = (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {self.width} {self.height}" width="{self.width}" '
            f'height="{self.height}" stroke-linejoin="round" stroke-linecap="round">\n'
            f'<path d="M0 0H{self.width}V{self.height}H0Z" fill="#fff"/>\n'
        )
        return head + "\n".join(self.body) + "\n</svg>\n"

    def save(self, name):
        with open(name, "w", encoding="utf-8") as out:
            out.write(self.svg())


def straight(points):
    return "M" + "L".join(f"{n(p[0])} {n(p[1])}" for p in points) + "Z"
