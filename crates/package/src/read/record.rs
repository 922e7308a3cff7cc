//! The macros that write a design type once: the struct, its serde and JSON Schema forms, and its reader.
//!
//! A key exists in the reader exactly when it exists in the type, so the schema cannot drift from what is read.

/// A table of the design file. `field "key": Type` names the key where it differs from the field; fields under
/// `loaded` hold what the tables beside the design gave, and are no keys.
macro_rules! record {
    (
        $(#[$meta:meta])*
        pub struct $name:ident: $kind:literal {
            $( $(#[$field_meta:meta])* $field:ident $($key:literal)? : $type:ty, )*
            $( => loaded { $( $(#[$loaded_meta:meta])* $loaded:ident : $loaded_type:ty, )* } )?
        }
    ) => {
        $(#[$meta])*
        #[derive(Debug, Clone, PartialEq, serde::Serialize, schemars::JsonSchema)]
        #[serde(deny_unknown_fields)]
        pub struct $name {
            $( $(#[$field_meta])* $(#[serde(rename = $key)])? pub $field: $type, )*
            $( $( $(#[$loaded_meta])* #[schemars(skip)] pub $loaded: $loaded_type, )* )?
        }

        impl $crate::read::node::FromNode for $name {
            fn expected() -> String {
                $kind.into()
            }

            fn from_node(node: &$crate::read::node::Node, reader: &mut $crate::read::node::Reader) -> Option<Self> {
                #[allow(unused_mut)]
                let mut keys = $crate::read::node::Keys::of(node, $kind, reader)?;
                $( let $field = keys.take::<$type>($crate::read::record::key!($field $($key)?), reader); )*
                keys.finish(reader);
                Some($name {
                    $( $field: $field?, )*
                    $( $( $loaded: Default::default(), )* )?
                })
            }
        }
    };
}

/// A choice between words.
macro_rules! words {
    (
        $(#[$meta:meta])*
        pub enum $name:ident: $kind:literal {
            $( $(#[$word_meta:meta])* $variant:ident = $word:literal, )*
        }
    ) => {
        $(#[$meta])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize, schemars::JsonSchema)]
        pub enum $name {
            $( $(#[$word_meta])* #[serde(rename = $word)] $variant, )*
        }

        impl $name {
            /// All words, in the order of the documentation.
            pub const WORDS: &'static [(&'static str, $name)] = &[ $( ($word, $name::$variant), )* ];

            /// The word as it is written in the design file.
            pub fn word(self) -> &'static str {
                match self {
                    $( $name::$variant => $word, )*
                }
            }
        }

        impl $crate::read::node::FromNode for $name {
            fn expected() -> String {
                format!("{} ({})", $kind, $crate::read::values::either(&[ $( $word, )* ]))
            }

            fn from_node(node: &$crate::read::node::Node, reader: &mut $crate::read::node::Reader) -> Option<Self> {
                let word = $crate::read::values::word(node, reader, $kind, &[ $( $word, )* ])?;
                $name::WORDS.iter().find(|(w, _)| *w == word).map(|(_, value)| *value)
            }
        }
    };
}

macro_rules! key {
    ($field:ident) => {
        stringify!($field)
    };
    ($field:ident $key:literal) => {
        $key
    };
}

pub(crate) use {key, record, words};
