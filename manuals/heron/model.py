"""Makes heron.3mf, the model that Heron's guide is drawn from: base, pond, grille and bird, in millimetres, z up, front towards -y.

Usage: python3 manuals/heron/model.py     writes heron.3mf beside this file; nothing but Python's own library is needed
"""

import math
import pathlib
import zipfile

ROUND = 64


class Part:
    """Corners and triangles; corners that are equal are one."""

    def __init__(self, name):
        self.name, self.places, self.known, self.faces = name, [], {}, []

    def at(self, place):
        key = tuple(round(side, 4) for side in place)
        if key not in self.known:
            self.known[key] = len(self.places)
            self.places.append(key)
        return self.known[key]

    def face(self, a, b, c):
        corners = self.at(a), self.at(b), self.at(c)
        if len(set(corners)) == 3:
            self.faces.append(corners)

    def strip(self, one, other):
        """Between two closed rows of as many places."""
        for n in range(len(one)):
            m = (n + 1) % len(one)
            self.face(one[n], one[m], other[m])
            self.face(one[n], other[m], other[n])

    def fan(self, row, middle, back=False):
        for n in range(len(row)):
            m = (n + 1) % len(row)
            self.face(middle, *((row[m], row[n]) if back else (row[n], row[m])))


def circle(x, y, z, radius, count=ROUND):
    return [(x + radius * math.cos(n * math.tau / count), y + radius * math.sin(n * math.tau / count), z) for n in range(count)]


def slab(z, about, half, corner, count):
    """A rectangle with round corners, seen from a place inside it: one point in each direction, so that it fits a circle there."""
    def inside(x, y):
        dx, dy = max(abs(x) - half[0] + corner, 0), max(abs(y) - half[1] + corner, 0)
        return dx * dx + dy * dy <= corner * corner

    row = []
    for n in range(count):
        way = math.cos(n * math.tau / count), math.sin(n * math.tau / count)
        near, far = 0.0, 4 * max(half)
        for _ in range(50):
            middle = (near + far) / 2
            near, far = (middle, far) if inside(about[0] + way[0] * middle, about[1] + way[1] * middle) else (near, middle)
        row.append((about[0] + way[0] * near, about[1] + way[1] * near, z))
    return row


POND = (38.0, 0.0)


def base():
    part, count = Part("base"), 256
    low, high = (slab(z, POND, (85, 45), 18, count) for z in (0, 16))
    mouth, floor = (circle(*POND, z, 37, count) for z in (16, 6))
    part.fan(low, (*POND, 0), back=True)
    part.strip(low, high)
    part.strip(high, mouth)
    part.strip(mouth, floor)
    part.fan(floor, (*POND, 6))
    return part


def dish():
    part = Part("pond")
    outside = [circle(*POND, 6.5, 30), circle(*POND, 15, 35), circle(*POND, 17.5, 39)]
    inside = [circle(*POND, 17.5, 34.5), circle(*POND, 8.5, 28.5)]
    part.fan(outside[0], (*POND, 6.5), back=True)
    for one, other in zip(outside + inside, (outside + inside)[1:]):
        part.strip(one, other)
    part.fan(inside[-1], (*POND, 8.5))
    return part


def grille():
    """A ring, and bars across it: bodies that run into each other, as CAD exports them."""
    part = Part("grille")
    rows = [circle(*POND, 17.5, 34), circle(*POND, 20, 34), circle(*POND, 20, 29), circle(*POND, 17.5, 29)]
    for one, other in zip(rows, rows[1:] + rows[:1]):
        part.strip(one, other)
    for y in (-15, 0, 15):
        reach = math.sqrt(31.0**2 - y * y)
        low, high = ([(POND[0] + x, y + side, z) for x, side in ((-reach, -2), (reach, -2), (reach, 2), (-reach, 2))] for z in (18, 19.6))
        part.strip(low, high)
        part.fan(low, (*POND[:1], y, 18), back=True)
        part.fan(high, (*POND[:1], y, 19.6))
    return part


def tube(part, line, count=36):
    """Around a line in the plane of x and z: x, z, radius."""
    def ring(n):
        before, after = line[max(n - 1, 0)], line[min(n + 1, len(line) - 1)]
        dx, dz = after[0] - before[0], after[1] - before[1]
        long = math.hypot(dx, dz)
        x, z, radius, y = line[n]
        turn = [n * math.tau / count for n in range(count)]
        return [(x - dz / long * radius * math.cos(a), y + radius * math.sin(a), z + dx / long * radius * math.cos(a)) for a in turn]

    rows = [ring(n) for n in range(len(line))]
    for one, other in zip(rows, rows[1:]):
        part.strip(one, other)
    for row, (x, z, _, y), back in ((rows[0], line[0], True), (rows[-1], line[-1], False)):
        part.fan(row, (x, y, z), back)


def curve(points, pieces=7):
    """Through all points (Catmull-Rom)."""
    line = []
    for n in range(len(points) - 1):
        p = [points[min(max(n + k, 0), len(points) - 1)] for k in (-1, 0, 1, 2)]
        for piece in range(pieces):
            t = piece / pieces
            line.append(tuple(
                0.5 * (2 * b + (c - a) * t + (2 * a - 5 * b + 4 * c - d) * t * t + (3 * b - a - 3 * c + d) * t**3) for a, b, c, d in zip(*p)))
    return line + [points[-1]]


def bird():
    part = Part("bird")
    spine = [(-92, 88, 1.5), (-80, 92, 6), (-60, 99, 15), (-36, 106, 21), (-12, 116, 18), (0, 132, 10), (-3, 150, 7), (-8, 168, 6.5),
             (-2, 184, 8), (10, 190, 11), (22, 187, 8), (32, 183, 4), (52, 176, 2.6), (72, 169, 1.0)]
    tube(part, [(x, z, r, 0.0) for x, z, r in curve(spine)])
    for y in (-9.0, 9.0):
        tube(part, curve([(-44, 16, 3.2, y), (-47, 40, 3.2, y), (-43, 62, 3.6, y), (-40, 92, 5, y)], 5), 20)
        tube(part, [(-44, 15.9, 9, y), (-44, 19, 7.5, y), (-44, 19.5, 3, y)], 28)
    return part


def written(parts):
    objects, build = [], []
    for n, part in enumerate(parts, 1):
        places = "".join(f'<vertex x="{x:g}" y="{y:g}" z="{z:g}"/>' for x, y, z in part.places)
        faces = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in part.faces)
        objects.append(f'<object id="{n}" type="model" name="{part.name}"><mesh><vertices>{places}</vertices><triangles>{faces}</triangles></mesh></object>')
        build.append(f'<item objectid="{n}"/>')
    space = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
    return f'<?xml version="1.0" encoding="UTF-8"?>\n<model unit="millimeter" xmlns="{space}"><resources>{"".join(objects)}</resources><build>{"".join(build)}</build></model>\n'


PACKAGE = {
    "[Content_Types].xml": '<?xml version="1.0" encoding="UTF-8"?>\n<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/></Types>\n',
    "_rels/.rels": '<?xml version="1.0" encoding="UTF-8"?>\n<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rel0" Target="/3D/3dmodel.model" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>\n',
}

if __name__ == "__main__":
    files = {**PACKAGE, "3D/3dmodel.model": written([base(), dish(), grille(), bird()])}
    with zipfile.ZipFile(pathlib.Path(__file__).with_name("heron.3mf"), "w", zipfile.ZIP_DEFLATED, compresslevel=9) as package:
        for name, text in files.items():
            # The same bytes every time: no clock in them.
            package.writestr(zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0)), text, zipfile.ZIP_DEFLATED, 9)
