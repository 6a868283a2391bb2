//! Boxes of other tools by name, and the alert that each stands for.

/// Names of boxes as writers give them, and the alert that stands for each.
const ALERTS: &[(&str, &str)] = &[
    ("danger", "[!DANGER]"),
    ("warning", "[!WARNING]"),
    ("caution", "[!CAUTION]"),
    ("notice", "[!NOTICE]"),
    ("note", "[!NOTE]"),
    ("tip", "[!TIP]"),
    ("hint", "[!TIP]"),
    ("important", "[!IMPORTANT]"),
];

pub(super) fn alert(name: &str) -> Option<&'static str> {
    ALERTS.iter().find(|(known, _)| known.eq_ignore_ascii_case(name)).map(|(_, alert)| *alert)
}

/// What a quote begins with that is the alert of that name; nothing for an aside.
pub(super) fn head(name: &str) -> &'static str {
    match alert(name) {
        Some("[!DANGER]") => "> [!DANGER]\n",
        Some("[!WARNING]") => "> [!WARNING]\n",
        Some("[!CAUTION]") => "> [!CAUTION]\n",
        Some("[!NOTICE]") => "> [!NOTICE]\n",
        Some("[!NOTE]") => "> [!NOTE]\n",
        Some("[!TIP]") => "> [!TIP]\n",
        Some(_) => "> [!IMPORTANT]\n",
        None => "",
    }
}

/// The same with a title in bold type to follow.
pub(super) fn titled(head: &str) -> &'static str {
    match head {
        "> [!DANGER]\n" => "> [!DANGER]\n> **",
        "> [!WARNING]\n" => "> [!WARNING]\n> **",
        "> [!CAUTION]\n" => "> [!CAUTION]\n> **",
        "> [!NOTICE]\n" => "> [!NOTICE]\n> **",
        "> [!NOTE]\n" => "> [!NOTE]\n> **",
        "> [!TIP]\n" => "> [!TIP]\n> **",
        "> [!IMPORTANT]\n" => "> [!IMPORTANT]\n> **",
        _ => "> **",
    }
}
