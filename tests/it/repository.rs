//! A made-up repository with each construct of FORMAT.md, "Guides written for something else", once.

use std::path::Path;
use std::process::{Command, Stdio};

use stripling::bitmap::Bitmap;

use crate::golden;

#[test]
fn a_guide_with_every_construct_looks_as_kept() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/repository");
    let out = tempfile::tempdir().expect("a folder");
    let (strip, map) = (out.path().join("strip.png"), out.path().join("map.json"));
    let output = Command::new(env!("CARGO_BIN_EXE_stripling"))
        .args(["proof", "docs/guide.md", "--project", ".", "--every"])
        .args([Path::new("-o"), &strip, Path::new("--map"), &map])
        .current_dir(&root)
        .env("NO_COLOR", "1")
        .stdin(Stdio::null())
        .output()
        .expect("the program runs");
    let told = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success() && !told.contains("error"), "{told}");
    let map = std::fs::read_to_string(map).expect("a map");
    for word in [
        "sidebar_position",
        "toc.html",
        "nothing of this",
        "Contributing",
        "lead",
        "badges",
        "relative_url",
        "!!!",
        ":::",
        "frame",
    ] {
        assert!(!map.contains(word), "{word:?} is on the strip");
    }
    for word in
        ["2026-11-20", "{{ site.title }}", "https://video.example/tea.webm", "https://reedbed.example/help", "An empty cup"]
    {
        assert!(map.contains(word), "{word:?} is not on the strip");
    }
    let picture = image::open(strip).expect("a picture").to_luma8();
    let mut bitmap = Bitmap::new(picture.width(), picture.height());
    for (x, y, pixel) in picture.enumerate_pixels() {
        bitmap.set(x as i32, y as i32, pixel.0[0] < 128);
    }
    golden::compare("layout/repository-80", &bitmap);
}
