//! The macro that makes the type of warnings, and all that is asked of them, from one table.

/// Length of a name in `CamelCase` once it is in `snake_case`.
pub(super) const fn snake_length(name: &str) -> usize {
    let name = name.as_bytes();
    let (mut at, mut length) = (0, 0);
    while at < name.len() {
        length += if at > 0 && name[at].is_ascii_uppercase() { 2 } else { 1 };
        at += 1;
    }
    length
}

/// A name in `CamelCase` as `snake_case`.
pub(super) const fn snake<const N: usize>(name: &str) -> [u8; N] {
    let name = name.as_bytes();
    let mut out = [b'_'; N];
    let (mut at, mut to) = (0, 0);
    while at < name.len() {
        if at > 0 && name[at].is_ascii_uppercase() {
            to += 1;
        }
        out[to] = name[at].to_ascii_lowercase();
        to += 1;
        at += 1;
    }
    out
}

macro_rules! code_of {
    ($name:ident) => {{
        const NAME: &str = stringify!($name);
        const CODE: [u8; $crate::warning::declare::snake_length(NAME)] =
            $crate::warning::declare::snake(NAME);
        const TEXT: &str = match std::str::from_utf8(&CODE) {
            Ok(text) => text,
            Err(_) => panic!("a name is in ASCII"),
        };
        TEXT
    }};
}

/// Makes `Warning` from the table: the type, its code, severity, days, bed, message and hint.
macro_rules! warnings {
    (
        |$said:ident|
        of_the_site { $(
            $(#[$site_doc:meta])* $site:ident $({ $($site_field:ident: $site_type:ty),* })?
            is $site_severity:expr, $site_text:expr, $site_hint:expr;
        )* }
        of_days { $(
            $(#[$days_doc:meta])* $days:ident $({ $($days_field:ident: $days_type:ty),* })?
            is $days_severity:expr, $days_worst:ident, $days_text:expr, $days_hint:expr;
        )* }
        of_a_bed { $(
            $(#[$bed_doc:meta])* $bed:ident $({ $($bed_field:ident: $bed_type:ty),* })?
            is $bed_severity:expr, $bed_worst:ident, $bed_text:expr, $bed_hint:expr;
        )* }
    ) => {
        /// A warning with its figures. Beds are counted from 1. In each [`Spell`] the unit of the worst value is named here.
        #[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
        #[serde(tag = "code", rename_all = "snake_case")]
        #[expect(missing_docs, reason = "each field's name says what it is and in which unit")]
        pub enum Warning {
            $( $(#[$site_doc])* $site $({ $($site_field: $site_type),* })?, )*
            $( $(#[$days_doc])* $days { $($($days_field: $days_type,)*)? spell: Spell }, )*
            $( $(#[$bed_doc])* $bed { bed: u32, $($($bed_field: $bed_type,)*)? spell: Spell }, )*
        }

        impl Warning {
            /// The codes of all warnings.
            pub const CODES: &'static [&'static str] =
                &[$(code_of!($site),)* $(code_of!($days),)* $(code_of!($bed),)*];

            /// Its code, as in files.
            pub const fn code(&self) -> &'static str {
                match self {
                    $( Self::$site { .. } => code_of!($site), )*
                    $( Self::$days { .. } => code_of!($days), )*
                    $( Self::$bed { .. } => code_of!($bed), )*
                }
            }

            /// How much it matters.
            #[expect(unused_variables, reason = "the severity of most does not depend on their figures")]
            pub const fn severity(&self) -> Severity {
                match self {
                    $( Self::$site { $($($site_field,)*)? .. } => $site_severity, )*
                    $( Self::$days { $($($days_field,)*)? .. } => $days_severity, )*
                    $( Self::$bed { $($($bed_field,)*)? .. } => $bed_severity, )*
                }
            }

            /// The bed it was seen in, from 1; `None` if it is of the whole site.
            pub const fn bed(&self) -> Option<u32> {
                match self {
                    $( Self::$bed { bed, .. } => Some(*bed), )*
                    _ => None,
                }
            }

            /// Its days and worst value; `None` if it has none.
            pub const fn spell(&self) -> Option<&Spell> {
                match self {
                    $( Self::$days { spell, .. } => Some(spell), )*
                    $( Self::$bed { spell, .. } => Some(spell), )*
                    _ => None,
                }
            }

            /// Its days and worst value, to be changed; `None` if it has none.
            pub const fn spell_mut(&mut self) -> Option<&mut Spell> {
                match self {
                    $( Self::$days { spell, .. } => Some(spell), )*
                    $( Self::$bed { spell, .. } => Some(spell), )*
                    _ => None,
                }
            }

            pub(super) const fn worst(&self) -> Worst {
                match self {
                    $( Self::$site { .. } => Worst::Highest, )*
                    $( Self::$days { .. } => Worst::$days_worst, )*
                    $( Self::$bed { .. } => Worst::$bed_worst, )*
                }
            }

            /// What is wrong, without the bed.
            #[expect(unused_variables, reason = "a message need not show every figure")]
            pub(super) fn text(&self, $said: &Said<'_>) -> String {
                match self {
                    $( Self::$site { $($($site_field,)*)? .. } => $site_text, )*
                    $( Self::$days { $($($days_field,)*)? .. } => $days_text, )*
                    $( Self::$bed { $($($bed_field,)*)? .. } => $bed_text, )*
                }
            }

            /// What may be done about it.
            #[expect(unused_variables, reason = "the hint of most does not depend on their figures")]
            pub const fn hint(&self) -> &'static str {
                match self {
                    $( Self::$site { $($($site_field,)*)? .. } => $site_hint, )*
                    $( Self::$days { $($($days_field,)*)? .. } => $days_hint, )*
                    $( Self::$bed { $($($bed_field,)*)? .. } => $bed_hint, )*
                }
            }
        }
    };
}

pub(super) use {code_of, warnings};
