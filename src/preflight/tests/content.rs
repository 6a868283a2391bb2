//! What every manual says of itself, its supply, its hazards, its steps.

use super::{fire_all, fires, silent};

type Edits = &'static [(&'static str, &'static str)];

/// A rule, and changes of the sound manual that make it fire: alone, and at a line.
const FIRES: &[(&str, Edits)] = &[
    ("product-unnamed", &[("title        = \"Heron\"\n", ""), ("# Heron\n", "")]),
    ("purpose-missing", &[("Heron is a small bird that dips a tea bag for you. It is made for one cup at a time.", "Hello.")]),
    ("document-number-missing", &[("document     = \"HRN-QS\"\n", "")]),
    ("revision-missing", &[("revision     = \"C\"\n", "")]),
    ("issue-date-missing", &[("issued       = 2026-11-20\n", "")]),
    ("language-undeclared", &[("language     = \"en\"\n", "")]),
    ("unknown-language", &[("\"en\"", "\"tlh\""), ("[\"IE\", \"US\"]", "[\"JP\"]")]),
    ("maker-missing", &[("maker   = \"Reedbed Works\"\n", "")]),
    ("maker-address-missing", &[("address = \"1 Reed Lane, Fenton, Ireland\"\n", "")]),
    (
        "contact-missing",
        &[
            ("[\"IE\", \"US\"]", "[\"JP\"]"),
            ("contact = \"help@reedbed.example\"\n", ""),
            ("durable_copy = \"https://example.com/heron\"\n", ""),
            ("\n[the maker’s page](https://example.com/heron/declaration)", " the base"),
        ],
    ),
    ("contents-missing", &[("## In the box\n\n- [ ] 1 Heron\n- [ ] 1 cable, USB-C\n", "The cable is USB-C.\n")]),
    (
        "durable-copy-missing",
        &[("durable_copy = \"https://example.com/heron\"\n", ""), ("```qr\nhttps://example.com/heron\n```\n", "")],
    ),
    ("supply-unsaid", &[(" (5 V, 2 A)", "")]),
    ("supply-unsaid", &[("volts = 5.0", "volts = 12")]),
    ("supply-mark-missing", &[("USB-C", "long"), ("kind = \"dc\"", "kind = \"dc\"")]),
    ("supply-mark-missing", &[("kind = \"dc\"", "kind = \"ac\"")]),
    ("supply-undeclared", &[("supply  = { volts = 5.0, amps = 2.0, kind = \"dc\" }\n", ""), (" (5 V, 2 A)", "")]),
    ("signal-word-unknown", &[("> **NOTICE** Water", "> **¡AVISO!** Water")]),
    (
        "signal-words-mixed",
        &[
            ("language     = \"en\"", "language     = \"pt\""),
            ("[\"IE\", \"US\"]", "[\"JP\"]"),
            ("> **CAUTION** The beak", "> **AVISO** ![pinch](sign:pinch) The beak"),
        ],
    ),
    ("word-unsure", &[("language     = \"en\"", "language     = \"lv\""), ("[\"IE\", \"US\"]", "[\"JP\"]")]),
    ("words-own", &[("[product]", "[words]\nnotice = \"NOTICE\"\ntip = \"Hint\"\n\n[product]")]),
    (
        "words-collide",
        &[(
            "[product]",
            "[words]\ndanger = \"Deadly\"\ntip = \"deadly\"\n\n[preflight]\nallow = [{ rule = \"words-own\", reason = \"Read by a native.\" }]\n\n[product]",
        )],
    ),
    ("hazard-unknown", &[("\"pinch\"", "\"pinch\", \"hot-liquids\"")]),
    ("hazard-unannounced", &[("\"pinch\"", "\"pinch\", \"laser\"")]),
    ("hazard-unannounced", &[("> **CAUTION** The beak can pinch a finger. Keep your hand off it while it moves.\n", "")]),
    (
        "hazard-late",
        &[
            ("> **WARNING** The lithium battery can catch fire when it is crushed. Never open the body.\n\n", ""),
            ("1. Plug the cable", "1. Charge the battery: plug the cable"),
            ("## Radio", "> **WARNING** The lithium battery can catch fire when it is crushed. Never open the body.\n\n## Radio"),
        ],
    ),
    (
        "consequence-missing",
        &[(
            "The beak can pinch a finger. Keep your hand off it while it moves.",
            "![pinch](sign:pinch) Mind the beak of this bird: keep away from it.",
        )],
    ),
    ("avoidance-missing", &[("Hot tea scalds. Keep Heron and its cup out of the reach of children.", "Hot tea scalds.")]),
    (
        "injury-under-notice",
        &[(
            "Water inside the body will damage the motor. Wipe it with a dry cloth.",
            "Water inside the body can cause an electric shock.",
        )],
    ),
    ("damage-under-warning", &[("> **NOTICE** Water", "> **CAUTION** Water")]),
    ("many-actions", &[("3. Press `MODE`. The eye turns green.", "3. Press `MODE`, then turn the base.")]),
    ("many-actions", &[("3. Press `MODE`. The eye turns green.", "3. Press `MODE`. Turn the base. Lift the lid.")]),
    (
        "steps-unnumbered",
        &[("What the eye says", "- Lift the beak.\n- Then pull the bag off.\n- Push the beak down.\n\nWhat the eye says")],
    ),
    ("steps-unnumbered", &[("What the eye says", "Step 1: lift it.\n\nStep 2: lower it.\n\nWhat the eye says")]),
    (
        "long-procedure",
        &[("2. Hang the bag on the beak.\n", "2. Look.\n3. Look.\n4. Look.\n5. Look.\n6. Look.\n7. Look.\n8. Look.\n")],
    ),
    ("key-spelt-two-ways", &[("What the eye says", "Let go of `RESET`. What the eye says")]),
    ("key-spelt-two-ways", &[("What the eye says", "`Mode` sleeps. What the eye says")]),
    (
        "signal-two-meanings",
        &[(
            "What the eye says",
            "![x](light:green-slow)\n: Heron waits.\n\n![x](light:blue-slow)\n: Press a key.\n\n![x](light:green-slow)\n: Heron dips.\n\nWhat the eye says",
        )],
    ),
    (
        "signal-two-meanings",
        &[("What the eye says", "![x](light:amber)\n: Warm.\n\n![x](light:yellow-on)\n: Cold.\n\nWhat the eye says")],
    ),
    (
        "signal-two-meanings",
        &[("What the eye says", "![x](<display:E 04>)\n: No water.\n\n![x](<display:E 04>)\n: No tea.\n\nWhat the eye says")],
    ),
    (
        "patterns-alike",
        &[(
            "What the eye says",
            "![x](light:green-fast)\n: Heron dips.\n\n![x](light:green-blink-4)\n: Heron sings.\n\nWhat the eye says",
        )],
    ),
    (
        "patterns-alike",
        &[(
            "What the eye says",
            "![x](light:green-blink-4)\n: Heron dips.\n\n![x](light:green-blink-5)\n: Heron sings.\n\nWhat the eye says",
        )],
    ),
    (
        "patterns-alike",
        &[(
            "What the eye says",
            "![x](light:green-slow)\n: Heron dips.\n\n![x](light:green-0.6hz)\n: Heron sings.\n\nWhat the eye says",
        )],
    ),
    ("flash-rate", &[("What the eye says", "![x](light:green-1hz)\n: Heron dips.\n\nWhat the eye says")]),
    ("flash-rate", &[("What the eye says", "Wait for ![green](light:green-5hz) here. What the eye says")]),
    (
        "key-unplaced",
        &[(
            "What the eye says",
            "```figure\npicture = \"sign:pinch\"\nalt = \"Top\"\ncallouts = [{ at = [50, 50], label = \"Key TEA\" }]\n```\n\n![x](key:DIP-press)\n: Heron dips.\n\nWhat the eye says",
        )],
    ),
    (
        "key-unplaced",
        &[(
            "What the eye says",
            "```figure\npicture = \"sign:pinch\"\nalt = \"Top\"\ncallouts = [{ at = [50, 50], label = \"Key TEA\" }]\n```\n\nHold ![both](key:TEA-with:TEAPOT). What the eye says",
        )],
    ),
    ("red-without-fault", &[("What the eye says", "![x](light:red-slow)\n: Heron makes tea.\n\nWhat the eye says")]),
    (
        "red-without-fault",
        &[("What the eye says", "| Light | Says |\n|---|---|\n| ![red](light:red) | Tea is ready |\n\nWhat the eye says")],
    ),
];

