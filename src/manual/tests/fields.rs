//! Fields: values are text for ever, names are known, templates end.

use std::time::{Duration, Instant};

use proptest::prelude::*;

use super::super::document::{Document, InlineKind, Kind, Picture};
use super::super::source::Source;
use super::super::{Error, Folder, Run, Template, Unit, Units, parse};
use super::{sketch, told};

fn units(text: &str) -> Units {
    Units::read(text.as_bytes(), "units.csv").unwrap()
}

fn unit() -> Unit {
    units("serial,plug,serial number\nHRN-0001,UK,77\n").row(1).unwrap().clone()
}

fn fill_files(files: &[(&str, &str)], unit: Option<&Unit>) -> Result<Source, Error> {
    let folder = Folder::of_files(files.iter().map(|(name, text)| (*name, text.as_bytes())));
    Template::load(&folder, "manual.md")?.fill(unit, &Run { date: "2026-11-20".into(), number: 3 })
}

fn fill(text: &str) -> Result<Document, Error> {
    parse(&fill_files(&[("manual.md", text)], Some(&unit()))?)
}

fn read(text: &str) -> String {
    match fill(text) {
        Ok(document) => sketch(&document.blocks),
        Err(error) => panic!("{}", told(&error)),
    }
}

fn failure(text: &str) -> String {
    match fill(text) {
        Ok(document) => panic!("filled without complaint: {}", sketch(&document.blocks)),
        Err(error) => told(&error),
    }
}

fn hint(text: &str) -> String {
    fill(text).unwrap_err().hint().unwrap_or_default()
}

#[test]
fn values_are_filled_in_text_keys_links_and_fences() {
    assert_eq!(read("Unit {{ unit.serial }}, run {{ run.number }} of {{ run.date }}"), "p(Unit HRN-0001, run 3 of 2026-11-20)");
    assert_eq!(read("`{{ unit.serial }}` **{{ unit[\"serial number\"] }}**"), "p(<HRN-0001> *77*)");
    assert_eq!(read("[x](https://a.example/{{ unit.serial }})"), "p({x^1}) notes[1 https://a.example/HRN-0001]");
    assert_eq!(read("![{{ unit.plug }}](plug-{{ unit.plug|lower }}.png)"), "figure(plug-uk.png \"UK\" )");
    assert_eq!(read("```barcode\ndata = \"{{ unit.serial }}\"\n```"), "barcode(Code128 \"HRN-0001\")");
    assert_eq!(read("```qr\nhttps://a.example/?s={{ unit.serial }}\n```"), "qr(\"https://a.example/?s=HRN-0001\")");
    assert_eq!(read("```\n{{ unit.serial }}\n```"), "code(\"HRN-0001\")");
    let figure = "```figure\npicture = \"{{ unit.plug }}.png\"\nalt = \"{{ unit.plug }}\"\nwidth = \"{{ 60 }} mm\"\n```";
    assert_eq!(read(figure), "figure(UK.png \"UK\" )");
}

#[test]
fn conditions_and_filters_see_the_real_values() {
    assert_eq!(read("{% if unit.plug == \"UK\" %}yes{% else %}no{% endif %}"), "p(yes)");
    assert_eq!(read("{{ unit.serial|lower|replace(\"hrn\", \"unit\") }} {{ unit.serial ~ \"!\" }}"), "p(unit-0001 HRN-0001!)");
    assert_eq!(read("{{ unit[\"serial number\"]|int + 1 }}"), "p(78)");
    assert_eq!(read("{% for n in range(3) %}\n- {{ n }}\n{% endfor %}\n"), "bullets[p(0) | p(1) | p(2)]");
    assert_eq!(read("{% set who = unit.plug|lower %}\n{{ who }}"), "p(uk)");
}

