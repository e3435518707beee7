//! Looks for numbers that are not finite in anything serialisable, and says where the first one is.
//!
//! JSON has no NaN: without this pass it would leave as `null`, which means "not determined". The
//! pass is a serialiser that writes nothing, so that no field can be forgotten.

use serde::Serialize;
use serde::ser::{self, Serializer};
use std::fmt::{self, Display, Write as _};

/// A number that is NaN or infinite, where only finite ones may stand.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NotFinite {
    /// Where it is, such as `sections[0].points[2].estimate`.
    pub path: String,
}

impl Display for NotFinite {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "`{}` is not a finite number: the record is not written", self.path)
    }
}

impl std::error::Error for NotFinite {}

impl ser::Error for NotFinite {
    fn custom<T: Display>(message: T) -> NotFinite {
        NotFinite { path: message.to_string() }
    }
}

/// Returns an error for the first number in `value` that is not finite.
///
/// # Errors
///
/// [`NotFinite`], with the path of that number.
pub(super) fn check<T: Serialize>(value: &T) -> Result<(), NotFinite> {
    value.serialize(&mut Walk { path: String::new(), marks: Vec::new() })
}

/// The walk: the path so far, and for each level that is open the path's length and the next index.
struct Walk {
    path: String,
    marks: Vec<(usize, usize)>,
}

impl Walk {
    fn open(&mut self) -> Result<&mut Walk, NotFinite> {
        self.marks.push((self.path.len(), 0));
        Ok(self)
    }

    fn close(&mut self) -> Result<(), NotFinite> {
        self.marks.pop();
        Ok(())
    }

    fn item<T: Serialize + ?Sized>(&mut self, value: &T) -> Result<(), NotFinite> {
        let (length, index) = self.marks.last().copied().unwrap_or_default();
        if let Some(mark) = self.marks.last_mut() {
            mark.1 += 1;
        }
        self.path.truncate(length);
        write!(self.path, "[{index}]").map_err(ser::Error::custom)?;
        value.serialize(self)
    }

    fn field<T: Serialize + ?Sized>(&mut self, name: &str, value: &T) -> Result<(), NotFinite> {
        self.path.truncate(self.marks.last().map_or(0, |mark| mark.0));
        if !self.path.is_empty() {
            self.path.push('.');
        }
        self.path.push_str(name);
        value.serialize(self)
    }
}

/// Methods for values that hold no number with a fraction.
macro_rules! nothing_in {
    ($($method:ident: $type:ty),* $(,)?) => {
        $(fn $method(self, _: $type) -> Result<(), NotFinite> {
            Ok(())
        })*
    };
}

impl Serializer for &mut Walk {
    type Ok = ();
    type Error = NotFinite;
    type SerializeSeq = Self;
    type SerializeTuple = Self;
    type SerializeTupleStruct = Self;
    type SerializeTupleVariant = Self;
    type SerializeMap = Self;
    type SerializeStruct = Self;
    type SerializeStructVariant = Self;

    nothing_in! {
        serialize_bool: bool, serialize_char: char, serialize_str: &str, serialize_bytes: &[u8],
        serialize_i8: i8, serialize_i16: i16, serialize_i32: i32, serialize_i64: i64,
        serialize_u8: u8, serialize_u16: u16, serialize_u32: u32, serialize_u64: u64,
        serialize_unit_struct: &'static str,
    }

    fn serialize_f32(self, number: f32) -> Result<(), NotFinite> {
        self.serialize_f64(f64::from(number))
    }

    fn serialize_f64(self, number: f64) -> Result<(), NotFinite> {
        if number.is_finite() { Ok(()) } else { Err(NotFinite { path: self.path.clone() }) }
    }

    fn serialize_none(self) -> Result<(), NotFinite> {
        Ok(())
    }

    fn serialize_unit(self) -> Result<(), NotFinite> {
        Ok(())
    }

    fn serialize_some<T: Serialize + ?Sized>(self, value: &T) -> Result<(), NotFinite> {
        value.serialize(self)
    }

    fn serialize_unit_variant(
        self,
        _: &'static str,
        _: u32,
        _: &'static str,
    ) -> Result<(), NotFinite> {
        Ok(())
    }

    fn serialize_newtype_struct<T: Serialize + ?Sized>(
        self,
        _: &'static str,
        value: &T,
    ) -> Result<(), NotFinite> {
        value.serialize(self)
    }

