//! The examples of the CommonMark specification, 0.31: whatever Markdown says, the manual says.
//!
//! The examples come with the published crate `pulldown-cmark`, which carries them as its own tests, made from spec.txt by its
//! build. Nothing has to be fetched, nothing of the specification is copied here.

use std::path::PathBuf;
use std::process::Command;

use stripling::manual::{parse, read_text};

/// One example of the specification.
pub struct Example {
    /// As spec.txt numbers it.
    pub number: usize,
    pub markdown: String,
    pub html: String,
}

/// All examples, in order.
pub fn examples() -> Vec<Example> {
    let suite = suite();
    let text = std::fs::read_to_string(&suite).unwrap_or_else(|error| panic!("{}: {error}", suite.display()));
    let mut raw = text.split("r##\"").skip(1).map(|rest| rest.split("\"##").next().unwrap().to_owned());
    let mut examples = Vec::new();
    while let (Some(markdown), Some(html)) = (raw.next(), raw.next()) {
        // A first line of +++ opens our header; an empty line before it keeps it what the specification means.
        let markdown = if markdown.starts_with("+++\n") { format!("\n{markdown}") } else { markdown };
        examples.push(Example { number: examples.len() + 1, markdown, html });
    }
    examples
}

/// Where the crate's tests lie. Cargo tells, without going to the network; it knows the crates of this platform only.
fn suite() -> PathBuf {
    let host = cargo(&["-vV"]);
    let host = host.lines().find_map(|line| line.strip_prefix("host: ")).unwrap();
    let manifest = concat!(env!("CARGO_MANIFEST_DIR"), "/Cargo.toml");
    let told =
        ["metadata", "--format-version", "1", "--offline", "--locked", "--filter-platform", host, "--manifest-path", manifest];
    let metadata: serde_json::Value = serde_json::from_str(&cargo(&told)).unwrap();
    let packages = metadata["packages"].as_array().unwrap();
    let package = packages.iter().find(|package| package["name"] == "pulldown-cmark").unwrap();
    let manifest = PathBuf::from(package["manifest_path"].as_str().unwrap());
    manifest.with_file_name("tests").join("suite/spec.rs")
}

fn cargo(arguments: &[&str]) -> String {
    let output = Command::new(env!("CARGO")).args(arguments).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

fn shown(html: &str) -> String {
    let mut shown = html.to_owned();
    for name in ["script", "style"] {
        let (open, close) = (format!("<{name}"), format!("</{name}>"));
        while let Some(from) = shown.find(&open) {
            let to = shown[from..].find(&close).map_or(shown.len(), |at| from + at + close.len());
            shown.replace_range(from..to, " ");
        }
    }
    let opens = |at: usize| shown[at + 1..].starts_with(|c: char| c.is_ascii_alphabetic());
    let unclosed = shown.match_indices('<').map(|(at, _)| at).find(|&at| opens(at) && end_of_tag(&shown[at..]).is_none());
    shown.truncate(unclosed.unwrap_or(shown.len()));
    shown
}

/// The words between the tags of HTML that a browser shows: nothing of scripts and styles, nothing after a tag that never ends
/// (WHATWG HTML, 13.2.5: the end of a file inside a tag leaves the tag out).
pub fn words(html: &str) -> Vec<String> {
    let mut text = String::new();
    let shown = shown(html);
    let mut rest = shown.as_str();
    while let Some(at) = rest.find('<') {
        text.push_str(&rest[..at]);
        rest = &rest[at..];
        let end = match rest {
            comment if comment.starts_with("<!--") => comment[2..].find("-->").map(|at| at + 5),
            data if data.starts_with("<![CDATA[") => {
                text.push_str(data[9..].split("]]>").next().unwrap());
                data.find("]]>").map(|at| at + 3)
            }
            code if code.starts_with("<?") => code.find("?>").map(|at| at + 2),
            tag if tag[1..].starts_with(|c: char| c.is_ascii_alphabetic() || matches!(c, '/' | '!')) => end_of_tag(tag),
            _ => None,
        };
        match end {
            Some(end) => rest = &rest[end..],
            None => {
                text.push('<');
                rest = &rest[1..];
            }
        }
    }
    text.push_str(rest);
    let text = text.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"").replace("&amp;", "&");
    text.split_whitespace().map(str::to_owned).collect()
}

fn end_of_tag(tag: &str) -> Option<usize> {
    let mut quote = None;
    for (at, character) in tag.char_indices() {
        match (character, quote) {
            ('"' | '\'', None) => quote = Some(character),
            (character, Some(open)) if character == open => quote = None,
            ('>', None) => return Some(at + 1),
            _ => {}
        }
    }
    None
}

/// The first of `wanted` that does not stand in `found` after those before it.
pub fn first_lost<'w>(wanted: &'w [String], found: &[String]) -> Option<&'w str> {
    let mut found = found.iter();
    wanted.iter().find(|word| !found.by_ref().any(|other| other == *word)).map(String::as_str)
}

#[test]
fn every_example_keeps_its_words_in_order() {
    // CommonMark 0.31 spec.txt (CHECKS.md, "Type"): every example's text survives, no panic.
    let examples = examples();
    assert_eq!(examples.len(), 652);
    let mut lost = Vec::new();
    let mut count = 0;
    for example in &examples {
        let source = read_text("example.md", &example.markdown).unwrap_or_else(|error| panic!("{}: {error}", example.number));
        let document = parse(&source).unwrap_or_else(|error| panic!("{}: {error}", example.number));
        let wanted = words(&example.html);
        count += wanted.len();
        if let Some(word) = first_lost(&wanted, &document.words()) {
            lost.push(format!("example {}: {word:?} of {:?} is not in {:?}", example.number, example.markdown, document.text()));
        }
    }
    assert!(count > 1_300, "{count} words are too few for the whole specification");
    assert!(lost.is_empty(), "{} examples lose words:\n{}", lost.len(), lost.join("\n"));
}

#[test]
fn a_lost_word_and_two_that_changed_places_are_told() {
    let all = |text: &str| text.split(' ').map(str::to_owned).collect::<Vec<_>>();
    assert_eq!(words("<p class=\"a>b\">One<br />\n<!-- not --><em>t</em>wo &amp; 1 &lt; 2</p>"), all("One two & 1 < 2"));
    assert_eq!(first_lost(&all("a b"), &all("x a y b")), None);
    assert_eq!(first_lost(&all("a b"), &all("b a")), Some("b"));
    assert_eq!(first_lost(&all("a a"), &all("a b")), Some("a"));
}
