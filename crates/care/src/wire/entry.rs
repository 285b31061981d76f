//! What happened: readings, doses, events, from the case file and from the file of entries.

use crate::case::{Entry, Happening, Measure, MeasureKind, Product, Raw, Reading, When};
use crate::method::{self, Method};
use crate::note::Note;
use crate::quantity::Quantity;
use crate::text::{Text, say};
use crate::wire::case::piece;
use crate::wire::case_shape::{DoseIn, EventIn, NumberOrText, ProductIn, ReadingIn};
use crate::wire::node::{self, Node, Value, shortened};
use crate::wire::problem::Problems;
use crate::wire::shape::Shape;
use crate::wire::suggest::nearest;
use crate::wire::{product, when};
use serde::de::DeserializeOwned;
use std::collections::BTreeMap;
use std::sync::LazyLock;

/// Longest accepted line of a file of entries, bytes.
const LINE_BYTES_MOST: usize = 64 << 10;

static READING: LazyLock<Shape> = LazyLock::new(Shape::of::<ReadingIn>);
static DOSE: LazyLock<Shape> = LazyLock::new(Shape::of::<DoseIn>);
static EVENT: LazyLock<Shape> = LazyLock::new(Shape::of::<EventIn>);

/// Collects the entries of a case.
pub(crate) struct Entries<'a> {
    shelf: &'a mut Vec<Product>,
    methods: &'a [Method],
    known: Known,
    problems: &'a mut Problems,
    entries: Vec<Entry>,
    without_offset: bool,
    /// Whether the case file is being read, whose lines a finding can name (and not the history).
    in_case: bool,
    notes: Vec<Note>,
    /// Plain figures seen, by time, quantity and method, to catch a slip of the pen.
    seen: BTreeMap<(Option<When>, Quantity, String), (f64, usize)>,
}

/// What is known of the rest of the case; what was itself at fault is not blamed on the entries again.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Known {
    /// Of the tub, for shares.
    pub(crate) volume_l: Option<f64>,
    /// Whether every product of the shelf could be read.
    pub(crate) all_products: bool,
    /// Whether every method of the case could be read.
    pub(crate) all_methods: bool,
}

/// Where an entry stands: its node, its path in the case, the line.
struct Place<'n> {
    node: &'n Node,
    path: String,
}

impl Place<'_> {
    fn line(&self, field: &str) -> Option<usize> {
        Some(self.node.get(field).map_or(self.node.line, |f| f.line))
    }
    fn field(&self, field: &str) -> String {
        crate::wire::shape::join(&self.path, field)
    }
}

impl<'a> Entries<'a> {
    pub(crate) fn new(
        shelf: &'a mut Vec<Product>,
        methods: &'a [Method],
        known: Known,
        problems: &'a mut Problems,
    ) -> Self {
        Entries {
            shelf,
            methods,
            known,
            problems,
            entries: Vec::new(),
            without_offset: false,
            in_case: true,
            notes: Vec::new(),
            seen: BTreeMap::new(),
        }
    }

    /// The entries, whether any time came without an offset, and what is worth saying.
    pub(crate) fn done(self) -> (Vec<Entry>, bool, Vec<Note>) {
        (self.entries, self.without_offset, self.notes)
    }

    /// The case's own entries; `lines` says whether a finding can name the line of one.
    pub(crate) fn read_case(&mut self, tree: &Node, lines: bool) {
        self.in_case = lines;
        self.each(tree, "reading", Self::reading);
        self.each(tree, "dose", Self::dose);
        self.each(tree, "event", Self::event);
    }

