//! The keys that a header can have.

/// A key of the header.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Key {
    /// Name of the table it stands in, empty for the header itself.
    pub table: &'static str,
    pub name: &'static str,
    /// A value as TOML.
    pub example: &'static str,
    /// What it is for, in a sentence.
    pub about: &'static str,
}

const fn key(table: &'static str, name: &'static str, example: &'static str, about: &'static str) -> Key {
    Key { table, name, example, about }
}

/// Every key of the header, in the order a writer would put them.
pub const KEYS: &[Key] = &[
    key("", "title", r#""Heron""#, "The title, when the manual has no `#` of its own."),
    key("", "subtitle", r#""Quick-start guide""#, "Set under the title."),
    key("", "document", r#""HRN-QS""#, "Document number, printed with the revision at the end of the strip."),
    key("", "revision", r#""C""#, "Revision of the document."),
    key("", "issued", "2026-11-20", "Date of this revision."),
    key("", "language", r#""en""#, "BCP 47 tag; decides hyphenation, signal words and fixed words."),
    key("", "paper", r#""80 mm""#, "Picks the generic printer of that width; `--printer` overrides it."),
    key("", "fold", r#""100 mm""#, "Pitch of the zigzag fold; left out, the strip is one unfolded ribbon."),
    key("", "style", r#""plain""#, "`plain`, `comic`, `compact`, or the path of a style file (TOML)."),
    key("", "durable_copy", r#""https://example.com/heron""#, "Where the lasting copy is: thermal print fades."),
    key("", "translations", r#"["de", "fr"]"#, "Languages of the other manuals that go into the same box."),
    key("product", "maker", r#""Reedbed Works""#, "Who makes it."),
    key("product", "address", r#""1 Reed Lane, Fenton""#, "Postal address of the maker."),
    key("product", "contact", r#""help@reedbed.example""#, "Electronic address of the maker: e-mail or web."),
    key("product", "model", r#""HRN-1""#, "Model or type of the product."),
    key("product", "purpose", r#""Dips one tea bag in one cup.""#, "What the product is for, in a sentence."),
    key("product", "hazards", r#"["hot-liquid", "pinch"]"#, "Hazards of the product, each by the name of its sign."),
    key("product", "supply", r#"{ volts = 5.0, amps = 2.0, kind = "dc" }"#, "What it runs on; `kind` is `dc` or `ac`."),
    key("product", "markets", r#"["EU", "US"]"#, "Where it is sold."),
    key("product", "radio", "false", "Whether it holds a radio."),
    key("product", "restricted", r#"["FR"]"#, "States in which its radio may not be used everywhere, or only with a licence."),
    key("product", "battery", r#""rechargeable""#, "`cells`, `button-cell` or `rechargeable`."),
    key("product", "charging", "{ least_watts = 2.5, most_watts = 10, usb_pd = false }", "Of the kinds with the common charger."),
    key("product", "emissions", r#""B""#, "Class of its electromagnetic emissions, `A` or `B`, or `exempt`."),
    key("product", "software", "true", "Whether it holds software and can be joined to a network or another device."),
    key("product", "toy", "true", "Whether it is a toy."),
    key("product", "eu_responsible", r#""Marsh Agents, 2 Quay, Cork, Ireland""#, "Who answers for it in the EU: name, address."),
    key("product", "importer", r#""Marsh Imports, 3 Quay, Cork, Ireland""#, "Who brings it into the EU: name, address."),
    key("product", "uk_importer", r#""Fen Imports, 4 Fen Road, Ely, UK""#, "Who brings it into the UK: name, address."),
    key(
        "product",
        "us_responsible",
        r#""Creek Imports, 5 Creek Road, Salem, OR 97301, USA""#,
        "Who answers for its emissions in the US: name, address.",
    ),
    key("supply", "volts", "5.0", "Voltage."),
    key("supply", "amps", "2.0", "Current."),
    key("supply", "kind", r#""dc""#, "`dc` or `ac`."),
    key("charging", "least_watts", "2.5", "Power that a charger has to give at least."),
    key("charging", "most_watts", "10", "Power with which it charges fastest."),
    key("charging", "usb_pd", "true", "Whether it takes USB Power Delivery."),
    key("paper", "width", r#""80 mm""#, "The same as `paper` alone."),
    key("paper", "phenol_free", "true", "Whether the thermal paper is free of phenols (bisphenols)."),
    key("units", "key", r#""serial""#, "The column of the units file whose value names a unit; else the first column."),
    key(
        "copy",
        "unit",
        r#""see your strip""#,
        "What the lasting copy says in place of a unit's values; else these words in the document's language.",
    ),
    key("box", "size", "[90, 60, 40]", "Room inside the box in mm: length, width, height."),
    key(
        "words",
        "danger",
        r#""GEFAHR""#,
        "The signal word of the first grade. Each language's words are given in the table of the program; a word of your own wins.",
    ),
    key("words", "warning", r#""WARNUNG""#, "The second."),
    key("words", "caution", r#""VORSICHT""#, "The third."),
    key("words", "notice", r#""ACHTUNG""#, "Of damage alone."),
    key("words", "note", r#""Hinweis""#, "Heads `[!NOTE]`."),
    key("words", "tip", r#""Tipp""#, "Heads `[!TIP]`."),
    key("words", "important", r#""Wichtig""#, "Heads `[!IMPORTANT]`."),
    key("words", "figure", r#""Abb.""#, "Before a figure's number; `{n}` says where else the number stands: `{n}. ábra`."),
    key("words", "revision", r#""Stand""#, "Before the revision, or with `{n}`."),
    key("words", "responsible", r#""Verantwortliche Person""#, "Who answers for the product."),
    key("words", "importer", r#""Einführer""#, "Who brings it in."),
    key("words", "durable_copy", r#""Dauerhafte Fassung:""#, "Before the address of the lasting copy."),
    key("words", "contents", r#""Inhalt""#, "Heads the list of sections of the lasting copy."),
    key("words", "skip", r#""Zum Text""#, "The link past that list."),
    key("words", "strip", r#""siehe Streifen""#, "Stands for a unit's own value on the lasting copy."),
    key("words", "red", r#""rot""#, "Beside a lamp."),
    key("words", "yellow", r#""gelb""#, "Beside a lamp."),
    key("words", "green", r#""grün""#, "Beside a lamp."),
    key("words", "blue", r#""blau""#, "Beside a lamp."),
    key("words", "white", r#""weiß""#, "Beside a lamp."),
    key("preflight", "allow", r#"["reverse-type-small"]"#, "Rules the writer has decided about: names, or `{ rule, reason }`."),
    key("preflight", "reason", r#""Checked on paper.""#, "Why those rules without a reason of their own are allowed."),
];

/// Whether a name is one that the header itself has.
pub(in crate::manual) fn is_key(name: &str) -> bool {
    known("").contains(&name)
}

/// Tables that stand in `[product]`.
pub(super) const INNER: [&str; 2] = ["supply", "charging"];

/// Tables with names of the writer's own choosing for keys.
const OPEN_TABLES: &[(&str, &str)] = &[(
    "faces",
    "`[faces]`: language or script tag to a font file, as in `ja = \"NotoSansJP.otf\"`; or `title`, `sans`, `mono`, `lettering`",
)];

/// The names of the keys of a table, and of the tables that stand in it.
pub(super) fn known(table: &str) -> Vec<&'static str> {
    let mut names: Vec<&str> = KEYS.iter().filter(|key| key.table == table).map(|key| key.name).collect();
    if table.is_empty() {
        for key in KEYS {
            if !key.table.is_empty() && !INNER.contains(&key.table) && !names.contains(&key.table) {
                names.push(key.table);
            }
        }
        names.extend(OPEN_TABLES.iter().map(|(name, _)| *name));
    }
    names
}
