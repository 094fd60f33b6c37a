//! Values read from a [`Tree`]. A name is looked for in the list of those there are, by one piece of code, and handed
//! on as its place: serde's derived code then need not compare names, and a struct is never read from a list.

use super::{Fault, Tree};
use serde::de::value::U64Deserializer;
use serde::de::{DeserializeSeed, Deserializer, EnumAccess, Error, Expected, MapAccess, SeqAccess};
use serde::de::{Unexpected, VariantAccess, Visitor};
use serde::forward_to_deserialize_any;
use std::borrow::Cow;
use std::slice::Iter;

/// Names of fields or variants, as serde tells them.
type Names = &'static [&'static str];

impl Tree<'_> {
    /// Something else was expected.
    #[cold]
    #[inline(never)]
    fn instead_of(&self, expected: &dyn Expected) -> Fault {
        let found = match self {
            Tree::Nothing => Unexpected::Unit,
            Tree::Truth(value) => Unexpected::Bool(*value),
            Tree::Whole(value) => Unexpected::Unsigned(*value),
            Tree::Signed(value) => Unexpected::Signed(*value),
            Tree::Number(value) => Unexpected::Float(*value),
            Tree::Text(value) => Unexpected::Str(value),
            Tree::List(_) => Unexpected::Seq,
            Tree::Entries(_) => Unexpected::Map,
        };
        Fault::invalid_type(found, expected)
    }

    // Each type is read by one function, however many hold it.
    #[inline(never)]
    fn entries<'de, V: Visitor<'de>>(&self, names: Names, visitor: V) -> Result<V::Value, Fault> {
        match self {
            Tree::Entries(all) => {
                visitor.visit_map(Entries { left: all.iter(), names, key: "", value: None })
            }
            _ => Err(self.instead_of(&visitor)),
        }
    }

    /// The variant that is named, by its place, with what it holds. Errors: none is.
    #[inline(never)]
    fn variant(&self, names: Names) -> Result<Variant<'_>, Fault> {
        let (name, holds) = match self {
            Tree::Text(name) => (name, None),
            Tree::Entries(all) => match all.as_slice() {
                [(name, value)] => (name, Some(value)),
                _ => return Err(self.instead_of(&"a name, or one entry")),
            },
            _ => return Err(self.instead_of(&"a name, or one entry")),
        };
        match place(names, name) {
            Some(place) => Ok(Variant { name, place, holds }),
            None => Err(Fault::unknown_variant(name, names)),
        }
    }
}

#[inline(never)]
fn place(names: Names, name: &str) -> Option<u64> {
    (0..).zip(names).find(|(_, known)| **known == name).map(|(place, _)| place)
}

impl<'de> Deserializer<'de> for &Tree<'_> {
    type Error = Fault;

    fn deserialize_any<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Fault> {
        match self {
            Tree::Nothing => visitor.visit_unit(),
            Tree::Truth(value) => visitor.visit_bool(*value),
            Tree::Whole(value) => visitor.visit_u64(*value),
            Tree::Signed(value) => visitor.visit_i64(*value),
            Tree::Number(value) => visitor.visit_f64(*value),
            Tree::Text(value) => visitor.visit_str(value),
            Tree::List(_) | Tree::Entries(_) => Err(self.instead_of(&visitor)),
        }
    }

    fn deserialize_option<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Fault> {
        match self {
            Tree::Nothing => visitor.visit_none(),
            _ => visitor.visit_some(self),
        }
    }

    fn deserialize_newtype_struct<V: Visitor<'de>>(
        self,
        _: &'static str,
        visitor: V,
    ) -> Result<V::Value, Fault> {
        visitor.visit_newtype_struct(self)
    }

    fn deserialize_seq<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Fault> {
        let Tree::List(all) = self else { return Err(self.instead_of(&visitor)) };
        let mut items = Items { left: all.iter(), taken: 0 };
        let value = visitor.visit_seq(&mut items)?;
        match items.left.len() {
            0 => Ok(value),
            _ => Err(Fault::invalid_length(all.len(), &"fewer")),
        }
    }

    fn deserialize_tuple<V: Visitor<'de>>(self, _: usize, visitor: V) -> Result<V::Value, Fault> {
        self.deserialize_seq(visitor)
    }

    fn deserialize_tuple_struct<V: Visitor<'de>>(
        self,
        _: &'static str,
        _: usize,
        visitor: V,
    ) -> Result<V::Value, Fault> {
        self.deserialize_seq(visitor)
    }

    fn deserialize_map<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Fault> {
        self.entries(&[], visitor)
    }

    fn deserialize_struct<V: Visitor<'de>>(
        self,
        _: &'static str,
        fields: Names,
        visitor: V,
    ) -> Result<V::Value, Fault> {
        self.entries(fields, visitor)
    }

    fn deserialize_enum<V: Visitor<'de>>(
        self,
        _: &'static str,
        variants: Names,
        visitor: V,
    ) -> Result<V::Value, Fault> {
        visitor.visit_enum(self.variant(variants)?)
    }

    /// Whatever stands there.
    fn deserialize_ignored_any<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Fault> {
        visitor.visit_unit()
    }

    forward_to_deserialize_any! {
        bool i8 i16 i32 i64 i128 u8 u16 u32 u64 u128 f32 f64 char str string bytes byte_buf unit unit_struct
        identifier
    }
}