/// Near misses: each of these changes nothing to be found.
const SILENT: &[Edits] = &[
    &[("title        = \"Heron\"\n", "")],
    // The purpose may stand in the header.
    &[
        ("Heron is a small bird that dips a tea bag for you. It is made for one cup at a time.", "Hello."),
        ("contact =", "purpose = \"Dips a tea bag.\"\ncontact ="),
    ],
    // A printed address counts as a contact; a QR symbol as a way to the lasting copy.
    &[("contact = \"help@reedbed.example\"\n", "")],
    &[("durable_copy = \"https://example.com/heron\"\n", "")],
    &[("(5 V, 2 A)", "(5.0 V / 2000 mA)")],
    &[("(5 V, 2 A)", "(5 V)"), ("amps = 2.0", "amps = 0.02")],
    &[("USB-C", "long"), ("(5 V, 2 A)", "(5 V ![direct current](sign:dc) 2 A)")],
    &[("USB-C", "long"), ("(5 V, 2 A)", "(5 V DC, 2 A)")],
    // The sign alone covers the hazard.
    &[("> **CAUTION** The beak can pinch a finger.", "> **CAUTION** ![pinch](sign:pinch) The beak bites your skin.")],
    // A statement is no action; a condition is none; two sentences of which one only waits are one action.
    &[("3. Press `MODE`. The eye turns green.", "3. Press `MODE`. Heron bows and then rests.")],
    &[("3. Press `MODE`. The eye turns green.", "3. Press `MODE`. Do not push it. Wait for the beep.")],
    &[("3. Press `MODE`. The eye turns green.", "3. If the eye is dark, press `MODE`. Then look again.")],
    // Nine steps are not too many, nor are ten with a heading between them.
    &[("2. Hang the bag on the beak.\n", "2. Look.\n3. Look.\n4. Look.\n5. Look.\n6. Look.\n7. Look.\n")],
    &[("What the eye says", "### More tea\n\n1. Look.\n2. Look.\n3. Look.\n4. Look.\n5. Look.\n6. Look.\n\nWhat the eye says")],
    // Keys that differ in a number are two keys.
    &[("`MODE`", "`MODE 1`"), ("`RE-SET`", "`MODE 2`")],
    // Advice in bullets is no procedure.
    &[("What the eye says", "- Keep Heron dry.\n- Take it off the cup first.\n- Wash the beak by hand.\n\nWhat the eye says")],
    // The same said twice; another colour, another pattern; off is no danger.
    &[(
        "What the eye says",
        "![x](light:green-slow)\n: Heron waits.\n\n![x](light:green-slow)\n: Heron *waits*.\n\n![x](light:blue-slow)\n: Press a key.\n\nWhat the eye says",
    )],
    &[(
        "What the eye says",
        "![x](light:green-fast)\n: Heron dips.\n\n![x](light:green-blink-3)\n: Heron sings.\n\n![x](light:blue-blink-4)\n: Press a key.\n\n![x](light:green-slow)\n: Heron waits.\n\n![x](light:green-on)\n: Tea.\n\nWhat the eye says",
    )],
    &[(
        "What the eye says",
        "![x](light:green-0.5hz)\n: Heron waits.\n\n![x](light:green-2hz)\n: Heron dips.\n\nWhat the eye says",
    )],
    // Like each other, but in two lists.
    &[(
        "What the eye says",
        "![x](light:green-fast)\n: Heron dips.\n\nThen:\n\n![x](light:green-blink-4)\n: Heron sings.\n\nWhat the eye says",
    )],
    // A key that a callout names; keys where no figure has callouts.
    &[(
        "What the eye says",
        "```figure\npicture = \"sign:pinch\"\nalt = \"Top\"\ncallouts = [{ at = [50, 50], label = \"Key TEA\" }]\n```\n\n![x](key:TEA-press)\n: Heron dips.\n\nWhat the eye says",
    )],
    &[("What the eye says", "![x](key:DIP-press)\n: Heron dips.\n\nWhat the eye says")],
    &[(
        "What the eye says",
        "![x](light:red-fast)\n: A fault: the beak is stuck.\n\n![x](light:red-off)\n: Tea is ready.\n\n![x](light:red)\n: The battery is empty.\n\nWhat the eye says",
    )],
    // Damage with an injury in it is what WARNING is for; burning out is no burn.
    &[(
        "> **NOTICE** Water inside the body will damage the motor.",
        "> **WARNING** Water inside the body will damage the motor and shock you.",
    )],
    &[("will damage the motor", "will damage the motor: it burns out")],
];