/// Outside values: DIN 5008 (26. November 2026; groups of three), the house styles of the European Union for French, the Japanese era-free
/// form, all from memory.
#[test]
fn dates_and_numbers_are_written_as_the_language_does() {
    let said = |language: &str, field: &str| {
        let text = format!("+++\nlanguage = \"{language}\"\n+++\nA {{{{ {field} }}}} B");
        let said = read(&text);
        said.trim_start_matches("p(A ").trim_end_matches(" B)").replace(['\u{A0}', '\u{202F}'], " ")
    };
    for (language, date) in [
        ("en", "November 20, 2026"),
        ("en-GB", "20 November 2026"),
        ("de", "20. November 2026"),
        ("fr", "20 novembre 2026"),
        ("pl", "20 listopada 2026"),
        ("ja", "2026\u{5E74}11\u{6708}20\u{65E5}"),
    ] {
        assert_eq!(said(language, "run.date | date"), date, "{language}");
    }
    assert_eq!(said("de", "run.date | date(\"short\")"), "20.11.26");
    for (language, number) in [("en", "12,345.50"), ("de", "12.345,50"), ("fr", "12 345,50")] {
        assert_eq!(said(language, "\"12345.50\" | number"), number, "{language}");
    }
    assert_eq!(said("de", "2.345 | number(1)"), "2,3");
    assert_eq!(said("de", "0.25 | number(1)"), "0,3");
    assert!(failure("{{ \"20.11.2026\" | date }}").contains("no date"));
    assert!(hint("{{ \"20.11.2026\" | date }}").contains("2026-11-26"));
    assert!(failure("{{ run.date | date(\"huge\") }}").contains("no length"));
    assert!(failure("{{ unit.serial | number }}").contains("no number"));
}

#[test]
fn what_the_engine_does_not_do_has_a_hint() {
    assert!(hint("{{ unit.serial.split(\"-\") }}").contains("|split"));
    assert!(hint("{{ unit.serial | dat }}").contains("did you mean `date`?"));
    assert!(hint("{{ unit.serial | zzzzzz }}").contains("there are abs"));
    let compared = failure("{% if unit.serial > 1300 %}big{% endif %}");
    assert!(compared.contains("`unit.serial` is text"), "{compared}");
    assert!(hint("Text\n\n{% if unit.serial > 1300 %}big{% endif %}").contains("unit.serial|float > 1300"));
}

#[test]
fn a_column_may_have_letters_of_any_language() {
    let table = units("serial,Prüfer\nA1,Reiher\n");
    let source = fill_files(&[("manual.md", "+++\n+++\nVon {{ unit.Prüfer }}.")], table.row(1)).unwrap();
    assert_eq!(sketch(&parse(&source).unwrap().blocks), "p(Von Reiher.)");
}

#[test]
fn a_line_of_tags_leaves_no_gap() {
    let table = "| a | b |\n|---|---|\n{% for n in range(2) %}\n| {{ n }} | x |\n{% endfor %}\n| z | y |\n";
    assert_eq!(read(table), "table[a, b / 0, x / 1, x / z, y]");
    assert_eq!(read("one {% if true %}two{% endif %}\nthree"), "p(one two/three)");
}

#[test]
fn captured_text_is_the_writers_own_markup_with_literal_values() {
    let macro_ = "{% macro key(name) %}**{{ name }}** `{{ name }}`{% endmacro %}\n{{ key(\"*\" ~ unit.plug) }}";
    assert_eq!(read(macro_), "p(**UK* <*UK>)");
    assert_eq!(read("{% set x %}*{{ unit.plug }}*{% endset %}{{ x }} {{ x ~ \"*b*\" }}"), "p(_UK_ _UK_*b*)");
    assert!(failure("{{ unit.serial|safe }}").contains("filter"), "{}", failure("{{ unit.serial|safe }}"));
}

#[test]
fn the_header_is_filled_first_and_then_known_as_document() {
    let text = "+++\ntitle = \"Heron {{ unit.serial }}\"\n[product]\nmarkets = [\"EU\", \"US\"]\nsupply = { volts = 5.0 }\n+++\n\
                {{ document.title }}, {{ document.product.markets|join(\" + \") }}, {{ document.product.supply.volts }} V{{ document.subtitle }}";
    assert_eq!(read(text), "p(Heron HRN-0001, EU + US, 5 V)");
    assert_eq!(fill(text).unwrap().header.title.as_deref(), Some("Heron HRN-0001"));
    let text = "+++\n{% if unit.plug == \"UK\" %}\nlanguage = \"en\"\n{% else %}\nlanguage = \"de\"\n{% endif %}\n+++\n{{ document.language }}";
    assert_eq!(read(text), "p(en)");
}

