//! The key of a result: BLAKE3 over canonical bytes of exactly what the study reads.
//!
//! JSON text is no basis for a key: it turns NaN to `null` and leaves number formatting to a library version. The
//! bytes here come from a serialiser of our own: every value carries a tag, strings carry their length, integers of
//! any width are written alike, floating numbers are written by their bits, struct fields with their names, maps
//! sorted by key. NaN is refused, since it means that an input was never set. The version of the program belongs to the
//! key too, so that no release takes over the results of another.

use serde::ser::{self, Serialize};
use std::fmt;

/// The identity of a result: study, version and inputs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Key([u8; 32]);

impl Key {
    /// The key of what `study` in its `version` makes of `input`.
    ///
    /// # Errors
    /// [`NoKey`] when the input holds a number that is not a number.
    pub fn of<T: Serialize + ?Sized>(study: &str, version: u32, input: &T) -> Result<Key, NoKey> {
        let mut bytes = Bytes { held: Vec::with_capacity(2 * HELD), hasher: Some(blake3::Hasher::new()) };
        (env!("CARGO_PKG_VERSION"), study, version).serialize(Canonical { bytes: &mut bytes })?;
        input.serialize(Canonical { bytes: &mut bytes })?;
        let mut hasher = bytes.hasher.unwrap_or_default();
        hasher.update(&bytes.held);
        Ok(Key(*hasher.finalize().as_bytes()))
    }

    /// Lower-case hexadecimal digits, 64 of them.
    pub fn hex(&self) -> String {
        blake3::Hash::from_bytes(self.0).to_hex().to_string()
    }
}

impl fmt::Display for Key {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.hex())
    }
}

/// Why an input has no key.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("an input of the study cannot be hashed: {0}")]
pub struct NoKey(String);

impl ser::Error for NoKey {
    fn custom<T: fmt::Display>(what: T) -> Self {
        NoKey(what.to_string())
    }
}

/// Bytes that are held before they are hashed: a layout has some hundred millions.
const HELD: usize = 1 << 16;

/// Canonical bytes on their way into a hash, or held where they must be sorted first.
#[derive(Default)]
struct Bytes {
    held: Vec<u8>,
    hasher: Option<blake3::Hasher>,
}

impl Bytes {
    fn push(&mut self, byte: u8) {
        self.held.push(byte);
    }

    fn extend_from_slice(&mut self, bytes: &[u8]) {
        self.held.extend_from_slice(bytes);
        if self.held.len() >= HELD
            && let Some(hasher) = &mut self.hasher
        {
            hasher.update(&self.held);
            self.held.clear();
        }
    }
}

struct Canonical<'a> {
    bytes: &'a mut Bytes,
}

impl<'a> Canonical<'a> {
    fn text(self, tag: u8, text: &[u8]) -> &'a mut Bytes {
        self.bytes.push(tag);
        self.bytes.extend_from_slice(&(text.len() as u64).to_le_bytes());
        self.bytes.extend_from_slice(text);
        self.bytes
    }

    fn integer(self, value: i128) -> Result<(), NoKey> {
        self.bytes.push(b'i');
        self.bytes.extend_from_slice(&value.to_le_bytes());
        Ok(())
    }

    fn open(self, tag: u8, close: u8) -> Sequence<'a> {
        self.bytes.push(tag);
        Sequence { bytes: self.bytes, close }
    }
}

macro_rules! integers {
    ($($method:ident: $kind:ty),*) => {
        $(fn $method(self, value: $kind) -> Result<(), NoKey> {
            self.integer(i128::from(value))
        })*
    };
}

impl<'a> ser::Serializer for Canonical<'a> {
    type Ok = ();
    type Error = NoKey;
    type SerializeSeq = Sequence<'a>;
    type SerializeTuple = Sequence<'a>;
    type SerializeTupleStruct = Sequence<'a>;
    type SerializeTupleVariant = Sequence<'a>;
    type SerializeMap = Sorted<'a>;
    type SerializeStruct = Sequence<'a>;
    type SerializeStructVariant = Sequence<'a>;

    integers!(serialize_i8: i8, serialize_i16: i16, serialize_i32: i32, serialize_i64: i64, serialize_i128: i128,
        serialize_u8: u8, serialize_u16: u16, serialize_u32: u32, serialize_u64: u64);

