//! Values written to a [`Tree`].

use super::Tree;
use serde::ser::{self, Serialize, Serializer};
use std::borrow::Cow;
use std::fmt;

/// The tree of a value. Errors: a map whose keys are no texts.
pub(crate) fn grow(value: &impl Serialize) -> Result<Tree<'static>, NoText> {
    value.serialize(Grow)
}

/// A value that no text stands for: a map whose keys are no texts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct NoText;

impl fmt::Display for NoText {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a key is neither a text nor a whole number")
    }
}

impl std::error::Error for NoText {}

impl ser::Error for NoText {
    fn custom<T: fmt::Display>(_: T) -> Self {
        Self
    }
}

struct Grow;

/// A tree in the name of a variant, or as it is.
fn named(variant: Option<&'static str>, tree: Tree<'static>) -> Tree<'static> {
    match variant {
        Some(name) => Tree::Entries(vec![(Cow::Borrowed(name), tree)]),
        None => tree,
    }
}

impl Serializer for Grow {
    type Ok = Tree<'static>;
    type Error = NoText;
    type SerializeSeq = Items;
    type SerializeTuple = Items;
    type SerializeTupleStruct = Items;
    type SerializeTupleVariant = Items;
    type SerializeMap = Entries;
    type SerializeStruct = Entries;
    type SerializeStructVariant = Entries;

    fn serialize_bool(self, value: bool) -> Result<Self::Ok, NoText> {
        Ok(Tree::Truth(value))
    }
    fn serialize_i8(self, value: i8) -> Result<Self::Ok, NoText> {
        self.serialize_i64(value.into())
    }
    fn serialize_i16(self, value: i16) -> Result<Self::Ok, NoText> {
        self.serialize_i64(value.into())
    }
    fn serialize_i32(self, value: i32) -> Result<Self::Ok, NoText> {
        self.serialize_i64(value.into())
    }
    fn serialize_i64(self, value: i64) -> Result<Self::Ok, NoText> {
        Ok(Tree::Signed(value))
    }
    fn serialize_u8(self, value: u8) -> Result<Self::Ok, NoText> {
        self.serialize_u64(value.into())
    }
    fn serialize_u16(self, value: u16) -> Result<Self::Ok, NoText> {
        self.serialize_u64(value.into())
    }
    fn serialize_u32(self, value: u32) -> Result<Self::Ok, NoText> {
        self.serialize_u64(value.into())
    }
    fn serialize_u64(self, value: u64) -> Result<Self::Ok, NoText> {
        Ok(Tree::Whole(value))
    }
    fn serialize_f32(self, value: f32) -> Result<Self::Ok, NoText> {
        self.serialize_f64(value.into())
    }
    fn serialize_f64(self, value: f64) -> Result<Self::Ok, NoText> {
        Ok(Tree::Number(value))
    }
    fn serialize_char(self, value: char) -> Result<Self::Ok, NoText> {
        Ok(Tree::Text(Cow::Owned(value.into())))
    }
    fn serialize_str(self, value: &str) -> Result<Self::Ok, NoText> {
        Ok(Tree::Text(Cow::Owned(value.to_owned())))
    }
    fn serialize_bytes(self, value: &[u8]) -> Result<Self::Ok, NoText> {
        value.serialize(self)
    }
    fn serialize_none(self) -> Result<Self::Ok, NoText> {
        Ok(Tree::Nothing)
    }
    fn serialize_some<T: ?Sized + Serialize>(self, value: &T) -> Result<Self::Ok, NoText> {
        value.serialize(self)
    }
    fn serialize_unit(self) -> Result<Self::Ok, NoText> {
        Ok(Tree::Nothing)
    }
    fn serialize_unit_struct(self, _: &'static str) -> Result<Self::Ok, NoText> {
        Ok(Tree::Nothing)
    }
    fn serialize_unit_variant(
        self,
        _: &'static str,
        _: u32,
        variant: &'static str,
    ) -> Result<Self::Ok, NoText> {
        Ok(Tree::Text(Cow::Borrowed(variant)))
    }
    fn serialize_newtype_struct<T: ?Sized + Serialize>(
        self,
        _: &'static str,
        value: &T,
    ) -> Result<Self::Ok, NoText> {
        value.serialize(self)
    }
    fn serialize_newtype_variant<T: ?Sized + Serialize>(
        self,
        _: &'static str,
        _: u32,
        variant: &'static str,
        value: &T,
    ) -> Result<Self::Ok, NoText> {
        Ok(named(Some(variant), value.serialize(self)?))
    }
    fn serialize_seq(self, _: Option<usize>) -> Result<Items, NoText> {
        Ok(Items { variant: None, list: Vec::new() })
    }
    fn serialize_tuple(self, _: usize) -> Result<Items, NoText> {
        self.serialize_seq(None)
    }
    fn serialize_tuple_struct(self, _: &'static str, _: usize) -> Result<Items, NoText> {
        self.serialize_seq(None)
    }
    fn serialize_tuple_variant(
        self,
        _: &'static str,
        _: u32,
        variant: &'static str,
        _: usize,
    ) -> Result<Items, NoText> {
        Ok(Items { variant: Some(variant), list: Vec::new() })
    }
    fn serialize_map(self, _: Option<usize>) -> Result<Entries, NoText> {
        Ok(Entries { variant: None, key: Cow::Borrowed(""), all: Vec::new() })
    }
    fn serialize_struct(self, _: &'static str, _: usize) -> Result<Entries, NoText> {
        self.serialize_map(None)
    }
    fn serialize_struct_variant(
        self,
        _: &'static str,
        _: u32,
        variant: &'static str,
        _: usize,
    ) -> Result<Entries, NoText> {
        Ok(Entries { variant: Some(variant), key: Cow::Borrowed(""), all: Vec::new() })
    }
}

