//! Rules by which the keys of a section are read: what may be given, and what holds if the key is left out.

use super::calendar::{self, Closure, MonthDay};
use super::check::Checker;
use super::field::{Fallback, Number};
use super::locate::Part;
use super::path::KeyPath;
use super::section::{At, Presence, Section, Shape};
use super::words::{Weekday, Word};
use crate::quantity::{Kind, did_you_mean, nearest, whole};
use jiff::civil::Date;
use jsonc_parser::ast::Value;
use std::marker::PhantomData;

/// How a key is read into a value of a type.
pub(super) trait Rule<T> {
    /// What the value looks like in the file.
    fn shape(&self) -> Shape;

    /// Whether the key may be left out.
    fn presence(&self) -> Presence {
        Presence::Optional
    }

    /// Reads the value. After a fault any value will do, as no plan comes of it; a number that is missing is not a number or 0.
    fn read(&self, check: &mut Checker<'_>, at: &At<'_>) -> T;
}

/// A number as a plan holds it.
pub(super) trait Measure: Sized {
    /// What a missing number is.
    const MISSING: Self;

    /// The number, checked to be whole if it must be. A text such as "4 months" means its nearest whole number.
    fn of(check: &mut Checker<'_>, path: &KeyPath, value: f64, from_text: bool) -> Self;
}

impl Measure for f64 {
    const MISSING: Self = Self::NAN;

    fn of(_: &mut Checker<'_>, _: &KeyPath, value: f64, _: bool) -> Self {
        value
    }
}

impl Measure for u32 {
    const MISSING: Self = 0;