    fn is_human_readable(&self) -> bool {
        false
    }
    fn serialize_bool(self, value: bool) -> Result<(), NoKey> {
        self.bytes.extend_from_slice(&[b'b', u8::from(value)]);
        Ok(())
    }
    fn serialize_f32(self, value: f32) -> Result<(), NoKey> {
        self.serialize_f64(f64::from(value))
    }
    fn serialize_f64(self, value: f64) -> Result<(), NoKey> {
        if value.is_nan() {
            return Err(NoKey("a value is not a number".into()));
        }
        self.bytes.push(b'f');
        self.bytes.extend_from_slice(&value.to_bits().to_le_bytes());
        Ok(())
    }
    fn serialize_char(self, value: char) -> Result<(), NoKey> {
        self.serialize_str(value.encode_utf8(&mut [0; 4]))
    }
    fn serialize_str(self, value: &str) -> Result<(), NoKey> {
        self.text(b's', value.as_bytes());
        Ok(())
    }
    fn serialize_bytes(self, value: &[u8]) -> Result<(), NoKey> {
        self.text(b'y', value);
        Ok(())
    }
    fn serialize_none(self) -> Result<(), NoKey> {
        self.bytes.push(b'n');
        Ok(())
    }
    fn serialize_some<T: Serialize + ?Sized>(self, value: &T) -> Result<(), NoKey> {
        self.bytes.push(b'o');
        value.serialize(Canonical { bytes: self.bytes })
    }
    fn serialize_unit(self) -> Result<(), NoKey> {
        self.bytes.push(b'u');
        Ok(())
    }
    fn serialize_unit_struct(self, _: &'static str) -> Result<(), NoKey> {
        self.serialize_unit()
    }
    fn serialize_unit_variant(self, _: &'static str, _: u32, variant: &'static str) -> Result<(), NoKey> {
        self.text(b'v', variant.as_bytes());
        Ok(())
    }
    fn serialize_newtype_struct<T: Serialize + ?Sized>(
        self,
        _: &'static str,
        value: &T,
    ) -> Result<(), NoKey> {
        value.serialize(self)
    }
    fn serialize_newtype_variant<T: Serialize + ?Sized>(
        self,
        _: &'static str,
        _: u32,
        variant: &'static str,
        value: &T,
    ) -> Result<(), NoKey> {
        let bytes = self.text(b'w', variant.as_bytes());
        value.serialize(Canonical { bytes })
    }
    fn serialize_seq(self, _: Option<usize>) -> Result<Sequence<'a>, NoKey> {
        Ok(self.open(b'[', b']'))
    }
    fn serialize_tuple(self, _: usize) -> Result<Sequence<'a>, NoKey> {
        Ok(self.open(b'[', b']'))
    }
    fn serialize_tuple_struct(self, _: &'static str, _: usize) -> Result<Sequence<'a>, NoKey> {
        Ok(self.open(b'[', b']'))
    }
    fn serialize_tuple_variant(
        self,
        _: &'static str,
        _: u32,
        variant: &'static str,
        _: usize,
    ) -> Result<Sequence<'a>, NoKey> {
        let bytes = self.text(b'w', variant.as_bytes());
        Ok(Canonical { bytes }.open(b'[', b']'))
    }
    fn serialize_map(self, _: Option<usize>) -> Result<Sorted<'a>, NoKey> {
        Ok(Sorted { bytes: self.bytes, entries: Vec::new() })
    }
    fn serialize_struct(self, _: &'static str, _: usize) -> Result<Sequence<'a>, NoKey> {
        Ok(self.open(b'(', b')'))
    }
    fn serialize_struct_variant(
        self,
        _: &'static str,
        _: u32,
        variant: &'static str,
        _: usize,
    ) -> Result<Sequence<'a>, NoKey> {
        let bytes = self.text(b'w', variant.as_bytes());
        Ok(Canonical { bytes }.open(b'(', b')'))
    }
}

/// Elements in their own order, closed by a tag that starts no element.
struct Sequence<'a> {
    bytes: &'a mut Bytes,
    close: u8,
}

impl Sequence<'_> {
    fn element<T: Serialize + ?Sized>(&mut self, value: &T) -> Result<(), NoKey> {
        value.serialize(Canonical { bytes: self.bytes })
    }
    fn field<T: Serialize + ?Sized>(&mut self, name: &str, value: &T) -> Result<(), NoKey> {
        Canonical { bytes: self.bytes }.text(b'k', name.as_bytes());
        self.element(value)
    }
    fn finish(self) -> Result<(), NoKey> {
        self.bytes.push(self.close);
        Ok(())
    }
}