#[test]
fn unknown_fields_are_errors_that_name_the_known_ones() {
    assert_eq!(failure("a\n\n  b {{ unit.seral }}"), "manual.md:3:8 there is no field `unit.seral`");
    assert_eq!(hint("{{ unit.seral }}"), "did you mean `unit.serial`? there are unit.serial, unit.plug, unit[\"serial number\"]");
    assert!(failure("{{ document.titel }}").ends_with("there is no field `document.titel`"));
    assert!(hint("{{ document.product.makers }}").starts_with("did you mean `document.product.maker`?"));
    assert!(failure("{{ run.day }}").ends_with("there is no field `run.day`"));
    assert_eq!(failure("x {{ serial }}"), "manual.md:1:6 `serial` has no value");
    assert!(hint("{{ serial }}").starts_with("did you mean `unit.serial`?"), "{}", hint("{{ serial }}"));
    assert!(failure("{% if unit.plugg == \"UK\" %}{% endif %}").ends_with("there is no field `unit.plugg`"));
    assert!(failure("{{ unit }}").contains("not one value"));
    assert!(failure("+++\ntitle = \"{{ document.revision }}\"\n+++\n").contains("not known yet in the header"));
}

#[test]
fn without_units_their_fields_say_so() {
    let without = |text: &str| fill_files(&[("manual.md", text)], None);
    let error = without("+++\n+++\n{{ unit.serial }}").unwrap_err();
    assert_eq!(told(&error), "manual.md:3:4 `unit.serial` has no value: no units were given");
    let document = parse(&without("+++\n+++\n{% if unit %}{{ unit.serial }}{% else %}blank{% endif %}").unwrap()).unwrap();
    assert_eq!(sketch(&document.blocks), "p(blank)");
}

#[test]
fn a_guide_without_a_header_of_ours_is_a_template_only_when_there_are_units() {
    let text = "{% if unit %}\nSee {{ page.title }}\n";
    let document = parse(&fill_files(&[("manual.md", text)], None).unwrap()).unwrap();
    assert_eq!(sketch(&document.blocks), "p(See {{ page.title }})");
    assert!(fill_files(&[("manual.md", text)], Some(&unit())).is_err());
    assert_eq!(read("---\ntitle: \"{{ a }}\"\n---\n{{ unit.serial }}"), "p(HRN-0001)");
}

#[test]
fn broken_templates_are_errors_at_their_place() {
    assert!(failure("a\nb {{ unit.serial").starts_with("manual.md:2:"), "{}", failure("a\nb {{ unit.serial"));
    assert!(failure("a\n{% if true %}\nb").contains("cannot be read as a field or a condition"));
    assert!(failure("a\n{{ unit.serial|uper }}").starts_with("manual.md:2:"), "{}", failure("a\n{{ unit.serial|uper }}"));
    assert_eq!(
        failure("+++\nfold = {{ unit.plug }}\n+++\n"),
        "manual.md:2:11 this is not TOML: string values must be quoted, expected literal string"
    );
    assert_eq!(hint("```figure\nwidth = {{ unit.plug }}\n```"), "a field's value is always text: put the field in quotes");
}

#[test]
fn includes_stay_in_the_folder_and_are_named_by_the_writer() {
    let include =
        |name: &str| fill_files(&[("manual.md", &format!("x\n{{% include \"{name}\" %}}"))], Some(&unit())).unwrap_err();
    assert_eq!(told(&include("no.md")), "manual.md:2:4 \"no.md\" cannot be read: there is no such file");
    assert!(told(&include("../a.md")).ends_with("its path climbs out of the project"));
    assert!(told(&include("/etc/passwd")).ends_with("there is no such file"));
    assert_eq!(
        failure("a {% include unit.plug %}"),
        "manual.md:1:3 a file is included by its name in quotes and by nothing else"
    );
    let inner = fill_files(&[("manual.md", "{% include \"a.md\" %}"), ("a.md", "1\n{{ unit.no }}")], Some(&unit())).unwrap_err();
    assert_eq!(told(&inner), "a.md:2:4 there is no field `unit.no`");
    let inner = fill_files(&[("manual.md", "{% include \"a.md\" %}"), ("a.md", "1\n2 \0")], Some(&unit())).unwrap_err();
    assert_eq!(told(&inner), "a.md:2:3 the character U+0000 cannot stand in a manual");
    let unnamed =
        fill_files(&[("manual.md", "{% include \"a.md\" %}"), ("a.md", "\n{% include unit.plug %}")], Some(&unit())).unwrap_err();
    assert_eq!(told(&unnamed), "a.md:2:1 a file is included by its name in quotes and by nothing else");
}