/// Runs every case; the names of the rules that fired.
pub fn all() -> Vec<&'static str> {
    fire_all(FIRES)
}

#[test]
fn near_misses_are_silent() {
    for edits in SILENT {
        silent(edits);
    }
}

#[test]
fn what_is_missing_is_told_at_its_table_and_what_is_wrong_where_it_stands() {
    let place = |finding: crate::preflight::Finding| (finding.place.line, finding.place.column);
    assert_eq!(place(fires("maker-missing", FIRES[7].1)), (11, 2));
    assert_eq!(place(fires("hazard-unknown", &[("\"pinch\"", "\"pinch\", \"lasers\"")])), (16, 1));
    assert_eq!(place(fires("key-spelt-two-ways", &[("What the eye says", "Let go of `RESET`. What the eye says")])), (56, 11));
    assert_eq!(place(fires("injury-under-notice", &[("will damage the motor", "may be fatal")])), (47, 3));
    assert_eq!(place(fires("many-actions", &[("3. Press `MODE`.", "3. Press `MODE`. Lift it.")])), (53, 1));
}

#[test]
fn a_finding_says_where_on_the_paper_it_stands() {
    let finding = fires("injury-under-notice", &[("will damage the motor", "may be fatal")]);
    assert!(finding.panel.is_some() && finding.y.is_some_and(|y| y > crate::lengths::Mm::new(30.0)), "{finding:?}");
    let nowhere = fires("revision-missing", &[("revision     = \"C\"\n", "")]);
    assert_eq!(nowhere.hint, "write `revision = \"A\"` in the header and raise it with every change");
}
