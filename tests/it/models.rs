//! Figures drawn from models, as their user meets them: what cannot be used, and packages made to hurt.

use std::io::Write as _;
use std::process::Command;

use serde_json::Value;

use crate::manuals::Written;

/// Runs the program on a manual that shows the model: exit code, words, map.
fn proof(written: &Written) -> (i32, String, Value) {
    let folder = written.folder.path();
    let mut command = Command::new(env!("CARGO_BIN_EXE_stripling"));
    command.args(["proof", "manual.md", "-o", "manual.strip.png", "--map", "map.json"]).current_dir(folder);
    let done = command.output().expect("the program runs");
    let words =
        String::from_utf8_lossy(&done.stderr).replace(['\n', '\u{2502}'], " ").split_whitespace().collect::<Vec<_>>().join(" ");
    let map = std::fs::read(folder.join("map.json")).map_or(Value::Null, |map| serde_json::from_slice(&map).expect("JSON"));
    (done.status.code().expect("no signal"), words, map)
}

fn frames(map: &Value) -> Vec<String> {
    let boxes = map["boxes"].as_array().expect("boxes");
    let frames = boxes.iter().filter(|placed| placed["kind"] == "frame");
    frames.map(|placed| placed["text"].as_str().expect("text").to_string()).collect()
}

fn shown(model: &str) -> String {
    format!("# A\n\nB\n\n```figure\nmodel = \"{model}\"\nalt = \"A lid\"\ncaption = \"The lid\"\n```\n")
}

#[test]
fn a_model_that_cannot_be_used_is_a_frame_and_nothing_is_printed() {
    let text = shown("lid.stl") + "\n```assembly\nmodel = \"all.3mf\"\n[[step]]\nadd = [\"lid\"]\ntext = \"Put it on.\"\n```\n";
    let written = Written::new(text).with("all.3mf", "no package");
    let (code, words, map) = proof(&written);
    assert_eq!(code, 0, "{words}");
    let frames = frames(&map);
    assert_eq!(frames.len(), 2, "{frames:?}");
    assert!(frames[0].contains("lid.stl") && frames[0].contains("no such file"), "{frames:?}");
    assert!(frames[1].contains("all.3mf"), "{frames:?}");
    let encoded = Command::new(env!("CARGO_BIN_EXE_stripling"))
        .args(["encode", "manual.md", "-o", "manual.bin"])
        .current_dir(written.folder.path())
        .output()
        .expect("the program runs");
    let words = String::from_utf8_lossy(&encoded.stderr);
    assert_eq!(encoded.status.code(), Some(3), "{words}");
    assert!(words.contains("lid.stl") && words.contains("all.3mf"), "{words}");
}

/// A package of these files.
fn package(files: &[(&str, &[u8])]) -> Vec<u8> {
    let mut zip = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    for (name, bytes) in files {
        zip.start_file(*name, zip::write::SimpleFileOptions::default()).expect("begun");
        zip.write_all(bytes).expect("written");
    }
    zip.finish().expect("ended").into_inner()
}

const RELATIONS: &str = r#"<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r" Target="/3D/a.model" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>"#;

fn model(inside: &str) -> Vec<u8> {
    let model = format!("<model><resources>{inside}</resources><build><item objectid=\"1\"/></build></model>");
    package(&[("_rels/.rels", RELATIONS.as_bytes()), ("3D/a.model", model.as_bytes())])
}

#[test]
fn packages_made_to_hurt_are_refused_in_words() {
    let mesh = |inside: &str| model(&format!("<object id=\"1\" type=\"model\"><mesh>{inside}</mesh></object>"));
    // 200 MB of one text, of one attribute, of one comment, in a few hundred kilobytes.
    let long = |before: &str, after: &str| mesh(&format!("{before}{}{after}", " ".repeat(200 << 20)));
    let outside = RELATIONS.replace("Target=\"/3D", "TargetMode=\"External\" Target=\"https://example.com/3D");
    for (name, bytes, says) in [
        ("spaces", long("", ""), "no triangles"),
        ("attribute", long("<vertex x=\"", "\"/>"), "damaged"),
        ("comment", long("<!--", "-->"), "lid.3mf"),
        ("outside", package(&[("_rels/.rels", outside.as_bytes())]), "outside the package"),
        (
            "climbing",
            package(&[("_rels/.rels", RELATIONS.replace("/3D/a.model", "/../../etc/passwd").as_bytes())]),
            "not in its package",
        ),
        ("a file that is not there", package(&[("_rels/.rels", RELATIONS.as_bytes())]), "not in its package"),
        ("itself", model("<object id=\"1\"><components><component objectid=\"1\"/></components></object>"), "hold each other"),
        (
            "numbers",
            mesh(
                "<vertices><vertex x=\"1e999\" y=\"0\" z=\"0\"/></vertices><triangles><triangle v1=\"0\" v2=\"9\" v3=\"4294967295\"/></triangles>",
            ),
            "lid.3mf",
        ),
        (
            "a document type",
            package(&[("_rels/.rels", RELATIONS.as_bytes()), ("3D/a.model", b"<!DOCTYPE a [<!ENTITY b \"c\">]><model/>")]),
            "document type",
        ),
    ] {
        let written = Written::new(shown("lid.3mf")).with("lid.3mf", bytes);
        let (code, words, map) = proof(&written);
        assert_eq!(code, 0, "{name}: {words}");
        assert!(words.contains(says), "{name}: {words}");
        assert_eq!(frames(&map).len(), 1, "{name}");
    }
}