/// A list being written.
pub(crate) struct Items {
    variant: Option<&'static str>,
    list: Vec<Tree<'static>>,
}

impl Items {
    fn push<T: ?Sized + Serialize>(&mut self, value: &T) -> Result<(), NoText> {
        self.add(value.serialize(Grow)?);
        Ok(())
    }
    #[inline(never)]
    fn add(&mut self, value: Tree<'static>) {
        self.list.push(value);
    }
    #[inline(never)]
    fn done(self) -> Result<Tree<'static>, NoText> {
        Ok(named(self.variant, Tree::List(self.list)))
    }
}

/// Entries being written.
pub(crate) struct Entries {
    variant: Option<&'static str>,
    /// The key whose value is next.
    key: Cow<'static, str>,
    all: Vec<(Cow<'static, str>, Tree<'static>)>,
}

impl Entries {
    fn push<T: ?Sized + Serialize>(&mut self, key: &'static str, value: &T) -> Result<(), NoText> {
        self.add(Cow::Borrowed(key), value.serialize(Grow)?);
        Ok(())
    }
    #[inline(never)]
    fn add(&mut self, key: Cow<'static, str>, value: Tree<'static>) {
        self.all.push((key, value));
    }
    #[inline(never)]
    fn done(self) -> Result<Tree<'static>, NoText> {
        Ok(named(self.variant, Tree::Entries(self.all)))
    }
}

impl ser::SerializeMap for Entries {
    type Ok = Tree<'static>;
    type Error = NoText;
    fn serialize_key<T: ?Sized + Serialize>(&mut self, key: &T) -> Result<(), NoText> {
        self.key = match key.serialize(Grow)? {
            Tree::Text(key) => key,
            Tree::Whole(number) => Cow::Owned(number.to_string()),
            _ => return Err(NoText),
        };
        Ok(())
    }
    fn serialize_value<T: ?Sized + Serialize>(&mut self, value: &T) -> Result<(), NoText> {
        let key = std::mem::take(&mut self.key);
        self.add(key, value.serialize(Grow)?);
        Ok(())
    }
    fn end(self) -> Result<Tree<'static>, NoText> {
        self.done()
    }
}

macro_rules! items {
    ($($of:ident $one:ident),*) => {$(
        impl ser::$of for Items {
            type Ok = Tree<'static>;
            type Error = NoText;
            fn $one<T: ?Sized + Serialize>(&mut self, value: &T) -> Result<(), NoText> {
                self.push(value)
            }
            fn end(self) -> Result<Tree<'static>, NoText> {
                self.done()
            }
        }
    )*};
}
items! {
    SerializeSeq serialize_element, SerializeTuple serialize_element, SerializeTupleStruct serialize_field,
    SerializeTupleVariant serialize_field
}

macro_rules! entries {
    ($($of:ident),*) => {$(
        impl ser::$of for Entries {
            type Ok = Tree<'static>;
            type Error = NoText;
            fn serialize_field<T: ?Sized + Serialize>(&mut self, key: &'static str, value: &T) -> Result<(), NoText> {
                self.push(key, value)
            }
            fn end(self) -> Result<Tree<'static>, NoText> {
                self.done()
            }
        }
    )*};
}
entries! { SerializeStruct, SerializeStructVariant }
