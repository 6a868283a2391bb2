"""A guide of camera photographs, by this program and by a script that a maker could write, in one run:

    python3 tests/benches/photographs.py target/release/stripling [COUNT]

The photographs are made here (large, soft and noisy, JPEG quality 90; nothing is fetched): 28 of 8 to 16 million pixels. The script is Pillow's
scaled decoding (`draft`), resampling and one-bit dither, one picture after the other; it gets no layout, no text and no other tones. Also one
JPEG of 108 million pixels, one PNG of 100 million and one of 30,000 x 200. Wall time is the best of three rounds; memory is the peak of the
process (ru_maxrss, asked by a small process of its own).
"""
import os
import random
import subprocess
import sys
import tempfile
from pathlib import Path

from PIL import Image

SIZES = [(3264, 2448), (4032, 3024), (4624, 3468)]
SCRIPT = """
import sys
from PIL import Image
for name in sys.argv[1:]:
    picture = Image.open(name)
    picture.draft("L", (576, 576 * picture.height // picture.width))
    picture = picture.convert("L").resize((576, 576 * picture.height // picture.width), Image.LANCZOS)
    picture.convert("1").save(name + ".png")
"""


def photograph(wide: int, high: int, seed: int) -> Image.Image:
    """Soft shapes under noise, which is what makes a camera's file large."""
    chance = random.Random(seed)
    small = Image.frombytes("RGB", (24, 18), bytes(chance.randrange(256) for _ in range(24 * 18 * 3)))
    soft = small.resize((wide, high), Image.BICUBIC)
    noise = Image.effect_noise((wide, high), 60).convert("RGB")
    return Image.blend(soft, noise, 0.3)


# A process of its own: what is started from a large one is counted as large until it has begun.
PROBE = """
import resource, subprocess, sys, time
begun = time.perf_counter()
status = subprocess.run(sys.argv[1:], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL).returncode
print(status, time.perf_counter() - begun, resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024)
"""


def timed(command: list[str]) -> tuple[float, float]:
    """Seconds of the wall, and MiB at the peak, of the best of three."""
    best, peak = float("inf"), 0.0
    for _ in range(3):
        told = subprocess.run([sys.executable, "-c", PROBE, *command], capture_output=True, text=True, check=True).stdout.split()
        if told[0] != "0":
            sys.exit(f"{command[0]} ended with {told[0]}")
        best, peak = min(best, float(told[1])), max(peak, float(told[2]))
    return best, peak


def guide(folder: Path, names: list[str]) -> str:
    text = "# Photographs\n\n" + "\n".join(f"Step {name}.\n\n![{name}]({name})\n" for name in names)
    (folder / "guide.md").write_text(text, encoding="utf-8")
    return str(folder / "guide.md")


def main() -> None:
    program = str(Path(sys.argv[1]).resolve())
    count = int(sys.argv[2]) if len(sys.argv) > 2 else 28
    Image.MAX_IMAGE_PIXELS = None
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        names, pixels = [], 0
        for index in range(count):
            wide, high = SIZES[index % len(SIZES)]
            pixels += wide * high
            names.append(f"p{index:02}.jpg")
            photograph(wide, high, index).save(folder / names[-1], quality=90)
        size = sum((folder / name).stat().st_size for name in names)
        print(f"{count} photographs, {pixels / 1e6:.0f} Mpx, {size / 1e6:.0f} MB")
        manual = guide(folder, names)
        ours = timed([program, "proof", manual, "-o", str(folder / "strip.png")])
        theirs = timed([sys.executable, "-c", SCRIPT, *(str(folder / name) for name in names)])
        print(f"stripling proof  {ours[0]:.2f} s  {ours[1]:.0f} MiB")
        print(f"Pillow           {theirs[0]:.2f} s  {theirs[1]:.0f} MiB")
        print(f"ratio            {ours[0] / theirs[0]:.2f}")
        large = photograph(12000, 9000, 99)
        large.save(folder / "108.jpg", quality=90)
        # Under the limit of a file (64 MiB), or a refusal would be measured.
        large.resize((2900, 2175)).quantize(8).convert("RGB").resize((11600, 8700), Image.NEAREST).save(folder / "100.png", compress_level=1)
        assert (folder / "100.png").stat().st_size < 64 << 20 and (folder / "108.jpg").stat().st_size < 64 << 20
        large.crop((0, 0, 12000, 200)).resize((30000, 200)).save(folder / "long.png")
        for one in ["108.jpg", "100.png", "long.png"]:
            seconds, peak = timed([program, "proof", guide(folder, [one]), "-o", str(folder / "strip.png")])
            print(f"{one:16} {seconds:.2f} s  {peak:.0f} MiB  ({(folder / one).stat().st_size / 1e6:.0f} MB)")


if __name__ == "__main__":
    main()