#[test]
fn templates_that_never_end_are_stopped() {
    let stopped = |text: &str, complaint: &str| {
        let begun = Instant::now();
        let error = told(&fill_files(&[("manual.md", text), ("a.md", text)], Some(&unit())).unwrap_err());
        assert!(error.contains(complaint), "{error}");
        assert!(begun.elapsed() < Duration::from_secs(60), "{:?} for {text}", begun.elapsed());
    };
    stopped("a\n{% for a in range(10000) %}{% for b in range(10000) %}x{% endfor %}{% endfor %}", "takes too long");
    stopped("{% for a in range(10000) %}{{ \"x\" * 10000 }}{% endfor %}", "takes too long");
    stopped(
        "{% set ns = namespace(t=\"x\") %}{% for a in range(100) %}{% set ns.t = ns.t ~ ns.t %}{% endfor %}",
        "takes too long",
    );
    stopped("{{ range(1000000000)|list|length }}", "manual.md:1:");
    stopped("{% macro m() %}{{ m() }}{{ m() }}{% endmacro %}{{ m() }}", "manual.md:1:");
    stopped("x{% include \"manual.md\" %}", "manual.md:1:5 files include one another too deeply here");
    stopped("{% include \"a.md\" %}{% include \"a.md\" %}", "files include one another too deeply here");
    stopped("{% set x = \"y\" * 50000 %}{% for a in range(200) %}{{ x }}{% endfor %}", "bytes, more than");
}

#[test]
fn a_value_can_make_no_safety_message_and_no_task() {
    let units = units("word,tick\nWARNING,[x]\n");
    let text = "> **{{ unit.word }}** hot\n\n- {{ unit.tick }} done\n\n```{{ unit.word }}\nx\n```\n";
    let source = fill_files(&[("manual.md", text)], units.row(1)).unwrap();
    let document = parse(&source).unwrap();
    assert_eq!(sketch(&document.blocks), "aside[p(*WARNING* hot)] bullets[p([x] done)] code(\"x\")");
}

/// A manual with a field in every place that text can stand in. `{}` becomes the field.
const EVERYWHERE: &str = "+++\ntitle = \"{}\"\nsubtitle = '{}'\n[product]\nmaker = \"\"\"\n{}\"\"\"\n+++\n\
# {}\n\n{}\n\n## A {} b\n\n- {}\n- [ ] {}\n\n1. {}\n\n   {}\n\n> {}\n\n> **WARNING** {}\n\n`{}` `` a{}b `` **{}** *{}* ~~{}~~ <kbd>{}</kbd>\n\n\
| {} | b |\n|---|---|\n| c | {} |\n\n{}\n: {}\n\n[{}](https://a.example/{})[^n]\n\n[^n]: {}\n\n![{}](pic.png \"{}\") and ![alone](x.png)\n\n\
![{}](alone.png)\n\n    code {}\n\n```\n{}\n```\n\n<div>\n{}\n</div>\n\n\
```figure\npicture = \"p.png\"\nalt = \"{}\"\ncaption = '{}'\ncallouts = [{ at = [1, 1], label = \"{}\" }]\n```\n\n\
```comic\n[[panel]]\ncaption = \"{}\"\n[[panel.balloon]]\ntext = \"{}\"\nat = [1, 1]\n```\n\n\
```qr\n{}\n```\n\n```barcode\ndata = \"{}\"\n```\n\n{}{} x{}y\n{}\n";

fn everywhere(value: &str) -> Document {
    let mut row = csv::Writer::from_writer(Vec::new());
    row.write_record(["cell", "filler"]).unwrap();
    row.write_record([value, "x"]).unwrap();
    let units = Units::read(&row.into_inner().unwrap(), "units.csv").unwrap();
    let text = EVERYWHERE.replace("{}", "{{ unit.cell }}");
    let source = fill_files(&[("manual.md", &text)], units.row(1)).unwrap_or_else(|error| panic!("{value:?}: {}", told(&error)));
    parse(&source).unwrap_or_else(|error| panic!("{value:?}: {}", told(&error)))
}

