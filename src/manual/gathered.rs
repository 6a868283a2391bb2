//! What `gather` brought in: the lock file beside the manual, from web addresses to files made from their content. Knows no network.
//!
//! It is sorted by address and holds no date, so that it can be committed and two machines write the same bytes.

use std::collections::BTreeMap;

use serde::Deserialize;
use sha2::{Digest, Sha256};

/// The folder beside the manual that gathered pictures lie in.
pub const FOLDER: &str = "gathered";
/// The lock file, beside that folder.
pub const LOCK: &str = "gathered.toml";
/// Largest lock file read, bytes.
pub const LARGEST_LOCK: u64 = 4 << 20;

const VERSION: i64 = 1;
const HEAD: &str =
    "# Written by `stripling gather`: pictures at web addresses and the files that hold them. Commit it with its folder.\n";

/// One picture.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    /// Name inside [`FOLDER`].
    pub file: String,
    /// In hexadecimal, 64 digits.
    pub sha256: String,
    /// `png`, `jpeg`, `webp`, `gif` or `svg`, told from its bytes.
    pub kind: String,
}

/// The whole lock file, by address.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Lock {
    pub pictures: BTreeMap<String, Entry>,
}

#[derive(Deserialize)]
struct Written {
    version: toml::Spanned<i64>,
    #[serde(default)]
    picture: Vec<toml::Spanned<Picture>>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Picture {
    address: String,
    file: String,
    sha256: String,
    kind: String,
}

impl Lock {
    /// Reads a lock file.
    ///
    /// # Errors
    /// In words, with the line: not TOML, of a newer version, or with an entry that no `gather` writes.
    pub fn read(text: &str) -> Result<Lock, String> {
        let line = |at: usize| text.get(..at).unwrap_or(text).matches('\n').count() + 1;
        let written: Written = toml::from_str(text).map_err(|error| {
            let at = error.span().map_or(1, |span| line(span.start));
            format!("line {at}: {}", error.message().lines().next().unwrap_or_default())
        })?;
        let (version, at) = (*written.version.get_ref(), line(written.version.span().start));
        if version != VERSION {
            return Err(format!("line {at}: it is of version {version}, and this program knows version {VERSION}"));
        }
        let mut lock = Lock::default();
        for picture in written.picture {
            let at = line(picture.span().start);
            let Picture { address, file, sha256, kind } = picture.into_inner();
            if !is_web(&address) || address.chars().any(char::is_control) {
                return Err(format!("line {at}: `address` is no web address"));
            }
            let plain = |letter: char| letter.is_ascii_alphanumeric() || matches!(letter, '.' | '-' | '_');
            if file.is_empty() || file.starts_with('.') || !file.chars().all(plain) {
                return Err(format!("line {at}: `file` is no plain name of a file in {FOLDER}/"));
            }
            if sha256.len() != 64 || !sha256.bytes().all(|digit| matches!(digit, b'0'..=b'9' | b'a'..=b'f')) {
                return Err(format!("line {at}: `sha256` is not 64 digits of 0-9, a-f"));
            }
            if lock.pictures.insert(address.clone(), Entry { file, sha256, kind }).is_some() {
                return Err(format!("line {at}: {address:?} stands in it twice"));
            }
        }
        Ok(lock)
    }

    /// The file, the same for the same pictures.
    pub fn write(&self) -> String {
        let mut text = format!("{HEAD}version = {VERSION}\n");
        for (address, Entry { file, sha256, kind }) in &self.pictures {
            let quoted = toml::Value::from(address.as_str());
            text.push_str(&format!(
                "\n[[picture]]\naddress = {quoted}\nfile = \"{file}\"\nsha256 = \"{sha256}\"\nkind = \"{kind}\"\n"
            ));
        }
        text
    }
}

/// Whether a picture's address is one that only `gather` may ask for.
pub fn is_web(address: &str) -> bool {
    let begins = |scheme: &str| address.get(..scheme.len()).is_some_and(|head| head.eq_ignore_ascii_case(scheme));
    begins("https://") || begins("http://") || address.starts_with("//")
}

/// SHA-256 of a file's bytes, in hexadecimal.
pub fn digest(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn entry(digit: char) -> Entry {
        Entry { file: format!("{digit}.png"), sha256: digit.to_string().repeat(64), kind: "png".into() }
    }

    #[test]
    fn what_is_written_is_read_and_sorted() {
        let mut lock = Lock::default();
        for (address, digit) in
            [("https://example.org/b\"\\.png", 'b'), ("//example.org/a.png", 'a'), ("http://a/é.svg?x=1", 'b')]
        {
            lock.pictures.insert(address.into(), entry(digit));
        }
        let text = lock.write();
        assert_eq!(Lock::read(&text), Ok(lock.clone()));
        assert_eq!(Lock::read(&text).expect("read").write(), text);
        let places: Vec<usize> =
            ["//example", "http://a", "https://example"].map(|part| text.find(part).expect("there")).to_vec();
        assert!(places.is_sorted(), "{text}");
    }

    #[test]
    fn what_no_gather_writes_is_refused_with_its_line() {
        let sha = "a".repeat(64);
        let entry = |address: &str, file: &str, sha: &str| {
            format!("version = 1\n[[picture]]\naddress = \"{address}\"\nfile = \"{file}\"\nsha256 = \"{sha}\"\nkind = \"png\"\n")
        };
        let twice = entry("https://a/b", "b.png", &sha);
        let twice = format!("{twice}{}", twice.replace("version = 1\n", ""));
        for (text, says) in [
            ("version = 2\n".to_string(), "line 1: it is of version 2"),
            ("\nversion = 1\npicture = 3\n".into(), "line 3: "),
            ("picture = []\n".into(), "version"),
            ("version = \n".into(), "line 1: "),
            (entry("https://a/b", "../b.png", &sha), "line 2: `file` is no plain name"),
            (entry("https://a/b", "b/c.png", &sha), "`file`"),
            (entry("https://a/b", ".b", &sha), "`file`"),
            (entry("https://a/b", "b.png", &sha[1..]), "`sha256`"),
            (entry("file:///etc/passwd", "b.png", &sha), "`address`"),
            (entry("https://a/\\u0007", "b.png", &sha), "`address`"),
            (twice, "stands in it twice"),
        ] {
            let told = Lock::read(&text).expect_err(&text);
            assert!(told.contains(says) && !told.contains('\n'), "{says:?} is not in {told:?}");
        }
    }
}
