//! Sections of the scenario file: each key is declared once, and reader, table of fields and schema follow the declaration.

use super::check::Checker;
use super::field::Number;
use super::locate::Part;
use super::path::KeyPath;
use super::rule::Rule;
use crate::quantity::{did_you_mean, nearest};
use jsonc_parser::ast::{Object, Value};

/// What a value in the file looks like.
pub(super) enum Shape {
    /// A quantity: a number in the documented unit, or a text with a unit.
    Number(Number),
    /// A number whose unit is that of a literature table.
    Plain,
    /// A text.
    Text,
    /// True or false.
    Flag,
    /// One of a few words, each with its text; the first text is about them all.
    Words(&'static str, &'static [(&'static str, &'static str)]),
    /// A list of equal shapes.
    List(Box<Self>),
    /// An object whose keys the user chooses.
    Map(Box<Self>),
    /// An object with known keys: what it is, and its keys.
    Section(String, Vec<Key>),
    /// A number of a literature table or a section: what it is, and the section.
    NumberOr(&'static str, Box<Self>),
}

impl Shape {
    /// What may be given, in words.
    pub(super) fn allowed(&self) -> String {
        match self {
            Self::Number(number) => number.allowed(),
            Self::Plain => "a number".to_owned(),
            Self::Text => "a text in double quotes".to_owned(),
            Self::Flag => "true or false".to_owned(),
            Self::Words(_, words) => words.iter().map(|word| word.0).collect::<Vec<_>>().join(", "),
            Self::List(inner) => match inner.as_ref() {
                Self::Words(..) => format!("a list in brackets of words: {}", inner.allowed()),
                _ => "a list in brackets: [ ... ]".to_owned(),
            },
            Self::Map(_) | Self::Section(..) => "an object in braces: { ... }".to_owned(),
            Self::NumberOr(..) => {
                "a number in the unit of the table, or an object with central, low, high and shape".to_owned()
            }
        }
    }
}

/// Whether a key may be left out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Presence {
    /// It must be given.
    Required,
    /// It may be left out, or be null.
    Optional,
    /// It may be left out; null is not allowed.
    NotNull,
}

/// A key of a section.
pub(super) struct Key {
    /// Name in the file.
    pub(super) name: &'static str,
    /// What it is, for the schema.
    pub(super) text: String,
    /// What its value looks like.
    pub(super) shape: Shape,
    /// Whether it may be left out.
    pub(super) presence: Presence,
}

impl Key {
    /// A key as its rule reads it.
    pub(super) fn new<T>(name: &'static str, text: &[&str], rule: &impl Rule<T>) -> Self {
        Self { name, text: one_line(text), shape: rule.shape(), presence: rule.presence() }
    }

    /// The key for remarks that every section has.
    pub(super) fn note() -> Self {
        let text = "For readers; not read by the program.".to_owned();
        Self { name: "note", text, shape: Shape::Text, presence: Presence::Optional }
    }
}

/// The lines of a doc comment as one line.
pub(super) fn one_line(text: &[&str]) -> String {
    text.iter().map(|line| line.trim()).collect::<Vec<_>>().join(" ")
}

/// An object of the scenario file. [`section`] makes one of a declaration.
pub(super) trait Section: Sized {
    /// What its rules depend on; nothing for most sections.
    type With: Copy;

    /// What it is, for the schema.
    fn about() -> String;

    /// Its keys, in order.
    fn keys(with: Self::With) -> Vec<Key>;

    /// Reads its keys; of `None`, a section that is left out, every key is left out.
    fn of(check: &mut Checker<'_>, path: &KeyPath, object: Option<&Object<'_>>, with: Self::With) -> Self;

    /// Its shape, with the key for remarks.
    fn shape(with: Self::With) -> Shape {
        let mut keys = Self::keys(with);
        if keys.iter().all(|key| key.name != "note") {
            keys.insert(0, Key::note());
        }
        Shape::Section(Self::about(), keys)
    }

    /// Reads the section and refuses what is no object and keys it does not have.
    fn read(check: &mut Checker<'_>, path: &KeyPath, value: Option<&Value<'_>>, with: Self::With) -> Self {
        let Some(value) = value else { return Self::of(check, path, None, with) };
        let shape = Self::shape(with);
        let Value::Object(object) = value else {
            check.wrong_type(path, value, &shape);
            return Self::of(check, path, None, with);
        };
        if let Shape::Section(_, keys) = &shape {
            known_keys(check, path, object, keys);
        }
        Self::of(check, path, Some(object), with)
    }
}