/// The kinds of all blocks and inlines in order, with nothing of what they say.
fn shape(document: &Document) -> Vec<String> {
    let head = |debug: String| debug.split(['(', ' ', '{']).next().unwrap_or_default().to_owned();
    let mut shape = Vec::new();
    document.walk(&mut |_, block| {
        let parts = match &block.kind {
            Kind::Table(table) => table.rows.len() + table.head.len(),
            Kind::Procedure { steps } => steps.len(),
            Kind::Bullets { items } => items.len(),
            Kind::Notes(notes) => notes.len(),
            Kind::Definitions(definitions) => definitions.len(),
            _ => 0,
        };
        shape.push(format!("{}{parts}", head(format!("{:?}", block.kind))));
    });
    document.walk_inlines(&mut |_, inline| shape.push(head(format!("{:?}", inline.kind))));
    shape
}

/// How often a field stands in [`EVERYWHERE`] where its value is said: not in the header (three times), in alt texts (three) and in
/// the title of a picture inside a line (once).
fn said() -> usize {
    EVERYWHERE.matches("{}").count() - 3 - 3 - 1
}

/// The words of all pictures.
fn alts(document: &Document) -> Vec<String> {
    let mut alts = Vec::new();
    document.walk(&mut |_, block| {
        if let Kind::Figure(figure) = &block.kind {
            alts.push(figure.alt.clone());
        }
    });
    document.walk_inlines(&mut |_, inline| {
        if let InlineKind::Picture(Picture { alt, .. }) = &inline.kind {
            alts.push(alt.clone());
        }
    });
    alts
}

fn check(value: &str, harmless: &Document) {
    let hostile = everywhere(value);
    assert_eq!(shape(&hostile), shape(harmless), "{value:?}");
    let shown = value.replace("\r\n", "\n").replace(|c: char| c.is_control() || matches!(c, '\u{2028}' | '\u{2029}'), " ");
    let text = hostile.text();
    let codes: Vec<&str> = hostile
        .blocks
        .iter()
        .filter_map(|block| match &block.kind {
            Kind::Qr { data } | Kind::Barcode { data, .. } => Some(data.as_str()),
            _ => None,
        })
        .collect();
    assert_eq!(codes, [value, value], "the data of a code is kept to the byte");
    if !shown.is_empty() && shown.contains('\u{1F43F}') {
        // The mark that the property puts into every cell makes each place countable.
        assert_eq!(text.matches(&*shown).count() + if shown == value { 0 } else { 2 }, said(), "{value:?} in {text}");
    }
    assert_eq!(alts(&hostile).iter().filter(|alt| **alt == shown).count(), 3, "{value:?} in {:?}", alts(&hostile));
    assert_eq!(hostile.header.title.as_deref(), Some(&*shown));
    assert_eq!(hostile.header.subtitle.as_deref(), Some(&*shown));
    assert_eq!(hostile.header.product.maker.as_deref(), Some(&*shown));
    // A value of nothing leaves its balloon out, and that is said.
    let told = hostile.remarks.iter().filter(|remark| remark.rule != "balloon-empty" || !shown.trim().is_empty()).count();
    assert_eq!(told, harmless.remarks.len(), "{:?}", hostile.remarks);
}

