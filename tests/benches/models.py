"""How fast a large model is read, joined and drawn, beside reading and joining alone by a general-purpose library (trimesh).

Usage: python3 tests/benches/models.py target/release/stripling     needs trimesh and numpy; measures in one run, on a quiet machine
"""

import pathlib
import subprocess
import sys
import tempfile
import time

import numpy
import trimesh

MANUAL = '+++\ntitle = "Ball"\nlanguage = "en"\n+++\n\n# Ball\n\n```figure\nmodel = "ball.stl"\nalt = "A ball with waves"\nview = {{ turn = 30, tilt = {tilt} }}\n```\n'


def ball(subdivisions):
    """An icosphere with a wave; eight subdivisions are 1,310,720 triangles."""
    mesh = trimesh.creation.icosphere(subdivisions=subdivisions, radius=40)
    wave = 1 + 0.05 * numpy.sin(6 * numpy.arctan2(mesh.vertices[:, 1], mesh.vertices[:, 0])) * numpy.cos(mesh.vertices[:, 2] / 8)
    mesh.vertices *= wave[:, None]
    return mesh


# Linux counts what a process held before it became another: the program is started by a small one, or it would be this script's memory.
MEASURED = "import resource, subprocess, sys; subprocess.run(sys.argv[1:], check=True); print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)"


def memory_of(command):
    """Most memory a command held, MiB."""
    said = subprocess.run([sys.executable, "-I", "-c", MEASURED, *map(str, command)], check=True, capture_output=True, text=True)
    return int(said.stdout) / 1024


def best(times, what):
    took = []
    for n in range(times):
        begun = time.perf_counter()
        what(n)
        took.append(time.perf_counter() - begun)
    return min(took)


def main():
    program = pathlib.Path(sys.argv[1]).resolve()
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        for subdivisions in (6, 8):
            mesh = ball(subdivisions)
            mesh.export(folder / "ball.stl")
            (folder / "plain.md").write_text(MANUAL.split("```")[0])

            def command(name):
                return [program, "--quiet", "proof", folder / name, "-o", folder / "ball.png"]

            def run(name):
                subprocess.run(command(name), check=True)

            def drawn(n):
                (folder / "ball.md").write_text(MANUAL.format(tilt=20 + n))
                run("ball.md")

            library = best(3, lambda _: trimesh.load(folder / "ball.stl", process=True))
            whole = best(3, drawn)
            rest = best(3, lambda _: run("plain.md"))
            memory = memory_of(command("ball.md"))
            print(f"{len(mesh.faces)} triangles: trimesh reads and joins in {library:.3f} s; whole proof {whole:.3f} s, of it the model {whole - rest:.3f} s "
                  f"({(whole - rest) / library:.2f} of it); most memory {memory:.0f} MiB")


main()