struct Items<'t> {
    left: Iter<'t, Tree<'t>>,
    taken: usize,
}

impl<'de> SeqAccess<'de> for &mut Items<'_> {
    type Error = Fault;

    #[inline(never)]
    fn next_element_seed<T: DeserializeSeed<'de>>(&mut self, seed: T) -> Result<Option<T::Value>, Fault> {
        let Some(item) = self.left.next() else { return Ok(None) };
        self.taken += 1;
        match seed.deserialize(item) {
            Ok(value) => Ok(Some(value)),
            Err(fault) => Err(fault.inside(&self.taken.to_string())),
        }
    }

    fn size_hint(&self) -> Option<usize> {
        Some(self.left.len())
    }
}

struct Entries<'t> {
    left: Iter<'t, (Cow<'t, str>, Tree<'t>)>,
    names: Names,
    key: &'t str,
    value: Option<&'t Tree<'t>>,
}

impl<'de> MapAccess<'de> for Entries<'_> {
    type Error = Fault;

    fn next_key_seed<K: DeserializeSeed<'de>>(&mut self, seed: K) -> Result<Option<K::Value>, Fault> {
        let Some((key, value)) = self.left.next() else { return Ok(None) };
        (self.key, self.value) = (key, Some(value));
        seed.deserialize(Key { key, names: self.names }).map(Some)
    }

    #[inline(never)]
    fn next_value_seed<V: DeserializeSeed<'de>>(&mut self, seed: V) -> Result<V::Value, Fault> {
        // Asked for after its key: there is one.
        match seed.deserialize(self.value.unwrap_or(&Tree::Nothing)) {
            Ok(value) => Ok(value),
            Err(fault) => Err(fault.inside(self.key)),
        }
    }
}

/// A key: the name of a field, or a value written as a text.
struct Key<'t> {
    key: &'t str,
    names: Names,
}

impl<'de> Deserializer<'de> for Key<'_> {
    type Error = Fault;

    /// The place of a field. What is none gets a place there is none of, which derived code passes over or refuses.
    fn deserialize_identifier<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Fault> {
        let place = place(self.names, self.key).unwrap_or(u64::MAX);
        visitor.visit_u64(place).map_err(|_: Fault| Fault::unknown_field(self.key, self.names))
    }

    fn deserialize_any<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Fault> {
        visitor.visit_str(self.key)
    }

    fn deserialize_u8<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Fault> {
        // Written as JSON writes it, without a sign or a leading nought.
        match self.key.parse::<u64>() {
            Ok(number) if number.to_string() == self.key => visitor.visit_u64(number),
            _ => visitor.visit_str(self.key),
        }
    }

    fn deserialize_enum<V: Visitor<'de>>(
        self,
        _: &'static str,
        variants: Names,
        visitor: V,
    ) -> Result<V::Value, Fault> {
        match place(variants, self.key) {
            Some(place) => visitor.visit_enum(Variant { name: self.key, place, holds: None }),
            None => Err(Fault::unknown_variant(self.key, variants)),
        }
    }

    forward_to_deserialize_any! {
        bool i8 i16 i32 i64 i128 u16 u32 u64 u128 f32 f64 char str string bytes byte_buf option unit unit_struct
        newtype_struct seq tuple tuple_struct map struct ignored_any
    }
}

/// A variant, by its place among those there are, with what it holds.
struct Variant<'t> {
    name: &'t str,
    place: u64,
    holds: Option<&'t Tree<'t>>,
}

impl<'t> Variant<'t> {
    fn held(&self) -> Result<&'t Tree<'t>, Fault> {
        let nothing = || Fault::invalid_type(Unexpected::UnitVariant, &"one that holds something");
        self.holds.ok_or_else(nothing)
    }
}

impl<'de, 't> EnumAccess<'de> for Variant<'t> {
    type Error = Fault;
    type Variant = Self;

    fn variant_seed<V: DeserializeSeed<'de>>(self, seed: V) -> Result<(V::Value, Self), Fault> {
        Ok((seed.deserialize(U64Deserializer::new(self.place))?, self))
    }
}

impl<'de> VariantAccess<'de> for Variant<'_> {
    type Error = Fault;

    fn unit_variant(self) -> Result<(), Fault> {
        match self.holds {
            None | Some(Tree::Nothing) => Ok(()),
            Some(more) => Err(more.instead_of(&"nothing").inside(self.name)),
        }
    }

    fn newtype_variant_seed<T: DeserializeSeed<'de>>(self, seed: T) -> Result<T::Value, Fault> {
        seed.deserialize(self.held()?).map_err(|fault| fault.inside(self.name))
    }

    fn tuple_variant<V: Visitor<'de>>(self, _: usize, visitor: V) -> Result<V::Value, Fault> {
        self.held()?.deserialize_seq(visitor).map_err(|fault| fault.inside(self.name))
    }

    fn struct_variant<V: Visitor<'de>>(self, fields: Names, visitor: V) -> Result<V::Value, Fault> {
        self.held()?.entries(fields, visitor).map_err(|fault| fault.inside(self.name))
    }
}