    fn serialize_newtype_variant<T: Serialize + ?Sized>(
        self,
        _: &'static str,
        _: u32,
        _: &'static str,
        value: &T,
    ) -> Result<(), NotFinite> {
        value.serialize(self)
    }

    fn serialize_seq(self, _: Option<usize>) -> Result<Self, NotFinite> {
        self.open()
    }

    fn serialize_tuple(self, _: usize) -> Result<Self, NotFinite> {
        self.open()
    }

    fn serialize_tuple_struct(self, _: &'static str, _: usize) -> Result<Self, NotFinite> {
        self.open()
    }

    fn serialize_tuple_variant(
        self,
        _: &'static str,
        _: u32,
        _: &'static str,
        _: usize,
    ) -> Result<Self, NotFinite> {
        self.open()
    }

    fn serialize_map(self, _: Option<usize>) -> Result<Self, NotFinite> {
        self.open()
    }

    fn serialize_struct(self, _: &'static str, _: usize) -> Result<Self, NotFinite> {
        self.open()
    }

    fn serialize_struct_variant(
        self,
        _: &'static str,
        _: u32,
        _: &'static str,
        _: usize,
    ) -> Result<Self, NotFinite> {
        self.open()
    }
}

/// The five traits that walk lists, one body for all.
macro_rules! walk_list {
    ($($trait:ident: $method:ident),*) => {
        $(impl ser::$trait for &mut Walk {
            type Ok = ();
            type Error = NotFinite;

            fn $method<T: Serialize + ?Sized>(&mut self, value: &T) -> Result<(), NotFinite> {
                self.item(value)
            }

            fn end(self) -> Result<(), NotFinite> {
                self.close()
            }
        })*
    };
}

walk_list! {
    SerializeSeq: serialize_element, SerializeTuple: serialize_element,
    SerializeTupleStruct: serialize_field, SerializeTupleVariant: serialize_field
}

/// The two traits that walk structs, one body for both.
macro_rules! walk_struct {
    ($($trait:ident),*) => {
        $(impl ser::$trait for &mut Walk {
            type Ok = ();
            type Error = NotFinite;

            fn serialize_field<T: Serialize + ?Sized>(
                &mut self,
                name: &'static str,
                value: &T,
            ) -> Result<(), NotFinite> {
                self.field(name, value)
            }

            fn end(self) -> Result<(), NotFinite> {
                self.close()
            }
        })*
    };
}

walk_struct!(SerializeStruct, SerializeStructVariant);

impl ser::SerializeMap for &mut Walk {
    type Ok = ();
    type Error = NotFinite;

    fn serialize_key<T: Serialize + ?Sized>(&mut self, _: &T) -> Result<(), NotFinite> {
        Ok(())
    }

    /// The values of a map are numbered: its keys are the user's.
    fn serialize_value<T: Serialize + ?Sized>(&mut self, value: &T) -> Result<(), NotFinite> {
        self.item(value)
    }

    fn end(self) -> Result<(), NotFinite> {
        self.close()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeMap;

    #[derive(Serialize)]
    struct Outer {
        first: Option<f64>,
        list: Vec<[f64; 2]>,
        map: BTreeMap<&'static str, f64>,
        last: f64,
    }

    fn outer() -> Outer {
        let map = BTreeMap::from([("a", 1.0), ("b", 2.0)]);
        Outer { first: Some(0.0), list: vec![[1.0, 2.0], [3.0, 4.0]], map, last: -1.0 }
    }

    fn path(outer: &Outer) -> String {
        check(outer).unwrap_err().path
    }

    #[test]
    fn lets_finite_numbers_through() {
        assert_eq!(check(&outer()), Ok(()));
    }

    #[test]
    fn says_where_the_first_one_is() {
        assert_eq!(path(&Outer { first: Some(f64::NAN), ..outer() }), "first");
        assert_eq!(path(&Outer { last: f64::NEG_INFINITY, ..outer() }), "last");
        let list = vec![[1.0, 2.0], [3.0, f64::INFINITY]];
        assert_eq!(path(&Outer { list, ..outer() }), "list[1][1]");
        let map = BTreeMap::from([("a", 1.0), ("b", f64::NAN)]);
        assert_eq!(path(&Outer { map, ..outer() }), "map[1]");
    }
}