#[test]
fn hostile_cells_change_no_block_and_are_said_letter_for_letter() {
    let harmless = everywhere("harmless");
    for value in [
        "*",
        "**bold**",
        "_a_",
        "`",
        "``",
        "```",
        "~~~",
        "](",
        "](https://evil.example)",
        "![x](y)",
        "+++",
        "---",
        "===",
        "\"",
        "'",
        "'''",
        "\"\"\"",
        "\\",
        "\\\"",
        "\n",
        "\n\n",
        "\r\n",
        "a\n\nb",
        "\n# x",
        "\n- x",
        "\n\n    code",
        "    four",
        "\ttab",
        "#",
        "# x",
        "- ",
        "+ x",
        "1. ",
        "> ",
        "> **WARNING**",
        "**WARNING**",
        "|",
        "a|b",
        "\n|--|--|\n",
        "<kbd>",
        "</kbd>",
        "<div>",
        "<!--",
        "-->",
        "<script>",
        "&amp;",
        "&#42;",
        "{{",
        "}}",
        "{{ unit.cell }}",
        "{% if %}",
        "{% include \"x\" %}",
        "{#",
        "#}",
        "[^n]",
        "[^n]: x",
        "[x]: y",
        "[ ]",
        "[x]",
        ": ",
        "\n: x",
        "https://a.example",
        "<https://a.example>",
        "sign:pinch",
        "../../etc/passwd",
        "/etc/passwd",
        "C:\\x",
        "figure",
        "``` figure",
        "at = [1, 1]",
        "]]",
        "\n[[panel]]\n",
        " ",
        "  ",
        " x ",
        "\u{a0}",
        "é漢字😀",
        "\u{202e}abc",
        "\u{feff}",
        "x\u{2028}y",
        "$(rm)",
        "%s%n",
        "=1+1",
        "@x",
        "\u{ad}",
    ] {
        check(value, &harmless);
        check(&format!("\u{1F43F}{value}\u{1F43F}"), &harmless);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_cell_changes_a_block(parts in proptest::collection::vec(
        prop_oneof![
            Just("`"), Just("]("), Just("+++"), Just("\""), Just("'"), Just("\n"), Just("\r\n"), Just("<kbd>"), Just("{{"), Just("}}"), Just("{%"),
            Just("|"), Just("#"), Just("- "), Just("    "), Just("*"), Just("_"), Just("~"), Just("\\"), Just("&"), Just("<"), Just(">"), Just("["),
            Just("]"), Just("!"), Just(":"), Just("1."), Just("a"), Just("é"), Just(" "), Just("\t"), Just("="), Just("^"), Just("$"), Just("WARNING"),
        ],
        0..12,
    )) {
        let harmless = everywhere("harmless");
        check(&format!("\u{1F43F}{}\u{1F43F}", parts.concat()), &harmless);
    }
}

#[test]
fn a_template_is_filled_by_many_threads_at_once() {
    fn shared<T: Send + Sync>(_: &T) {}
    let folder =
        Folder::of_files([("manual.md", &b"{{ unit.serial }} {% include \"a.md\" %}"[..]), ("a.md", &b"{{ run.number }}"[..])]);
    let template = Template::load(&folder, "manual.md").unwrap();
    shared(&template);
    shared(&folder);
    let unit = unit();
    let said: Vec<String> = std::thread::scope(|scope| {
        let fill = |number| {
            let (template, unit) = (&template, &unit);
            scope.spawn(move || {
                let run = Run { date: String::new(), number };
                parse(&template.fill(Some(unit), &run).unwrap()).unwrap().text()
            })
        };
        let threads: Vec<_> = (1..9).map(fill).collect();
        threads.into_iter().map(|thread| thread.join().unwrap()).collect()
    });
    assert_eq!(said, (1..9).map(|number| format!("HRN-0001 {number}\n")).collect::<Vec<_>>());
}

#[test]
fn the_language_of_an_included_file_holds_for_what_it_brings() {
    let german = "+++\nlanguage = \"de\"\nfold = \"90 mm\"\n+++\n> **WARNUNG** {{ unit.serial }} ist heiß.\n\nSchluss.\n";
    let main = "+++\ntitle = \"Heron\"\nlanguage = \"en\"\n+++\n> **WARNING** Hot.\n\n{% include \"de.md\" %}\n\n> **WARNUNG** No word of ours.\n";
    let source = fill_files(&[("manual.md", main), ("de.md", german)], Some(&unit())).expect("filled");
    let document = parse(&source).expect("read");
    let tongues: Vec<_> = document.blocks.iter().map(|block| document.tongue_at(block.span.start).tag()).collect();
    assert_eq!(tongues, ["en", "de", "de", "en"]);
    let safety = |n: usize| matches!(document.blocks[n].kind, Kind::Safety(_));
    assert_eq!((safety(0), safety(1), safety(3)), (true, true, false), "a signal word is one of its own part's language");
    let said: Vec<_> = document.remarks.iter().filter(|remark| remark.rule == "included-header").collect();
    assert_eq!(said.len(), 1);
    assert!(said[0].message.contains("de.md says `fold` otherwise"), "{}", said[0].message);
}
