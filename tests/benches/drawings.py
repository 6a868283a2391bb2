#!/usr/bin/env python3
"""Draws models in another way and holds the program's drawings against it.

    drawings.py STRIPLING MODEL.stl …

The other way knows nothing of edges of a mesh: a ray a dot is cast by Embree (through trimesh), and a line is wherever neighbouring rays
hit something of another depth or of another direction by more than 30 degrees. Of each drawing 90 % of the ink shall lie within 3 dots of
the other's. Wants numpy, scipy, Pillow, trimesh, embreex (PyPI).
"""
import json
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
import trimesh
from PIL import Image
from scipy.ndimage import distance_transform_edt

TURN, TILT = np.radians(45.0), np.radians(35.264)
WIDE = 4  # dots of an outline
NEAR = 3.0


def ours(program, model, folder):
    manual = folder / "manual.md"
    manual.write_text(f'# M\n\n```figure\nmodel = "{model.name}"\nalt = "M"\nview = "front-right-above"\n```\n')
    picture, where = folder / "strip.png", folder / "map.json"
    done = subprocess.run([program, "proof", manual, "-o", picture, "--map", where, "-q"], capture_output=True, text=True)
    if done.returncode:
        raise SystemExit(f"{model.name}: {done.stderr}")
    box = next(box for box in json.loads(where.read_text())["boxes"] if box["kind"] == "picture")
    strip = np.array(Image.open(picture).convert("L")) < 128
    return strip[box["y"] : box["y"] + box["height"], box["x"] : box["x"] + box["width"]]


def theirs(model, ink):
    mesh = trimesh.load(model, force="mesh")
    eye = np.array([np.sin(TURN) * np.cos(TILT), -np.cos(TURN) * np.cos(TILT), np.sin(TILT)])
    right = np.array([np.cos(TURN), np.sin(TURN), 0.0])
    up = np.cross(eye, right)
    across, along = mesh.vertices @ right, mesh.vertices @ up
    rows, columns = np.where(ink)
    left, top, wide, high = columns.min(), rows.min(), np.ptp(columns) + 1, np.ptp(rows) + 1
    scale = (wide - WIDE) / np.ptp(across)  # dots a millimetre
    tall = (high - WIDE) / np.ptp(along)
    print(f"  {len(mesh.faces)} triangles, {scale:.2f} dots/mm across, {tall:.2f} along", end="")
    y, x = np.mgrid[0 : ink.shape[0], 0 : ink.shape[1]]
    u = across.min() + (x + 0.5 - left - WIDE / 2) / scale
    v = along.max() - (y + 0.5 - top - WIDE / 2) / scale
    far = (mesh.vertices @ eye).max() + 10
    origins = (u[..., None] * right + v[..., None] * up + far * eye).reshape(-1, 3)
    hit = mesh.ray.intersects_first(origins, np.broadcast_to(-eye, origins.shape)).reshape(ink.shape)
    seen = hit >= 0
    normals = mesh.face_normals[np.maximum(hit, 0)]
    normals = np.where((normals @ eye)[..., None] < 0, -normals, normals)
    # The depth of a plane through a corner of the triangle that is hit.
    corner = mesh.vertices[mesh.faces[np.maximum(hit, 0)][..., 0]]
    facing = np.maximum(normals @ eye, 1e-6)

    def depth_at(dy, dx):
        """Depth of each dot's own plane where its neighbour stands."""
        point = (u + dx / scale)[..., None] * right + (v - dy / scale)[..., None] * up
        return np.einsum("ijk,ijk->ij", normals, corner - point) / facing

    here = depth_at(0, 0)
    lines = np.zeros(ink.shape, bool)
    for dy, dx in ((0, 1), (1, 0)):
        a = (slice(0, ink.shape[0] - dy), slice(0, ink.shape[1] - dx))
        b = (slice(dy, None), slice(dx, None))
        apart = np.minimum(np.abs(depth_at(dy, dx)[a] - here[b]), np.abs(here[a] - depth_at(-dy, -dx)[b]))
        bent = np.einsum("ijk,ijk->ij", normals[a], normals[b]) < np.cos(np.radians(30))
        edge = (seen[a] != seen[b]) | (seen[a] & seen[b] & ((apart * scale > 1.5) | bent))
        lines[a] |= edge
        lines[b] |= edge
    return lines


def main():
    program, models = sys.argv[1], [Path(name) for name in sys.argv[2:]]
    wrong = 0
    for model in models:
        with tempfile.TemporaryDirectory() as folder:
            folder = Path(folder)
            copy = folder / model.name.replace(" ", "_")
            copy.write_bytes(model.read_bytes())
            print(model.name, end="")
            mine = ours(program, copy, folder)
            other = theirs(copy, mine)
            near_other = distance_transform_edt(~other) <= NEAR
            near_mine = distance_transform_edt(~mine) <= NEAR
            one, two = near_other[mine].mean(), near_mine[other].mean()
            passed = one >= 0.9 and two >= 0.9
            wrong += not passed
            print(f": {one:6.1%} of ours, {two:6.1%} of the other's{'' if passed else '   <-- under 90 %'}")
            out = np.full(mine.shape + (3,), 255, np.uint8)
            out[other & ~near_mine] = (255, 0, 0)
            out[mine] = (0, 0, 0)
            out[mine & ~near_other] = (0, 0, 255)
            Path("target").mkdir(exist_ok=True)
            Image.fromarray(out).save(f"target/drawing-{copy.stem}.png")  # ours black, what it alone has blue, what the other alone has red
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