    fn of(check: &mut Checker<'_>, path: &KeyPath, value: f64, from_text: bool) -> Self {
        if value.fract() != 0.0 && !from_text {
            check.wrong(path, "is not a whole number", "a whole number", None);
            return 0;
        }
        whole(value.round_ties_even())
    }
}

fn measured<T: Measure>(check: &mut Checker<'_>, at: &At<'_>, number: &Number) -> Option<T> {
    let value = at.value?;
    let read = check.number(&at.path, value, number)?;
    Some(T::of(check, &at.path, read, matches!(value, Value::StringLit(_))))
}

/// A number that must be given.
pub(super) const fn need(kind: Kind, low: f64, high: f64) -> Needed {
    Needed(Number { kind, low, high, fallback: Fallback::Required, basis: "" })
}

/// A number that may be left out.
pub(super) const fn may(kind: Kind, low: f64, high: f64) -> Maybe {
    Maybe(Number { kind, low, high, fallback: Fallback::Nothing, basis: "" })
}

/// A number with a default and its basis.
pub(super) const fn set(kind: Kind, low: f64, high: f64, default: f64, basis: &'static str) -> Defaulted {
    Defaulted(Number { kind, low, high, fallback: Fallback::Value(default), basis })
}

/// See [`need`].
pub(super) struct Needed(Number);

impl<T: Measure> Rule<T> for Needed {
    fn shape(&self) -> Shape {
        Shape::Number(self.0)
    }
    fn presence(&self) -> Presence {
        Presence::Required
    }
    fn read(&self, check: &mut Checker<'_>, at: &At<'_>) -> T {
        measured(check, at, &self.0).unwrap_or(T::MISSING)
    }
}

/// See [`may`].
pub(super) struct Maybe(pub(super) Number);

impl<T: Measure> Rule<Option<T>> for Maybe {
    fn shape(&self) -> Shape {
        Shape::Number(self.0)
    }
    fn read(&self, check: &mut Checker<'_>, at: &At<'_>) -> Option<T> {
        measured(check, at, &self.0)
    }
}

/// See [`set`].
pub(super) struct Defaulted(Number);

impl<T: Measure> Rule<T> for Defaulted {
    fn shape(&self) -> Shape {
        Shape::Number(self.0)
    }
    fn read(&self, check: &mut Checker<'_>, at: &At<'_>) -> T {
        match (at.value, self.0.fallback) {
            (None, Fallback::Value(default)) => T::of(check, &at.path, default, true),
            _ => measured(check, at, &self.0).unwrap_or(T::MISSING),
        }
    }
}

/// A list of numbers of fixed length: the number of each, what each is for, and the default.
pub(super) struct Factors<const N: usize>(Number, &'static str, [f64; N]);

/// A list of `N` numbers with a default; `each` says what each number is for.
pub(super) const fn factors<const N: usize>(
    kind: Kind,
    low: f64,
    high: f64,
    each: &'static str,
    default: [f64; N],
) -> Factors<N> {
    Factors(Number { kind, low, high, fallback: Fallback::Required, basis: "" }, each, default)
}

impl<const N: usize> Rule<[f64; N]> for Factors<N> {
    fn shape(&self) -> Shape {
        Shape::List(Box::new(Shape::Number(self.0)))
    }
    fn read(&self, check: &mut Checker<'_>, at: &At<'_>) -> [f64; N] {
        let Some(values) = check.list(at, &Rule::<[f64; N]>::shape(self)) else { return self.2 };
        if values.len() != N {
            let problem = format!("has {} numbers", values.len());
            check.wrong(&at.path, &problem, &format!("a list of {N} numbers, {}", self.1), None);
            return [f64::NAN; N];
        }
        std::array::from_fn(|i| check.number(&at.path.index(i), &values[i], &self.0).unwrap_or(f64::NAN))
    }
}

/// See [`word`].
pub(super) struct OneWord<W>(W);

/// One of a few words; the default if left out.
pub(super) const fn word<W: Word>(default: W) -> OneWord<W> {
    OneWord(default)
}

impl<W: Word> Rule<W> for OneWord<W> {
    fn shape(&self) -> Shape {
        W::shape()
    }
    fn read(&self, check: &mut Checker<'_>, at: &At<'_>) -> W {
        at.value.and_then(|value| one_word(check, &at.path, value)).unwrap_or(self.0)
    }
}

/// See [`may_word`].
pub(super) struct MaybeWord<W>(PhantomData<W>);

/// One of a few words that may be left out.
pub(super) const fn may_word<W: Word>() -> MaybeWord<W> {
    MaybeWord(PhantomData)
}

impl<W: Word> Rule<Option<W>> for MaybeWord<W> {
    fn shape(&self) -> Shape {
        W::shape()
    }
    fn read(&self, check: &mut Checker<'_>, at: &At<'_>) -> Option<W> {
        at.value.and_then(|value| one_word(check, &at.path, value))
    }
}

fn one_word<W: Word>(check: &mut Checker<'_>, path: &KeyPath, value: &Value<'_>) -> Option<W> {
    let shape = W::shape();
    let given = check.text_of(path, value, &shape)?;
    let found = W::ALL.iter().copied().find(|word| word.name() == given);
    if found.is_none() {
        let hint = nearest(given, W::ALL.iter().map(|word| word.name())).map(did_you_mean);
        check.wrong(path, "unknown word", &shape.allowed(), hint);
    }
    found
}

/// See [`weekdays`].
pub(super) struct Weekdays([bool; 7]);

/// Days of the week, Monday to Sunday; the default if left out.
pub(super) const fn weekdays(default: [bool; 7]) -> Weekdays {
    Weekdays(default)
}

impl Rule<[bool; 7]> for Weekdays {
    fn shape(&self) -> Shape {
        Shape::List(Box::new(Weekday::shape()))
    }
    fn read(&self, check: &mut Checker<'_>, at: &At<'_>) -> [bool; 7] {
        let Some(values) = check.list(at, &self.shape()) else { return self.0 };
        let named: Vec<Option<Weekday>> =
            values.iter().enumerate().map(|(i, v)| one_word(check, &at.path.index(i), v)).collect();
        std::array::from_fn(|day| named.contains(&Weekday::ALL.get(day).copied()))
    }
}

/// See [`words`].
pub(super) struct Words<W>(PhantomData<W>);

/// A list of words; empty if left out.
pub(super) const fn words<W: Word>() -> Words<W> {
    Words(PhantomData)
}

impl<W: Word> Rule<Vec<W>> for Words<W> {
    fn shape(&self) -> Shape {
        Shape::List(Box::new(W::shape()))
    }
    fn read(&self, check: &mut Checker<'_>, at: &At<'_>) -> Vec<W> {
        let values = check.list(at, &self.shape());
        let numbered = values.into_iter().flatten().enumerate();
        numbered.filter_map(|(i, value)| one_word(check, &at.path.index(i), value)).collect()
    }
}

/// See [`flag`].
pub(super) struct Flag(bool);

/// True or false; the default if left out.
pub(super) const fn flag(default: bool) -> Flag {
    Flag(default)
}

impl Rule<bool> for Flag {
    fn shape(&self) -> Shape {
        Shape::Flag
    }
    fn read(&self, check: &mut Checker<'_>, at: &At<'_>) -> bool {
        match at.value {
            None => self.0,
            Some(Value::BooleanLit(given)) => given.value,
            Some(other) => {
                check.wrong_type(&at.path, other, &Shape::Flag);
                self.0
            }
        }
    }
}

/// See [`free_text`].
pub(super) struct FreeText;

/// Any text; empty if left out.
pub(super) const fn free_text() -> FreeText {
    FreeText
}

impl Rule<String> for FreeText {
    fn shape(&self) -> Shape {
        Shape::Text
    }
    fn read(&self, check: &mut Checker<'_>, at: &At<'_>) -> String {
        let given = at.value.and_then(|value| check.text_of(&at.path, value, &Shape::Text));
        given.unwrap_or_default().to_owned()
    }
}

/// See [`name`].
pub(super) struct Name;

/// A name: a text that must be given and must not be empty.
pub(super) const fn name() -> Name {
    Name
}

impl Rule<String> for Name {
    fn shape(&self) -> Shape {
        Shape::Text
    }
    fn presence(&self) -> Presence {
        Presence::Required
    }
    fn read(&self, check: &mut Checker<'_>, at: &At<'_>) -> String {
        let given = at.value.and_then(|value| check.text_of(&at.path, value, &Shape::Text));
        if given.is_some_and(|text| text.trim().is_empty()) {
            check.wrong(&at.path, "is empty", "a name", None);
        }
        given.unwrap_or_default().trim().to_owned()
    }
}

/// See [`ingredient`] and [`library_ingredient`].
pub(super) struct IngredientName {
    default: Option<&'static str>,
    or_none: bool,
}

/// Name of an ingredient; the default if left out.
pub(super) const fn ingredient(default: &'static str) -> IngredientName {
    IngredientName { default: Some(default), or_none: false }
}

/// Name of an ingredient, or "none"; the default if left out.
pub(super) const fn ingredient_or_none(default: &'static str) -> IngredientName {
    IngredientName { default: Some(default), or_none: true }
}

/// Name of an ingredient of the library that must be given.
pub(super) const fn library_ingredient() -> IngredientName {
    IngredientName { default: None, or_none: false }
}

impl Rule<String> for IngredientName {
    fn shape(&self) -> Shape {
        Shape::Text
    }
    fn presence(&self) -> Presence {
        if self.default.is_none() { Presence::Required } else { Presence::Optional }
    }
    fn read(&self, check: &mut Checker<'_>, at: &At<'_>) -> String {
        let Some(value) = at.value else { return self.default.unwrap_or_default().to_owned() };
        let given = check.text_of(&at.path, value, &Shape::Text);
        if let Some(name) = given.filter(|name| !(self.or_none && *name == "none")) {
            check.ingredient(&at.path, Part::Value, name, self.default.is_some());
        }
        given.unwrap_or_default().to_owned()
    }
}

/// See [`date`].
pub(super) struct ADate;

/// A date such as 2027-01-04; as an `Option` it may be left out.
pub(super) const fn date() -> ADate {
    ADate
}

impl Rule<Date> for ADate {
    fn shape(&self) -> Shape {
        Shape::Text
    }
    fn presence(&self) -> Presence {
        Presence::Required
    }
    fn read(&self, check: &mut Checker<'_>, at: &At<'_>) -> Date {
        // an unknown first day still lets the rest be checked
        Rule::<Option<Date>>::read(self, check, at).unwrap_or_else(|| jiff::civil::date(2000, 1, 1))
    }
}

impl Rule<Option<Date>> for ADate {
    fn shape(&self) -> Shape {
        Shape::Text
    }
    fn read(&self, check: &mut Checker<'_>, at: &At<'_>) -> Option<Date> {
        let text = check.text_of(&at.path, at.value?, &Shape::Text)?;
        let found = calendar::date(text).filter(|d| (1900..2200).contains(&d.year()));
        if found.is_none() {
            let allowed = "a date from 1900 to 2199 such as \"2027-01-04\"";
            check.wrong(&at.path, "is not a date", allowed, None);
        }
        found
    }
}

/// See [`month_day`].
pub(super) struct DayOfYear(MonthDay);

/// A day of every year such as 01-20; the default if left out.
pub(super) const fn month_day(month: i8, day: i8) -> DayOfYear {
    DayOfYear(MonthDay { month, day })
}

impl Rule<MonthDay> for DayOfYear {
    fn shape(&self) -> Shape {
        Shape::Text
    }
    fn read(&self, check: &mut Checker<'_>, at: &At<'_>) -> MonthDay {
        let given = at.value.and_then(|value| check.text_of(&at.path, value, &Shape::Text));
        let found = given.map(MonthDay::parse);
        if found == Some(None) {
            let allowed = "month-day such as \"01-20\"; south of the equator such as \"07-20\"";
            check.wrong(&at.path, "is not a day of the year", allowed, None);
        }
        found.flatten().unwrap_or(self.0)
    }
}

/// See [`closures`].
pub(super) struct Closures;

/// Days and spans of days; none if left out.
pub(super) const fn closures() -> Closures {
    Closures
}

impl Rule<Vec<Closure>> for Closures {
    fn shape(&self) -> Shape {
        Shape::List(Box::new(Shape::Text))
    }
    fn presence(&self) -> Presence {
        Presence::NotNull
    }
    fn read(&self, check: &mut Checker<'_>, at: &At<'_>) -> Vec<Closure> {
        let values = check.list(at, &self.shape()).unwrap_or_default();
        let mut found = Vec::new();
        for (i, value) in values.iter().enumerate() {
            let path = at.path.index(i);
            let Some(text) = check.text_of(&path, value, &Shape::Text) else { continue };
            match Closure::parse(text) {
                Ok(closure) => found.push(closure),
                Err(problem) => {
                    let allowed =
                        "a day \"2027-12-24\", a span \"2027-12-24..2028-01-02\", or either without the year";
                    check.wrong(&path, &problem, allowed, None);
                }
            }
        }
        found
    }
}

/// See [`section`].
pub(super) struct Nested<W>(W);

/// A section. If it is left out, each of its keys is; as an `Option` it is then `None`.
pub(super) const fn section() -> Nested<()> {
    Nested(())
}

/// A section whose rules depend on a value.
pub(super) const fn section_with<W>(with: W) -> Nested<W> {
    Nested(with)
}

impl<S: Section> Rule<S> for Nested<S::With> {
    fn shape(&self) -> Shape {
        S::shape(self.0)
    }
    fn read(&self, check: &mut Checker<'_>, at: &At<'_>) -> S {
        S::read(check, &at.path, at.value, self.0)
    }
}

impl<S: Section> Rule<Option<S>> for Nested<S::With> {
    fn shape(&self) -> Shape {
        S::shape(self.0)
    }
    fn read(&self, check: &mut Checker<'_>, at: &At<'_>) -> Option<S> {
        at.value.map(|value| S::read(check, &at.path, Some(value), self.0))
    }
}

/// See [`list`] and [`needed_list`].
pub(super) struct Sections<S> {
    presence: Presence,
    of: PhantomData<S>,
}

/// A list of sections; empty if left out.
pub(super) const fn list<S>() -> Sections<S> {
    Sections { presence: Presence::NotNull, of: PhantomData }
}

/// A list of sections that must be given.
pub(super) const fn needed_list<S>() -> Sections<S> {
    Sections { presence: Presence::Required, of: PhantomData }
}

/// A list of sections. None if it is left out, which differs from an empty list.
pub(super) const fn list_if_given<S>() -> Sections<S> {
    list()
}

impl<S: Section<With = ()>> Rule<Option<Vec<S>>> for Sections<S> {
    fn shape(&self) -> Shape {
        Rule::<Vec<S>>::shape(self)
    }
    fn presence(&self) -> Presence {
        self.presence
    }
    fn read(&self, check: &mut Checker<'_>, at: &At<'_>) -> Option<Vec<S>> {
        at.value.is_some().then(|| Rule::<Vec<S>>::read(self, check, at))
    }
}

impl<S: Section<With = ()>> Rule<Vec<S>> for Sections<S> {
    fn shape(&self) -> Shape {
        Shape::List(Box::new(S::shape(())))
    }
    fn presence(&self) -> Presence {
        self.presence
    }
    fn read(&self, check: &mut Checker<'_>, at: &At<'_>) -> Vec<S> {
        if at.value.is_none() {
            return Vec::new();
        }
        let values = check.list(at, &Rule::<Vec<S>>::shape(self)).unwrap_or_default();
        values.iter().enumerate().map(|(i, v)| S::read(check, &at.path.index(i), Some(v), ())).collect()
    }
}

/// A value under a key that the user chooses.
pub(super) trait Entry: Sized {
    /// What it looks like.
    fn shape() -> Shape;

    /// Reads it; the path ends with its name.
    fn read(check: &mut Checker<'_>, path: &KeyPath, name: &str, value: &Value<'_>) -> Self;
}

/// See [`entries`] and [`needed_entries`].
pub(super) struct Entries(Presence);

/// An object whose keys the user chooses; empty if left out.
pub(super) const fn entries() -> Entries {
    Entries(Presence::NotNull)
}

/// An object whose keys the user chooses and that must be given.
pub(super) const fn needed_entries() -> Entries {
    Entries(Presence::Required)
}

impl<T: Entry> Rule<Vec<T>> for Entries {
    fn shape(&self) -> Shape {
        Shape::Map(Box::new(T::shape()))
    }
    fn presence(&self) -> Presence {
        self.0
    }
    fn read(&self, check: &mut Checker<'_>, at: &At<'_>) -> Vec<T> {
        let Some(value) = at.value else { return Vec::new() };
        let Value::Object(object) = value else {
            check.wrong_type(&at.path, value, &Rule::<Vec<T>>::shape(self));
            return Vec::new();
        };
        // in the order of the names, so that the order in the file does not matter
        let mut given: Vec<_> = object.properties.iter().map(|p| (p.name.as_str(), &p.value)).collect();
        given.sort_by_key(|(name, _)| *name);
        given.into_iter().map(|(name, value)| T::read(check, &at.path.key(name), name, value)).collect()
    }
}