/// Refuses keys that a section does not have, and remarks that are no text.
pub(super) fn known_keys(check: &mut Checker<'_>, path: &KeyPath, object: &Object<'_>, keys: &[Key]) {
    let names = || keys.iter().map(|key| key.name);
    // the remark at the top is read by its own rule
    let remark = |name: &str| name == "note" && !path.0.is_empty();
    for property in &object.properties {
        let name = property.name.as_str();
        if !names().any(|known| known == name) {
            let hint = nearest(name, names()).map(did_you_mean).or_else(|| super::field::home(name));
            let fault = check.at(&path.key(name), Part::Key, "unknown key");
            check.faults.push(fault.allowed(names().collect::<Vec<_>>().join(", ")).hint(hint));
        } else if remark(name) && !matches!(property.value, Value::StringLit(_) | Value::NullKeyword(_)) {
            check.wrong_type(&path.key(name), &property.value, &Shape::Text);
        }
    }
}

/// A place in the file where a rule reads.
pub(super) struct At<'n> {
    /// Key path of the value.
    pub(super) path: KeyPath,
    /// The value; `None` if it is left out.
    pub(super) value: Option<&'n Value<'n>>,
    /// The section around it; `None` if that is left out.
    pub(super) section: Option<&'n Object<'n>>,
}

/// Reads a key of a section by its rule.
pub(super) fn read_key<T>(
    check: &mut Checker<'_>,
    path: &KeyPath,
    section: Option<&Object<'_>>,
    name: &str,
    rule: &impl Rule<T>,
) -> T {
    let whole = path.to_string().is_empty();
    let path = path.key(name);
    let given = section.and_then(|object| object.properties.iter().find(|p| p.name.as_str() == name));
    let presence = rule.presence();
    let value = given.map(|p| &p.value).filter(|value| presence != Presence::Optional || !is_null(value));
    if value.is_none() && section.is_some() && presence == Presence::Required {
        let allowed = match rule.shape() {
            Shape::Number(number) => number.allowed(),
            _ => "this key must be given".to_owned(),
        };
        let fault = check.at(&path, Part::Value, "is missing");
        let start = "`loamledger start FILE` asks for what is needed and writes a scenario";
        check.faults.push(fault.allowed(allowed).nothing_given().hint(whole.then(|| start.to_owned())));
    }
    rule.read(check, &At { path, value, section })
}

fn is_null(value: &Value<'_>) -> bool {
    matches!(value, Value::NullKeyword(_))
}

/// Declares a section: the struct that the program uses, and how it is read, checked and published.
///
/// `key: Type = rule` declares a key. Its doc comment is its text in the schema; the rule (of [`super::rule`]) says what may be
/// given and what holds if the key is left out. `(name: Type)` after the struct's name are values that the rules use;
/// `checked by f` calls `f(check, path, &section)` after reading, for what several keys must fulfil together.
macro_rules! section {
    (
        $(#[doc = $about:literal])+ $(#[derive($($more:ident),+)])?
        $vis:vis struct $Name:ident ($with:ident: $With:ty) $($rest:tt)+
    ) => {
        section! { @all [$($about)+] [$($($more),+)?] [$vis] $Name [$with: $With] $($rest)+ }
    };
    (
        $(#[doc = $about:literal])+ $(#[derive($($more:ident),+)])?
        $vis:vis struct $Name:ident $($rest:tt)+
    ) => {
        section! { @all [$($about)+] [$($($more),+)?] [$vis] $Name [_nothing: ()] $($rest)+ }
    };
    (@all [$($about:literal)+] [$($more:ident),*] [$vis:vis] $Name:ident [$with:ident: $With:ty] $(checked by $check:path)? {
        $( $(#[doc = $text:literal])+ $key:ident $(as $typed:literal)?: $T:ty = $rule:expr, )+
    }) => {
        $(#[doc = $about])+
        #[derive(Debug, Clone, PartialEq $(, $more)*)]
        $vis struct $Name {
            $(
                $(#[doc = $text])+
                #[doc = ""]
                #[doc = concat!("Rule: `", stringify!($rule), "`.")]
                $vis $key: $T,
            )+
        }

        impl $crate::scenario::section::Section for $Name {
            type With = $With;

            fn about() -> String {
                $crate::scenario::section::one_line(&[$($about),+])
            }

            fn keys($with: $With) -> Vec<$crate::scenario::section::Key> {
                vec![$( $crate::scenario::section::Key::new::<$T>(
                    section!(@name $key $($typed)?), &[$($text),+], &$rule,
                ) ),+]
            }

            fn of(
                check: &mut $crate::scenario::check::Checker<'_>,
                path: &$crate::scenario::path::KeyPath,
                object: Option<&jsonc_parser::ast::Object<'_>>,
                $with: $With,
            ) -> Self {
                let read = Self {
                    $( $key: $crate::scenario::section::read_key::<$T>(
                        check, path, object, section!(@name $key $($typed)?), &$rule,
                    ), )+
                };
                $( $check(check, path, &read); )?
                read
            }
        }
    };
    (@name $key:ident) => { stringify!($key) };
    (@name $key:ident $typed:literal) => { $typed };
}

pub(super) use section;