macro_rules! elements {
    ($($of:ident $method:ident),*) => {
        $(impl ser::$of for Sequence<'_> {
            type Ok = ();
            type Error = NoKey;
            fn $method<T: Serialize + ?Sized>(&mut self, value: &T) -> Result<(), NoKey> {
                self.element(value)
            }
            fn end(self) -> Result<(), NoKey> {
                self.finish()
            }
        })*
    };
}
elements!(SerializeSeq serialize_element, SerializeTuple serialize_element, SerializeTupleStruct serialize_field,
    SerializeTupleVariant serialize_field);

macro_rules! fields {
    ($($of:ident),*) => {
        $(impl ser::$of for Sequence<'_> {
            type Ok = ();
            type Error = NoKey;
            fn serialize_field<T: Serialize + ?Sized>(&mut self, name: &'static str, value: &T) -> Result<(), NoKey> {
                self.field(name, value)
            }
            fn end(self) -> Result<(), NoKey> {
                self.finish()
            }
        })*
    };
}
fields!(SerializeStruct, SerializeStructVariant);

/// Map entries, written in the order of their key bytes.
struct Sorted<'a> {
    bytes: &'a mut Bytes,
    entries: Vec<(Vec<u8>, Bytes)>,
}

impl ser::SerializeMap for Sorted<'_> {
    type Ok = ();
    type Error = NoKey;
    fn serialize_key<T: Serialize + ?Sized>(&mut self, key: &T) -> Result<(), NoKey> {
        let mut bytes = Bytes::default();
        key.serialize(Canonical { bytes: &mut bytes })?;
        self.entries.push((bytes.held, Bytes::default()));
        Ok(())
    }
    fn serialize_value<T: Serialize + ?Sized>(&mut self, value: &T) -> Result<(), NoKey> {
        match self.entries.last_mut() {
            Some((_, bytes)) => value.serialize(Canonical { bytes }),
            None => Err(NoKey("a map value came before its key".into())),
        }
    }
    fn end(mut self) -> Result<(), NoKey> {
        self.entries.sort_by(|a, b| (&a.0, &a.1.held).cmp(&(&b.0, &b.1.held)));
        self.bytes.push(b'{');
        for (key, value) in &self.entries {
            self.bytes.extend_from_slice(key);
            self.bytes.extend_from_slice(&value.held);
        }
        self.bytes.push(b'}');
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::Key;
    use std::collections::{BTreeMap, HashMap};

    fn key<T: serde::Serialize>(input: &T) -> Key {
        Key::of("study", 1, input).expect("has a key")
    }

    #[test]
    fn the_last_bit_of_a_number_changes_the_key() {
        assert_eq!(key(&0.1), key(&0.1));
        assert_ne!(key(&0.1), key(&f64::from_bits(0.1f64.to_bits() + 1)));
        assert_ne!(key(&0.0), key(&-0.0));
    }

    #[test]
    fn study_and_version_belong_to_the_key() {
        let one = Key::of("a", 1, &7).expect("has a key");
        assert_ne!(one, Key::of("a", 2, &7).expect("has a key"));
        assert_ne!(one, Key::of("b", 1, &7).expect("has a key"));
    }

    #[test]
    fn neighbours_cannot_be_confused() {
        assert_ne!(key(&("ab", "c")), key(&("a", "bc")));
        assert_ne!(key(&(vec![1, 2], vec![3])), key(&(vec![1], vec![2, 3])));
        assert_ne!(key(&Some(None::<u8>)), key(&None::<Option<u8>>));
        assert_ne!(key(&1u8), key(&1.0));
    }

    #[test]
    fn map_order_and_integer_width_do_not_matter() {
        let names = ["vdd", "vss", "clk", "rx", "tx", "irq"];
        let hashed: HashMap<&str, usize> = names.iter().enumerate().map(|(i, n)| (*n, i)).collect();
        let sorted: BTreeMap<&str, usize> = names.iter().enumerate().map(|(i, n)| (*n, i)).collect();
        assert_eq!(key(&hashed), key(&sorted));
        assert_eq!(key(&7u8), key(&7i64));
    }

    #[test]
    fn not_a_number_has_no_key() {
        let refused = Key::of("study", 1, &[1.0, f64::NAN]);
        assert_eq!(
            refused.expect_err("refused").to_string(),
            "an input of the study cannot be hashed: a value is not a number"
        );
    }
}
