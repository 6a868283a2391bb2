//! Words for what laws ask the papers of a product to say.

/// In one language; each a list of entries of which one is enough.
#[derive(Debug)]
pub struct Law {
    /// Does not belong into household waste.
    pub household: &'static [&'static str],
    /// Where it is taken back.
    pub places: &'static [&'static str],
    /// What is won from it.
    pub reuse: &'static [&'static str],
    /// What its substances do.
    pub substances: &'static [&'static str],
    /// The crossed-out bin is spoken of.
    pub bin: &'static [&'static str],
    /// Something is taken out.
    pub take_out: &'static [&'static str],
    /// Something is put in the stead of another.
    pub replace: &'static [&'static str],
    /// Homes are spoken of.
    pub homes: &'static [&'static str],
    /// Until when software is looked after.
    pub support: &'static [&'static str],
    pub updates: &'static [&'static str],
    /// What to do who finds a hole in it.
    pub holes: &'static [&'static str],
    /// How one's data are removed.
    pub erase: &'static [&'static str],
    /// The age of a child.
    pub age: &'static [&'static str],
    /// A product passport.
    pub passport: &'static [&'static str],
}

#[rustfmt::skip]
pub const ENGLISH: Law = Law {
    household: &[
        "household waste", "household rubbish", "household bin", "household trash", "household garbage", "domestic waste", "municipal waste", "general waste",
        "unsorted", "normal waste", "ordinary waste", "rubbish bin", "residual waste", "in the trash", "with the rubbish", "in the rubbish",
    ],
    places: &[
        "collection point", "collection cent", "collection site", "collection scheme", "recycling cent", "recycling point", "recycling site", "take-back", "takes it back",
        "return it", "return them", "return to", "bring it", "bring both", "bring back", "bring the", "take it to", "take both", "take them to", "drop-off",
        "drop it off", "retailer", "hand it in",
    ],
    reuse: &["reuse", "re-use", "recycled", "for recycling", "recycling saves", "recover", "used again", "raw material", "materials", "second life"],
    substances: &["hazardous", "harmful in ", "harmful to", "harmful material", "substance", "pollut", "poison", "toxic", "soil", "groundwater", "health", "the environment"],
    bin: &["crossed-out", "crossed out", "struck-through", "wheeled bin", "wheelie bin", "bin means", "this symbol", "the symbol", "this sign"],
    take_out: &["remov", "take out", "take it out", "take them out", "taken out", "take the", "lift out", "lift the", "slide out", "pull out"],
    replace: &["replac", "new batter", "new cell", "fresh batter", "fresh cell", "change the", "swap", "insert", "put in"],
    homes: &["residential", "domestic environment", "living area"],
    support: &["supported until", "support until", "updates until", "support period", "end of support", "support ends", "supported for"],
    updates: &["update"],
    holes: &["vulnerab", "security problem", "security issue", "security flaw", "security hole", "security@"],
    erase: &["factory reset", "factory setting", "reset to factory", "erase", "delete", "wipe your", "remove your data"],
    age: &["36 months", "under 3", "under three", "3 years", "three years", "years and", "years up", "years of age", "from 3", "ages", "aged"],
    passport: &["passport"],
};

#[rustfmt::skip]
pub const GERMAN: Law = Law {
    household: &["*hausmüll", "*restmüll", "*haushaltsabf", "*siedlungsabf", "unsortiert", "*restabfall"],
    places: &["*sammelstelle", "*wertstoffhof", "*recyclinghof", "*rücknahme", "zurückgeb", "rückgabe", "abgeben", "*händler", "bringen sie", "geben sie"],
    reuse: &["wiederverwend", "wiederverwert", "*verwertung", "recycelt", "*rohstoff", "weiterverwend"],
    substances: &["*schadstoff", "gefährlich", "*gefahrstoff", "giftig", "schädlich", "*umwelt", "gesundheit"],
    bin: &["durchgestrichen", "symbol", "zeichen"],
    take_out: &["entnehm", "entnommen", "entfern", "nehmen sie", "herausnehm", "ausbau"],
    replace: &["ersetz", "*wechsel", "tausch", "einsetz", "einleg", "setzen sie", "legen sie", "neue batterie"],
    homes: &["wohnbereich", "wohngebiet", "wohngegend", "wohnumgebung"],
    support: &["unterstützt bis", "unterstützung bis", "support bis", "updates bis", "aktualisierungen bis", "*unterstützungszeitraum", "supportzeitraum", "ende der unterstützung"],
    updates: &["*update", "*aktualisier"],
    holes: &["*schwachstelle", "*sicherheitslücke", "*sicherheitsproblem", "security@"],
    erase: &["*werkseinstellung", "lösch"],
    age: &["36 monat", "unter 3", "unter drei", "3 jahre", "drei jahre", "ab 3", "ab drei", "jahren"],
    passport: &["*produktpass"],
};

#[rustfmt::skip]
pub const FRENCH: Law = Law {
    household: &["ordures ménagères", "déchets ménagers", "déchets municipaux", "non triés", "poubelle"],
    places: &["point de collecte", "point de tri", "déchèterie", "déchetterie", "repris", "reprise", "rapport", "magasin", "distributeur", "collecte"],
    reuse: &["réutilis", "réemploi", "recyclé", "recyclage", "valoris", "matières"],
    substances: &["substance", "dangereu", "nocif", "nocive", "pollu", "toxique", "l'environnement", "santé"],
    bin: &["barré", "symbole", "pictogramme", "sigle"],
    take_out: &["retir", "enlev", "sort", "extra"],
    replace: &["remplac", "chang", "mettez", "insér", "neuve", "nouvelle pile"],
    homes: &["résidentiel", "habitation"],
    support: &["prise en charge jusqu", "assistance jusqu", "mises à jour jusqu", "période d'assistance", "période de support", "fin du support", "support jusqu"],
    updates: &["mise à jour", "mises à jour"],
    holes: &["vulnérabilit", "faille", "security@"],
    erase: &["effac", "réinitialis", "supprim", "paramètres d'usine"],
    age: &["36 mois", "moins de 3", "moins de trois", "3 ans", "trois ans", "dès", "ans."],
    passport: &["passeport"],
};