    fn each<T: DeserializeOwned>(&mut self, tree: &Node, list: &str, read: fn(&mut Self, &T, &Place<'_>)) {
        for (i, node) in tree.get(list).map(Node::items).unwrap_or_default().iter().enumerate() {
            if let Some(entry) = piece(node) {
                read(self, &entry, &Place { node, path: format!("{list}[{}]", i + 1) });
            }
        }
    }

    /// Newline-delimited JSON: each line an object with its `type`.
    pub(crate) fn read_lines(&mut self, file: &str, bytes: &[u8]) {
        self.in_case = false;
        let case_file = std::mem::replace(&mut self.problems.file, file.to_owned());
        if let Some(text) = node::text_of(bytes, self.problems) {
            for (i, line) in text.lines().enumerate() {
                if !line.trim().is_empty() {
                    self.read_line(line, i + 1);
                }
            }
        }
        self.problems.file = case_file;
    }

    fn read_line(&mut self, text: &str, line: usize) {
        if text.len() > LINE_BYTES_MOST {
            let what = format!("has {} bytes", text.len());
            self.problems.add(
                Some(line),
                "this line",
                what,
                format!("{LINE_BYTES_MOST} at most are accepted"),
            );
            return;
        }
        let mut tree = match node::from_json(text, line) {
            Ok(tree) => tree,
            Err(e) => {
                let accepted = "one JSON object a line is accepted, with its \"type\"";
                self.problems.add(Some(line), "this line", e, accepted);
                return;
            }
        };
        let kind = match &mut tree.value {
            Value::Table(entries) => match entries.iter().position(|(k, ..)| k == "type") {
                Some(at) => entries.remove(at).2,
                None => Node { line, value: Value::Null },
            },
            _ => Node { line, value: Value::Null },
        };
        match kind.text() {
            Some("reading") => self.one(&tree, &READING, Self::reading),
            Some("dose") => self.one(&tree, &DOSE, Self::dose),
            Some("event") => self.one(&tree, &EVENT, Self::event),
            _ => self.problems.add(
                Some(line),
                "type",
                format!("is {}", kind.shown()),
                "one of \"reading\", \"dose\", \"event\" is accepted",
            ),
        }
    }

    fn one<T: DeserializeOwned>(&mut self, tree: &Node, shape: &Shape, read: fn(&mut Self, &T, &Place<'_>)) {
        let before = self.problems.count();
        shape.check(tree, "", self.problems);
        if self.problems.count() > before {
            return;
        }
        match serde_json::from_value(tree.to_json()) {
            Ok(entry) => read(self, &entry, &Place { node: tree, path: String::new() }),
            Err(e) => self.problems.add(Some(tree.line), "", e.to_string(), ""),
        }
    }

    fn wrong(
        &mut self,
        place: &Place<'_>,
        field: &str,
        what: impl Into<String>,
        accepted: impl Into<String>,
    ) {
        self.problems.add(place.line(field), place.field(field), what, accepted);
    }

    fn at(&mut self, at: Option<&str>, place: &Place<'_>) -> Option<When> {
        let text = at?;
        match when::moment(text) {
            Some((when, offset)) => {
                self.without_offset |= !offset;
                Some(when)
            }
            None => {
                self.wrong(place, "at", format!("is \"{}\"", shortened(text)), when::ACCEPTED);
                None
            }
        }
    }

    fn reading(&mut self, r: &ReadingIn, place: &Place<'_>) {
        let at = self.at(r.at.as_deref(), place);
        let Some(quantity) = Quantity::from_id(&r.quantity) else { return };
        let Some(raw) = self.raw(r, quantity, place) else { return };
        let method = r.method.clone().unwrap_or_else(|| {
            let usual = method::usual(quantity).to_owned();
            let note = say!(
                "care-method-assumed",
                "{quantity} was read by a method that is not named: the error of `{usual}` is assumed.",
                quantity = quantity.said().capital(),
                usual = Text::name(usual.as_str())
            );
            self.notes.push(note.into());
            usual
        });
        let reading =
            Reading { quantity, method: method.clone(), raw, line: self.in_case.then_some(place.node.line) };
        self.check_method(&reading, place);
        if let Raw::Value(value) = raw {
            self.check_same_moment(at, quantity, &method, value, place);
        }
        self.entries.push(Entry { at, what: Happening::Reading(reading) });
    }

    fn check_method(&mut self, reading: &Reading, place: &Place<'_>) {
        let (id, quantity) = (reading.method.as_str(), reading.quantity);
        match method::find(self.methods, id) {
            None if !self.known.all_methods => {}
            None => {
                let known = || {
                    let own = self.methods.iter().map(|m| m.id.as_ref());
                    own.chain(method::BUILT_IN.iter().map(|m| m.id.as_ref()))
                };
                let accepted = match nearest(id, known()) {
                    Some(near) => format!("did you mean \"{near}\"?"),
                    None => {
                        let fitting: Vec<&str> = self
                            .methods
                            .iter()
                            .chain(method::BUILT_IN.iter())
                            .filter(|m| m.scale(quantity).is_some())
                            .map(|m| m.id.as_ref())
                            .collect();
                        format!(
                            "for {} one of {} is accepted, or an id of [[method]]",
                            quantity.name(),
                            fitting.join(", ")
                        )
                    }
                };
                self.wrong(
                    place,
                    "method",
                    format!("is \"{}\", which is not known", shortened(id)),
                    accepted,
                );
            }
            Some(m) => {
                // What the reading says is for the plan to find; here only whether the method can have given it.
                if let Err(e) = method::interpret(m, reading, &method::Context::at(25.0)) {
                    self.wrong(place, "method", format!("\"{id}\" {}", e.wrong), "");
                }
            }
        }
    }

    fn raw(&mut self, r: &ReadingIn, quantity: Quantity, place: &Place<'_>) -> Option<Raw> {
        let given = [
            ("value", r.value.is_some()),
            ("drops", r.drops.is_some()),
            ("scale_units", r.scale_units.is_some()),
        ];
        let given: Vec<&str> = given.iter().filter(|(_, g)| *g).map(|(k, _)| *k).collect();
        match given[..] {
            [_] => {}
            [] => {
                self.wrong(place, "value", "is missing", "one of value, drops and scale_units is needed");
                return None;
            }
            [first, second, ..] => {
                self.wrong(
                    place,
                    second,
                    format!("and {first} are both given"),
                    "exactly one of value, drops and scale_units is accepted",
                );
                return None;
            }
        }
        if r.scale_units.is_none() {
            for (field, given) in
                [("signal_band_changed", r.signal_band_changed.is_some()), ("minutes", r.minutes.is_some())]
            {
                if given {
                    self.wrong(
                        place,
                        field,
                        "is given without scale_units",
                        "it belongs to a capillary strip",
                    );
                }
            }
        }
        if let Some(drops) = r.drops {
            return Some(Raw::Drops(drops));
        }
        if let Some(units) = r.scale_units {
            return Some(Raw::ScaleUnits {
                units,
                signal_changed: r.signal_band_changed,
                minutes: r.minutes,
            });
        }
        let (raw, figure) = match r.value.as_ref()? {
            NumberOrText::Number(n) => (Raw::Value(*n), *n),
            NumberOrText::Text(text) => {
                let beyond =
                    |sign: char| text.trim().strip_prefix(sign).and_then(|n| n.trim().parse::<f64>().ok());
                match (beyond('<'), beyond('>')) {
                    (Some(n), _) => (Raw::Below(n), n),
                    (_, Some(n)) => (Raw::Above(n), n),
                    _ => {
                        let accepted = "a number, or \"<0.2\" or \">5\" beyond what the method can show, is accepted (no unit)";
                        self.wrong(place, "value", format!("is \"{}\"", shortened(text)), accepted);
                        return None;
                    }
                }
            }
        };
        let (low, high) = quantity.possible();
        if !(low..=high).contains(&figure) {
            let unit = quantity.unit();
            let accepted = format!(
                "{} from {low} to {high}{}{unit} is possible in a tub",
                quantity.name(),
                if unit.is_empty() { "" } else { " " }
            );
            self.wrong(place, "value", format!("is {figure}"), accepted);
            return None;
        }
        Some(raw)
    }

    /// Two figures of one method at one moment that no error can explain: one of them is a slip of the pen.
    fn check_same_moment(
        &mut self,
        at: Option<When>,
        q: Quantity,
        method: &str,
        value: f64,
        place: &Place<'_>,
    ) {
        let line = place.node.line;
        let key = (at, q, method.to_owned());
        if let Some((before, where_)) = self.seen.insert(key, (value, line)) {
            let far = match q {
                Quantity::Ph | Quantity::SaturationIndex => 1.0,
                _ => 0.5 * before.abs().max(value.abs()) + 0.5,
            };
            if (before - value).abs() > far {
                let other = if where_ > 0 { format!("line {where_}") } else { "another reading".to_owned() };
                self.wrong(
                    place,
                    "value",
                    format!(
                        "is {value}, and {other} says {before} for {} by the same method at the same time",
                        q.name()
                    ),
                    "both cannot be: correct one, or give each its own time",
                );
            }
        }
    }

    fn dose(&mut self, d: &DoseIn, place: &Place<'_>) {
        let at = self.at(d.at.as_deref(), place);
        let given = [("mass_g", d.mass_g), ("volume_ml", d.volume_ml), ("measures", d.measures)];
        let given: Vec<(&str, f64)> = given.iter().filter_map(|(k, g)| g.map(|g| (*k, g))).collect();
        let product = self.dosed_product(d, place);
        let (field, amount) = match given[..] {
            [one] => one,
            [] => {
                let accepted = "one of mass_g, volume_ml and measures is needed";
                return self.wrong(place, "mass_g", "is missing", accepted);
            }
            [(a, _), (b, _), ..] => {
                let accepted = "exactly one of mass_g, volume_ml and measures is accepted";
                return self.wrong(place, b, format!("and {a} are both given"), accepted);
            }
        };
        let Some(product) = product else { return };
        let p = &self.shelf[product];
        let grams_each = match field {
            "mass_g" => Some(1.0),
            "measures" => Some(p.measure.grams_each),
            _ => p.density_g_ml,
        };
        match grams_each {
            Some(grams) => {
                self.entries.push(Entry { at, what: Happening::Dose { product, mass_g: amount * grams } });
            }
            None => {
                let what = format!("is given for {}, whose density is not known", p.name);
                let accepted = "mass_g or measures is accepted, or density_g_ml on the shelf";
                self.wrong(place, field, what, accepted);
            }
        }
    }

    fn dosed_product(&mut self, d: &DoseIn, place: &Place<'_>) -> Option<usize> {
        match (&d.chemical, &d.product) {
            (Some(_), Some(_)) => {
                self.wrong(
                    place,
                    "product",
                    "and chemical are both given",
                    "exactly one of the two is accepted",
                );
                None
            }
            (None, None) => {
                self.wrong(
                    place,
                    "chemical",
                    "and product are both missing",
                    "exactly one of the two is needed",
                );
                None
            }
            (None, Some(name)) => {
                let found = self.shelf.iter().position(|p| p.name == *name);
                if found.is_none() && self.known.all_products {
                    let known: Vec<&str> = self.shelf.iter().map(|p| p.name.as_str()).collect();
                    let accepted = match nearest(name, known.iter().copied()) {
                        Some(near) => format!("did you mean \"{near}\"?"),
                        None => format!("the shelf holds {}", known.join(", ")),
                    };
                    self.wrong(
                        place,
                        "product",
                        format!("is \"{}\", which is not on the shelf", shortened(name)),
                        accepted,
                    );
                }
                found
            }
            (Some(id), None) => {
                let substance = product::substance(id)?;
                if let Some(at) = self.shelf.iter().position(|p| p.substance == substance) {
                    return Some(at);
                }
                if self.known.all_products { self.borrowed_product(id, d, place) } else { None }
            }
        }
    }

    /// A product that was dosed and is not on the shelf: typical of its kind, and none of it left.
    fn borrowed_product(&mut self, id: &str, d: &DoseIn, place: &Place<'_>) -> Option<usize> {
        let typical = ProductIn {
            chemical: id.to_owned(),
            name: None,
            purity_percent: None,
            form: None,
            available_chlorine_percent: None,
            available_chlorine_g_l: None,
            density_g_ml: None,
            measure: None,
            price_per_kg: None,
            stock_g: Some(0.0),
            age_days: None,
        };
        match product::product(&typical) {
            Ok(mut p) if d.measures.is_none() => {
                self.notes.push(Note::TakenAsTypical { product: p.name.clone(), assumed: p.assumed.clone() });
                p.measure = Measure { kind: MeasureKind::Scale, grams_each: 1.0, smallest: 5.0 };
                self.shelf.push(p);
                Some(self.shelf.len() - 1)
            }
            _ => {
                let accepted =
                    "put it on the shelf with its strength and measure (stock_g = 0 if none is left)";
                self.wrong(place, "chemical", format!("is \"{id}\", which is not on the shelf"), accepted);
                None
            }
        }
    }

    fn event(&mut self, e: &EventIn, place: &Place<'_>) {
        let at = self.at(e.at.as_deref(), place);
        let belongs: [(&str, bool, &[&str]); 6] = [
            ("volume_l", e.volume_l.is_some(), &["top-up", "drain", "fill"]),
            ("share_percent", e.share_percent.is_some(), &["drain"]),
            ("people", e.people.is_some(), &["bathers"]),
            ("minutes", e.minutes.is_some(), &["bathers", "jets"]),
            ("output_percent", e.output_percent.is_some(), &["cell"]),
            ("open", e.open.is_some(), &["cover"]),
        ];
        for (field, given, kinds) in belongs {
            if given && !kinds.contains(&e.kind.as_str()) {
                let what = format!("is given for kind = \"{}\"", e.kind);
                self.wrong(place, field, what, format!("it belongs to {}", kinds.join(", ")));
            }
        }
        let what = match e.kind.as_str() {
            "fill" => Happening::Fill,
            "top-up" => match e.volume_l {
                Some(volume_l) => Happening::TopUp { volume_l },
                None => {
                    return self.wrong(place, "volume_l", "is missing", "litres of the top-up are needed");
                }
            },
            "bathers" => match (e.people, e.minutes) {
                (Some(people), Some(minutes)) => Happening::Bathers { person_hours: people * minutes / 60.0 },
                (people, _) => {
                    let field = if people.is_none() { "people" } else { "minutes" };
                    return self.wrong(place, field, "is missing", "people and minutes are needed");
                }
            },
            "drain" => match (e.share_percent, e.volume_l) {
                (Some(_), Some(_)) => {
                    return self.wrong(
                        place,
                        "volume_l",
                        "and share_percent are both given",
                        "one of the two is accepted",
                    );
                }
                (Some(percent), None) => Happening::Replaced { share: percent / 100.0 },
                (None, Some(litres)) => match self.known.volume_l {
                    Some(volume_l) if litres <= volume_l => Happening::Replaced { share: litres / volume_l },
                    Some(volume_l) => {
                        let accepted = format!("the tub holds {volume_l} litres");
                        return self.wrong(place, "volume_l", format!("is {litres}"), accepted);
                    }
                    None => return,
                },
                (None, None) => Happening::Replaced { share: 1.0 },
            },
            "cell" if e.output_percent.is_some() => {
                Happening::Cell { output: e.output_percent.unwrap_or_default() / 100.0 }
            }
            kind => Happening::Other { kind: kind.to_owned() },
        };
        self.entries.push(Entry { at, what });
    }
}
